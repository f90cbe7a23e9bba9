"""Where crests and hollows of folds run, how high the cloth stands and where the bust is fullest, read from brightness by a small network.

A fold is not bright on its crest and dark in its hollow but bright on the flank that faces the light and dark on the other; one that
runs along the light hardly shows, and the body's own form and the shadows of the arms show all over. What is left of it in a picture is
learnt from draped garments whose relief is known (models/folds): a U-Net (O. Ronneberger et al. 2015, "U-Net: convolutional networks
for biomedical image segmentation", MICCAI) on the logarithm of brightness, so that exposure and the colour of the cloth fall out.
"""

import threading
from dataclasses import dataclass
from functools import cache

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.weights import weights
from fitcheck.vision.folds.bare_cloth import STEP_MM, BareCloth

SMALLEST_MM = 100.0  # a garment narrower than this in the photo is not read
MAPS = 3  # crests, hollows, heights; the bust points follow
BLOCK_PX = 32  # the network halves the picture five times
LOG_RANGE = (-2.0, 1.2)  # of the brightness relative to the median of the bare cloth
DARKEST = 1e-4  # brightness, linear: darker tells nothing
INWARD_MM = 100.0  # distances from the outline are told up to here
HEIGHT_MM = 3.0  # unit of the network's heights
_net_is_free = threading.Lock()  # a network of OpenCV keeps its last picture


@dataclass(frozen=True, slots=True)
class FoldMaps:
    """What the network says of every pixel of a `BareCloth`.

    Attributes
    ----------
    ridge, valley : ndarray of float32, shape (H, W)
        How surely the crest, or the hollow, of a fold runs here; 1 on its line, falling to both sides over about 4 mm.
    height_mm : ndarray of float32, shape (H, W)
        Of the cloth over its own smooth form.
    bust : ndarray of float32, shape (2, rows, columns)
        How likely each block of 2 x 2 pixels holds her left, or right, bust point; the picture's margin included. Each sums to 1.
    """

    ridge: NDArray[np.float32]
    valley: NDArray[np.float32]
    height_mm: NDArray[np.float32]
    bust: NDArray[np.float32]


def fold_maps(cloth: BareCloth) -> FoldMaps | None:
    """Read one garment; None where it is narrower than SMALLEST_MM or its cloth shows nowhere.

    Raises
    ------
    ModelError
        The weights are missing or damaged.
    """
    height, width = cloth.hangs.shape
    if min(height, width) * STEP_MM < SMALLEST_MM or not cloth.shows.any():
        return None
    # the network takes and tells each pixel of a 2 x 2 block in a channel of its own
    shown = network_input(cloth)
    channels, rows, columns = len(shown), shown.shape[1] // 2, shown.shape[2] // 2
    in_blocks = shown.reshape(channels, rows, 2, columns, 2).transpose(0, 2, 4, 1, 3).reshape(1, 4 * channels, rows, columns)
    with _net_is_free:
        _net().setInput(in_blocks)
        blocks = _net().forward()[0]
    whole = blocks[: 4 * MAPS].reshape(MAPS, 2, 2, rows, columns).transpose(0, 3, 1, 4, 2).reshape(MAPS, 2 * rows, 2 * columns)
    ridge, valley, heights = whole[:, :height, :width]
    likely = np.exp(blocks[4 * MAPS :] - blocks[4 * MAPS :].max(axis=(1, 2), keepdims=True))
    bust = np.asarray(likely / likely.sum(axis=(1, 2), keepdims=True), np.float32)
    return FoldMaps(_sigmoid(ridge), _sigmoid(valley), np.asarray(HEIGHT_MM * heights, np.float32), bust)


def network_input(cloth: BareCloth) -> NDArray[np.float32]:
    """Brightness, garment, bare cloth and distance from the outline, shape (4, H', W') with H' and W' whole blocks."""
    height, width = cloth.hangs.shape
    middle = float(np.median(cloth.brightness[cloth.shows]))
    told = np.log(np.maximum(cloth.brightness, DARKEST) / max(middle, DARKEST))
    known = cloth.hangs & (cloth.brightness > 0)
    shown = np.zeros((4, height + -height % BLOCK_PX, width + -width % BLOCK_PX), np.float32)
    inside = shown[:, :height, :width]
    inside[0] = np.where(known, np.clip(told, *LOG_RANGE), LOG_RANGE[0]) * cloth.hangs
    inside[1], inside[2] = cloth.hangs, cloth.shows
    inside[3] = np.minimum(cloth.inward_mm / INWARD_MM, 1.0) * cloth.hangs
    return shown


@cache
def _net() -> cv2.dnn.Net:
    return cv2.dnn.readNetFromONNX(str(weights("folds")))


def _sigmoid(x: NDArray[np.float32]) -> NDArray[np.float32]:
    return np.asarray(1 / (1 + np.exp(-x)), np.float32)
