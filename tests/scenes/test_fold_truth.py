"""Crest and valley lines of sheets whose folds are known."""

import importlib.util
from pathlib import Path

import numpy as np
import pytest

_spec = importlib.util.spec_from_file_location("fold_truth", Path(__file__).with_name("fold_truth.py"))
assert _spec is not None
assert _spec.loader is not None
fold_truth = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(fold_truth)


def sheet(height) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """A sheet 400 x 300 mm in a mesh of 10 mm: its heights over a curved rest shape, triangles, the rest shape."""
    x, y = np.meshgrid(np.arange(0, 401, 10.0), np.arange(0, 301, 10.0))
    rest = np.stack([x.ravel(), y.ravel(), 40 - (x.ravel() - 200) ** 2 / 1000], 1)
    index = np.arange(x.size).reshape(x.shape)
    a, b, c, d = (part.ravel() for part in (index[:-1, :-1], index[:-1, 1:], index[1:, 1:], index[1:, :-1]))
    triangles = np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])
    raised = rest.copy()
    raised[:, 2] += height(rest[:, 0], rest[:, 1])
    return raised, triangles, rest


def test_the_rest_shape_has_no_folds() -> None:
    assert fold_truth.crest_lines(*sheet(lambda x, y: 0 * x)) == []


@pytest.mark.parametrize(("sign", "kind"), [(1, "ridge"), (-1, "valley")])
def test_a_slanting_fold_is_traced_with_its_height(sign: int, kind: str) -> None:
    def fold(x, y):
        return sign * 6 * np.exp(-0.5 * (((x - 200) - 0.5 * (y - 150)) / 14) ** 2)

    lines = fold_truth.crest_lines(*sheet(fold))
    longest = lines[0]
    assert longest["kind"] == kind
    points = longest["points_mm"]
    assert np.abs((points[:, 0] - 200) - 0.5 * (points[:, 1] - 150)).max() < 6
    assert np.ptp(points[:, 1]) > 200
    assert 4 < np.median(longest["height_mm"]) < 8


def test_what_lies_behind_cloth_is_blocked() -> None:
    triangle = np.array([[[-50.0, 0, -50], [50, 0, -50], [0, 0, 50]]])
    eye = np.array([0.0, -1000, 0])
    assert fold_truth._blocked(np.array([0.0, 100, 0]), eye, triangle)
    assert not fold_truth._blocked(np.array([0.0, 3, 0]), eye, triangle)
    assert not fold_truth._blocked(np.array([0.0, -100, 0]), eye, triangle)
    assert not fold_truth._blocked(np.array([200.0, 100, 0]), eye, triangle)
