"""Signs of drawn lines, on cloth whose lines are known."""

import numpy as np
import pytest

from fitcheck.vision.cloth.log_colour import log_colour
from fitcheck.vision.lines.pen_signs import NAMES, pen_signs
from fitcheck.vision.trace.curves import Curve

WHITE, RED, BLUE = (225, 222, 215), (190, 30, 40), (40, 60, 170)
LENGTH = 200


def cloth(lines: list[tuple[int, int, tuple[int, int, int]]], light: float = 0.0) -> np.ndarray:
    """White cloth with upright lines (column, width in px, colour), darker to the bottom by `light`."""
    rgb = np.full((LENGTH + 40, 240, 3), WHITE, float)
    for column, width, colour in lines:
        rgb[:, column : column + width] = colour
    rgb *= np.linspace(1.0, 1.0 - light, len(rgb))[:, None, None]
    return log_colour(np.clip(rgb + np.random.default_rng(0).normal(0, 1.5, rgb.shape), 0, 255).astype(np.uint8))


def upright(column: float, colour: tuple[int, int, int], edge: float = 0.0) -> Curve:
    y = np.arange(20.0, 20.0 + LENGTH, 2.0)
    inks = log_colour(np.array([[WHITE, colour]], np.uint8))[0].astype(float)
    return Curve(np.stack([np.full(len(y), column), y], 1), np.ones(len(y), bool), 0.2, inks[1] - inks[0], edge)


def signs(picture: np.ndarray, *curves: Curve, step_mm: float = 0.75) -> list[dict[str, float]]:
    return [dict(zip(NAMES, row, strict=True)) for row in pen_signs(curves, picture, step_mm, 240 * 200)]


def test_width_is_told_in_mm() -> None:
    for width in (2, 3, 4):
        middle = 100 + (width - 1) / 2
        (of_line,) = signs(cloth([(100, width, RED)]), upright(middle, RED))
        assert np.exp(of_line["width"]) == pytest.approx(0.75 * width, rel=0.25)
        (finer,) = signs(cloth([(100, width, RED)]), upright(middle, RED), step_mm=0.375)
        assert np.exp(finer["width"]) == pytest.approx(0.375 * width, rel=0.35)


def test_a_stripe_has_its_like_beside_it_and_a_pen_line_has_none() -> None:
    (alone,) = signs(cloth([(100, 3, RED)]), upright(101.0, RED))
    (stripe,) = signs(cloth([(c, 3, RED) for c in range(4, 240, 12)]), upright(101.0, RED))
    assert alone["like_beside"] < 0.02
    assert stripe["like_beside"] > 0.2
    assert stripe["parallel"] > 0.8 > alone["parallel"]


def test_a_speckled_cloth_hides_a_line_more_than_a_plain_one() -> None:
    plain = cloth([(100, 3, RED)])
    speckled = plain.copy()
    speckled[..., 1] += np.random.default_rng(1).choice([-0.25, 0.25], speckled.shape[:2])
    assert signs(speckled, upright(101.0, RED))[0]["texture"] > signs(plain, upright(101.0, RED))[0]["texture"] + 1


def test_the_end_of_a_patch_has_other_cloth_on_its_two_sides() -> None:
    (line,) = signs(cloth([(100, 3, RED)]), upright(101.0, RED))
    (patch,) = signs(cloth([(100, 60, RED)]), upright(101.0, RED))
    assert patch["uneven_sides"] > line["uneven_sides"] + 1


def test_a_drawn_line_keeps_its_colour_in_any_light_and_a_broken_one_is_unsteady() -> None:
    (even,) = signs(cloth([(100, 3, RED)], light=0.6), upright(101.0, RED))
    broken = cloth([(100, 3, RED)])
    whole = cloth([])
    for y in range(0, 240, 24):
        broken[y : y + 11] = whole[y : y + 11]
    (dashed,) = signs(broken, upright(101.0, RED))
    assert even["unsteady"] < 0.1
    assert dashed["unsteady"] > even["unsteady"] + 0.15


def test_lines_of_one_pen_know_of_each_other() -> None:
    picture = cloth([(40, 3, RED), (100, 3, RED), (160, 3, BLUE)])
    first, second, third = signs(picture, upright(41.0, RED), upright(101.0, RED), upright(161.0, BLUE))
    assert first["same_tint_share"] == pytest.approx(2 / 3, abs=0.01)
    assert second["same_tint_share"] == pytest.approx(2 / 3, abs=0.01)
    assert third["same_tint_share"] == pytest.approx(1 / 3, abs=0.01)
    assert first["same_tint_length"] == pytest.approx(np.log(2 * 0.75 * (LENGTH - 2)), abs=0.01)


def test_no_lines_have_no_signs() -> None:
    assert pen_signs([], cloth([]), 0.75, 100).shape == (0, len(NAMES))
