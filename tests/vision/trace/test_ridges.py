"""Ridges drawn by formula: their crests are known exactly."""

import numpy as np

from fitcheck.vision.trace.ridges import ridge_chains


def relief(angle_deg: float, offset: float, width: float) -> tuple[np.ndarray, np.ndarray]:
    """A straight ridge of Gaussian section through a 120 px square, and its normal form (nx, ny, d)."""
    y, x = np.mgrid[0:120, 0:120].astype(float)
    nx, ny = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
    d = 60 * (nx + ny) + offset
    return np.exp(-0.5 * ((x * nx + y * ny - d) / width) ** 2).astype(np.float32), np.array([nx, ny, d])


def test_crests_are_found_to_a_few_hundredths_of_a_pixel() -> None:
    for angle in (0, 17, 45, 68, 90, 133):
        picture, (nx, ny, d) = relief(angle, 0.37, 1.5)
        chains = ridge_chains(picture, np.ones((120, 120), np.uint8), 1.5, 0.05, 0.2)
        assert len(chains) == 1
        inner = chains[0][(chains[0] > 8).all(1) & (chains[0] < 112).all(1)]
        assert len(inner) > 80
        off = np.abs(inner @ [nx, ny] - d)
        assert np.median(off) < 0.02
        assert off.max() < 0.1  # one step of the Taylor expansion, worst half a pixel away from the crest


def test_an_even_slope_and_a_step_are_no_ridge() -> None:
    y, x = np.mgrid[0:80, 0:80].astype(np.float32)
    assert ridge_chains(x / 80 + y / 160, np.ones((80, 80), np.uint8), 1.5, 0.05, 0.2) == []


def test_ridges_are_sought_where_allowed_only() -> None:
    picture, _ = relief(0, 0.0, 1.5)
    allowed = np.ones((120, 120), np.uint8)
    allowed[40:80] = 0
    chains = ridge_chains(picture, allowed, 1.5, 0.05, 0.2)
    assert len(chains) == 2
    assert all(((c[:, 1] < 41) | (c[:, 1] > 79)).all() for c in chains)
