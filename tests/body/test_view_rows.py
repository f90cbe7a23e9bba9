"""Rows of one photo against finite differences, and outlines that OpenCV's projection draws of a known body."""

from dataclasses import replace

import numpy as np
import pytest
import rig

from fitcheck.body.adjust import _Problem, adjust
from fitcheck.body.landmarks import outline_rows
from fitcheck.body.shape import body_shape
from fitcheck.core.evidence import Evidence
from fitcheck.core.records import VIEWS

SQUARE = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])


def unusual(seed: int):
    """Numbers of a body about as unlike the usual one as most are."""
    return np.random.default_rng(seed).normal(0, 0.8, body_shape().size)


def seen_body(shape, turns):
    points = rig.body_of(shape)
    scale = rig.scale_at()
    return points, scale, rig.sightings(points, scale, turns)


def outlined(shape, turns):
    """A seen body solved without outlines, and its true outlines: points, scale, scales, sightings, solution, outlines."""
    points, scale, seen = seen_body(shape, turns)
    scales = dict.fromkeys(VIEWS, scale)
    start = adjust(Evidence(scales, seen))
    outlines = {view: rig.outline(scale, view, shape, outline_rows(start, view), turns.get(view, 0.0)) for view in VIEWS}
    return points, scale, scales, seen, start, outlines


def outline_rows_at(problem, block, x, depth=None):
    touch = block.touching(block.poses(x), depth)
    return block.outline_rows(x, touch, *problem._supports(x, [touch]))


@pytest.mark.parametrize("which", ["point_rows", "outline_rows", "size_rows"])
@pytest.mark.parametrize("view", VIEWS)
def test_jacobian_against_finite_differences(which, view):
    shape = unusual(1)
    _, scale, seen = seen_body(shape, {"right": 3.0})
    outline = rig.outline(scale, view, shape, np.linspace(640.0, 1250.0, 23))
    if which == "size_rows":
        seen = [replace(s, kind="centred", corners_px=s.xy_px + 16 * SQUARE) for s in seen]
    problem = _Problem(Evidence(dict.fromkeys(VIEWS, scale), seen, (), {view: outline}, sticker_share=1.0), VIEWS)
    block = next(b for b in problem.blocks if b.view == view)
    plain = np.ones_like(problem.body.hull)  # weights that stay as they are
    problem.body = replace(problem.body, hull_sd=plain, cloth_sd=plain, worn=plain[:, 0])
    x = problem._start()
    x[problem.at.shape] = shape / 2
    depth = None
    for _ in range(2):  # until where the rays touch has settled
        _, depth = outline_rows_at(problem, block, x, depth)

    def rows(at):
        if which == "outline_rows":
            return outline_rows_at(problem, block, at, depth)[0]
        return getattr(block, which)(at, block.poses(at))

    found = rows(x)
    assert len(found.residuals) > 1
    for i, column in enumerate(found.columns):
        step = 1e-6 if problem.at.views[view] <= column < problem.at.views[view] + 3 else 1e-4
        ends = []
        for sign in (1, -1):
            moved = x.copy()
            moved[column] += sign * step
            ends.append(rows(moved).residuals)
        expected = -(ends[0] - ends[1]) / (2 * step)
        size = np.abs(expected).max() + 1e-3
        assert found.jacobian[:, i] == pytest.approx(expected, abs=0.02 * size), column


@pytest.mark.parametrize(("seed", "turns"), [(2, {}), (3, {"front": 3.0, "right": -4.0, "left": 2.0})])
def test_outlines_recover_a_known_body(seed, turns):
    """Depths that stickers in one view cannot give, and how she turned, from the outlines of all four."""
    points, _, scales, seen, without, outlines = outlined(unusual(seed), turns)
    body = adjust(Evidence(scales, seen, (), outlines), without)
    for name in ("waist_front", "waist_back", "seat", "front_neck_point", "back_neck_point"):
        error, sd = body.position(name) - points[name, None], body.sd(name)
        assert abs(error[2]) < min(2.5 * sd[2], 5.0), name
        assert sd[2] < without.sd(name)[2], name
    for view in VIEWS:
        assert abs(body.turn_deg(view).value - turns.get(view, 0.0)) < 0.7


