"""A size line round corners of its own, drawn by hand on white paper: a hook at the end of a neck, an underarm among other sizes."""

from itertools import pairwise

import cv2
import numpy as np
import pytest
from shapely import LineString, Point

from fitcheck.piece.ink import MM_PER_PX, Ink
from fitcheck.piece.line_ways import SizePrint, changes_along, with_ways
from fitcheck.piece.size_lines import SizeLine
from fitcheck.piece.table import Picture

SIDE = 200.0  # of the paper, mm
DASHES = {"solid": (), "short": (4.0, 2.5), "dotted": (1.0, 2.0)}
COVER = {"solid": 1.0, "short": 0.68, "dotted": 0.46}


def ink(*lines):
    """Lines (dash, points) drawn half a millimetre wide."""
    dark = np.zeros((int(SIDE / MM_PER_PX),) * 2, np.float32)
    for dash, points in lines:
        path, at, k = LineString(points), 0.0, 0
        pattern = DASHES[dash] or (path.length,)
        while at < path.length:
            long = pattern[k % len(pattern)]
            if k % 2 == 0:
                spots = [path.interpolate(s).coords[0] for s in np.arange(at, min(at + long, path.length), 0.1)]
                for one, two in pairwise(spots):
                    cv2.line(dark, *(tuple(int(v / MM_PER_PX * 16) for v in place) for place in (one, two)), 1.0, 2, cv2.LINE_AA, 4)
            at, k = at + long, k + 1
    rgb = np.zeros((*dark.shape, 3), np.uint8)
    return Ink(cv2.GaussianBlur(dark, (0, 0), 0.6), Picture(rgb, np.ones(dark.shape, bool), np.zeros(2), MM_PER_PX), 0.5)


def far_from(edges, true):
    """How far the outline lies off the true one, every millimetre of that, at most, mm."""
    found = LineString(np.vstack(edges))
    path = LineString(true)
    return max(found.distance(Point(path.interpolate(s))) for s in np.arange(0, path.length, 1.0))


def even(*corners):
    path = LineString(corners)
    return np.array([path.interpolate(s).coords[0] for s in np.arange(0, path.length + 0.01, 2.0)])


def led(seen, edges, dash, others=()):
    lines = [SizeLine(edge, 0.0, dash, COVER[dash], 1.0, {dash: 1.0}) for edge in edges]
    size = SizePrint(dash, COVER[dash], changes_along(seen, even((30, 180), (30, 80))), frozenset(others))
    return with_ways(seen, edges, lines, size)


@pytest.mark.parametrize("dash", ["solid", "short", "dotted"])
def test_a_hook_is_followed_to_its_corner(dash):
    """Up, along, up again to a corner, and away: read so far, the corner was cut off from the along to the away."""
    true = [(30, 180), (30, 80), (90, 80), (90, 50), (180, 50)]
    seen = ink((dash, true))
    edges = [
        even((30, 180), (30, 80)),
        even((30, 80), (80, 80)),
        even((80, 80), (120, 50), (180, 50)),
        even((180, 50), (180, 180), (30, 180)),
    ]
    assert far_from(edges[:3], true) > 10
    assert far_from(led(seen, edges, dash)[:3], true) < 1.5


def test_an_underarm_is_followed_along_its_own_size():
    """Two sizes cross; beyond the crossing the dashed one was taken for the solid one."""
    solid = [(30, 180), (30, 80), (80, 80), (140, 60), (140, 180)]
    dashed = [(34, 180), (34, 70), (80, 77), (150, 90), (150, 180)]
    seen = ink(("solid", solid), ("short", dashed))
    edges = [even((30, 180), (30, 80)), even((30, 80), (84, 78.6), (140, 88)), even((140, 88), (140, 180)), even((140, 180), (30, 180))]
    assert far_from(edges[:3], solid) > 10
    assert far_from(led(seen, edges, "solid", ("short",))[:3], solid) < 1.5


def test_what_is_well_followed_stays_as_it_is():
    true = [(30, 180), (30, 80), (140, 60), (140, 180), (30, 180)]
    edges = [even(*true[k : k + 2]) for k in range(4)]
    for old, new in zip(edges, led(ink(("solid", true)), edges, "solid", ("short",)), strict=True):
        np.testing.assert_array_equal(old, new)


def test_where_nothing_is_drawn_nothing_is_led():
    """A hand lies on the corner."""
    seen = ink(("solid", [(30, 180), (30, 110)]), ("solid", [(80, 60), (180, 60), (180, 180)]))
    edges = [even((30, 180), (30, 60)), even((30, 60), (180, 60)), even((180, 60), (180, 180)), even((180, 180), (30, 180))]
    for old, new in zip(edges[:2], led(seen, edges, "solid", ("short",))[:2], strict=True):
        np.testing.assert_array_equal(old, new)
