"""Photos of two rounds cut alike: against a body projected by hand."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from fitcheck.core.diary import Entry, Fitting
from fitcheck.core.records import Sighting
from fitcheck.report.picture.aligned import at_one_scale, boxes_alike, placing, scaled_placing, shoulder_height_mm

BODY = {
    ("shoulder_point", "wearer_left"): np.array([160.0, 1360.0, 0.0]),
    ("shoulder_point", "wearer_right"): np.array([-160.0, 1360.0, 0.0]),
    ("waist_front", None): np.array([0.0, 1000.0, 90.0]),
    ("hip_side", "wearer_left"): np.array([180.0, 860.0, 0.0]),
}


def fitting(view: str, px_per_mm: float, at: tuple[float, float]) -> Fitting:
    """Seen straight on: 1 mm is `px_per_mm` pixels, the middle of the shoulders lies at `at`."""
    across = {"front": (0, 1), "back": (0, -1), "right": (2, 1), "left": (2, -1)}[view]
    seen = tuple(
        Sighting(
            name, side, view, "marker", np.array([at[0] + px_per_mm * across[1] * p[across[0]], at[1] + px_per_mm * (1360 - p[1])]), 0.5
        )
        for (name, side), p in BODY.items()
    )
    entry = Entry(1, "Anna", "bodice", "", date(2026, 4, 2), "tissue", False, 1, "")
    return Fitting(entry, (), (), (), (), (), (), seen, (), BODY, "", ())


@pytest.mark.parametrize("view", ["front", "right", "back", "left"])
def test_scale_and_place_are_found(view):
    place = placing(fitting(view, 0.7, (500.0, 400.0)), view)
    assert abs(place.scale) == pytest.approx(0.7)
    assert (place.shoulder_px.real, place.shoulder_px.imag) == pytest.approx((500, 400))


def test_boxes_show_the_same_part_of_the_body():
    near, far = (placing(fitting("front", scale, at), "front") for scale, at in ((0.8, (700.0, 500.0)), (0.5, (450.0, 420.0))))
    first, second = boxes_alike([(near, (1500, 2000)), (far, (1000, 1400))], 1360.0)
    assert first.width / 0.8 == pytest.approx(second.width / 0.5, abs=3)
    assert first.height / 0.8 == pytest.approx(second.height / 0.5, abs=3)
    assert (700 - first.left) / 0.8 == pytest.approx((450 - second.left) / 0.5, abs=3)
    assert (500 - first.top) / 0.8 == pytest.approx((420 - second.top) / 0.5, abs=3)


def test_the_doubt_of_a_scale_by_hand():
    """Two shoulder points 320 mm apart, each known to 10 px at 0.5 px a mm: 20 mm in 226 mm (160 * sqrt 2), 8.8 %."""
    seen = fitting("front", 0.5, (500.0, 400.0))
    two = tuple(replace(s, sd_px=10.0) for s in seen.sightings if s.name == "shoulder_point")
    assert placing(replace(seen, sightings=two), "front").doubt == pytest.approx(20 / (160 * 2**0.5))


def test_one_scale_is_claimed_only_where_it_is_known():
    near, far = (placing(fitting("front", scale, at), "front") for scale, at in ((0.8, (700.0, 500.0)), (0.5, (450.0, 420.0))))
    pair = [(near, (1500, 2000)), (far, (1000, 1400))]
    boxes = boxes_alike(pair, 1360.0)
    assert at_one_scale(pair, boxes)
    assert not at_one_scale([(replace(near, doubt=0.05), pair[0][1]), pair[1]], boxes)
    assert not at_one_scale(pair, [boxes[0], replace(boxes[1], right=boxes[1].right - 30)])
    assert not at_one_scale(pair[:1], boxes[:1])


def test_what_one_photo_lacks_is_cut_from_both():
    """The second photo ends 100 mm below the shoulders."""
    place = placing(fitting("front", 1.0, (400.0, 300.0)), "front")
    first, second = boxes_alike([(place, (900, 1400)), (place, (900, 400))], 1360.0)
    assert first.bottom == second.bottom == 399


def test_a_reduced_picture_keeps_its_place():
    place = scaled_placing(placing(fitting("front", 0.8, (700.0, 500.0)), "front"), 0.5)
    assert abs(place.scale) == pytest.approx(0.4)
    assert place.shoulder_px.real == pytest.approx(349.75)


def test_too_little_seen():
    lone = fitting("front", 1.0, (0.0, 0.0))
    assert placing(lone, "back") is None
    assert shoulder_height_mm(lone) == 1360
