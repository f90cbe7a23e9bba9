"""Meshes whose sizes are known."""

import numpy as np
import pytest
import scipy.sparse as sp
from scenes import mesh
from scipy.spatial.transform import Rotation


def square(n: int = 8) -> tuple[np.ndarray, np.ndarray]:
    """Unit square of n x n quads."""
    x, y = np.meshgrid(np.linspace(0, 1, n + 1), np.linspace(0, 1, n + 1))
    index = np.arange(x.size).reshape(x.shape)
    quads = np.stack([index[:-1, :-1], index[:-1, 1:], index[1:, 1:], index[1:, :-1]], -1).reshape(-1, 4)
    return np.stack([x.ravel(), y.ravel(), 0 * x.ravel()], 1), quads


CUBE = np.array([[x, y, z] for x in (-1.0, 1) for y in (-1.0, 1) for z in (-1.0, 1)])
CUBE_QUADS = np.array([[0, 1, 3, 2], [4, 6, 7, 5], [0, 4, 5, 1], [2, 3, 7, 6], [0, 2, 6, 4], [1, 5, 7, 3]])


def area(v: np.ndarray, tris: np.ndarray) -> float:
    return float(np.linalg.norm(np.cross(v[tris[:, 1]] - v[tris[:, 0]], v[tris[:, 2]] - v[tris[:, 0]]), axis=1).sum() / 2)


@pytest.mark.parametrize("axis", ["x", "y", "z"])
def test_rotations_are_those_of_scipy(axis: str) -> None:
    np.testing.assert_allclose(mesh.rotation(axis, 33), Rotation.from_euler(axis, 33, degrees=True).as_matrix(), atol=1e-12)


def test_a_cube_subdivided_once_is_as_catmull_and_clark_say() -> None:
    finer, quads = mesh.subdivide(CUBE_QUADS, len(CUBE))
    v = finer @ CUBE
    assert quads.shape == (24, 4)
    np.testing.assert_allclose(np.abs(v[:8]), 5 / 9)  # (F + 2 E + (n - 3) P) / n with n = 3
    np.testing.assert_allclose(np.sort(np.abs(v[8:20]), 1), [[0, 0.75, 0.75]] * 12)
    np.testing.assert_allclose(np.sort(np.abs(v[20:]), 1), [[0, 0, 1]] * 6)


def test_a_flat_sheet_stays_flat_and_keeps_its_sides() -> None:
    v, quads = square()
    finer, new = mesh.subdivide(quads, len(v))
    w = finer @ v
    assert len(new) == 4 * len(quads)
    assert w[:, 2].max() == 0
    assert area(w, mesh.triangles(new)) == pytest.approx(1.0, abs=0.03)  # the corners round off


def test_clipping_cuts_along_the_line() -> None:
    v, quads = square()
    s, tris = mesh.clip(sp.identity(len(v), format="csr"), mesh.triangles(quads), v[:, 0] + 2 * v[:, 1] - 1.3)
    w = s @ v
    # the cut itself may pass a vertex by up to a fiftieth of an edge, so that there are no slivers
    assert area(w, tris) == pytest.approx(1.3 * 1.3 / 4 - 0.3 * 0.15 / 2, abs=0.003)
    assert (w[:, 0] + 2 * w[:, 1] - 1.3).max() < 0.01


def test_the_larger_part_is_kept() -> None:
    v, quads = square()
    tris = mesh.triangles(quads[np.isin(np.arange(64) % 8, [0, 1, 2, 5, 6])])  # columns 0-2 and 5-6
    s, kept = mesh.largest_part(sp.identity(len(v), format="csr"), tris)
    assert area(s @ v, kept) == pytest.approx(3 / 8)
    assert len(mesh.boundary_edges(kept)) == 2 * (3 + 8)


def test_points_are_pushed_out_of_a_body() -> None:
    finer, quads = mesh.subdivide(CUBE_QUADS, 8, smooth=False)
    body = mesh.Surface(finer @ CUBE, quads)
    pushed = body.push(np.array([[0.1, 0.05, 0.95], [0, 0, 1.5]]), 0.02)
    np.testing.assert_allclose(pushed, [[0.1, 0.05, 1.02], [0, 0, 1.5]], atol=1e-9)
