"""Where a flat target is expected and how that changes: a square worked by hand, and lines moved aside."""

import math

import numpy as np
import pytest

from fitcheck.photo.camera.flat_target import ASPECT, FOCAL, INSET, K1, SIZE, FlatTarget, inward, translation

# A square of 100 mm, corners clockwise from the top left, 2000 mm before a camera of f = 1000 px in a picture of 801 x 601: 50 px wide.
SQUARE_MM = np.array([[-50.0, 50], [50, 50], [50, -50], [-50, -50]])
SQUARE_PX = np.array([[375.0, 275], [425, 275], [425, 325], [375, 325]])
FACING = np.array([math.pi, 0, 0, 0, 0, 0, 0, 0, 0, 0])  # turned about the picture's horizontal: y up becomes y down


def square(normals=None) -> FlatTarget:
    return FlatTarget(SQUARE_MM, SQUARE_PX, inward(SQUARE_PX[None])[0], (801, 601), 1000.0, normals=normals)


def moved(unknown: int, by: float) -> np.ndarray:
    x = FACING.copy()
    x[unknown] += by
    return square().expected(x, 2000.0)[0]


def test_straight_ahead_it_is_seen_as_drawn():
    assert square().expected(FACING, 2000.0)[0] == pytest.approx(SQUARE_PX, abs=1e-6)
    assert square().misfit(FACING, 2000.0)[0] == pytest.approx(np.zeros(8), abs=1e-6)


def test_each_unknown_moves_it_as_it_should():
    """A longer lens alone leaves its size; nearer it is larger; insets shrink it by one pixel a side; aspect stretches it upwards."""
    assert moved(FOCAL, math.log(2)) == pytest.approx(SQUARE_PX, abs=1e-6)
    assert moved(SIZE, math.log(2)) == pytest.approx((SQUARE_PX - [400, 300]) / 2 + [400, 300], abs=1e-6)
    assert moved(INSET, 1.0) == pytest.approx(SQUARE_PX + [[1, 1], [-1, 1], [-1, -1], [1, -1]], abs=1e-6)
    assert moved(ASPECT, math.log(1.2)) == pytest.approx((SQUARE_PX - [400, 300]) * [1, 1.2] + [400, 300], abs=1e-6)
    assert moved(3, 0.1) == pytest.approx(SQUARE_PX + [100, 0], abs=1e-6)  # a tenth of the focal length to the right
    # a corner is 0.025 from the axis each way: r^2 = 0.00125, drawn outwards by that times k1
    assert moved(K1, 0.4) == pytest.approx((SQUARE_PX - [400, 300]) * (1 + 0.4 * 0.00125) + [400, 300], abs=1e-6)


@pytest.mark.parametrize("unknown", range(10))
def test_slopes_are_how_the_corners_move(unknown):
    """A millionth either way from a place where nothing is straight."""
    x, step = FACING + [0.02, 0.1, -0.05, 0.1, 0.05, 0.2, 0.3, -0.1, 0.1, 0.05], np.zeros(10)
    step[unknown] = 1e-6
    differences = (square().expected(x + step, 2000.0)[0] - square().expected(x - step, 2000.0)[0]).ravel() / 2e-6
    assert square().misfit(x, 2000.0)[1][:, unknown] == pytest.approx(differences, rel=1e-4, abs=1e-3)


def test_an_edge_is_off_only_across_its_run():
    """All edges upright: two pixels to the right are two pixels off, two pixels down nothing."""
    edges = square(normals=np.tile([1.0, 0.0], (4, 1)))
    right, down = FACING.copy(), FACING.copy()
    right[3], down[4] = 0.002, 0.002
    assert edges.misfit(right, 2000.0)[0] == pytest.approx([2, 2, 2, 2])
    assert edges.misfit(down, 2000.0)[0] == pytest.approx([0, 0, 0, 0], abs=1e-9)
    assert edges.misfit(FACING, 2000.0)[1][:, 3] == pytest.approx([1000] * 4)


def test_the_place_counts_from_the_size():
    """In x: place right and down over distance, log of distance over the first depth, log of the focal length."""
    x = np.array([0, 0, 0, 0.1, -0.2, math.log(1.5), 0, 0, math.log(2), 0])
    assert translation(x, 2000.0) == pytest.approx([300, -600, 6000])


def test_inward_is_towards_the_middle_along_both_sides():
    turned = np.array([[[0.0, 0], [3, 4], [-1, 7], [-4, 3]]])  # 5 px a side, turned
    a, b = np.array([0.6, 0.8]), np.array([-0.8, 0.6])
    assert inward(turned)[0] == pytest.approx(np.array([a + b, b - a, -a - b, a - b]))
