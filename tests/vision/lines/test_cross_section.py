"""What lies across a line: lines drawn at known places on cloth of a known colour."""

import numpy as np
import pytest

from fitcheck.vision.cloth.find_cloth import LEVELS, Cloth
from fitcheck.vision.cloth.log_colour import log_colour
from fitcheck.vision.lines.cross_section import evenly_spaced, look_across, moving_mean, normals

GROUND = (200, 180, 150)
UPRIGHT = np.stack([np.full(40, 60.0), np.arange(20.0, 100.0, 2.0)], axis=1)  # 2 px apart, downwards


def cloth_colour() -> np.ndarray:
    return log_colour(np.full((1, 1, 3), GROUND, np.uint8))[0, 0]


def cloth() -> Cloth:
    """Knows the ground's colour in any light."""
    light, *ratios = cloth_colour().astype(float)
    return Cloth((0, 0, 120, 120), np.ones((30, 30), bool), light, np.tile(ratios, (LEVELS, 1)), np.full((LEVELS, 2), np.inf))


def drawn(
    line: tuple[int, int, int], centre: float, width: float = 4.0, beyond: tuple[int, int, int] | None = None, way: int = 1
) -> np.ndarray:
    """Log colours of an upright line on the ground, each pixel by the share it covers; right (`way` 1) or left of it something else."""
    x = np.arange(120.0)
    share = np.clip(x + 0.5 - (centre - width / 2), 0, 1) - np.clip(x + 0.5 - (centre + width / 2), 0, 1)
    under = np.tile(np.array(GROUND, float), (120, 1))
    if beyond is not None:
        under[way * (x - centre) > 0] = beyond
    row = under * (1 - share[:, None]) + share[:, None] * np.array(line, float)
    return log_colour(np.ascontiguousarray(np.repeat(row.round().astype(np.uint8)[None], 120, axis=0)))


@pytest.mark.parametrize("off", [-1.2, -0.4, 0.0, 0.7, 1.5])
def test_the_centre_of_a_red_line(off):
    """Normals of a line that runs down point to image left (y, -x of the direction is (1, 0) for (0, 1)): to the right, that is plus."""
    (found,) = look_across([UPRIGHT], drawn((200, 40, 50), 60 + off), cloth())
    assert normals(UPRIGHT) == pytest.approx(np.tile([1.0, 0.0], (40, 1)))
    assert found.valid.all()
    assert not found.edge.any()
    assert found.shift == pytest.approx([off] * 40, abs=0.15)
    light, red, yellow = found.change.mean(axis=0)
    assert light < -0.2
    assert red > 0.8  # redder than the cloth
    assert abs(yellow) < red


@pytest.mark.parametrize(("line", "drawn_line"), [((30, 30, 30), True), ((150, 135, 112), False), ((200, 180, 150), False)])
def test_black_is_pen_and_a_fold_or_nothing_is_not(line, drawn_line):
    """A fold is the cloth's own colour at three quarters of the light."""
    (found,) = look_across([UPRIGHT], drawn(line, 60.0), cloth())
    assert found.valid.all() == drawn_line
    assert found.valid.any() == drawn_line


@pytest.mark.parametrize(("line", "drawn_line"), [((200, 40, 50), True), ((110, 120, 150), False)])
@pytest.mark.parametrize("way", [1, -1])
def test_along_the_end_of_the_cloth_only_what_is_no_mixture_of_both_sides(line, drawn_line, way):
    """Beyond the line, right or left, a blue wall; the second `line` is about half cloth, half wall, as blur makes it."""
    (found,) = look_across([UPRIGHT], drawn(line, 60.0, beyond=(60, 90, 150), way=way), cloth())
    assert found.edge.all()
    assert found.valid.mean() == pytest.approx(float(drawn_line), abs=0.1)
    if drawn_line:  # its colour is told against the cloth, not against the wall
        assert found.change.mean(axis=0) == pytest.approx(log_colour(np.array([[line]], np.uint8))[0, 0] - cloth_colour(), abs=0.35)


def test_each_line_gets_its_own_part():
    other = UPRIGHT[:10] + [30.0, 0.0]
    first, second = look_across([UPRIGHT, other], drawn((200, 40, 50), 60.0), cloth())
    assert len(first.shift) == 40
    assert len(second.shift) == 10
    assert first.valid.all()
    assert not second.valid.any()
    assert look_across([], drawn((200, 40, 50), 60.0), cloth()) == []


def test_evened_points_are_equally_far_apart_and_keep_the_ends():
    """Two legs of 30 px at right angles: 31 points 2 px apart, the corner a little rounded."""
    found, short = evenly_spaced([np.array([[0.0, 0], [10, 0], [30, 0], [30, 30]]), np.array([[0.0, 0], [2, 0]])], 2.0)
    assert len(found) == 31
    assert found[[0, -1]] == pytest.approx(np.array([[0, 0], [30, 30]]))
    steps = np.hypot(*np.diff(found, axis=0).T)
    assert steps[:10] == pytest.approx([2.0] * 10)
    assert np.hypot(*(found - [30, 0]).T).min() > 1
    assert short == pytest.approx(np.array([[0, 0], [2, 0]]))
    assert evenly_spaced([], 2.0) == []


def test_a_moving_mean_keeps_straight_lines_and_their_ends():
    straight = np.stack([np.arange(12.0), 3 * np.arange(12.0)], axis=1)
    assert moving_mean(straight, 3) == pytest.approx(straight)
    bump = np.array([0.0, 0, 0, 3, 0, 0, 0])
    assert moving_mean(bump, 1) == pytest.approx([0, 0, 1, 1, 1, 0, 0])
    assert moving_mean(np.array([1.0, 5.0]), 4) == pytest.approx([1, 5])
