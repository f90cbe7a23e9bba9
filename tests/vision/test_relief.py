"""The relief of cloth whose heights are known, shaded by Lambert's law."""

import numpy as np
import pytest

from fitcheck.vision.relief import Light, bridged, flattened, light_on, relief_of

STEP_MM = 2.5
SHAPE = (160, 140)
Y, X = np.mgrid[: SHAPE[0], : SHAPE[1]] * STEP_MM


def shaded(height_mm: np.ndarray, from_deg: float, tilt_deg: float) -> np.ndarray:
    """Brightness of a matt surface; the light comes from `from_deg` (counter-clockwise from image right), tilted from the line of sight."""
    down, right = np.gradient(height_mm, STEP_MM)
    normal = np.stack([-right, -down, np.ones_like(height_mm)]) / np.sqrt(right**2 + down**2 + 1)
    a, t = np.radians(from_deg), np.radians(tilt_deg)
    towards = np.array([np.cos(a) * np.sin(t), -np.sin(a) * np.sin(t), np.cos(t)])
    return np.maximum(np.tensordot(towards, normal, 1), 0).astype(np.float32)


def ridge(angle_deg: float, height_mm: float = 4.0, sigma_mm: float = 9.0) -> tuple[np.ndarray, np.ndarray]:
    """A straight fold through the middle and every pixel's distance from its crest."""
    a = np.radians(angle_deg)
    off = (X - X.mean()) * np.cos(a) + (Y - Y.mean()) * np.sin(a)
    return height_mm * np.exp(-0.5 * (off / sigma_mm) ** 2), off


@pytest.mark.parametrize(("angle_deg", "from_deg"), [(0, 15), (0, 165), (35, 165), (-40, 15)])
def test_the_crest_lies_where_the_cloth_is_highest_not_where_it_is_brightest(angle_deg: float, from_deg: float) -> None:
    height, off = ridge(angle_deg)
    picture = shaded(height, from_deg, 55)
    everywhere = np.ones(SHAPE, bool)
    excess, base = flattened(picture, everywhere, STEP_MM)
    a = np.radians(from_deg)
    relief = relief_of(excess, base, 1.0, Light(np.array([np.cos(a), -np.sin(a)]), 1.0), STEP_MM)
    middle = slice(70, 90)
    crest = np.abs(np.take_along_axis(off[middle], relief[middle].argmax(1)[:, None], 1))
    brightest = np.abs(np.take_along_axis(off[middle], picture[middle].argmax(1)[:, None], 1))
    assert np.median(crest) < 3.0
    assert np.median(brightest) > 6.0
    rise = relief[middle].max(1) - np.median(relief[middle], axis=1)
    assert 0.5 * 4.0 < np.median(rise) < 1.5 * 4.0


def test_a_hollow_is_a_crest_turned_over() -> None:
    height, _ = ridge(10)
    light = Light(np.array([-1.0, 0.0]), 1.0)
    both = []
    for sign in (1, -1):
        excess, base = flattened(shaded(sign * height, 180, 50), np.ones(SHAPE, bool), STEP_MM)
        both.append(relief_of(excess, base, 1.0, light, STEP_MM))
    inner = (slice(20, -20), slice(20, -20))
    assert np.corrcoef(both[0][inner].ravel(), -both[1][inner].ravel())[0, 1] > 0.95


def test_in_light_from_the_front_what_is_dark_lies_deep() -> None:
    picture = np.full(SHAPE, 0.6, np.float32)
    picture[:, 60:66] -= 0.03
    excess, base = flattened(picture, np.ones(SHAPE, bool), STEP_MM)
    relief = relief_of(excess, base, 0.6, Light(np.array([0.0, -1.0]), 0.0), STEP_MM)
    assert set(relief[20:-20].argmin(1)) <= set(range(60, 66))


@pytest.mark.parametrize("side", [-1, 1])
def test_the_lighter_side_of_the_round_trunk_is_towards_the_light(side: int) -> None:
    across = (X - X.mean()) / (X.max() / 2 + 1)
    trunk = np.cos(np.arcsin(across) - side * np.radians(50)).astype(np.float32)
    light = light_on(np.maximum(trunk, 0.02), np.ones(SHAPE, bool))
    assert np.sign(light.towards_px[0]) == side
    assert light.oblique == 1.0


def test_even_light_is_from_the_front() -> None:
    assert light_on(np.full(SHAPE, 0.5, np.float32), np.ones(SHAPE, bool)).oblique == pytest.approx(0, abs=1e-6)


def test_a_pen_line_is_bridged_with_the_cloth_around_it() -> None:
    picture = (0.4 + 0.0005 * X).astype(np.float32)
    drawn = picture.copy()
    drawn[:, 70:72] = 0.02
    sure = np.ones(SHAPE, bool)
    sure[:, 69:73] = False
    filled, narrow = bridged(drawn, sure, np.ones(SHAPE, bool), STEP_MM)
    assert np.abs(filled - picture)[10:-10, 60:80].max() < 0.01
    assert narrow.all()
