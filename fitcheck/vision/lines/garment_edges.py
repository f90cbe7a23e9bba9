"""The garment's own edges: neckline, armholes and hem, where its cloth ends on the wearer and not before the wall.

The border of the known cloth is walked around. Where skin, hair or other clothes follow beyond it, the garment ends there; where the
wall follows, that is the wearer's outline. Which edge it is follows from where it runs and which way it faces. Below the armpit an arm
before the trunk looks like an armhole, so armholes are read in front and back views only, and only above the armpit. Each edge is then
followed at full resolution (`outline_path`).
"""

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.camera import Photo
from fitcheck.core.polyline import arc_length, at_lengths, unit
from fitcheck.core.records import Floats, Pose, SeamLine, Side, Sighting
from fitcheck.vision.cloth.find_cloth import Cloth
from fitcheck.vision.cloth.log_colour import log_colour
from fitcheck.vision.cloth.trunk_frame import TrunkFrame, trunk_frame
from fitcheck.vision.lines.seams import hidden_by
from fitcheck.vision.trace.outline_path import STEP_MM, doubt_px, follow_outlines, placed_finely

BEYOND_MM = (6.0, 9.0, 12.0)  # from the border of the known cloth: what lies there tells what kind of border it is
SMOOTH = 4  # points to either side
FEWEST = {"neckline": 10, "armhole": 8, "hem": 20}  # points, `STEP_MM` apart
GAP = 8  # points of another kind, or vague ones, inside an edge (a hair, a sticker, a pen line) that do not part it
UNSURE_SD_MM, SURE_SHARE = 2.5, 0.75  # places vaguer than this are left out; with fewer left the edge says that it is unsure
LONGEST_GAP_MM = 45.0  # bridged straight
LEAST_BARE = 2  # of the three places beyond the border that must be skin
OUT_POINTS = 2  # to either side, over which the way outwards is taken
# Where each edge may run, in the frame of the trunk (`down` 0 at the shoulders, 1 at the hips; `aside` in half shoulder widths) and by the
# way it faces (components of the unit vector outwards: 1 straight up, or to the side). Estimates.
NECK_UP, TO_NECK = 0.3, 0.3  # the neck's middle above the shoulders, in trunks; the neckline faces it by at least so much
NECK_ASIDE, NECK_ASIDE_SIDEWAYS = 0.8, 0.25  # half width of the place of the neckline; in side views, in trunks
NECK_LOWEST, NECK_LOWEST_SIDEWAYS, NECK_UPWARDS = 0.35, 0.05, 0.4  # of its `down`; in side views, where it must also face up
ARM_HIGHEST, ARM_LOWEST = -0.25, 0.42  # `down` of an armhole, above the armpit
ARM_ASIDE, ARM_OUTWARDS = 0.5, 0.4  # least of `aside`, and of how it faces the side
HEM_HIGHEST, HEM_DOWNWARDS = 0.75, 0.7  # least `down` of a hem, and of how it faces down

_Kind = tuple[str, Side | None]


