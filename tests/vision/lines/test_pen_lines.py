"""Lines drawn at exactly known places must be found there, and nothing where nothing is drawn."""

import numpy as np
import pytest
from vision import cloth_scene
from vision.cloth_scene import photograph

from fitcheck.vision.cloth.find_cloth import find_cloth
from fitcheck.vision.lines.pen_lines import find_curves

WHITE, BEIGE, NAVY, WINE, SKY, GREY = (225, 222, 214), (205, 180, 140), (40, 48, 82), (150, 35, 50), (160, 190, 225), (120, 120, 122)
RED, BLACK, YELLOW, GREEN, PURPLE, TEAL, ORANGE = (
    (200, 40, 40),
    (25, 25, 28),
    (240, 215, 60),
    (30, 150, 70),
    (130, 50, 160),
    (0, 140, 150),
    (235, 140, 30),
)


def wave(start: tuple[float, float], length: float, swing: float, upright: bool) -> np.ndarray:
    """A gently swinging line from its start."""
    t = np.arange(0, length, 0.5)
    aside = swing * np.sin(t / 90.0)
    return np.array(start) + (np.stack([aside, t], 1) if upright else np.stack([t, aside], 1))


def off(found: np.ndarray, true: np.ndarray) -> np.ndarray:
    """Distance of each found point from the true line."""
    return np.hypot(*(found[:, None] - true[None]).transpose(2, 0, 1)).min(1)


def curves(picture: np.ndarray, leave_out: list[np.ndarray] | None = None, mm_per_px: float = 0.9) -> list:
    return find_curves(picture, find_cloth(picture, cloth_scene.pose()), leave_out or [], mm_per_px)


@pytest.mark.parametrize(
    ("cloth", "pen", "width"),
    [
        (WHITE, RED, 3.3),
        (BEIGE, BLACK, 3.0),
        (BEIGE, ORANGE, 3.5),
        (NAVY, YELLOW, 4.0),
        (WINE, (235, 235, 235), 3.0),
        (SKY, GREEN, 2.2),
        (GREY, PURPLE, 5.0),
        (WHITE, TEAL, 6.0),
    ],
)
def test_a_line_is_found_where_it_is_drawn(cloth: tuple, pen: tuple, width: float) -> None:
    upright, level = wave((250.3, 130.6), 500, 9, True), wave((140.2, 300.7), 90, 3, False)
    found = curves(photograph(cloth, [(upright, pen, width), (level, pen, width)]))
    for true in (upright, level):
        near = [c for c in found if np.median(off(c.points_px, true)) < 3]
        assert near, "line not found"
        mine = np.concatenate([c.points_px for c in near])
        away = off(mine, true)[np.hypot(*(mine[:, None] - true[[0, -1]][None]).transpose(2, 0, 1)).min(1) > 5]  # pens end round
        assert np.median(away) < 0.3
        assert np.percentile(away, 95) < 0.8
        assert (off(true, mine) < 2.0).mean() > 0.95
        assert max(np.hypot(*(mine - true[end]).T).min() for end in (0, -1)) < 3.0, "an end is missed"
    wrong = [c.length_px for c in found if min(np.median(off(c.points_px, true)) for true in (upright, level)) > 3]
    assert sum(wrong) == 0


@pytest.mark.parametrize("cloth", [WHITE, BEIGE, NAVY, WINE, SKY, GREY])
@pytest.mark.parametrize("seed", [1, 2])
def test_folds_and_shadows_are_no_lines(cloth: tuple, seed: int) -> None:
    assert [c.length_px for c in curves(photograph(cloth, seed=seed))] == []


def test_lines_that_cross_are_kept_apart() -> None:
    upright, level = wave((250.0, 130.0), 500, 4, True), wave((140.0, 350.0), 280, 4, False)
    found = curves(photograph(WHITE, [(upright, PURPLE, 3.0), (level, ORANGE, 3.0)]))
    assert len(found) == 2
    for true in (upright, level):
        assert min(np.percentile(off(c.points_px, true), 95) for c in found) < 1.0


def test_a_line_goes_on_under_a_sticker() -> None:
    line = wave((250.0, 130.0), 500, 6, True)
    sticker = np.array([[234.0, 330], [266, 330], [266, 362], [234, 362]])
    picture = photograph(WHITE, [(line, RED, 3.0)])
    picture[330:363, 234:267] = 250
    picture[335:358, 239:262] = 10
    found = curves(picture, [sticker])
    assert len(found) == 1
    under = (found[0].points_px[:, 1] > 331) & (found[0].points_px[:, 1] < 361)
    assert not found[0].seen[under].any()
    assert found[0].seen[~under].mean() > 0.96
    assert off(found[0].points_px[under], line).max() < 1.5


def test_a_finer_photo_gives_the_same_line() -> None:
    line = wave((250.3, 130.6), 500, 9, True)
    fine = np.repeat(np.repeat(photograph(WHITE, [(line, RED, 3.3)]), 2, 0), 2, 1)
    half = cloth_scene.pose()
    pose = type(half)(half.points_px * 2, half.points_mm, half.visibility, np.repeat(np.repeat(half.mask, 2, 0), 2, 1))
    found = find_curves(fine, find_cloth(fine, pose), [], 0.45)
    assert np.median(off(found[0].points_px, (line + 0.5) * 2 - 0.5)) < 0.5


def test_an_empty_picture_gives_no_curve() -> None:
    nobody = cloth_scene.pose()
    empty = type(nobody)(nobody.points_px, nobody.points_mm, nobody.visibility, np.zeros_like(nobody.mask))
    picture = photograph(WHITE, [(wave((250.0, 130.0), 500, 6, True), RED, 3.0)])
    assert find_curves(picture, find_cloth(picture, empty), [], 0.9) == []


@pytest.mark.parametrize(("darkness", "drawn"), [(0.68, False), (0.45, True)])
def test_shade_at_the_end_of_the_cloth_is_no_black_line(darkness: float, drawn: bool) -> None:
    x = cloth_scene.GARMENT[0] + 1.0
    between = darkness * (np.array(SKY, float) + (150, 160, 170)) / 2  # of cloth and wall, where the picture is blurred
    shade = np.stack([np.full(301, x), np.linspace(200, 500, 301)], 1)
    assert bool(curves(photograph(SKY, [(shade, tuple(between), 3.0)]))) == drawn
