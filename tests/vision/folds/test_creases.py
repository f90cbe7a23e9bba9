import numpy as np
import pytest

from fitcheck.vision.folds.creases import is_crumpled, packet_grid

STEP_MM = 2.5


def line(x0: float, y0: float, x1: float, y1: float) -> np.ndarray:
    """A straight curve, mm in, pixels out."""
    n = int(np.hypot(x1 - x0, y1 - y0) / STEP_MM) + 2
    return np.stack([np.linspace(x0, x1, n), np.linspace(y0, y1, n)], 1) / STEP_MM


def turned(curves: list[np.ndarray], angle_deg: float) -> list[np.ndarray]:
    a = np.radians(angle_deg)
    return [c @ np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]]) for c in curves]


def grid(spacing_mm: float) -> list[np.ndarray]:
    """Three creases down, three across, those across broken at the crossings."""
    down = [line(k * spacing_mm, 0, k * spacing_mm + 1, 3 * spacing_mm) for k in range(3)]
    across = [line(a, k * spacing_mm, a + 0.8 * spacing_mm, k * spacing_mm) for k in range(3) for a in (0, spacing_mm)]
    return down + across


@pytest.mark.parametrize("angle_deg", [0, 7, 41, -30])
@pytest.mark.parametrize("spacing_mm", [90, 130])
def test_the_packets_grid_is_known_and_a_fold_between_is_kept(angle_deg: float, spacing_mm: float) -> None:
    fold = line(20, 30, 110, 75)
    assert packet_grid(turned([*grid(spacing_mm), fold], angle_deg), STEP_MM) == [True] * 9 + [False]


def test_other_lines_among_the_creases_neither_hide_the_grid_nor_belong_to_it() -> None:
    seam, hem = line(44, 0, 46, 280), line(0, 213, 250, 215)
    assert packet_grid([*grid(130), seam, hem], STEP_MM) == [True] * 9 + [False] * 2


def test_a_square_grid_of_lines_is_not_crumpled() -> None:
    lines = [line(x, 0, x, 60) for x in range(0, 350, 30)] + [line(0, y, 60, y) for y in range(0, 350, 30)]
    assert not is_crumpled(lines, STEP_MM, 200 * 200)


def test_uneven_lines_are_no_grid() -> None:
    down = [line(x, 0, x, 300) for x in (0, 50, 205)]
    across = [line(0, y, 300, y) for y in (10, 60, 240)]
    assert not any(packet_grid(down + across, STEP_MM))


def test_folds_one_way_are_no_grid() -> None:
    assert not any(packet_grid([line(0, y, 200, y) for y in range(0, 600, 100)], STEP_MM))
    assert packet_grid([], STEP_MM) == []


def test_short_curves_everywhere_and_anyhow_are_crumples() -> None:
    rng = np.random.default_rng(1)
    ends = [(rng.uniform(0, 300, 2), rng.uniform(0, np.pi)) for _ in range(60)]
    curves = [line(*p, *(p + 50 * np.array([np.cos(a), np.sin(a)]))) for p, a in ends]
    assert is_crumpled(curves, STEP_MM, 350 * 350)
    assert not is_crumpled(curves[:40], STEP_MM, 350 * 350), "as much of smooth cloth lies beside the lines that its shading makes"
    assert not is_crumpled(curves, STEP_MM, 1500 * 1500)


def test_many_long_or_parallel_folds_are_readable() -> None:
    parallel = [line(x, 0, x + 5, 60) for x in range(0, 350, 15)]
    assert not is_crumpled(parallel, STEP_MM, 350 * 100)
    rng = np.random.default_rng(2)
    long = [
        line(*p, *(p + 160 * np.array([np.cos(a), np.sin(a)]))) for p, a in ((rng.uniform(0, 300, 2), rng.uniform(0, 3)) for _ in range(20))
    ]
    assert not is_crumpled(long, STEP_MM, 350 * 350)
