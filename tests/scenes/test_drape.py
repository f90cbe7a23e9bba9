"""Cloth over a body whose rest can be told."""

import numpy as np
import pytest
from scenes.drape import GAP_M, simulate, strain
from scenes.mesh import triangles


def plate(size: float, n: int, z: float) -> tuple[np.ndarray, np.ndarray]:
    x, y = np.meshgrid(np.linspace(-size, size, n), np.linspace(-size, size, n))
    index = np.arange(x.size).reshape(x.shape)
    quads = np.stack([index[:-1, :-1], index[:-1, 1:], index[1:, 1:], index[1:, :-1]], -1).reshape(-1, 4)
    return np.stack([x.ravel(), y.ravel(), z + 0 * x.ravel()], 1), quads


def test_a_sheet_falls_on_a_table_and_rides_with_it() -> None:
    table, quads = plate(0.3, 41, 0.0)
    sheet, cells = plate(0.08, 9, 0.004)
    tris = triangles(cells)
    fallen = simulate(tris, sheet, sheet, lambda share: table, quads, settle_steps=300)
    assert fallen[:, 2] == pytest.approx(GAP_M, abs=2e-4)
    moved = simulate(tris, sheet, fallen, lambda share: table + share * np.array([0.03, 0, 0]), quads, morph_steps=300, settle_steps=50)
    assert (moved - fallen)[:, 0] == pytest.approx(0.03, abs=0.004)
    larger, smaller = strain(moved, tris, sheet)
    assert np.abs([larger, smaller]).max() < 0.003


def test_what_is_held_stays_as_far_off_as_it_was() -> None:
    table, quads = plate(0.3, 41, 0.0)
    sheet, cells = plate(0.08, 9, 0.004)
    edge = np.flatnonzero(sheet[:, 0] < -0.079)
    hung = simulate(triangles(cells), sheet, sheet, lambda share: table - share * np.array([0, 0, 0.02]), quads, 300, 0, held=edge)
    assert hung[edge, 2] == pytest.approx(-0.016, abs=5e-4)  # the table sank by 20 mm and took the edge along


def test_strain_of_a_stretched_sheet() -> None:
    sheet, cells = plate(0.1, 5, 0.0)
    larger, smaller = strain(sheet * [1.04, 0.97, 1], triangles(cells), sheet)
    np.testing.assert_allclose(larger, 0.04, atol=1e-9)
    np.testing.assert_allclose(smaller, -0.03, atol=1e-9)
