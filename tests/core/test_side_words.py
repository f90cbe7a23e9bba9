"""Sides in words."""

from fitcheck.core.side_words import on_side


def test_sides_in_words():
    assert on_side("wearer_left") == "on your left"
    assert on_side("wearer_right") == "on your right"
    assert on_side("both") == "on both sides"
    assert on_side(None) == ""
