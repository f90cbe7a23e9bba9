"""A card printed at 95 % makes every sticker look 5 % too large; flat squares as drawn here would look 2 % larger than bent paper."""

import numpy as np
import pytest
import rig

from fitcheck.body.adjust import adjust
from fitcheck.body.sticker_size import sticker_ratio, unlike_the_card
from fitcheck.core.records import VIEWS, Sighting


def with_stickers(scale, size_mm):
    """The rig's points as centred stickers whose outer corners are drawn `size_mm` apart."""
    points = rig.body()
    found = []
    for view, keys in rig.SEEN_IN.items():
        across = {"front": [1, 0, 0], "back": [-1, 0, 0], "right": [0, 0, 1], "left": [0, 0, -1]}[view]
        h = size_mm / 2
        for name, side in keys:
            corners = np.array([[-h, h], [h, h], [h, -h], [-h, -h]])
            at = points[name, side] + corners[:, :1] * np.array(across) + corners[:, 1:] * np.array([0, 1, 0])
            px = rig.pixels(scale, view, at)
            found.append(Sighting(name, side, view, "marker", px.mean(0), 0.3, corners_px=px))
    return found


@pytest.mark.parametrize(
    ("size_mm", "odd"), [(30.4, False), (30.4 / 0.97, True), (30.4 / 0.95, True), (30.4 * 0.95, True), (30.4 * 1.01, False)]
)
def test_size_against_the_card(size_mm, odd):
    scale = rig.scale_at()
    seen = with_stickers(scale, size_mm)
    ratio = sticker_ratio(adjust(dict.fromkeys(VIEWS, scale), seen), seen)
    assert ratio == pytest.approx(size_mm / 31.0, abs=0.02)
    assert bool(unlike_the_card(ratio)) == odd


def test_too_few_stickers_say_nothing():
    scale = rig.scale_at()
    seen = with_stickers(scale, 29.0)
    assert sticker_ratio(adjust(dict.fromkeys(VIEWS, scale), seen), seen[:3]) is None
    assert not unlike_the_card(None)


def test_one_photo_alone_says_nothing():
    """Its distance is not known to a percent, so neither is what a sticker measures."""
    scale = rig.scale_at()
    seen = with_stickers(scale, 29.0)
    front = [s for s in seen if s.view == "front"]
    assert sticker_ratio(adjust(dict.fromkeys(VIEWS, scale), seen), front) is None
