"""The edge of a half tissue and the centre line drawn beside it, where both are known exactly. A pixel is 1.4 mm."""

import numpy as np
import pytest
from vision.cloth_scene import half_photograph, pose

from fitcheck.core.camera import Photo
from fitcheck.core.records import SeamLine
from fitcheck.vision.lines.half_seams import HalfCut, half_seams

MM_PER_PX = 1.4
RED, TISSUE = (190, 30, 40), (202, 172, 130)
Y = np.arange(0.0, 760.0, 4.0)
EDGE = np.stack([284 + 6 * np.sin(Y / 130), Y], 1)  # the tissue's own edge, a little wavy


def centre(seams: tuple[SeamLine, ...], name: str = "centre_front") -> SeamLine:
    return next(seam for seam in seams if seam.name == name)


def away_mm(line: SeamLine, true: np.ndarray, rows: tuple[float, float] = (120, 640)) -> np.ndarray:
    points = line.points_px[(line.points_px[:, 1] > rows[0]) & (line.points_px[:, 1] < rows[1])]
    assert len(points) > 20
    return np.asarray((points[:, 0] - np.interp(points[:, 1], true[:, 1], true[:, 0])) * MM_PER_PX)


@pytest.mark.parametrize("tissue_left", [True, False])
@pytest.mark.parametrize("allowance_mm", [15.0, 8.0])
def test_the_drawn_line_counts_not_the_edge_of_its_allowance(tissue_left: bool, allowance_mm: float) -> None:
    drawn = EDGE + [(-1 if tissue_left else 1) * allowance_mm / MM_PER_PX, 0]
    rgb = half_photograph(TISSUE, EDGE, tissue_left, [(drawn, RED, 2.2)])
    _, seams, _ = half_seams(
        Photo("front", "", "", rgb, None, ""), pose(), (), MM_PER_PX, HalfCut("wearer_right" if tissue_left else "wearer_left")
    )
    line = centre(seams)
    assert line.side == ("wearer_right" if tissue_left else "wearer_left")
    assert line.colour in ("red", "pink")
    assert not line.flags
    assert np.abs(np.median(away_mm(line, drawn))) < 0.5
    assert np.percentile(np.abs(away_mm(line, drawn)), 95) < 1.2


@pytest.mark.parametrize("tissue_left", [True, False])
def test_without_a_line_the_edge_is_the_centre_and_says_so(tissue_left: bool) -> None:
    rgb = half_photograph(TISSUE, EDGE, tissue_left)
    _, seams, _ = half_seams(
        Photo("back", "", "", rgb, None, ""), pose(), (), MM_PER_PX, HalfCut("wearer_left" if tissue_left else "wearer_right")
    )
    line = centre(seams, "centre_back")
    assert line.flags == ("centre_by_edge",)
    assert np.abs(np.median(away_mm(line, EDGE))) < 0.8
    assert np.percentile(np.abs(away_mm(line, EDGE)), 95) < 2.0


def test_an_edge_cut_with_its_allowance_lies_so_far_beyond_the_centre() -> None:
    rgb = half_photograph(TISSUE, EDGE, tissue_left=True)
    _, seams, _ = half_seams(Photo("front", "", "", rgb, None, ""), pose(), (), MM_PER_PX, HalfCut("wearer_right", 15.0))
    assert np.median(away_mm(centre(seams), EDGE)) == pytest.approx(-15.0, abs=0.8)


def test_nothing_beyond_the_edge_is_cloth_and_no_line_is_hers_on_the_other_side() -> None:
    rgb = half_photograph(TISSUE, EDGE, True, [(EDGE + [-10, 0], RED, 2.2)])
    rgb[200:560, 349:352] = RED
    cloth, seams, _ = half_seams(Photo("front", "", "", rgb, None, ""), pose(), (), MM_PER_PX, HalfCut("wearer_right"))
    assert all(seam.side != "wearer_left" for seam in seams)
    x = cloth.box_px[0] + cloth.stride * (np.flatnonzero(cloth.mask.any(axis=0)) + 0.5)
    assert x.max() < EDGE[:, 0].max() + cloth.stride