def test_an_outline_far_off_in_some_rows_does_not_bend_the_rest():
    """Hair or a hand before the edge: 80 mm outside, in a third of the rows of one side."""
    points, _, scales, seen, start, outlines = outlined(unusual(4), {})
    outlines["left"].edges_px[1, 8:18] += 80
    body = adjust(Evidence(scales, seen, (), outlines), start)
    for name in ("waist_back", "seat"):
        assert abs((body.position(name) - points[name, None])[2]) < 6.0


def test_neither_arm_nor_chin_nor_a_sticker_on_the_outline_shapes_the_trunk():
    """An outline 40 mm outside at those heights changes nothing; 40 mm outside at the waist would."""
    points, scale, scales, seen, start, outlines = outlined(unusual(5), {})
    body = adjust(Evidence(scales, seen, (), outlines), start)

    def rows_between(view, low_mm, high_mm):
        rows = outlines[view].rows_px
        ends = rig.pixels(scale, view, np.array([[0.0, high_mm, 0.0], [0.0, low_mm, 0.0]]))[:, 1]
        return (rows > ends[0]) & (rows < ends[1])

    bust, neck = points["bust_point", "wearer_left"][1], points["back_neck_point", None][1]
    arm = rows_between("front", bust + 0.4 * (neck - bust), bust + 0.8 * (neck - bust))
    chin = rows_between("left", neck + 25, neck + 80)
    sticker = rows_between("right", bust - 12, bust + 12)
    waist = points["waist_side", "wearer_right"][1]
    beside = rows_between("front", waist - 12, waist + 12)
    assert arm.any()
    assert chin.any()
    assert sticker.any()
    assert beside.any()
    outlines["front"].edges_px[0, arm] -= 40
    outlines["left"].edges_px[0, chin] -= 40
    outlines["right"].edges_px[1, sticker] += 40
    outlines["front"].edges_px[0, beside] -= 40  # seen in the right photo alone, it is on the front photo's outline
    moved = adjust(Evidence(scales, seen, (), outlines), start)
    assert np.abs(moved.positions_mm - body.positions_mm).max() < 0.5
    outlines["right"].edges_px[0, rows_between("right", 980, 1080)] -= 8
    assert np.abs(adjust(Evidence(scales, seen, (), outlines), start).positions_mm - body.positions_mm).max() > 1


def test_rows_of_an_outline_are_the_same_whenever_they_are_asked_for():
    shape = unusual(1)
    _, scale, seen = seen_body(shape, {})
    outline = rig.outline(scale, "right", shape, np.linspace(640.0, 1250.0, 23))
    problem = _Problem(Evidence(dict.fromkeys(VIEWS, scale), seen, (), {"right": outline}), VIEWS)
    block = next(b for b in problem.blocks if b.view == "right")
    x = problem._start()
    (first, _), (again, _) = (outline_rows_at(problem, block, x) for _ in range(2))
    assert np.array_equal(first.residuals, again.residuals)
    assert np.array_equal(first.jacobian, again.jacobian)


def test_a_point_behind_the_camera_leaves_its_rows_finite():
    shape = unusual(1)
    _, scale, seen = seen_body(shape, {})
    seen = [replace(s, kind="centred", corners_px=s.xy_px + 16 * SQUARE) for s in seen]
    problem = _Problem(Evidence(dict.fromkeys(VIEWS, scale), seen, sticker_share=1.0), VIEWS)
    block = problem.blocks[0]
    x = problem._start()
    before = block.size_rows(x, block.poses(x))
    x[3 * block.numbers[block.sized][0] :][:3] += [0, 0, 9000.0]
    after = block.size_rows(x, block.poses(x))
    assert np.isfinite(after.residuals).all()
    assert np.isfinite(after.jacobian).all()
    assert np.abs(after.residuals).max() > np.abs(before.residuals).max() + 50
