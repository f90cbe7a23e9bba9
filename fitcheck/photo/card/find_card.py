"""Find the scale card's markers in a photo, to a tenth of a pixel."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.aruco import DICTIONARY
from fitcheck.core.points import CARD_IDS, card_corners_mm
from fitcheck.core.records import Floats

# Long side on which the card is looked for first: from 3.5 m through a phone's main lens a card marker is still about 20 px wide there.
_FIRST_LOOK_PX = 2000
_QUICK_LOOK_PX = 1000  # a look at half of that takes a third of the time, and does where it finds the whole card
LEAST_MARKERS = 4  # that must lie as on the card; chance finds do not (estimate)
_WINDOWS_PX, _WINDOW_STEP_PX, _FINER_STEP_PX = (7, 23), 16, 8  # of ArUco's thresholds; finer when the card's place is known
_CELL_RIM = 0.3  # of a cell: light spreads over its rim, and small markers are read by the cells' middles
_LEAST_OUTLINE_PX = 40  # of a marker, all four sides
_ENLARGED = 2.0  # at the most, for markers that were missed
_ROUNDS = 3  # one marker predicts its neighbours only roughly, several predict the whole card
_MARGIN = 1 / 4  # of a marker's width around the card where missed ones are looked for
_SMALLEST_PX = 20  # side of that place
_OF_WIDTH, _LEAST_REACH_PX, _MOST_REACH_PX = 7, 2, 7  # window of a corner: within the marker's black rim, a sixth of its width
_REFINE_ROUNDS, _REFINED_PX = 30, 0.01  # until a corner moves no more than this
_SAME_PLACE = 0.4  # of a marker's width: how far a marker may lie from where the others say
_CORNERS_MM = card_corners_mm()[:, :, :2]  # by id


@dataclass(frozen=True, slots=True)
class CardSighting:
    """The card's markers as seen.

    Attributes
    ----------
    ids : tuple of int
    corners_px : ndarray, shape (len(ids), 4, 2)
        In ArUco's order, clockwise from the marker's own top left.
    twice : bool
        Two or more of the card's markers are there a second time, elsewhere in the picture.
    """

    ids: tuple[int, ...]
    corners_px: Floats
    twice: bool = False


@dataclass(frozen=True, slots=True)
class _Marker:
    id: int
    corners_px: Floats


def find_card(grey: NDArray[np.uint8]) -> CardSighting:
    """Find the scale card's markers.

    The picture is searched much reduced for the whole card, then less reduced, at full size and enlarged until four markers lie as on
    the card; a few missing ones are searched again in an enlarged crop. Corners are refined on the full-size picture (Foerstner's
    corner point, as OpenCV's cornerSubPix has it).

    Parameters
    ----------
    grey : ndarray of uint8, shape (H, W)

    Returns
    -------
    CardSighting
        With no ids where nothing lies as on the card.
    """
    long_side = max(grey.shape)
    quick = min(1.0, _QUICK_LOOK_PX / long_side)
    factors = sorted({quick, min(1.0, _FIRST_LOOK_PX / long_side), 1.0, min(_ENLARGED, 2 * _FIRST_LOOK_PX / long_side)})
    card: list[_Marker] = []
    others: list[_Marker] = []
    for factor in (f for f in factors if f <= 1 or long_side <= _FIRST_LOOK_PX):
        card, others = _as_on_the_card(_detect(grey, factor))
        if len(card) >= (LEAST_MARKERS if factor > quick else len(CARD_IDS)):
            break
    if LEAST_MARKERS <= len(card) < len(CARD_IDS):
        card = _look_again(grey, card)
    again = {m.id for m in others} & {m.id for m in card}
    corners = np.array([_refine(grey, m.corners_px) for m in card]).reshape(-1, 4, 2)
    return CardSighting(tuple(m.id for m in card), corners, len(again) >= 2)


def _detect(grey: NDArray[np.uint8], factor: float, origin: tuple[int, int] = (0, 0), step: int = _WINDOW_STEP_PX) -> list[_Marker]:
    """Card markers in a picture scaled by `factor` for the search; corners in pixels of the picture that `origin` is measured in."""
    settings = cv2.aruco.DetectorParameters()
    settings.adaptiveThreshWinSizeMin, settings.adaptiveThreshWinSizeMax = _WINDOWS_PX
    settings.adaptiveThreshWinSizeStep = step
    settings.perspectiveRemoveIgnoredMarginPerCell = _CELL_RIM
    settings.minMarkerPerimeterRate = _LEAST_OUTLINE_PX / (max(grey.shape) * factor)
    if factor != 1:
        grey = cv2.resize(grey, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA if factor < 1 else cv2.INTER_CUBIC).astype(
            np.uint8, copy=False
        )
    quads, ids, _ = cv2.aruco.ArucoDetector(DICTIONARY, settings).detectMarkers(grey)
    if ids is None:
        return []
    found = zip(np.ravel(ids), quads, strict=True)
    return [_Marker(int(k), (quad.reshape(4, 2) + 0.5) / factor - 0.5 + origin) for k, quad in found if int(k) in CARD_IDS]


def _as_on_the_card(markers: list[_Marker]) -> tuple[list[_Marker], list[_Marker]]:
    """Split markers into the largest set that lies as on one card, and the rest (a second card, chance finds)."""
    best: list[int] = []
    for seed in markers:
        inside: list[int] = []
        basis = [seed]
        for _ in range(_ROUNDS):
            inside = _agreeing(markers, _homography(basis))
            if len(inside) <= len(basis):
                break
            basis = [markers[i] for i in inside]
        if len(inside) > len(best):
            best = inside
        if len(best) == len(markers):
            break
    card = sorted((markers[i] for i in best), key=lambda m: m.id)
    return card, [m for i, m in enumerate(markers) if i not in best]


def _homography(markers: list[_Marker]) -> Floats:
    mm = np.concatenate([_CORNERS_MM[m.id] for m in markers])
    px = np.concatenate([m.corners_px for m in markers])
    return np.asarray(cv2.findHomography(mm, px)[0], np.float64)


def _agreeing(markers: list[_Marker], card_to_px: Floats) -> list[int]:
    """Indices of the markers that lie where the homography puts them, one per id."""
    nearest: dict[int, tuple[float, int]] = {}
    for i, marker in enumerate(markers):
        expected = cv2.perspectiveTransform(_CORNERS_MM[marker.id][None], card_to_px)[0]
        off = float(np.abs(expected - marker.corners_px).max() / _width_px(marker.corners_px))
        if off < _SAME_PLACE and off < nearest.get(marker.id, (_SAME_PLACE, 0))[0]:
            nearest[marker.id] = (off, i)
    return sorted(i for _, i in nearest.values())


def _look_again(grey: NDArray[np.uint8], card: list[_Marker]) -> list[_Marker]:
    """Search the card's place once more, enlarged; the markers found first keep their place."""
    place = cv2.perspectiveTransform(_CORNERS_MM.reshape(1, -1, 2), _homography(card))[0]
    margin = _MARGIN * _width_px(card[0].corners_px)
    x0, y0 = np.clip(np.floor(place.min(0) - margin), 0, None).astype(int)
    x1, y1 = np.ceil(place.max(0) + margin).astype(int) + 1
    crop = np.ascontiguousarray(grey[y0:y1, x0:x1])
    if min(crop.shape) < _SMALLEST_PX or max(crop.shape) > _FIRST_LOOK_PX:
        return card
    known = {m.id for m in card}
    more = [m for m in _detect(crop, _ENLARGED, (int(x0), int(y0)), step=_FINER_STEP_PX) if m.id not in known]
    return _as_on_the_card(card + more)[0]


def _width_px(corners_px: Floats) -> float:
    return float(np.linalg.norm(corners_px - np.roll(corners_px, 1, axis=0), axis=1).mean())


def _refine(grey: NDArray[np.uint8], corners_px: Floats) -> Floats:
    reach = int(np.clip(_width_px(corners_px) / _OF_WIDTH, _LEAST_REACH_PX, _MOST_REACH_PX))
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_COUNT, _REFINE_ROUNDS, _REFINED_PX)
    start = corners_px.astype(np.float32).reshape(-1, 1, 2)
    return np.asarray(cv2.cornerSubPix(grey, start, (reach, reach), (-1, -1), stop), np.float64).reshape(4, 2)
