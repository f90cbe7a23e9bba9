"""The solved body against outside references: OpenCV's triangulation, and the surveys of real women."""

from pathlib import Path

import cv2
import numpy as np
import pytest
import rig

from fitcheck.body.adjust import POINTER_OFF_MM, adjust
from fitcheck.body.point_table import body_points
from fitcheck.body.shape import body_shape
from fitcheck.core.check import FitCheck
from fitcheck.core.evidence import Evidence
from fitcheck.core.records import SIDES, VIEWS
from fitcheck.photo.load import load_photo
from fitcheck.pipeline import check_fit

SAMPLES = Path(__file__).parents[2] / "sample_images"


@pytest.mark.parametrize("turns", [{}, {"front": 4.0, "right": -3.0}])
@pytest.mark.parametrize(("side", "view"), [("wearer_right", "right"), ("wearer_left", "left")])
def test_a_point_seen_in_two_views_lies_where_opencv_triangulates_it(turns, side, view):
    """DLT of Hartley and Zisserman on the two photos, each placed before its camera as the solution says."""
    scale, points = rig.scale_at(), rig.body_of(np.random.default_rng(6).normal(0, 1, body_shape().size))
    seen = rig.sightings(points, scale, turns)
    body = adjust(Evidence(dict.fromkeys(VIEWS, scale), seen))
    key = ("shoulder_point", side)
    pixels = {s.view: s.xy_px for s in seen if (s.name, s.side) == key}
    cameras = [body.views[v].matrix @ np.column_stack([body.views[v].rotation, body.views[v].translation_mm]) for v in ("front", view)]
    found = cv2.triangulatePoints(*cameras, pixels["front"], pixels[view]).ravel()
    on_skin = found[:3] / found[3] - POINTER_OFF_MM[0] * body_points()[key].normal  # the arrow's tip lies that far off it
    assert np.linalg.norm(body.position(*key) - on_skin) < 1.0
    assert np.all(np.abs(on_skin - points[key]) < 2.5 * body.sd(*key))


@pytest.fixture(scope="module")
def detected() -> FitCheck:
    """A body of which no sticker was read: pose and outline alone."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("fitcheck.stages.see.find_point_markers", lambda *_, **__: ())
        return check_fit([load_photo(SAMPLES / "control" / f"{view}.jpg", view) for view in VIEWS])


def test_no_sticker_was_read(detected):
    assert {s.grade for mark in detected.landmarks for s in mark.sightings} == {"detected"}


@pytest.mark.parametrize(
    ("name", "mean_mm", "sd_mm"),
    [  # ANSUR II, 1986 women of 1628.5 mm: acromial, cervicale, chest, axilla and waist (omphalion) height
        ("shoulder_point", 1335.1, 58.1),
        ("back_neck_point", 1395.7, 59.5),
        ("bust_point", 1171.6, 55.5),
        ("underarm_point", 1239.0, 55.8),
        ("waist_front", 980.1, 50.0),
    ],
)
def test_heights_of_a_detected_body_are_a_womans(detected, name, mean_mm, sd_mm):
    """In proportion to stature, heights spread far less than they do between women; half of it is a strict limit still."""
    stature = next(mark.position_mm[1] for mark in detected.landmarks if mark.name == "crown")
    heights = [mark.position_mm[1] for mark in detected.landmarks if mark.name == name]
    assert np.mean(heights) / stature * 1628.5 == pytest.approx(mean_mm, abs=2 * 0.5 * sd_mm)


def test_a_detected_body_lies_within_the_survey_of_600(detected):
    """Landmarks of 600 Spanish women (R package Anthropometry 1.20): means and sds, three of which are allowed."""
    at = {(mark.name, mark.side): mark.position_mm for mark in detected.landmarks}
    left, right = (at["bust_point", side] for side in SIDES)
    c7, waist = at["back_neck_point", None], at["waist_back", None]
    shoulders = [at["shoulder_point", side] for side in SIDES]
    assert left[0] - right[0] == pytest.approx(193, abs=3 * 23)
    assert np.linalg.norm(c7 - waist) == pytest.approx(385, abs=3 * 20)
    for shoulder, bust, side in zip(shoulders, (left, right), SIDES, strict=True):
        assert shoulder[1] - bust[1] == pytest.approx(198, abs=3 * 27)
        assert bust[2] - shoulder[2] == pytest.approx(159, abs=3 * 31)
        assert shoulder[2] - c7[2] == pytest.approx(26, abs=3 * 15)
        down = at["side_neck_point", side] - shoulder
        assert np.degrees(np.arctan2(down[1], abs(down[0]))) == pytest.approx(24.3, abs=3 * 4.6)
