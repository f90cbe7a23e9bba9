"""Where a half tissue ends, coarsely, on drawn trunks. A pixel is 1.4 mm."""

from dataclasses import replace

import numpy as np
import pytest
from vision.cloth_scene import half_photograph, pose

from fitcheck.core.records import Floats
from fitcheck.vision.cloth.find_cloth import find_cloth
from fitcheck.vision.lines.half_edge import coarse_edge

MM_PER_PX = 1.4
TISSUE, RED = (202, 172, 130), (190, 30, 40)
Y = np.arange(0.0, 760.0, 4.0)


def off_mm(edge_px: Floats, tissue_left: bool, drawn: bool, hidden: tuple[Floats, ...] = ()) -> Floats:
    inwards = -1 if tissue_left else 1
    lines = [(edge_px + [inwards * 12 / MM_PER_PX, 0], RED, 2.2)] if drawn else []
    rgb = half_photograph(TISSUE, edge_px, tissue_left, lines)
    found = coarse_edge(rgb, pose(), find_cloth(rgb, pose(), inwards), hidden, inwards, MM_PER_PX)
    assert len(found) > 100
    return np.asarray((found[:, 0] - np.interp(found[:, 1], edge_px[:, 1], edge_px[:, 0])) * MM_PER_PX)


@pytest.mark.parametrize("tissue_left", [True, False])
@pytest.mark.parametrize("aside_px", [-15.0, 0.0, 20.0])
@pytest.mark.parametrize("drawn", [True, False])
def test_it_is_found_short_of_the_middle_and_beyond(tissue_left: bool, aside_px: float, drawn: bool) -> None:
    edge = np.stack([280 + aside_px + 4 * np.sin(Y / 90), Y], 1)
    off = off_mm(edge, tissue_left, drawn)
    assert abs(np.median(off)) < 3
    assert np.percentile(np.abs(off), 90) < 8


def test_under_a_sticker_it_runs_on() -> None:
    edge = np.stack([np.full(len(Y), 280.0), Y], 1)
    sticker = np.array([[260.0, 380.0], [300.0, 380.0], [300.0, 420.0], [260.0, 420.0]])
    assert np.percentile(np.abs(off_mm(edge, True, False, (sticker,))), 90) < 8


def test_without_cloth_there_is_no_edge() -> None:
    edge = np.stack([np.full(len(Y), 280.0), Y], 1)
    rgb = half_photograph(TISSUE, edge, tissue_left=True)
    nobody = replace(pose(), mask=np.zeros(rgb.shape[:2], bool))
    assert len(coarse_edge(rgb, pose(), find_cloth(rgb, pose(), -1), [], -1, MM_PER_PX)) > 100
    assert len(coarse_edge(rgb, nobody, find_cloth(rgb, nobody, -1), [], -1, MM_PER_PX)) == 0
