"""The photos of a pattern piece."""

from pathlib import Path

import pytest

from fitcheck.core.errors import UsageError
from fitcheck.piece_photos import open_photos

FITTING = Path(__file__).parents[1] / "sample_images" / "forward_shoulder"


def test_photos_come_in_the_order_given():
    paths = [FITTING / "back.jpg", FITTING / "front.jpg"]
    assert [photo.name for photo in open_photos(paths)] == ["back.jpg", "front.jpg"]


def test_more_than_six_are_refused_before_any_is_opened():
    with pytest.raises(UsageError, match="7 photos of one piece"):
        open_photos([Path("nowhere.jpg")] * 7)
