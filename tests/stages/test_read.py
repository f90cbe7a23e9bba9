"""What is read off the photos once their scale is known."""

from dataclasses import replace

import numpy as np
import pytest

from fitcheck.core.seen import Garment
from fitcheck.core.settings import Settings
from fitcheck.stages.read import read, read_garment, with_dots
from fitcheck.vision.cloth.find_cloth import find_cloth


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


@pytest.mark.parametrize("rows", [0, 30])
def test_where_no_cloth_is_told_from_the_rest_the_photo_says_so(staged, rows):
    """Nobody in the mask of the pose, or a strip of her that holds no garment: nothing is read, and nothing breaks."""
    photo = staged.agreed[0]
    mask = np.zeros_like(photo.pose.mask)
    mask[900 : 900 + rows] = photo.pose.mask[900 : 900 + rows]
    bare = replace(photo, pose=replace(photo.pose, mask=mask))
    assert read_garment(bare, {}) == Garment(flags=("no_cloth",))
    fitting = read([bare, *staged.agreed[1:]], Settings())
    assert "no_cloth" in fitting.photos[0].flags
    assert "no_cloth" not in fitting.photos[1].flags


@pytest.mark.parametrize(("own_share", "drawn", "unseen"), [(0.5, False, True), (0.5, True, False), (0.95, False, False)])
def test_a_patterned_cloth_without_lines_says_that_it_hides_them(staged, monkeypatch, own_share, drawn, unseen):
    """On plain cloth nothing drawn is nothing drawn; on a printed one with hardly a line, lines may be there."""
    photo = staged.agreed[0]
    monkeypatch.setattr("fitcheck.stages.read.find_cloth", lambda *of: replace(find_cloth(*of), own_share=own_share))
    if not drawn:
        monkeypatch.setattr("fitcheck.stages.read.find_seams", lambda *_: ())
    assert ("lines_unseen" in read_garment(photo, {}).flags) == unseen


def test_no_dots_are_looked_for_where_stickers_are_seen(staged):
    assert with_dots(staged.agreed) == list(staged.agreed)


def test_buttons_and_patches_are_no_dots(staged):
    bare = [replace(photo, stickers=()) for photo in staged.agreed]  # her stickers are square, and there are no dots
    assert all(photo.dots == () for photo in with_dots(bare))
