"""The edges of an opened front, on drawn pictures whose edges are known."""

import cv2
import numpy as np
import pytest

from fitcheck.core.records import SeamLine
from fitcheck.vision.lines.front_edges import moved_to_edges

CLOTH, UNDER, PEN = (205, 198, 176), (52, 58, 74), (40, 120, 60)
BIG = 8


def opened(strip_mm: float, gap: np.ndarray, light: float = 1.0) -> np.ndarray:
    """A front opened by `gap` (mm a row, 1 px a mm), with pen lines 3 px wide and `strip_mm` inside its edges."""
    height, width = len(gap), 160
    x = (np.arange(width * BIG) + 0.5) / BIG - 0.5 - 80
    away = np.abs(x)[None] - np.repeat(gap, BIG)[:, None] / 2
    picture = np.where((away >= 0)[..., None], CLOTH, UNDER).astype(np.float32)
    picture[np.abs(away - strip_mm) <= 1.5] = PEN
    picture *= np.linspace(1.0, light, width * BIG)[None, :, None]
    picture = cv2.resize(picture, (width, height), interpolation=cv2.INTER_AREA)
    picture = cv2.GaussianBlur(picture, (0, 0), 0.7) + np.random.default_rng(1).normal(0, 2, picture.shape)
    return np.clip(picture, 0, 255).astype(np.uint8)


def lines(strip_mm: float, gap: np.ndarray) -> tuple[SeamLine, ...]:
    rows = np.arange(4.0, len(gap) - 4)
    halves = gap[4:-4] / 2 + strip_mm
    return (
        SeamLine("centre_front", "wearer_left", "front", np.stack([80 + halves, rows], 1), 0.3),
        SeamLine("centre_front", "wearer_right", "front", np.stack([80 - halves, rows], 1), 0.3),
        SeamLine("waist", None, "front", np.array([[10.0, 100], [150, 100]]), 0.3),
    )


@pytest.mark.parametrize(("strip", "light"), [(3.0, 1.0), (4.5, 0.6), (3.5, 1.2)])
def test_the_gap_is_measured_between_the_edges(strip: float, light: float) -> None:
    gap = np.interp(np.arange(240), [0, 120, 239], [0.0, 24.0, 2.0])
    left, right, waist = moved_to_edges(opened(strip, gap, light), lines(strip, gap), 1.0)
    width = left.points_px[:, 0] - right.points_px[:, 0]
    assert np.abs(width - gap[4:-4])[40:-40].max() < 0.8
    assert left.sd_px > 0.3
    assert waist.points_px[0, 0] == 10.0


def test_edges_that_meet_stay_between_the_lines() -> None:
    gap = np.interp(np.arange(240), [0, 100, 140, 239], [20.0, 20.0, 0.0, 0.0])
    left, right, _ = moved_to_edges(opened(3.0, gap), lines(3.0, gap), 1.0)
    assert np.abs((left.points_px - right.points_px)[160:, 0]).max() < 0.8


def test_a_line_far_inside_an_extension_is_the_centre_front_itself() -> None:
    gap = np.full(240, 12.0)
    for before, after in zip(lines(14.0, gap), moved_to_edges(opened(14.0, gap), lines(14.0, gap), 1.0), strict=True):
        np.testing.assert_array_equal(before.points_px, after.points_px)


def test_a_closed_front_is_left_alone() -> None:
    gap = np.full(240, 12.0)
    closed = (SeamLine("centre_front", None, "front", lines(3.0, gap)[0].points_px, 0.3),)
    assert moved_to_edges(opened(3.0, gap), closed, 1.0) == closed
