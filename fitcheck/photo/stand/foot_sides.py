"""How far a camera is pitched against the floor, by the side edges of the stand's foot: on the floor they are parallel.

Seen from above by a camera whose pitch is taken a little wrong, the edges of a rectangular foot that lead away from the camera run
together or apart. The card itself may lean a little towards the camera, and nothing else in the photos tells that. Where the side face
below an edge is seen as well, too narrow to be told apart, the edge may lie anywhere between its top and its bottom; its doubt says so.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.camera import Camera
from fitcheck.core.light import light_of
from fitcheck.core.normal import share_below
from fitcheck.core.records import Floats
from fitcheck.photo.stand.edge_strips import change_along, levels_at, pixels_of_rows
from fitcheck.photo.stand.foot import BEHIND_MM, PADS_MM, StandFoot

# Estimates, where no line says more; a change is in grey levels, three colours together.
ROW_MM = 2.0  # between rows
ENDS_MM = 6.0  # of the edges left out, where corners are round
NEAREST_MM, FARTHEST_MM = 60.0, 300.0  # from the pole to a side edge
ROOM_MM = 30.0  # beyond them, for edges that are turned
SEARCH_BLUR, SEARCH_WINDOW = 1.5, 7  # of the rows searched, pixels
MOST_TURN, TURN_STEP = 0.25, 0.01  # slope of the edges, seen from above
SEARCH_ROWS, PARTS = 20, 10  # rows that are searched, and parts of an edge that are placed each for itself
CLEAREST = 60.0  # change beyond which an edge is none the clearer
BLUR = 0.9  # of an edge, pixels
REACH = 4  # pixels to both sides of an edge that tell where it is
STRIP = 24  # pixels to both sides of the edge as searched
REACHES = (3.0, 1.5, 1.5)  # pixels beside the line so far within which it is looked for, pass by pass
HIDDEN_MM = 20.0  # of the far end, where the floor beside the foot is just not hidden any more
SOFT, SHARP = 0.93, 1.03  # of an edge against the sharper one: counts least, counts in full
LEAST_COUNT = 0.05  # of such a part
FIT_ROUNDS, MEAN_ROUNDS = 5, 10  # of reweighting
SD_OF_MEDIAN = 1.48  # of normally distributed values, over the median of their sizes
SIDE_FACE_PX = 1.0  # a narrower side face is not seen
LEAST_SD, STRAIGHT = 0.05, 0.6  # pixels beside the line: the least and the most that parts of an edge are taken to scatter
RESOLVED = 2.3  # pixels from which a side face is told apart
WANDER = 0.25  # of the side face's width: by how much an edge may wander on its way
OWN_SD = 0.002  # radians, of one photo beside what its edges tell; measured on rendered fittings
ALIKE_SD = 0.002  # alike in all photos
STRAYS = 2.0  # sds from which a photo, or a part of an edge, counts less


@dataclass(frozen=True, slots=True)
class Convergence:
    """What the side edges of the foot tell in one photo.

    Attributes
    ----------
    pitch : float
        Radians about the camera's first axis by which it is to be turned, so that the edges are parallel.
    sd, alike_sd : float
        Of this photo alone; and of all photos alike, as a narrow side face is seen the same in each.
    """

    pitch: float
    sd: float
    alike_sd: float


@dataclass(frozen=True, slots=True)
class _Plate:
    """The foot in one photo: how high its top is in the card's frame, and the rows (R,) behind and before its middle that are looked at."""

    rgb: NDArray[np.uint8]
    camera: Camera
    foot: StandFoot
    top_mm: float
    depth_mm: Floats


@dataclass(frozen=True, slots=True)
class _Edge:
    """At `start` across where the foot's middle is; `slope` across for each mm towards the camera."""

    start_mm: float
    slope: float
    slope_sd: float
    wander: float


