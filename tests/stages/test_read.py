"""What is read off the photos once their scale is known."""

from dataclasses import replace

from fitcheck.core.seen import Garment
from fitcheck.core.settings import Settings
from fitcheck.stages.read import read, read_garment, with_dots


def test_seams_folds_and_outlines_are_read_in_every_usable_photo(staged):
    for photo in staged.fitting.photos:
        assert photo.garment.lines
        assert photo.outline is not None
    assert {line.name for photo in staged.fitting.photos for line in photo.garment.lines} >= {"shoulder", "side", "waist", "princess"}
    assert staged.fitting.body is not None
    assert all(photo.outline is None and photo.garment == Garment() for photo in staged.agreed)


def test_a_photo_that_is_not_usable_is_not_read(staged):
    one = replace(staged.agreed[0], usable=False)
    assert read_garment(one, {}) == Garment()
    fitting = read([one, *staged.agreed[1:]], Settings())
    assert fitting.photos[0].outline is None
    assert "front" not in fitting.body.views


def test_no_dots_are_looked_for_where_stickers_are_seen(staged):
    assert with_dots(staged.agreed) == list(staged.agreed)


def test_buttons_and_patches_are_no_dots(staged):
    bare = [replace(photo, stickers=()) for photo in staged.agreed]  # her stickers are square, and there are no dots
    assert all(photo.dots == () for photo in with_dots(bare))
