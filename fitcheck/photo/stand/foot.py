"""The foot of the stand that carries the scale card, in one photo: a pole on a flat foot.

The foot stands at a known depth, below the card. Three edges of it are seen one below the other: where its top ends behind the pole, where
its top ends before the pole, and where its front meets the floor. As far as foot and pole are symmetrical, these three rows tell how deep
and thick the foot is and where the floor lies (similar triangles).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.camera import Camera
from fitcheck.core.light import light_of
from fitcheck.core.records import Floats
from fitcheck.core.slopes import slopes
from fitcheck.photo.stand.edge_strips import change_along, levels_at, pixels_of_rows

# Lengths are those on the card's plane; a change is in grey levels, three colours together. Estimates, where no line says more.
CARD_END_MM = -160.0  # below the card's middle the sheet has ended
LOWEST_MM = -1900.0  # below the card's middle no floor lies: it would hang above her head
STEP_MM = 2.0  # between rows, and between columns
POLE_MM = 14.0  # half the strip in which the pole stands
BESIDE_MM = (14.0, 44.0)  # beside it, where the edges of the foot are looked for
EDGE = 8.0  # change that counts as an edge
MOST_EDGES = 20  # a carpet has many
POLE_EDGE = 4.0  # change lengthwise of the pole, at least
ABOVE, BELOW = 50, 20  # rows above and below the foot in which the pole must be seen, or must be gone
NEXT_ROWS, LEAST_BELOW = 4, 4  # rows beside the foot's own edges that say nothing of the pole; fewest that must be seen below
GONE = 0.4  # of the pole's contrast, at most, left below the foot
THICK_MM, HALF_DEPTH_MM = (4.0, 60.0), (40.0, 250.0)  # of a foot
WIDEST_MM = 400.0  # to both sides, within which it must end
LEAST_WIDE_MM, OFF_CENTRE = 40.0, 0.35  # of its front to either side of the pole; of the difference of both, over their sum
LASTS_STEPS, LASTS_SHARE = 5, 0.5  # a front goes on where within so many steps aside this share of them shows an edge
BEHIND_MM = 15.0  # the pole's axis behind the card's face: board, clip, half a pole
PADS_MM = 2.5  # a foot stands on pads or a felt, which keep its lower edge off the floor; measured on our scenes
# an edge placed finely: how far and finely, in how many parts, from which place aside on, and over how many samples it is smoothed
FINE_MM, FINE_STEP_MM, PARTS, PAST_MM, FINE_WINDOW = 6.0, 0.5, 8, 2.0, 5
# how far the pole leans: in parts of its length, each smoothed by so many samples
ROLL_PARTS, ROLL_REACH_MM, ROLL_STEP_MM = 12, 52.0, 0.5
ROLL_BLUR, ROLL_WINDOW = 1.5, 7
MOST_ROLL, ROLL_STEP = 0.02, 0.0005  # radians
END = 0.1  # of a step's unit, so that a range holds its last place


@dataclass(frozen=True, slots=True)
class StandFoot:
    """The foot of the stand in one photo.

    Attributes
    ----------
    card_height_mm : float
        Of the card's middle above the floor, were the card plumb.
    by_tilt_mm : float
        How much more that is for each radian by which the upright leans towards the camera against the card.
    roll : float
        Radians by which the pole's top leans to image right against the card.
    half_depth_mm, thick_mm : float
    """

    card_height_mm: float
    by_tilt_mm: float
    roll: float
    half_depth_mm: float
    thick_mm: float


def find_foot(rgb: NDArray[np.uint8], camera: Camera) -> StandFoot | None:
    """Find pole and foot below the card in one photo.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (H, W, 3)
    camera : Camera
        Of the photo, by its card.

    Returns
    -------
    StandFoot or None
        None without a pole below the card that ends on a flat foot whose three edges are seen.
    """
    eye = camera.eye_mm
    across = np.arange(-BESIDE_MM[1], BESIDE_MM[1] + 1, STEP_MM)
    down = np.arange(CARD_END_MM, LOWEST_MM, -STEP_MM)
    strip = _strip(rgb, camera, across, down)
    if len(strip) < ABOVE:
        return None
    sides = [strip[:, across > BESIDE_MM[0]], strip[:, across < -BESIDE_MM[0]]]
    edges = np.min([change_along(np.median(side, axis=1), 0).sum(axis=1) for side in sides], axis=0)
    pole = change_along(strip[:, np.abs(across) <= POLE_MM + STEP_MM], 1).sum(axis=2)
    peaks = [k for k in range(2, len(edges) - 2) if edges[k] >= EDGE and edges[k] == edges[k - 2 : k + 3].max()]
    peaks = sorted(sorted(peaks, key=lambda k: -edges[k])[:MOST_EDGES])
    fits = []
    for rows in combinations(peaks, 3):
        foot = _solved(eye, down[list(rows)])
        if _like_a_foot(foot) and _ends_there(pole, rows):
            fits.append((edges[list(rows)].sum(), rows))
    if not fits:
        return None
    peaks_of_foot = list(max(fits)[1])
    rough = down[peaks_of_foot]
    half = _solved(eye, rough).half_depth_mm
    behind, before = _seen_at(eye, -BEHIND_MM - half), _seen_at(eye, half - BEHIND_MM)
    if not _ends_to_both_sides(rgb, camera, before, rough[2]):
        return None
    fine = [_fine(rgb, camera, middle, row) for row, middle in zip(rough, (behind, before, before), strict=True)]
    foot = _solved(eye, np.array(fine), _roll(rgb, camera, down[: peaks_of_foot[0] : 3]))
    return foot if _like_a_foot(foot) else None  # nor is it one where an edge was not found again


def _solved(eye: Floats, rows_mm: Floats, roll: float = 0.0) -> StandFoot:
    """The foot whose edges are seen at three heights of the card's plane: the top's far edge, its near edge, the floor before it.

    A point as far below the camera as `drop`, and `depth` from it, is seen at drop * away / depth on the card's plane, which is `away`.
    """
    far, near, floor = eye[1] - rows_mm
    away, middle = eye[2], eye[2] + BEHIND_MM
    half = middle * (near - far) / (near + far)
    top, bottom = near * (middle - half) / away, floor * (middle - half) / away
    height = bottom + PADS_MM - eye[1]
    return StandFoot(float(height), float(height * floor / away), roll, float(half), float(bottom - top))


def _like_a_foot(foot: StandFoot) -> bool:
    return THICK_MM[0] < foot.thick_mm < THICK_MM[1] and HALF_DEPTH_MM[0] < foot.half_depth_mm < HALF_DEPTH_MM[1]


def _ends_there(pole: Floats, rows: Sequence[int]) -> bool:
    """Whether the pole goes down to the foot and not below it."""
    far, _, floor = rows
    above, below = pole[max(far - ABOVE, 0) : far - NEXT_ROWS], pole[floor + NEXT_ROWS : floor + BELOW]
    if len(above) < ABOVE // 2 or len(below) < LEAST_BELOW:
        return False
    contrast = np.median(above, axis=0).max()
    return bool(contrast > POLE_EDGE and np.median(below, axis=0).max() < GONE * contrast)


def _ends_to_both_sides(rgb: NDArray[np.uint8], camera: Camera, middle: float, row: float) -> bool:
    """Whether the edge on the floor ends left and right, about as far from the pole: a skirting or a step goes on."""
    across = np.arange(-WIDEST_MM, WIDEST_MM + 1, 2 * STEP_MM)
    down = row + np.arange(FINE_MM, -FINE_MM - 1, -STEP_MM)
    place, inside = pixels_of_rows(camera, _on_plane(middle, down), across, rgb.shape)
    step = np.where(inside.all(axis=0), change_along(levels_at(rgb, place), 0).sum(axis=2).max(axis=0), 0.0)
    lasts = cv2.blur((step > EDGE).astype(np.float32)[None], (LASTS_STEPS, 1))[0] > LASTS_SHARE
    right, left = lasts[across >= BESIDE_MM[0]], lasts[across <= -BESIDE_MM[0]][::-1]
    if right.all() or left.all():
        return False
    wide = 2 * STEP_MM * np.array([right.argmin(), left.argmin()]) + BESIDE_MM[0]
    return bool(wide.min() > LEAST_WIDE_MM and abs(wide[0] - wide[1]) < OFF_CENTRE * wide.sum())


def _fine(rgb: NDArray[np.uint8], camera: Camera, middle: float, row: float) -> float:
    """An edge's height on the card's plane straight before or behind the pole: a line through parts of it, none trusted alone.

    NaN where the picture ends or a part shows no edge.
    """
    across = np.arange(BESIDE_MM[0] + PAST_MM, BESIDE_MM[1] + 1, 1.0)
    across = np.concatenate([-across[::-1], across])
    down = row + np.arange(FINE_MM, -FINE_MM - END, -FINE_STEP_MM)
    place, inside = pixels_of_rows(camera, _on_plane(middle, down), across, rgb.shape)
    if not inside.all():
        return np.nan
    light = light_of(levels_at(rgb, place))
    at = []
    for part in np.array_split(np.arange(len(across)), PARTS):
        step = change_along(cv2.GaussianBlur(light[:, part].mean(axis=1), (1, FINE_WINDOW), 0), 0).sum(axis=1)
        k = int(step[2:-2].argmax()) + 2
        if step[k] == 0:
            return np.nan
        weight = np.maximum(step[k - 2 : k + 3] - step[k] / 2, 0)
        at.append(down[k] - FINE_STEP_MM * (weight @ np.arange(-2, 3)) / weight.sum())
    x, y = np.array([across[part].mean() for part in np.array_split(np.arange(len(across)), PARTS)]), np.array(at)
    return float(np.median(y - np.median(slopes(y, x)) * x))


def _roll(rgb: NDArray[np.uint8], camera: Camera, down: Floats) -> float:
    """How far the pole leans to image right against the card, from below the card to its foot.

    The slope along which its edges, before wall and floor alike, show clearest.
    """
    across = np.arange(-ROLL_REACH_MM, ROLL_REACH_MM + END, ROLL_STEP_MM)
    strip = _strip(rgb, camera, across, down)
    parts = np.array_split(np.arange(len(strip)), min(ROLL_PARTS, len(strip)))
    edges = np.array(
        [change_along(cv2.GaussianBlur(strip[part].mean(axis=0), (1, ROLL_WINDOW), ROLL_BLUR), 0).sum(axis=1) for part in parts]
    )
    edges = edges / np.maximum(edges.max(axis=1, keepdims=True), 1e-9)
    below = np.array([down[part].mean() for part in parts]) - down[0]
    rolls = np.arange(-MOST_ROLL, MOST_ROLL + ROLL_STEP / 2, ROLL_STEP)
    # place of each part (P,) of a pole that starts there (S,), for each slope (R,), in steps across
    place = (np.arange(-POLE_MM, POLE_MM + END, ROLL_STEP_MM) + (rolls[:, None] * below)[..., None] + ROLL_REACH_MM) / ROLL_STEP_MM
    first = place.astype(int)
    part = np.arange(len(parts))[:, None]
    clear = ((1 + first - place) * edges[part, first] + (place - first) * edges[part, first + 1]).sum(axis=1).max(axis=1)
    k = int(np.clip(np.argmax(clear), 1, len(rolls) - 2))
    before, at, after = clear[k - 1 : k + 2]
    bend = before - 2 * at + after
    return float(rolls[k] + (ROLL_STEP * (before - after) / (2 * bend) if bend < 0 else 0.0))


def _seen_at(eye: Floats, depth: float) -> float:
    """Where on the card's plane the pole's axis is seen at `depth` mm before it."""
    return float(eye[0] - eye[0] * eye[2] / (eye[2] - depth))


def _strip(rgb: NDArray[np.uint8], camera: Camera, across: Floats, down: Floats) -> Floats:
    """The picture on the card's plane, as far down as it goes, (rows, columns, 3)."""
    place, inside = pixels_of_rows(camera, _on_plane(0.0, down), across, rgb.shape)
    whole = inside.all(axis=1)
    end = len(down) if whole.all() else int(whole.argmin())
    return levels_at(rgb, place[:end]) if end else np.zeros((0, len(across), 3))


def _on_plane(middle: float, down: Floats) -> Floats:
    """Middles of rows on the card's plane, (rows, 3)."""
    return np.stack([np.full(len(down), middle), down, np.zeros(len(down))], axis=1)
