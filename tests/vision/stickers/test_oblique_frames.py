"""Foreshortened stickers at neck and shoulders, found by their frames alone."""

import cv2
import numpy as np
import pytest
from vision.printed import cloth, lying, paste, printed_sticker

from fitcheck.vision.stickers.oblique_frames import neck_and_shoulders, oblique_starts
from fitcheck.vision.stickers.pattern_fit import fit_sticker


def pose_points() -> np.ndarray:
    """Ears 7 and 8, shoulders 11 and 12 of the pose, each left then right."""
    points = np.zeros((33, 2))
    points[[7, 8, 11, 12]] = [[60, 0], [40, 0], [100, 100], [0, 110]]
    return points


def test_where_stickers_are_looked_for():
    """From front and back both shoulders; from the side the near one, and two fifths of the way from it to the ear."""
    for view in ("front", "back"):
        assert [place.tolist() for place in neck_and_shoulders(pose_points(), view)] == [[[100, 100]], [[0, 110]]]
    (left,), (right,) = neck_and_shoulders(pose_points(), "left"), neck_and_shoulders(pose_points(), "right")
    assert left == pytest.approx(np.array([[100, 100], [84, 60]]))
    assert right == pytest.approx(np.array([[0, 110], [16, 66]]))


def ground(number: int | None, middle: tuple[float, float], tilt: float) -> np.ndarray:
    rgb = cloth(240, 240)
    if number is not None:
        rgb = paste(rgb, printed_sticker(number), lying(middle, 1.2, tilt_deg=tilt))
    return cv2.cvtColor(np.clip(rgb, 0, 255).astype(np.uint8), cv2.COLOR_RGB2GRAY)


@pytest.mark.parametrize("tilt", [60, 70])
@pytest.mark.parametrize("number", [22, 25])
def test_a_frame_tilted_away_upwards_is_found(number, tilt):
    """On the shoulder, seen from the side: from its start the whole pattern fits to a third of a pixel."""
    middle = (118.3, 131.6)
    gray = ground(number, middle, tilt)
    starts = oblique_starts(gray, 1.2, [np.array([[110.0, 120.0], [120.0, 110.0]])], "right", [], 200.0)
    nearest = min(starts, key=lambda shape: np.hypot(*(shape[:, 0] - middle)))
    assert np.hypot(*(nearest[:, 0] - middle)) < 2
    assert max(np.hypot(*(fit_sticker(gray, number, shape).centre_px - middle)) for shape in [nearest]) < 0.33


def test_bare_cloth_and_what_is_far_fainter_than_the_stickers_have_none():
    near = [np.array([[120.0, 120.0]])]
    assert oblique_starts(ground(None, (0, 0), 0), 1.2, near, "right", [], 200.0) == []
    pale = (150 + 0.2 * (ground(25, (120, 120), 65).astype(float) - 150)).astype(np.uint8)
    assert oblique_starts(pale, 1.2, near, "right", [], 200.0) == []


def test_a_sticker_already_found_is_looked_past():
    gray, to_photo = ground(25, (120, 120), 65), lying((120, 120), 1.2, tilt_deg=65)
    corners = cv2.perspectiveTransform(np.array([[[-16, 16], [16, 16], [16, -16], [-16, -16.0]]]), to_photo)[0]
    assert oblique_starts(gray, 1.2, [np.array([[120.0, 120.0]])], "right", [], 200.0)
    assert oblique_starts(gray, 1.2, [np.array([[120.0, 120.0]])], "right", [corners], 200.0) == []
