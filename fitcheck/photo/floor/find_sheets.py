"""Find the floor sheets in a photo: printed squares seen at 15 to 30 degrees, to a few hundredths of a pixel.

Lying squares look three times as wide as high. The lower part of the picture is therefore stretched upwards before ArUco looks for them;
squares that were missed are looked for again on the sheet as it would be seen from above. Then the edges between the cells are measured
as on the scale card, first where the corners of their own square expect them, then where those edges themselves do on a sheet whose
corners may curl.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.aruco import CELLS, DICTIONARY
from fitcheck.core.floor_sheet import FLOOR_IDS, FLOOR_MARKER_MM, SheetName, floor_corners_mm
from fitcheck.core.records import Floats
from fitcheck.photo.camera.flat_target import Edges
from fitcheck.photo.card.card_edges import edges_of_square, edges_seen
from fitcheck.photo.floor.curl import BENDS, corner_rise

# Estimates of ours, tried on drawn sheets (`tests/photo/floor`).
UPPER_SHARE = 0.4  # of the picture, above which no floor is looked for
LOOKS = ((1100, 3.0), (1600, 3.2), (2400, 3.2))  # one after the other: width to which the picture is brought, stretch of heights
MOST_ENLARGED = 2.0
# A cell of a sheet far off in a film's lines is 2 to 3 pixels high, and the lens' blur takes most of its contrast: narrower pictures are
# sharpened before squares are looked for (edges are measured in the picture as it is). Of 44 sheets drawn in 1080 columns, from 2 to 4 m
# with lenses of 24 to 60 mm, at 15 to 30 degrees, 35 are found, 25 without it; the others' cells are less than 2 pixels high.
SHARPENED_PX, SHARPEN, SHARPEN_BLUR_PX = 2000, 1.5, 1.0
LEAST_SQUARES = 2  # of a sheet that must lie as on it; a chance find does not
WINDOWS_PX, WINDOW_STEP_PX = (7, 39), 16  # of ArUco's thresholds
GLANCE_PX = (23, 23)  # a glance with one of them takes half the time, and saw a sheet wherever all three did (106 drawn photos)
CELL_RIM = 0.25  # of a cell, which light spreads over
LEAST_OUTLINE_PX = 60  # of a stretched square, all four sides
ABOVE_PX_PER_MM, ABOVE_RIM_MM = 1.2, 12.0  # of a sheet as seen from above, and how much around its squares is shown
SAME_PLACE = 0.6  # of a square's side: how far it may lie from where the others say; a corner that curls up by 15 mm looks so far off
LEAST_CELL_PX = 1.8  # across an edge; the blur of a phone reaches about 1.2 to either side
FEWEST_EDGES = 40  # of about 260 a sheet
CURLED_SD_PX = 8.0  # by how much a corner may look shifted upwards, loosely
NOT_AT_ALL = 1e-3  # the same of a sheet that is taken to be flat
GROWN_SD_PX = 0.5  # by which white grows over black
BENT_SD = 0.015  # by which share a lens moves the picture's corner
STRAYS_PX = 0.35  # from which an edge counts less for where the sheet lies: a curled corner, a shoe
STRAYED = 3  # of that, beyond which it says nothing of how flat the sheet lies
FIT_ROUNDS = 4
UNITS = np.array([0.1, 0.1, 100.0, 0.1, 0.1, 100.0, 1e-4, 1e-4])  # usual sizes of a homography's numbers, pixels over millimetres
STEP = 1e-3  # of these, for slopes
RIM_PX = 3  # of the picture, within which no edge is measured
CELL_MM = FLOOR_MARKER_MM / CELLS


@dataclass(frozen=True, slots=True)
class SheetSighting:
    """A floor sheet as one photo shows it.

    Attributes
    ----------
    which : str
        left | right, as printed.
    squares : int
        How many of its six squares were read.
    edges : Edges
        Between its cells, in the sheet's frame.
    rms_px : float
        Of the edges about a flat sheet, strays counted less: how curled it lies.
    left_px : float
        The same about a sheet with curled corners: how uneven it lies besides.
    """

    which: SheetName
    squares: int
    edges: Edges
    rms_px: float
    left_px: float


def find_sheets(rgb: NDArray[np.uint8]) -> tuple[SheetSighting, ...]:
    """Find the floor sheets.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (H, W, 3)

    Returns
    -------
    tuple of SheetSighting
        One for each sheet that shows well enough to be measured.
    """
    height, width = rgb.shape[:2]
    top = int(UPPER_SHARE * height)
    grey = np.asarray(cv2.cvtColor(rgb[top:], cv2.COLOR_RGB2GRAY), np.uint8)
    if width < SHARPENED_PX:
        soft = cv2.GaussianBlur(grey, (0, 0), SHARPEN_BLUR_PX)
        grey = np.asarray(cv2.addWeighted(grey, 1 + SHARPEN, soft, -SHARPEN, 0), np.uint8)
    seen: dict[SheetName, dict[int, Floats]] = {}
    if not _squares(grey, min(MOST_ENLARGED, LOOKS[0][0] / width), LOOKS[0][1], GLANCE_PX):
        return ()  # no sheet in sight: an ordinary photo costs one glance
    for look_px, stretch in LOOKS:
        found = _squares(grey, min(MOST_ENLARGED, look_px / width), stretch)
        for which, ids in FLOOR_IDS.items():
            fresh = _as_on_the_sheet({ids.index(k): corners for k, corners in found.items() if k in ids})
            if len(fresh) > len(seen.get(which, {})):
                seen[which] = fresh
        if len(seen) == len(FLOOR_IDS) and all(len(squares) >= len(floor_corners_mm()) / 2 for squares in seen.values()):
            break
    sightings = []
    for which, squares in seen.items():
        if len(squares) >= LEAST_SQUARES and (sighting := _measured(rgb, which, _looked_again(grey, which, squares), top)) is not None:
            sightings.append(sighting)
    return tuple(sightings)


def _squares(grey: NDArray[np.uint8], factor: float, stretch: float, windows_px: tuple[int, int] = WINDOWS_PX) -> dict[int, Floats]:
    """Corners (4, 2) in pixels of `grey` by id, looked for in a picture scaled by `factor` and made higher by `stretch`."""
    scale = np.array([factor, factor * stretch])
    size = tuple(int(n) for n in np.rint(scale * grey.shape[::-1]))
    between = cv2.INTER_CUBIC if scale.min() >= 1 else cv2.INTER_LINEAR if scale.max() > 1 else cv2.INTER_AREA
    looked = np.asarray(cv2.resize(grey, size, interpolation=between), np.uint8)
    settings = cv2.aruco.DetectorParameters()
    settings.adaptiveThreshWinSizeMin, settings.adaptiveThreshWinSizeMax = windows_px
    settings.adaptiveThreshWinSizeStep = WINDOW_STEP_PX
    settings.perspectiveRemoveIgnoredMarginPerCell = CELL_RIM
    settings.minMarkerPerimeterRate = LEAST_OUTLINE_PX / max(looked.shape)
    settings.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    quads, ids, _ = cv2.aruco.ArucoDetector(DICTIONARY, settings).detectMarkers(looked)
    if ids is None:
        return {}
    real = np.array(size) / grey.shape[::-1]
    wanted = {number for of_sheet in FLOOR_IDS.values() for number in of_sheet}
    return {
        int(k): (np.asarray(quad, np.float64).reshape(4, 2) + 0.5) / real - 0.5
        for k, quad in zip(np.ravel(ids), quads, strict=True)
        if int(k) in wanted
    }


def _as_on_the_sheet(squares: dict[int, Floats]) -> dict[int, Floats]:
    """The largest set of squares, by place, that lie to each other as on one sheet."""
    best: dict[int, Floats] = {}
    for seed in squares:
        inside = {seed: squares[seed]}
        for _ in range(2):
            mm = np.concatenate([floor_corners_mm()[k] for k in inside])
            to_px = cv2.findHomography(mm, np.concatenate(list(inside.values())))[0]
            if to_px is None:
                break
            inside = {k: corners for k, corners in squares.items() if _off(to_px, k, corners) < SAME_PLACE}
        if len(inside) > len(best):
            best = inside
    return best if len(best) >= LEAST_SQUARES else {}


def _off(to_px: Floats, place: int, corners: Floats) -> float:
    """How far a square lies from where a homography expects it, in units of its own side, worst corner."""
    from_px = np.linalg.inv(to_px)
    found = cv2.perspectiveTransform(corners[None], from_px)[0]
    return float(np.abs(found - floor_corners_mm()[place]).max() / FLOOR_MARKER_MM)


def _looked_again(grey: NDArray[np.uint8], which: SheetName, squares: dict[int, Floats]) -> dict[int, Floats]:
    """The squares, with those that were missed but are read on the sheet as seen from above."""
    corners = floor_corners_mm()
    if len(squares) == len(corners):
        return squares
    to_px = cv2.findHomography(np.concatenate([corners[k] for k in squares]), np.concatenate(list(squares.values())))[0]
    half = corners.reshape(-1, 2).max(axis=0) + ABOVE_RIM_MM
    from_above = to_px @ np.array([[1 / ABOVE_PX_PER_MM, 0, -half[0]], [0, -1 / ABOVE_PX_PER_MM, half[1]], [0, 0, 1]])
    size = tuple(int(n) for n in np.rint(2 * half * ABOVE_PX_PER_MM))
    above = np.asarray(cv2.warpPerspective(grey, from_above, size, flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP), np.uint8)
    found = _squares(above, 1.0, 1.0)
    more = {
        FLOOR_IDS[which].index(k): cv2.perspectiveTransform(quad[None], from_above)[0] for k, quad in found.items() if k in FLOOR_IDS[which]
    }
    return _as_on_the_sheet(more | squares) or squares


def _measured(rgb: NDArray[np.uint8], which: SheetName, squares: dict[int, Floats], top: int) -> SheetSighting | None:
    """The edges of a sheet whose squares were read in the part of the picture below row `top`; None where too few are clear."""
    corners = floor_corners_mm()
    own = {k: cv2.findHomography(corners[k], px + [0, top])[0] for k, px in squares.items()}
    printed = {k: edges_of_square(FLOOR_IDS[which][k], corners[k][0], CELL_MM) for k in squares}
    first = _edges(rgb, [(printed[k], cv2.perspectiveTransform(_spots(printed[k])[None], own[k])[0]) for k in squares])
    if first is None:
        return None
    px = np.concatenate([corners_px + [0, top] for corners_px in squares.values()])
    to_px = cv2.findHomography(np.concatenate([corners[k] for k in squares]), px)[0]
    lying = _Lying(to_px, np.zeros(BENDS), 0.0, 0.0, (np.array(rgb.shape[1::-1]) - 1) / 2).through(first)
    edges = _edges(rgb, [(printed[k], lying.px(_spots(printed[k]))) for k in squares])
    if edges is None:
        return None
    curled = lying.through(edges)
    flat = curled.through(edges, curls=False)
    return SheetSighting(which, len(squares), edges, _rms_px(flat.misfit(edges)), _rms_px(curled.misfit(edges)))


def _spots(printed: Floats) -> Floats:
    """Of edges (N, 4): the middle, a millimetre across and one along from there, (3 N, 2), edge after edge."""
    middles, across = printed[:, :2], printed[:, 2:]
    return np.asarray(np.stack([middles, middles + across, middles + across[:, ::-1] * [-1, 1]], axis=1).reshape(-1, 2))


def _rms_px(off: Floats) -> float:
    kept = np.abs(off) < STRAYED * STRAYS_PX
    return float(np.sqrt((off[kept] ** 2).mean())) if kept.any() else STRAYS_PX


def _edges(rgb: NDArray[np.uint8], squares: Iterable[tuple[Floats, Floats]]) -> Edges | None:
    """The clear edges of squares, each given by what is printed and where its spots are expected; None where they are too few.

    Each square is measured for itself: one may lie in the shadow, where black and white differ by a tenth of what they do in the light.
    """
    found = [edges for printed, spots_px in squares if (edges := _edges_of_square(rgb, printed, spots_px)) is not None]
    if sum(len(edges.normals) for edges in found) < FEWEST_EDGES:
        return None
    return Edges(*(np.concatenate([getattr(edges, name) for edges in found]) for name in ("middles_mm", "found_px", "normals")))


def _edges_of_square(rgb: NDArray[np.uint8], printed: Floats, spots_px: Floats) -> Edges | None:
    """The printed edges (N, 4) that are wide enough and clear, from where their spots are expected; their normals square to them in the
    picture."""
    middle, across_end, along_end = spots_px.reshape(-1, 3, 2).transpose(1, 0, 2)
    by_across, by_along = across_end - middle, along_end - middle
    normal = _square_to(by_along, by_across)
    wide = CELL_MM * (normal * by_across).sum(axis=1) > LEAST_CELL_PX
    reach = CELL_MM * np.maximum(np.abs(by_across), np.abs(by_along))
    wide &= (middle > reach + RIM_PX).all(axis=1) & (middle < np.array(rgb.shape[1::-1]) - 1 - reach - RIM_PX).all(axis=1)
    if not wide.any():
        return None
    found = edges_seen(rgb, np.arange(float(wide.sum()))[:, None], (middle[wide], by_across[wide], by_along[wide]), CELL_MM)
    if found is None:
        return None
    which = np.flatnonzero(wide)[found.middles_mm[:, 0].astype(int)]
    return replace(found, middles_mm=printed[which, :2], normals=normal[which])


def _square_to(along: Floats, towards: Floats) -> Floats:
    """Unit vectors square to `along`, on the side of `towards`."""
    normal = along[:, ::-1] * [1, -1] / np.linalg.norm(along, axis=1, keepdims=True)
    return np.asarray(normal * np.sign((normal * towards).sum(axis=1, keepdims=True)))


@dataclass(frozen=True, slots=True)
class _Lying:
    """How a sheet lies in the picture.

    Attributes
    ----------
    to_px : ndarray, shape (3, 3)
        Homography.
    curl_px : ndarray, shape (BENDS,)
        By how many pixels its corners look shifted upwards because they curl.
    grown_px : float
        By how much white has grown over black.
    bent : float
        By which share the lens moves a corner of the picture outwards.
    reach_px : ndarray, shape (2,)
        From the picture's corner to its middle.
    """

    to_px: Floats
    curl_px: Floats
    grown_px: float
    bent: float
    reach_px: Floats

    def px(self, on_sheet_mm: Floats) -> Floats:
        flat = cv2.perspectiveTransform(on_sheet_mm[None], self.to_px)[0]
        rise = np.outer(corner_rise(on_sheet_mm) @ self.curl_px, [0.0, 1.0])
        return np.asarray(flat - rise + self.bent * self.outwards(flat))

    def outwards(self, px: Floats) -> Floats:
        off = px - self.reach_px
        return np.asarray(off * (off**2).sum(axis=1, keepdims=True) / (self.reach_px**2).sum())

    def misfit(self, edges: Edges) -> Floats:
        return np.asarray(((edges.found_px - self.px(edges.middles_mm)) * edges.normals).sum(axis=1) + self.grown_px)

    def through(self, edges: Edges, curls: bool = True) -> "_Lying":
        """The one through the edges, those that stray counted less (Geman-McClure weights)."""
        lying, unknown = self, len(UNITS)
        by_curl = corner_rise(edges.middles_mm) * -edges.normals[:, 1:]
        by_lens = (self.outwards(edges.found_px) * edges.normals).sum(axis=1)
        loosely = STRAYS_PX / np.append(np.full(BENDS, CURLED_SD_PX if curls else NOT_AT_ALL), [GROWN_SD_PX, BENT_SD])
        for _ in range(FIT_ROUNDS):
            off = lying.misfit(edges)
            slopes = np.empty((len(off), unknown))
            for k in range(unknown):
                moved = lying.to_px.copy()
                moved.ravel()[k] += STEP * UNITS[k]
                slopes[:, k] = (off - replace(lying, to_px=moved).misfit(edges)) / STEP
            weight = 1 / (1 + (off / STRAYS_PX) ** 2)
            rows = np.column_stack([slopes, by_curl, -np.ones(len(off)), by_lens]) * weight[:, None]
            held = np.column_stack([np.zeros((BENDS + 2, unknown)), np.diag(loosely)])
            right = np.concatenate([off * weight, -loosely * np.append(lying.curl_px, [lying.grown_px, lying.bent])])
            step = np.linalg.lstsq(np.vstack([rows, held]), right, rcond=None)[0]
            to_px = lying.to_px + np.append(step[:unknown] * UNITS, 0.0).reshape(3, 3)
            grown, bent = lying.grown_px + float(step[-2]), lying.bent + float(step[-1])
            lying = replace(lying, to_px=to_px, curl_px=lying.curl_px + step[unknown:-2], grown_px=grown, bent=bent)
        return lying
