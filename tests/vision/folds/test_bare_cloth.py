"""What is not cloth is bridged, and the garment keeps its place."""

import cv2
import numpy as np
import pytest

from fitcheck.core.camera import Photo
from fitcheck.core.records import SeamLine, Sighting
from fitcheck.vision.cloth.find_cloth import LEVELS, STRIDE, Cloth
from fitcheck.vision.folds.bare_cloth import STEP_MM, bare_cloth, bridged

HEIGHT, WIDTH = 800, 600


def white_cloth(grey: np.ndarray, box: tuple[int, int, int, int]) -> tuple[Photo, Cloth]:
    """A photo of grey levels in which the box is cloth."""
    mask = np.ones(((box[3] - box[1]) // STRIDE, (box[2] - box[0]) // STRIDE), bool)
    flat = np.zeros((LEVELS, 2))
    light = float(np.log(np.median(grey) / 261))
    photo = Photo("front", "", "", np.repeat(grey.astype(np.uint8)[..., None], 3, axis=2), None, "")
    return photo, Cloth(box, mask, light, flat, np.full((LEVELS, 2), np.inf))


def test_a_pen_line_is_bridged_with_the_cloth_around_it() -> None:
    x = np.mgrid[:160, :140][1] * STEP_MM
    picture = (0.4 + 0.0005 * x).astype(np.float32)
    drawn = picture.copy()
    drawn[:, 70:72] = 0.02
    shows = np.ones(x.shape, bool)
    shows[:, 69:73] = False
    filled = bridged(drawn, shows, np.ones(x.shape, bool))
    assert np.abs(filled - picture)[10:-10, 60:80].max() < 0.01


def test_where_no_cloth_is_near_nothing_is_made_up() -> None:
    shows = np.zeros((100, 100), bool)
    shows[:, :20] = True
    filled = bridged(np.full((100, 100), 0.5, np.float32), shows, np.ones((100, 100), bool))
    assert (filled[:, 60:] == 0).all()
    assert filled[:, :25] == pytest.approx(0.5, abs=1e-5)


def test_lines_and_stickers_leave_no_trace() -> None:
    photo, cloth = white_cloth(np.full((HEIGHT, WIDTH), 170), (80, 40, 560, 760))
    cv2.line(photo.rgb, (300, 60), (320, 700), (20, 30, 160), 3)
    corners = np.array([[150.0, 300], [190, 300], [190, 340], [150, 340]])
    cv2.fillPoly(photo.rgb, [corners.astype(np.int32)], (0, 0, 0))
    sticker = Sighting("bust_point", "wearer_left", "front", "marker", corners.mean(0), 0.3, corners_px=corners)
    seam = SeamLine("side", "wearer_left", "front", np.stack([np.linspace(300, 320, 300), np.linspace(60, 700, 300)], 1), 0.3)
    bare = bare_cloth(photo, cloth, (sticker,), (seam,), 1.0)
    inside = bare.brightness[bare.hangs & (bare.brightness > 0)]
    assert np.ptp(inside) < 0.01
    assert (bare.hangs & (bare.brightness > 0)).sum() > 0.95 * bare.hangs.sum()
    assert not bare.shows[(320 - 40) * 2 // 5, (170 - 80) * 2 // 5]


@pytest.mark.parametrize("mm_per_px", [0.8, 1.0, 3.1])
def test_points_go_back_to_where_they_were_in_the_photo(mm_per_px: float) -> None:
    grey = np.full((HEIGHT, WIDTH), 120.0)
    y, x = np.mgrid[:HEIGHT, :WIDTH]
    spot = np.array([337.0, 421.0])
    grey += 40 * np.exp(-0.5 * ((x - spot[0]) ** 2 + (y - spot[1]) ** 2) / 8**2)
    photo, cloth = white_cloth(grey, (80, 40, 560, 760))
    bare = bare_cloth(photo, cloth, (), (), mm_per_px)
    bright = np.where(bare.shows, bare.brightness, 0) - 0.2
    weight = np.maximum(bright, 0)
    rows, cols = np.mgrid[: bright.shape[0], : bright.shape[1]]
    centre = np.array([(weight * cols).sum(), (weight * rows).sum()]) / weight.sum()
    assert bare.in_photo(centre[None])[0] == pytest.approx(spot, abs=0.6)


def test_distances_are_told_from_the_outline_not_from_an_opened_front() -> None:
    photo, cloth = white_cloth(np.full((HEIGHT, WIDTH), 170), (80, 40, 560, 760))
    cloth.mask[:, 28:32] = False
    bare = bare_cloth(photo, cloth, (), (), 1.0)
    middle = bare.hangs.shape[0] // 2
    assert bare.inward_mm[middle].max() == pytest.approx(480 / 2, rel=0.05)