def find_edges(photo: Photo, pose: Pose, sightings: Sequence[Sighting], mm_per_px: float, cloth: Cloth) -> tuple[SeamLine, ...]:
    """Find the garment's edges in one photo.

    Parameters
    ----------
    photo : Photo
    pose : Pose
    sightings : sequence of Sighting
        Stickers and dots, which hide the cloth.
    mm_per_px : float
        Scale of the photo at the body.
    cloth : Cloth

    Returns
    -------
    tuple of SeamLine
        Of the names neckline, armhole and hem, at most one for each name and side; flag `edge_unsure` where much of one is vague.
        What does not show is left out.
    """
    rgb, frame = photo.rgb, trunk_frame(pose, cloth, photo.view, mm_per_px)
    border = _border(cloth, STEP_MM / mm_per_px)
    if len(border) < min(FEWEST.values()):
        return ()
    outwards = _outwards(border)
    kinds = _kinds(rgb, pose, cloth, frame, border, outwards, mm_per_px)
    parts = [(kind, _longest(kinds, kind)) for kind in sorted({k for k in kinds if k is not None}, key=str)]
    hidden = _under(border, hidden_by(sightings, mm_per_px))
    parts = [(kind, part[~hidden[part]]) for kind, part in parts]
    parts = [(kind, part) for kind, part in parts if len(part) >= FEWEST[kind[0]]]
    if not parts:
        return ()
    longest = max(len(part) for _, part in parts)
    points, ways = np.zeros((len(parts), longest, 2)), np.zeros((len(parts), longest, 2))
    whole = np.zeros((len(parts), longest), np.intp)
    for i, (_, part) in enumerate(parts):
        points[i, : len(part)], ways[i, : len(part)] = border[part], outwards[part]
        whole[i, : len(part)] = 1 + np.cumsum(np.r_[0, np.abs(np.diff(part)) > 1])
    along = np.stack([-ways[..., 1], ways[..., 0]], axis=-1) * STEP_MM / mm_per_px
    nothing = np.zeros(whole.shape)
    course = follow_outlines(rgb, points, ways, along, nothing, whole, 1 / mm_per_px)
    doubts = doubt_px(course, nothing, 1 / mm_per_px)
    edges = []
    for i, (kind, part) in enumerate(parts):
        sure = _sure_run(doubts[i, : len(part)] * mm_per_px < UNSURE_SD_MM, border[part], LONGEST_GAP_MM / mm_per_px)
        if len(sure) < FEWEST[kind[0]]:
            continue
        here = np.full(len(sure), i), sure
        line = placed_finely(rgb, points[here], ways[here], along[here] * mm_per_px / STEP_MM, course.shift_mm[here] / mm_per_px)
        sd = float(np.sqrt(np.mean(doubts[here] ** 2)))
        line = line if line[0, 0] <= line[-1, 0] else line[::-1]
        edges.append(SeamLine(*kind, frame.view, line, sd, "", ("edge_unsure",) if len(sure) < SURE_SHARE * len(part) else ()))
    return tuple(edges)


