"""The relief of the cloth out of its shading: how far folds stand up or sink in, in millimetres.

A fold is not bright on its crest and dark in its hollow but bright on the flank that faces the light and dark on the other, so lines of
brightness lie a quarter of a wave beside the fold's own. For small heights h over a smooth surface the change of brightness is linear
in the slope along the light, and so can be turned round in the frequency domain (A. P. Pentland 1990, "Linear shape from shading", Int.
J. Computer Vision 4): D = (a - i l.k) H, with the light's direction l in the picture and a share a of diffuse light, in which what lies
deep is dark (Langer & Zucker 1994, "Shape-from-shading on a cloudy day"). Waves that run across the light show nothing and are left out
by the regulariser of Wiener's filter.

How strongly a slope shows depends on how obliquely the light falls there: brightness is the cosine of its angle to the cloth, the
contrast of a slope its sine, so the brightness itself says how much to amplify. Which side the light comes from shows in the trunk,
which is round: the side towards the light is brighter.
"""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy import fft

from fitcheck.core.records import Floats

FLATTEN_MM = 20.0  # brightness is compared with its mean over about this far: wider forms are the body's
BRIDGES_MM = (5.0, 15.0)  # widths of the means that fill in pen lines and stickers
LEAST_SINE = 0.5  # cloth that faces the light shows slopes least; amplified no further than this
ABOVE_DEG = 15.0  # light comes from above the horizontal as a rule (windows, lamps); estimate
OBLIQUE = 0.15  # brightness change over one standard deviation of width at which light counts as wholly from the side (estimate)
DIFFUSE_PER_MM = 0.012  # share of brightness lost per mm of depth in light from the front (estimate)
REGULARISER = 0.003  # (1/mm) squared: waves along which the light's slope response is weaker than this are suppressed
HEIGHT_LOSS = 2.0  # heights come out so much too low (flattening and regulariser; median on draped scenes)
LINEAR = ((np.arange(256) / 255.0) ** 2.2).astype(np.float32)


@dataclass(frozen=True, slots=True)
class Light:
    """The light of one photo as the cloth shows it.

    Attributes
    ----------
    towards_px : ndarray, shape (2,)
        Unit vector in the picture (x right, y down) towards the light.
    oblique : float
        0 from the camera's side, so that depth alone darkens, to 1 from aside.
    """

    towards_px: Floats
    oblique: float


def light_on(base: NDArray[np.float32], cloth: NDArray[np.bool_]) -> Light:
    """Light direction from how brightness changes across the trunk.

    Parameters
    ----------
    base : ndarray, shape (H, W)
        Smoothed linear brightness.
    cloth : ndarray of bool, shape (H, W)
        Where it is the cloth's own.
    """
    columns = np.nonzero(cloth)[1].astype(float)
    spread = float(columns.std()) if len(columns) else 0.0
    if spread == 0:
        return Light(np.array([0.0, -1.0]), 0.0)
    values = base[cloth].astype(float)
    change = float(((columns - columns.mean()) * values).mean() / spread / max(values.mean(), 1e-6))
    up = np.radians(ABOVE_DEG)
    return Light(np.array([np.copysign(np.cos(up), change), -np.sin(up)]), min(1.0, abs(change) / OBLIQUE))


def bridged(
    brightness: NDArray[np.float32], sure: NDArray[np.bool_], cloth: NDArray[np.bool_], step_mm: float
) -> tuple[NDArray[np.float32], NDArray[np.bool_]]:
    """Brightness with pen lines and stickers filled in from the cloth around, and where only narrow gaps had to be filled.

    Parameters
    ----------
    brightness : ndarray, shape (H, W)
    sure : ndarray of bool, shape (H, W)
        Where bare cloth shows.
    cloth : ndarray of bool, shape (H, W)
        Where the garment lies.
    """
    known = sure.astype(np.float32)
    filled, done, narrow = brightness * known, sure.copy(), sure
    for width in BRIDGES_MM:
        mean, weight = _mean_of_known(brightness * known, known, width / step_mm)
        holes = ~done & cloth & (weight > 0.12)
        filled[holes] = mean[holes]
        done |= holes
        if width == BRIDGES_MM[0]:
            narrow = done.copy()
    return filled * done, narrow


def flattened(filled: NDArray[np.float32], cloth: NDArray[np.bool_], step_mm: float) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Brightness less its mean around (0 off the cloth), and that mean."""
    known = (cloth & (filled > 0)).astype(np.float32)
    base, _ = _mean_of_known(filled * known, known, FLATTEN_MM / step_mm)
    return (filled - base) * known, base


def _mean_of_known(
    values: NDArray[np.float32], known: NDArray[np.float32], sigma: float
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Gaussian mean of the known pixels around each (values are 0 elsewhere), and their share of the weight.

    Wide means are taken on a coarser grid, which they do not notice.
    """
    coarse = max(1, int(sigma / 2.0))
    total, weight = (_blurred(picture, sigma, coarse) for picture in (values, known))
    return np.asarray(total / np.maximum(weight, np.float32(1e-3)), np.float32), weight


def _blurred(picture: NDArray[np.float32], sigma: float, coarse: int) -> NDArray[np.float32]:
    if coarse == 1:
        return np.asarray(cv2.GaussianBlur(picture, (0, 0), sigma), np.float32)
    small = cv2.resize(picture, None, fx=1 / coarse, fy=1 / coarse, interpolation=cv2.INTER_AREA)
    wide = cv2.GaussianBlur(small, (0, 0), sigma / coarse)
    return np.asarray(cv2.resize(wide, picture.shape[::-1], interpolation=cv2.INTER_LINEAR), np.float32)


def relief_of(excess: NDArray[np.float32], base: NDArray[np.float32], full: float, light: Light, step_mm: float) -> NDArray[np.float32]:
    """Height of the cloth over its own smooth form.

    Parameters
    ----------
    excess, base : ndarray, shape (H, W)
        Linear brightness less its local mean, and that mean (see `flattened`).
    full : float
        Brightness of cloth that faces the light.
    light : Light
    step_mm : float
        Size of a pixel.

    Returns
    -------
    ndarray of float32, shape (H, W)
        Millimetres (roughly: the light's height and the cloth's gloss are not known).
    """
    shade = np.clip(base / max(full, 1e-6), 0.0, 1.0)
    sine = np.sqrt(np.maximum(1 - shade**2, LEAST_SINE**2))
    slope = excess / max(full, 1e-6) / ((1 - light.oblique) + light.oblique * sine)
    height, width = slope.shape
    size = (fft.next_fast_len(height + round(60 / step_mm), real=True), fft.next_fast_len(width + round(60 / step_mm), real=True))
    wave_y = (2 * np.pi * np.fft.fftfreq(size[0], step_mm)).astype(np.float32)[:, None]
    wave_x = (2 * np.pi * np.fft.rfftfreq(size[1], step_mm)).astype(np.float32)[None]
    along = light.oblique * (light.towards_px[0] * wave_x + light.towards_px[1] * wave_y)
    diffuse = DIFFUSE_PER_MM * (1 - light.oblique)
    weight = (diffuse + 1j * along) / (diffuse**2 + along**2 + REGULARISER * light.oblique + 1e-9)
    heights = fft.irfft2(fft.rfft2(slope.astype(np.float32), size) * weight.astype(np.complex64), size)
    return np.asarray(heights[:height, :width] * (1 + (HEIGHT_LOSS - 1) * light.oblique), np.float32)
