"""Lines whose course is known."""

import numpy as np
import pytest
from scenes.polylines import isoline, resample, trim, value_at


def sheet() -> tuple[np.ndarray, np.ndarray]:
    x, y = np.meshgrid(np.linspace(0, 1, 21), np.linspace(0, 1, 21))
    index = np.arange(x.size).reshape(x.shape)
    a, b, c, d = (part.ravel() for part in (index[:-1, :-1], index[:-1, 1:], index[1:, 1:], index[1:, :-1]))
    return np.stack([x.ravel(), y.ravel(), 0 * x.ravel()], 1), np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])


def length(p: np.ndarray) -> float:
    return float(np.linalg.norm(np.diff(p, axis=0), axis=1).sum())


def everywhere(c: np.ndarray) -> np.ndarray:
    return np.ones(len(c), bool)


def test_a_circle_is_traced_all_round() -> None:
    x, tris = sheet()
    line = isoline(x, tris, np.hypot(x[:, 0] - 0.5, x[:, 1] - 0.5) - 0.31, everywhere)
    assert line is not None
    p = line @ x
    assert np.hypot(p[:, 0] - 0.5, p[:, 1] - 0.5) == pytest.approx(0.31, abs=0.002)
    assert length(p) == pytest.approx(2 * np.pi * 0.31, rel=0.03)
    np.testing.assert_allclose(line @ (x + [0, 0, 2]), p + [0, 0, 2])  # the same line on another shape


def test_the_mask_and_absence() -> None:
    x, tris = sheet()
    half = isoline(x, tris, x[:, 0] - 0.52, lambda c: c[:, 1] < 0.5)
    assert half is not None
    assert length(half @ x) == pytest.approx(0.5, abs=0.001)
    assert isoline(x, tris, x[:, 0] + 1, everywhere) is None


def test_trimming_cuts_exactly_and_keeps_the_longest_run() -> None:
    x, tris = sheet()
    line = isoline(x, tris, x[:, 0] - 0.52, everywhere)
    p = trim(line, x, lambda q: np.minimum(q[:, 1] - 0.33, 0.87 - q[:, 1])) @ x
    assert sorted(p[[0, -1], 1]) == pytest.approx([0, 0.33])
    assert trim(None, x, lambda q: q[:, 1]) is None
    assert trim(line, x, lambda q: q[:, 1] + 1) is None


def test_resampling_keeps_ends_and_steps() -> None:
    p = resample(np.array([[0, 0, 0], [3.0, 4, 0], [3, 4, 5]]), 1.0)
    assert len(p) == 11
    np.testing.assert_allclose(np.linalg.norm(np.diff(p, axis=0), axis=1), 1.0)
    np.testing.assert_allclose(p[[0, -1]], [[0, 0, 0], [3, 4, 5]])


def test_the_value_where_a_line_crosses_a_level() -> None:
    p = np.array([[0, 0, 0], [1.0, 0, 2], [5, 0, 4]])
    assert value_at(p, 2, 1.0, 0) == pytest.approx(0.5)
    assert value_at(p, 2, 4.01, 0) == pytest.approx(5)  # just beyond its end
    assert value_at(p, 2, 4.02, 0) is None
