from dataclasses import replace

import cv2
import numpy as np
import pytest

from fitcheck.core.check import FitCheck, PhotoResult
from fitcheck.core.records import Measurement
from fitcheck.report.picture.gaps import gaps_in, upright_at


def item(id: str, body: tuple[float, float], garment: tuple[float, float], value: float, unit: str = "mm") -> Measurement:
    return Measurement(id, "", None, "right", value, unit, 1.0, {}, (), np.array(body), np.array(garment))


def without_scale(result: PhotoResult) -> PhotoResult:
    return replace(result, scale=None)


def test_the_upright_agrees_with_opencv(right: PhotoResult) -> None:
    assert right.scale is not None
    camera = right.scale.camera
    post = np.array([[-400.0, 300.0, 50.0], [-400.0, 299.0, 50.0]])  # a millimetre of upright beside the card
    turn, _ = cv2.Rodrigues(camera.rotation)
    seen = cv2.projectPoints(post, turn, camera.translation_mm, camera.matrix, None)[0][:, 0]
    down = upright_at(right.scale, seen[0])
    assert down is not None
    assert down == pytest.approx((seen[1] - seen[0]) / np.hypot(*(seen[1] - seen[0])), abs=1e-4)
    assert upright_at(None, seen[0]) is None


def test_only_the_measured_direction_is_drawn(right: PhotoResult) -> None:
    """Without a card the upright is the picture's own, so the feet are known by heart."""
    body, garment = (100.0, 50.0), (110.0, 80.0)
    across, along, direct = gaps_in(
        without_scale(right),
        [
            item("side_seam_forward", body, garment, -10),
            item("bust_mark_above", body, garment, -30),
            item("shoulder_tip_beyond", body, garment, 31),
        ],
    )
    assert across.ends_px.tolist() == [[100, 80], [110, 80]]
    assert along.ends_px.tolist() == [[110, 50], [110, 80]]
    assert direct.ends_px.tolist() == [[100, 50], [110, 80]]
    assert across.body_px.tolist() == [100, 50]


def test_the_side_seam_gap_starts_on_the_plumb_line(check: FitCheck, right: PhotoResult) -> None:
    (gap,) = (gap for gap in gaps_in(right, check.measurements) if gap.item.key == "side_seam_forward_hip_R")
    down = upright_at(right.scale, gap.body_px)
    assert down is not None
    fall = gap.ends_px[0] - gap.body_px
    assert abs(fall[0] * down[1] - fall[1] * down[0]) < 0.5  # px off the plumb line
    assert fall[1] > 300


def test_an_arrow_of_another_length_than_its_amount_is_not_drawn(right: PhotoResult) -> None:
    assert right.scale is not None
    px = 1 / right.scale.mm_per_px
    fits = item("shoulder_tip_beyond", (500, 500), (500 + 10 * px, 500), 12)
    lies = item("shoulder_tip_beyond", (500, 500), (500 + 150 * px, 500), 12)
    assert [gap.item for gap in gaps_in(right, [fits, lies])] == [fits]


def test_angles_other_views_and_unknown_ends_are_not_drawn(right: PhotoResult) -> None:
    good = item("shoulder_tip_beyond", (500, 500), (510, 500), 10)
    others = [replace(good, unit="deg"), replace(good, view="left"), replace(good, view=None), replace(good, from_px=None)]
    assert gaps_in(right, others) == []
