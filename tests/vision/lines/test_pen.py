"""How likely lines are drawn: pen on plain cloth, stripes, a lone thread, and what one sure line says of the others."""

import numpy as np
import pytest
from vision import cloth_scene

from fitcheck.core.records import Floats
from fitcheck.vision.cloth.find_cloth import find_cloth
from fitcheck.vision.lines.pen import Net, among_others, likely, terms
from fitcheck.vision.lines.pen_lines import find_curves
from fitcheck.vision.trace.curves import Curve

WHITE, BEIGE = (228, 224, 214), (200, 180, 148)
RED, BLACK, BLUE = (185, 30, 40), (35, 35, 40), (40, 60, 170)


def down(x: float, lean: float = 0.05) -> Floats:
    y = np.arange(120.0, 640.0, 2.0)
    return np.stack([x + lean * (y - 120), y], 1)


def level(y: float) -> Floats:
    x = np.arange(125.0, 435.0, 2.0)
    return np.stack([x, y + 0.02 * (x - 125)], 1)


def curves_of(cloth: tuple[int, int, int], lines: list[tuple[Floats, tuple[int, int, int], float]]) -> list[Curve]:
    picture = cloth_scene.photograph(cloth, lines)
    return find_curves(picture, find_cloth(picture, cloth_scene.pose()), [], 0.9)


def believed_mm(curves: list[Curve]) -> float:
    return 0.9 * sum(curve.length_px for curve in curves if curve.pen > 0.5)


@pytest.mark.parametrize("pen", [RED, BLACK, BLUE])
@pytest.mark.parametrize("cloth", [WHITE, BEIGE])
def test_seam_lines_of_any_pen_are_believed(cloth: tuple[int, int, int], pen: tuple[int, int, int]) -> None:
    drawn = [down(190, 0.02), down(280, 0.0), down(370, -0.02), level(420.0)]
    found = curves_of(cloth, [(line, pen, 2.6) for line in drawn])
    assert believed_mm(found) > 0.8 * 0.9 * sum(len(line) * 2 for line in drawn)


@pytest.mark.parametrize("stripe", [RED, BLUE, BLACK])
def test_stripes_are_not(stripe: tuple[int, int, int]) -> None:
    found = curves_of(WHITE, [(down(x, 0.0), stripe, 2.6) for x in range(130, 436, 14)])
    assert believed_mm(found) < 20.0


def test_folds_and_shadows_alone_are_not() -> None:
    for cloth in (WHITE, BEIGE):
        assert believed_mm(curves_of(cloth, [])) < 20.0


def curve(length_px: float, change: tuple[float, float, float]) -> Curve:
    points = np.stack([np.arange(0.0, length_px, 2.0), np.zeros(int(length_px / 2))], 1)
    return Curve(points, np.ones(len(points), bool), 0.3, np.array(change), 0.0)


def test_what_others_say_counts_length_and_colour_but_not_oneself() -> None:
    red, blue = (-0.8, 1.2, 0.6), (-0.9, -0.6, -1.2)
    of = among_others([curve(200, red), curve(402, red), curve(102, blue)], np.array([0.5, 1.0, 0.1]), 1.0)
    assert of[0, 0] == pytest.approx(0.0)
    assert of[0, 1] == pytest.approx(np.log(30 + 400 + 0.01 * 100), abs=0.01)
    assert of[0, 2] == pytest.approx(np.log(30 + 400), abs=0.01)
    assert of[2, 2] == pytest.approx(np.log(30), abs=0.01)


def test_company_makes_a_line_likelier() -> None:
    """1500 mm of other sure lines of its colour, or none; and 1500 mm of other lines, half of its colour, that are surely no pen."""
    none, much, half = np.log([30.0, 1530.0, 780.0])
    alone, in_company, among_print = likely(
        "among", np.array([[0.0, none, none, none, none], [0.0, much, much, none, none], [0.0, none, none, much, half]])
    )
    assert in_company > alone + 0.2
    assert among_print < in_company - 0.2


def test_signs_far_from_all_that_was_learnt_are_cut_off() -> None:
    far = terms(np.array([[100.0]]), np.array([0.0]), np.array([1.0]))
    assert far.tolist() == [[4.0, 16.0]]


def test_a_net_by_hand() -> None:
    """One sign of 1.5 sd: direct 1 on it and 0.5 on its square, a hidden unit of slope 2 that counts -3, and 0.25 throughout."""
    net = Net(*(np.array(part) for part in ([1.0], [2.0], [1.0, 0.5], [[2.0], [0.0]], [0.0], [-3.0], [0.25])))
    odds = 1.5 + 0.5 * 1.5**2 - 3 * np.tanh(3.0) + 0.25
    assert net.likely(np.array([[4.0]])) == pytest.approx(1 / (1 + np.exp(-odds)))
    plain = Net(*(np.array(part) for part in ([1.0], [2.0], [1.0, 0.5], np.zeros((2, 0)), [], [], [0.25])))
    assert plain.likely(np.array([[4.0]])) == pytest.approx(1 / (1 + np.exp(-(1.5 + 0.5 * 1.5**2 + 0.25))))
