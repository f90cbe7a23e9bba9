"""Propagation through a hand-made solution: two lengths sharing a scale error of 1 %, each end read to 1 mm."""

import numpy as np
import pytest

from fitcheck.core.solution import Solution


def two_lengths() -> Solution:
    """Points at 500 and 490 mm on x, each known to 1 mm ("pixel"), and a common relative scale known to 1 % ("scale").

    Parameters are the six coordinates and the scale s; the readings are x (1 + s), so a row says dx + x ds.
    """
    keys = (("a", None), ("b", None))
    at = np.array([[500.0, 0, 0], [490.0, 0, 0]])
    rows, sources = [], []
    for i, x in enumerate((500.0, 490.0)):
        row = np.zeros(7)
        row[3 * i], row[6] = 1.0, -x
        rows.append(row)
        sources.append("pixel")
        for axis in (1, 2):
            held = np.zeros(7)
            held[3 * i + axis] = 1.0
            rows.append(held)
            sources.append("pixel")
    rows.append(np.r_[np.zeros(6), 1 / 0.01])
    sources.append("scale")
    design = np.array(rows)
    return Solution(keys, at, design, tuple(sources), np.linalg.inv(design.T @ design), {}, {}, np.zeros(7))


def test_a_shared_scale_error_cancels_in_a_difference():
    """500 mm - 490 mm is 10 mm to 1.4 mm, not to 7 mm (JCGM 100:2008, 5.2, correlated input quantities)."""
    difference = two_lengths().derive(lambda a, b: float(a[0] - b[0]), [("a", None), ("b", None)])
    assert difference.value == pytest.approx(10)
    assert difference.sd == pytest.approx(np.sqrt(2 + 0.1**2), rel=1e-3)
    assert difference.sources["scale"] == pytest.approx(0.1, rel=1e-3)
    assert difference.sources["pixel"] == pytest.approx(np.sqrt(2), rel=1e-3)


def test_a_length_alone_bears_it():
    length = two_lengths().derive(lambda a: float(a[0]), [("a", None)])
    assert length.sd == pytest.approx(np.sqrt(5.0**2 + 1), rel=1e-3)


def test_the_gradient_of_a_curved_formula():
    """The distance of a from the origin has gradient (1, 0, 0) there."""
    distance = two_lengths().derive(lambda a: float(np.linalg.norm(a)), [("a", None)])
    assert distance.sd == pytest.approx(np.sqrt(26), rel=1e-3)