def _border(cloth: Cloth, step: float) -> Floats:
    """The outer border of the largest piece of cloth, closed, clockwise in the picture, `step` pixels apart, shape (N, 2)."""
    if not cloth.mask.any():
        return np.zeros((0, 2))
    padded = np.pad(cloth.mask.astype(np.uint8), 1)
    contours, _ = cv2.findContours(padded, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    cells = max(contours, key=cv2.contourArea)[:, 0].astype(float) - 1
    points = cloth.stride * (cells + 0.5) - 0.5 + np.array(cloth.box_px[:2])
    closed = np.concatenate([points, points[:1]])
    even = at_lengths(closed, np.arange(0.0, arc_length(closed)[-1] - step / 2, step))
    return _round(even)[::-1] if cv2.contourArea(even.astype(np.float32), oriented=True) < 0 else _round(even)


def _round(values: Floats) -> Floats:
    """Moving mean of a closed line."""
    if len(values) <= 2 * SMOOTH:
        return values
    weights = np.hanning(2 * SMOOTH + 3)[1:-1]
    padded = np.concatenate([values[-SMOOTH:], values, values[:SMOOTH]])
    return np.stack([np.convolve(column, weights / weights.sum(), "valid") for column in padded.T], axis=1)


def _outwards(border: Floats) -> Floats:
    """Unit normals of a closed clockwise line (y down)."""
    along = unit(np.roll(border, -OUT_POINTS, axis=0) - np.roll(border, OUT_POINTS, axis=0))
    return np.stack([along[:, 1], -along[:, 0]], axis=1)


def _kinds(
    rgb: NDArray[np.uint8], pose: Pose, cloth: Cloth, frame: TrunkFrame, border: Floats, outwards: Floats, mm_per_px: float
) -> list[_Kind | None]:
    """Which edge each point of the border belongs to, if any."""
    reach = np.array(BEYOND_MM) / mm_per_px
    at = (border[:, None] + reach[:, None] * outwards[:, None]).astype(np.float32)
    seen = log_colour(cv2.remap(rgb, at, None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE))
    bare = cloth.is_skin(seen).sum(axis=1) >= LEAST_BARE
    height, width = pose.mask.shape
    x, y = np.rint(border + 2 * reach[-1] * outwards).astype(int).T
    on_her = np.zeros(len(border), bool)
    within = (x >= 0) & (y >= 0) & (x < width) & (y < height)
    on_her[within] = pose.mask[y[within], x[within]]
    other = ~cloth.is_cloth(seen).any(axis=1) & on_her
    down, up_normal = frame.down(border), -outwards[:, 1]
    aside = (border[:, 0] - frame.shoulder_px[0]) / max(frame.half_px, 1.0)
    facing = frame.view in ("front", "back")
    to_neck = unit(np.array([frame.shoulder_px[0], frame.shoulder_px[1] - NECK_UP * frame.trunk_px]) - border)
    towards_neck = (to_neck * outwards).sum(axis=1) > TO_NECK
    if facing:
        near_neck, high = np.abs(aside) < NECK_ASIDE, down < NECK_LOWEST
    else:
        near_neck = np.abs(border[:, 0] - frame.shoulder_px[0]) < NECK_ASIDE_SIDEWAYS * frame.trunk_px
        high = (down < NECK_LOWEST_SIDEWAYS) & (up_normal > NECK_UPWARDS)
    hem = other & (down > HEM_HIGHEST) & (up_normal < -HEM_DOWNWARDS)
    neckline = bare & on_her & near_neck & towards_neck & high
    beside_arm = (down > ARM_HIGHEST) & (down < ARM_LOWEST) & (np.abs(aside) > ARM_ASIDE)
    armhole = bare & on_her & facing & beside_arm & (outwards[:, 0] * np.sign(aside) > ARM_OUTWARDS)
    kinds: list[_Kind | None] = [None] * len(border)
    for i in np.flatnonzero(hem | neckline | armhole).tolist():
        kinds[i] = ("hem", None) if hem[i] else ("neckline", None) if neckline[i] else ("armhole", frame.side_of(float(aside[i])))
    return kinds


def _longest(kinds: Sequence[_Kind | None], kind: _Kind) -> NDArray[np.intp]:
    """The longest piece of one kind on the closed border, with pieces at least half as long (two halves of an opened front)."""
    own = np.array([k == kind for k in kinds])
    if own.all():
        return np.arange(len(own))
    start = int(np.flatnonzero(~own)[0])
    at = np.flatnonzero(np.roll(own, -start))
    pieces = np.split(at, np.flatnonzero(np.diff(at) > GAP + 1) + 1)
    most = max(len(piece) for piece in pieces)
    kept = np.concatenate([piece for piece in pieces if 2 * len(piece) >= most])
    return np.asarray((kept + start) % len(own))


def _sure_run(sure: NDArray[np.bool_], points: Floats, gap: float) -> NDArray[np.intp]:
    """Places of the longest run of sure points with no gap longer than `gap` pixels (a sticker, a hair) between two of them."""
    at = np.flatnonzero(sure)
    if not len(at):
        return at
    far = np.hypot(*np.diff(points[at], axis=0).T) > gap
    return max(np.split(at, np.flatnonzero(far) + 1), key=len)


def _under(points: Floats, polygons: Sequence[Floats]) -> NDArray[np.bool_]:
    """Which points lie in one of the polygons."""
    inside = np.zeros(len(points), bool)
    for polygon in polygons:
        shape = polygon.astype(np.float32)
        near = np.flatnonzero(((points >= shape.min(axis=0)) & (points <= shape.max(axis=0))).all(axis=1))
        inside[near] |= np.array([cv2.pointPolygonTest(shape, (float(x), float(y)), False) >= 0 for x, y in points[near]], bool)
    return inside
