"""From what lies on the floor to the photos' scales: cameras of known truth, by edges alone."""

import hashlib

import cv2
import numpy as np
import pytest

from fitcheck.core.camera import Photo, Scale
from fitcheck.core.records import VIEWS, View
from fitcheck.photo.floor.by_floor import ORIGIN_MM, Print, scales_by_floor
from fitcheck.photo.floor.find_sheets import SheetSighting

from ...floor_pictures import Lying, sheet_sighting
from .test_floor_fit import FOCAL, SHEETS, SHOTS, SIZE

EXACT = Print(1.0, 0.0005)


def photo(view: View) -> Photo:
    rgb = np.zeros((SIZE[1], SIZE[0], 3), np.uint8)
    return Photo(view, f"{view}.jpg", hashlib.sha256(view.encode()).hexdigest(), rgb, None, "")


def sighted(sheets: dict[str, Lying] = SHEETS) -> dict[View, list[SheetSighting]]:
    return {view: [sheet_sighting(SHOTS[view], which, lying, seed=k) for which, lying in sheets.items()] for k, view in enumerate(VIEWS)}


@pytest.fixture(scope="module")
def scales() -> dict[View, Scale]:
    return scales_by_floor([photo(view) for view in VIEWS], {}, sighted(), EXACT)


def height_of_pixel(scale: Scale, px: np.ndarray, foot_px: np.ndarray) -> float:
    """How high above the floor what is seen at `px` stands upright over what is seen at `foot_px`."""
    assert scale.above_floor is not None
    inverse = np.linalg.inv(scale.camera.matrix)
    ray, down = (scale.camera.rotation.T @ inverse @ [*at, 1.0] for at in (px, foot_px))
    eye = scale.camera.eye_mm
    foot = eye + down * ((-scale.above_floor.mm - eye[1]) / down[1])
    along = np.linalg.lstsq(np.column_stack([ray, [0, -1.0, 0]]), foot - eye, rcond=None)[0]
    return float(along[1])


def test_a_height_over_the_sheets_is_right_to_a_millimetre(scales: dict[View, Scale]) -> None:
    for view, scale in scales.items():
        feet, shoulder = SHOTS[view].project(np.array([[20.0, 0, -10.0], [20.0, 1350.0, -10.0]]))
        straight = [_undistorted(scale, at) for at in (shoulder, feet)]
        assert height_of_pixel(scale, *straight) == pytest.approx(1350.0, abs=1.5)


def test_the_frame_stands_a_metre_over_the_floor_and_faces_the_cameras(scales: dict[View, Scale]) -> None:
    for view, scale in scales.items():
        assert scale.source == "floor"
        assert scale.floor is not None
        assert (scale.floor.sheets, scale.floor.squares, scale.floor.card_off_deg) == (("left", "right"), 12, None)
        assert scale.above_floor is not None
        assert scale.above_floor.mm == ORIGIN_MM
        assert scale.camera.eye_mm[1] + ORIGIN_MM == pytest.approx(SHOTS[view].eye_mm[1], rel=0.012)  # it goes with the lens
        assert scale.camera.matrix[0, 0] == pytest.approx(FOCAL, rel=0.012)  # 0.6 %, begun with a guess
        assert scale.focal_sd < 0.02
        assert "focal_unknown" not in scale.flags
        assert scale.distance_mm == pytest.approx(2800, rel=0.02)


def test_a_print_at_97_percent_that_is_told_makes_everything_smaller() -> None:
    small = {which: Lying(lying.x_mm, lying.y_mm, lying.yaw_deg, share=0.97) for which, lying in SHEETS.items()}
    found = scales_by_floor([photo(view) for view in VIEWS], {}, sighted(small), Print(0.97, 0.0005))
    scale = found["front"]
    assert scale.print_share == 0.97
    assert scale.camera.eye_mm[1] + ORIGIN_MM == pytest.approx(SHOTS["front"].eye_mm[1], rel=0.012)


def test_the_doubt_is_that_of_the_print(scales: dict[View, Scale]) -> None:
    """An untold print is 0.3 % unsure, and with it every length."""
    untold = scales_by_floor([photo(view) for view in VIEWS], {}, sighted(), Print(1.0, 0.003))
    assert untold["front"].scale_sd == pytest.approx(np.hypot(0.003, np.sqrt(scales["front"].scale_sd ** 2 - 0.0005**2)), rel=0.01)
    assert scales["front"].scale_sd < 0.003


def test_what_was_moved_is_flagged_on_the_photo_after(scales: dict[View, Scale]) -> None:
    seen = sighted()
    there = SHEETS["left"]
    for k, view in enumerate(VIEWS[2:]):
        seen[view][0] = sheet_sighting(SHOTS[view], "left", Lying(there.x_mm + 30, there.y_mm, there.yaw_deg), seed=20 + k)
    found = scales_by_floor([photo(view) for view in VIEWS], {}, seen, EXACT)
    assert [view for view in VIEWS if "floor_left_moved" in found[view].flags] == [VIEWS[2]]
    assert not any("moved" in flag for scale in scales.values() for flag in scale.flags)


def test_a_photo_with_one_sheet_says_so() -> None:
    seen = sighted()
    seen["back"] = seen["back"][:1]
    found = scales_by_floor([photo(view) for view in VIEWS], {}, seen, EXACT)
    assert [view for view in VIEWS if "floor_sheet_missing" in found[view].flags] == ["back"]


def test_nothing_on_the_floor_no_scale() -> None:
    assert scales_by_floor([photo("front")], {}, {}, EXACT) == {}


def _undistorted(scale: Scale, px: np.ndarray) -> np.ndarray:
    camera = scale.camera
    return np.asarray(cv2.undistortPoints(px.reshape(1, 1, 2), camera.matrix, camera.distortion, P=camera.matrix)).ravel()
