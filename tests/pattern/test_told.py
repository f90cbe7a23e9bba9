"""Lengths that the drawing computes come into the words; what the drawing does not bear out is not said."""

import pytest

from fitcheck.advice.table import knowledge
from fitcheck.pattern.alter import alter
from fitcheck.pattern.drafts.block import Body
from fitcheck.pattern.told import drawn_lengths, told


def lengths(id: str, amount: float, kind: str = "dress", sleeve: str = "set_in") -> dict[str, float]:
    changed = alter(id, amount, Body(), "none", kind, sleeve=sleeve)
    assert changed is not None
    return drawn_lengths(changed)


def test_a_sentence_is_filled_with_what_is_drawn() -> None:
    changed = alter("back_neck_gape", 12.0, Body(), "none")
    assert changed is not None
    says = (
        "A dart of {drawn:+back_neck_taken}.",
        "Narrower by {drawn:-back_neck_taken}.",
        "Shorter by {drawn:collar_back}.",
        "{amount} stays",
    )
    assert told(says, changed) == ("A dart of {mm:12.0}.", "Shorter by {mm:12.0}.", "{amount} stays")


def test_what_is_nothing_or_not_on_these_pieces_or_not_drawn_at_all_is_not_said() -> None:
    changed = alter("waist_length_back", 12.0, Body(), "none")
    assert changed is not None
    assert told(("Sleeve: {drawn:cap_notch}.", "Band: {drawn:+band_back}.", "plain"), changed) == ("plain",)
    assert told(("Sleeve: {drawn:cap_notch}.", "plain"), None) == ("plain",)


def test_the_notch_of_the_cap_moves_to_the_front_with_a_forward_shoulder() -> None:
    """The back armhole grows and the front one shrinks by what the new seam adds along the armhole: a little less than the amount."""
    changed = alter("forward_shoulder", 13.0, Body(), "none")
    assert changed is not None
    longer = changed.after["back"].length("armhole") - changed.block.pieces["back"].length("armhole")
    assert 10 < longer < 13
    assert drawn_lengths(changed)["cap_notch"] == pytest.approx(longer, abs=1.5)
    assert lengths("forward_shoulder", -13.0)["cap_notch"] < -9


def test_square_shoulders_tell_what_the_armhole_loses() -> None:
    """Both ends go up, one square to the shoulder and one along the side seam, so the armhole is not quite as long: the sleeve follows."""
    found = lengths("square_sloping_shoulder", 13.0)
    assert found["sleeve_front"] < -1.5
    assert found["cap_notch"] == pytest.approx(0, abs=0.2)


def test_a_higher_cap_of_the_same_length_makes_a_narrower_sleeve() -> None:
    found = lengths("sleeve_cap_height", 13.0)
    assert found["sleeve_back"] < -8
    assert found["sleeve_front"] < -8


def test_without_a_sleeve_none_is_drawn_and_none_is_spoken_of() -> None:
    for id, row in knowledge().alterations.items():
        if "dress" not in row.garments:
            continue
        front = row.fronts[0]
        changed = alter(id, row.amounts.usual[1], Body(), front, sleeve="none")
        if row.pieces == ("sleeve",):
            assert changed is None
            continue
        assert changed is not None, id
        assert "sleeve" not in changed.after
        assert all("sleeve" not in seam.name for seam in changed.seams())
        assert not [text for text in told(knowledge().follows, changed) if "leeve" in text]