def convergence(rgb: NDArray[np.uint8], camera: Camera, foot: StandFoot) -> Convergence | None:
    """Compare the directions of the foot's left and right edges, seen from above.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (H, W, 3)
    camera : Camera
        Of the photo, by its card.
    foot : StandFoot
        As found in it.

    Returns
    -------
    Convergence or None
        None where the foot has no two straight side edges, or the picture ends before them.
    """
    top = -foot.card_height_mm + PADS_MM + foot.thick_mm
    plate = _Plate(rgb, camera, foot, top, np.arange(ENDS_MM - foot.half_depth_mm, foot.half_depth_mm - ENDS_MM, ROW_MM))
    searched = _search(plate)
    if searched is None:
        return None
    left, right, slope = searched
    # the side face below an edge is seen where the camera stands beyond it; the other edge is the plain one
    sides = sorted([(-1, left), (1, right)], key=lambda one: one[0] * (camera.eye_mm[0] - one[1]))
    sharp, edges = 0.0, {}
    for side, start in sides:
        found = _edge(plate, side, start, slope, sharp)
        if found is None:
            return None
        edges[side], sharp = found
    # seen from a height, a pitch wrong by an angle turns an edge by the angle times its place aside over that height
    gain = (edges[1].start_mm - edges[-1].start_mm) / (camera.eye_mm[1] - top)
    sd = np.hypot(edges[-1].slope_sd, edges[1].slope_sd) / gain
    wander = np.hypot(edges[-1].wander, edges[1].wander) / gain
    return Convergence(float((edges[-1].slope - edges[1].slope) / gain), float(np.hypot(sd, OWN_SD)), float(wander))


def pitch_of_all(told: Sequence[Convergence]) -> tuple[float, float]:
    """What several photos tell together, and its sd: a mean in which strays count less."""
    pitch, sd = np.array([one.pitch for one in told]), np.array([one.sd for one in told])
    mean = float(np.median(pitch))
    for _ in range(MEAN_ROUNDS):
        weight = 1 / sd**2 / np.sqrt(1 + ((pitch - mean) / (STRAYS * sd)) ** 2)
        mean = float(weight @ pitch / weight.sum())
    scatter = weight @ (pitch - mean) ** 2 / weight.sum() / max(len(told) - 1, 1)
    alike = np.mean([one.alike_sd for one in told])
    return mean, float(np.sqrt(1 / (1 / sd**2).sum() + scatter + alike**2 + ALIKE_SD**2))


