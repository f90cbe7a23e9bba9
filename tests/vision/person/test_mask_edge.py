"""Edges beside a coarse mask's border: drawn steps at known columns."""

import numpy as np
import pytest

from fitcheck.vision.person.mask_edge import MASK_SD_MM, edges_beside_mask

ROWS = np.array([40.0, 60.0, 80.0])
PX_PER_MM = 0.8


def drawn(edges: list[tuple[float, int]], slope: float = 0.0) -> np.ndarray:
    """120 x 160 pixels of 90 grey levels, each edge (column at row 60, change) beginning a new level, each pixel by the share it covers."""
    y, x = np.mgrid[0:120, 0:160].astype(float)
    grey = np.full((120, 160), 90.0)
    for column, step in edges:
        grey += step * np.clip(x + 0.5 - column - slope * (y - 60), 0, 1)
    return np.repeat(grey.round().astype(np.uint8)[..., None], 3, axis=2)


def mask_up_to(column: int, slope: float = 0.0) -> np.ndarray:
    y, x = np.mgrid[0:120, 0:160]
    return x <= column + slope * (y - 60)


def right_edge(rgb: np.ndarray, mask: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    borders = np.array([int(np.flatnonzero(mask[int(row)])[-1]) for row in ROWS])
    return edges_beside_mask(rgb, mask, ROWS, borders, np.ones(3, np.intp), PX_PER_MM)


@pytest.mark.parametrize("mask_column", [76, 80, 85])
def test_a_step_is_found_where_it_is_and_not_where_the_mask_ends(mask_column):
    """Between pixels 80 and 81 at 80.3, whatever the mask says within 10 mm."""
    columns, sds = right_edge(drawn([(80.3, 80)]), mask_up_to(mask_column))
    assert columns == pytest.approx([80.3] * 3, abs=0.15)
    assert (sds < 1.0).all()


def test_the_left_edge_likewise():
    mask = ~mask_up_to(75)
    columns, _ = edges_beside_mask(drawn([(80.3, 80)]), mask, ROWS, np.full(3, 76), -np.ones(3, np.intp), PX_PER_MM)
    assert columns == pytest.approx([80.3] * 3, abs=0.15)


def test_a_sloping_edge_is_averaged_along_its_slope():
    """Half a pixel aside a row: at rows 40, 60 and 80 ten pixels apart."""
    columns, _ = right_edge(drawn([(80.3, 80)], 0.5), mask_up_to(82, 0.5))
    assert columns == pytest.approx([70.3, 80.3, 90.3], abs=0.2)


def test_a_faint_sloping_edge_shows_only_where_rows_are_shifted_along_its_slope():
    """Twenty grey levels, three pixels aside in two rows: averaged straight down, or the other way, too little of it would be left."""
    columns, _ = right_edge(drawn([(80.3, 20)], 1.5), mask_up_to(81, 1.5))
    assert columns == pytest.approx([50.3, 80.3, 110.3], abs=0.3)


def test_of_two_edges_the_outer_one_is_hers_unless_it_is_faint():
    """A seam inside is passed over; a shade on the wall outside, a quarter as strong, too. The other edge nearby is a doubt."""
    seam, shade = right_edge(drawn([(76.0, 60), (82.0, 70)]), mask_up_to(80)), right_edge(drawn([(78.0, 80), (84.0, 20)]), mask_up_to(80))
    assert seam[0] == pytest.approx([82.0] * 3, abs=0.3)
    assert shade[0] == pytest.approx([78.0] * 3, abs=0.3)
    alone = right_edge(drawn([(82.0, 70)]), mask_up_to(80))
    assert (seam[1] > 2 * alone[1]).all()


def test_without_an_edge_the_mask_counts_with_a_wide_doubt():
    """Half a pixel outside its last pixel; a step of 8 grey levels is none."""
    for rgb in (drawn([]), drawn([(82.0, 8)])):
        columns, sds = right_edge(rgb, mask_up_to(80))
        assert columns == pytest.approx([80.5] * 3)
        assert sds == pytest.approx([np.hypot(MASK_SD_MM * PX_PER_MM, 1.0)] * 3)


def test_an_edge_out_of_reach_is_not_hers():
    columns, _ = right_edge(drawn([(100.0, 80)]), mask_up_to(80))  # 25 mm away
    assert columns == pytest.approx([80.5] * 3)
