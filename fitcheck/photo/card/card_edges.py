"""Where the edges between black and white run on the scale card's squares, to a few hundredths of a pixel.

Twelve squares have 48 corners but more than 500 edges between their cells, each seen over several pixels: together they tell the camera's
tilt and the bending of its lens about twice as well. An edge lies where the light across it adds up to that of a sharp step, in light and
not in grey levels, so that neither blur nor the picture's coding moves it.
"""

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.aruco import CELLS, white_cells
from fitcheck.core.camera import Camera
from fitcheck.core.light import FULL, GAMMA
from fitcheck.core.points import CARD_MARKER_MM, card_corners_mm
from fitcheck.core.records import Floats
from fitcheck.photo.camera.flat_target import Edges

CELL_MM = CARD_MARKER_MM / CELLS
ACROSS_OF_CELL, ALONG_OF_CELL = 3.0 / CELL_MM, 2.6 / CELL_MM  # of a cell, to both sides of an edge's middle: 3 and 2.6 mm on the card
STEPS_ACROSS, STEPS_ALONG = 25, 9  # samples of an edge: every 0.25 and 0.65 mm on the card
END_STEPS = 5  # of a profile, taken for its plain black or white
LEAST_CONTRAST = 0.5  # of the card's usual
NO_CONTRAST = 1e-3  # of full light: nothing is seen
LEAST_SHARE = 0.6  # of the edges that must be seen
LEAST_CELL_PX = 3.0  # where cells are smaller, the blur reaches from edge to edge


def find_card_edges(rgb: NDArray[np.uint8], ids: tuple[int, ...], print_share: float, near: Camera) -> Edges | None:
    """Find the edges of the card's squares.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (H, W, 3)
    ids : tuple of int
        The squares that are seen.
    print_share : float
        Size of the print over the nominal.
    near : Camera
        Right to a pixel at the card.

    Returns
    -------
    Edges or None
        None where the card is too small or too badly seen for it.
    """
    edges = np.concatenate([edges_of_square(number, card_corners_mm()[number, 0, :2], CELL_MM) for number in ids])
    middles, across = edges[:, :2] * print_share, edges[:, 2:]
    steps = print_share * np.stack([across, across[:, ::-1] * [-1, 1]])  # one millimetre across, one along
    spots = np.concatenate([middles[None], middles + steps])
    px = cv2.projectPoints(
        np.pad(spots.reshape(-1, 2), ((0, 0), (0, 1))),
        cv2.Rodrigues(near.rotation)[0],
        near.translation_mm,
        near.matrix,
        near.distortion,
    )[0].reshape(spots.shape)
    middle, by_across, by_along = px[0], px[1] - px[0], px[2] - px[0]
    per_mm = np.linalg.norm(by_across, axis=1)
    if CELL_MM * per_mm.min() < LEAST_CELL_PX:
        return None
    return edges_seen(rgb, middles, (middle, by_across, by_along), CELL_MM)


def edges_seen(rgb: NDArray[np.uint8], middles_mm: Floats, px: tuple[Floats, Floats, Floats], cell_mm: float) -> Edges | None:
    """Find edges between printed cells, each across its run.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (H, W, 3)
    middles_mm : ndarray, shape (N, 2)
        On the target.
    px : three ndarrays, shape (N, 2)
        Where the middles are expected in the picture, right to a pixel, and how far a millimetre across (from black to white) and one
        along the edge reach there.
    cell_mm : float
        Size of the cells.

    Returns
    -------
    Edges or None
        Those that are clear; None where most are not, or the picture ends.
    """
    middle, by_across, by_along = px
    across_mm, along_mm = ACROSS_OF_CELL * cell_mm, ALONG_OF_CELL * cell_mm
    per_mm = np.linalg.norm(by_across, axis=1)
    reach = across_mm * np.abs(by_across) + along_mm * np.abs(by_along)
    low, high = np.floor((middle - reach).min(axis=0)).astype(int) - 2, np.ceil((middle + reach).max(axis=0)).astype(int) + 3
    if (low < 0).any() or (high > rgb.shape[1::-1]).any():
        return None
    grey = cv2.transform(rgb[low[1] : high[1], low[0] : high[0]].astype(np.float32), np.full((1, 3), 1 / (3 * FULL), np.float32))
    u, v = np.linspace(-across_mm, across_mm, STEPS_ACROSS), np.linspace(-along_mm, along_mm, STEPS_ALONG)
    x, y = (
        (start[:, None] + np.multiply.outer(across, u)[..., None] + np.multiply.outer(along, v)[:, None]).reshape(len(start), -1)
        for start, across, along in zip((middle - low).T[..., None].astype(np.float32), by_across.T, by_along.T, strict=True)
    )
    seen = cv2.remap(grey ** np.float32(GAMMA), x.astype(np.float32), y.astype(np.float32), cv2.INTER_LINEAR)
    profile = seen.reshape(len(middle), STEPS_ACROSS, STEPS_ALONG) @ np.full(STEPS_ALONG, 1 / STEPS_ALONG)
    black, white = profile[:, :END_STEPS].mean(axis=1), profile[:, -END_STEPS:].mean(axis=1)
    contrast = white - black
    good = contrast > max(LEAST_CONTRAST * float(np.median(contrast)), NO_CONTRAST)
    if good.mean() < LEAST_SHARE:
        return None
    share = (profile[good] - black[good, None]) / contrast[good, None]
    to_white = across_mm - (share[:, 1:] + share[:, :-1]) @ np.diff(u) / 2
    return Edges(middles_mm[good], middle[good] + to_white[:, None] * by_across[good], by_across[good] / per_mm[good, None])


def edges_of_square(number: int, corner_mm: Floats, cell_mm: float) -> Floats:
    """Edges of one square with its upper left corner there: middles and, from black to white, unit directions across; mm, shape (N, 4)."""
    white = white_cells(number)
    left, top = corner_mm
    between, inside = np.arange(CELLS + 1), np.arange(CELLS) + 0.5
    found = []
    for down, cells in ((False, white[1:-1].astype(int)), (True, white[:, 1:-1].T.astype(int))):
        change = np.diff(cells, axis=1)  # along each row, or each column
        row, place = np.nonzero(change)
        sign = change[row, place].astype(float)
        along, aside = cell_mm * between[place], cell_mm * inside[row]
        nothing = np.zeros(len(row))
        x, y = (aside, -along) if down else (along, -aside)
        across = (nothing, -sign) if down else (sign, nothing)
        found.append(np.column_stack([left + x, top + y, *across]))
    return np.concatenate(found)