def _search(plate: _Plate) -> tuple[float, float, float] | None:
    """Where the clearest two parallel edges start, left and right of the pole, and their slope."""
    px_mm = _px_mm(plate.camera)
    across = np.arange(-FARTHEST_MM - ROOM_MM, FARTHEST_MM + ROOM_MM + 1, px_mm)
    along = plate.depth_mm[:: len(plate.depth_mm) // SEARCH_ROWS]
    px, inside = pixels_of_rows(plate.camera, _rows(0.0, 0.0, plate.top_mm, along), across, plate.rgb.shape)
    clear = change_along(cv2.GaussianBlur(levels_at(plate.rgb, px), (SEARCH_WINDOW, 1), SEARCH_BLUR), 1).sum(axis=2)
    clear = np.minimum(np.where(inside, clear, 0.0), CLEAREST)
    slopes = np.arange(-MOST_TURN, MOST_TURN + TURN_STEP / 2, TURN_STEP)
    starts = np.arange(NEAREST_MM, FARTHEST_MM, px_mm)
    # starts lie a pixel apart as `across` does, so that in each row an edge's places are neighbours: one window for each slope
    room = int(MOST_TURN * np.abs(along).max() / px_mm) + 1
    windows = np.lib.stride_tricks.sliding_window_view(np.pad(clear, ((0, 0), (room, room)), "edge"), len(starts), axis=1)
    best = []
    for side in (-1, 1):
        nearest = np.round((side * starts[0] + slopes[:, None] * along - across[0]) / px_mm).astype(int) + room
        first = nearest if side > 0 else nearest - len(starts) + 1
        best.append(windows[np.arange(len(along)), first].mean(axis=1)[:, ::side])
    k = int(np.argmax(best[0].max(axis=1) + best[1].max(axis=1)))
    if min(best[0][k].max(), best[1][k].max()) == 0:
        return None
    return -float(starts[best[0][k].argmax()]), float(starts[best[1][k].argmax()]), float(slopes[k])


def _edge(plate: _Plate, side: int, start: float, slope: float, sharp: float) -> tuple[_Edge, float] | None:
    """One side edge near where it was searched, and how sharp it is: a line through its parts.

    Parameters
    ----------
    plate : _Plate
    side : {-1, 1}
        Left or right of the pole.
    start, slope : float
        As searched.
    sharp : float
        Sharpness of the other edge; 0 where it is not known.
    """
    rgb, camera, foot, top, depth = plate.rgb, plate.camera, plate.foot, plate.top_mm, plate.depth_mm
    px_mm, eye = _px_mm(camera), camera.eye_mm
    across = np.arange(-STRIP, STRIP + 1.0)
    px, inside = pixels_of_rows(camera, _rows(start, slope, top, depth), px_mm * across, rgb.shape)
    if not inside.all():
        return None
    light = light_of(cv2.remap(rgb, px[..., 0], px[..., 1], cv2.INTER_CUBIC))
    parts = np.array_split(np.arange(len(depth)), PARTS)
    steps = _steps(np.array([light[part].mean(axis=0) for part in parts]))
    along = np.array([depth[part].mean() for part in parts])
    below = side * foot.thick_mm * (eye[0] - start) / (eye[1] - top) / px_mm  # pixels of the side face that are seen
    seen = np.full(PARTS, True)
    if below > SIDE_FACE_PX:
        hides = foot.thick_mm * (eye[2] + BEHIND_MM) / (eye[1] - top)
        seen = along > hides + HIDDEN_MM - foot.half_depth_mm
    if seen.sum() < PARTS // 2:
        return None
    shifts = (
        (0.0, below, -below) if SIDE_FACE_PX < below < STRIP - REACH - REACHES[0] else (0.0,)
    )  # the face's top, its bottom, or what was searched
    lines = [_line(steps[seen], along[seen], side * shift, sharp if below > 0 else 0.0) for shift in shifts]
    aside, turned, sd, own_sharp = min(lines, key=lambda line: line[2])
    if sd * np.sqrt(seen.sum()) * np.std(along[seen]) > STRAIGHT:
        return None
    wander = WANDER * max(min(below, RESOLVED - below), 0.0) / np.ptp(along)
    return _Edge(start + px_mm * aside, slope + px_mm * turned, px_mm * sd, px_mm * wander), own_sharp


def _line(steps: Floats, along: Floats, aside: float, sharp: float) -> tuple[float, float, float, float]:
    """A line through the places of the largest steps near `aside`: its place, slope, sd of the slope, and the median sharpness.

    Parts that are softer than `sharp` count less: two edges are seen there as one, or a shadow's.
    """
    slope, count = 0.0, np.ones(len(along))
    for reach in REACHES:
        at, sharpness = _peaks(steps, aside + slope * along, reach)
        if sharp:
            count = np.clip((sharpness / sharp - SOFT) / (SHARP - SOFT), LEAST_COUNT, 1.0)
        weight = count
        for _ in range(FIT_ROUNDS):
            total = weight.sum()
            middle, height = weight @ along / total, weight @ at / total
            spread = weight @ (along - middle) ** 2
            slope = float(weight @ ((along - middle) * at) / spread)
            aside = float(height - slope * middle)
            off = at - aside - slope * along
            sd = max(SD_OF_MEDIAN * float(np.median(np.abs(off))), LEAST_SD)
            weight = count**2 / (1 + (off / (STRAYS * sd)) ** 2)
    return aside, slope, sd / float(np.sqrt(spread)), float(np.median(sharpness))


def _peaks(steps: Floats, near: Floats, reach: float) -> tuple[Floats, Floats]:
    """Place of the largest step of each row within reach, and how sharp it is: how fast it falls off to both sides, over itself."""
    across = np.arange(-STRIP, STRIP + 1)
    k = np.where(np.abs(across - near[:, None]) <= reach, steps, -1.0)[:, 1:-1].argmax(axis=1) + 1
    row = np.arange(len(steps))
    before, at, after = steps[row, k - 1], steps[row, k], steps[row, k + 1]
    bend = np.maximum(2 * at - before - after, 1e-12)
    return k - STRIP + np.clip((after - before) / (2 * bend), -1, 1), bend / np.maximum(at, 1e-12)


def _steps(profiles: Floats) -> Floats:
    """The step in light at each place of profiles (P, S, 3), beside what slopes to both sides account for; 0 near the ends."""
    shape = _step_shape()
    whole = sum(shape[k] * profiles[:, k : profiles.shape[1] - len(shape) + 1 + k] for k in range(len(shape)))
    return np.pad(np.linalg.norm(whole, axis=2), ((0, 0), (REACH, REACH)))


@cache
def _step_shape() -> Floats:
    """Weights of the pixels about an edge that give its step, by least squares: two straight lines that meet in a blurred edge."""
    u = np.arange(-REACH, REACH + 1.0)
    after = share_below(u / BLUR)
    lines = np.stack([1 - after, (1 - after) * u, after, after * u], axis=1)
    solved = np.linalg.pinv(lines)
    return np.asarray(solved[2] - solved[0])


def _rows(start: float, slope: float, top: float, depth: Floats) -> Floats:
    """Middles of rows across the top of the foot, (rows, 3)."""
    return np.stack([start + slope * depth, np.full(len(depth), top), depth - BEHIND_MM], axis=1)


def _px_mm(camera: Camera) -> float:
    """What a pixel shows at the card's distance."""
    return float(camera.eye_mm[2] / camera.matrix[0, 0])
