"""Find the printed point stickers in a photo and say which named point each one marks.

ArUco proposes dark squares, also in a picture stretched so that foreshortened squares become square again. Every proposal,
decoded or not, is then fitted with the whole pattern (`sticker`): that reads stickers too oblique to decode, refuses
chance finds, and gives the centre of a bent sticker. Pointer stickers are followed along their arrow to its tip (`arrow`).
"""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.aruco import DICTIONARY
from fitcheck.core.camera import Photo
from fitcheck.core.points import MARKED_POINTS, POINT_MARKER_MM
from fitcheck.core.pose_joints import EARS, HIPS, SHOULDERS
from fitcheck.core.records import SIDES, Floats, Pose, Sighting, View
from fitcheck.vision.person.pose import px_per_mm as person_scale
from fitcheck.vision.stickers.oblique_frames import neck_and_shoulders, oblique_starts
from fitcheck.vision.stickers.pattern_fit import HALF_MM, StickerFit, fit_sticker, shape_from_corners, turned
from fitcheck.vision.stickers.pointer_arrow import Tip, follow_arrow
from fitcheck.vision.stickers.unread_stickers import SURE_MATCH, Canvas, Found, Where, keep_if_better, read_pattern, shoulder_by_elimination

FIT_PX_PER_MM = 1.5  # more pixels per millimetre tell the fit nothing new
# Px per mm across and down of the pictures in which dark squares are looked for. Stretched upwards, a sticker lying on a shoulder looks
# square again: the upper half of the trunk is searched so too, and more closely the places of shoulder and neck points still missing.
WHOLE, UPPER, CLOSE = (1.5, 1.5), (1.0, 2.0), (2.0, 4.0)
CLOSE_MM = 90.0  # around the pose's shoulder or neck
BESIDE_MM, BELOW_MM = 230.0, 170.0  # of ears, shoulders and hips: where stickers are looked for at most (estimate)
WHOLE_PHOTO_MM = 2000.0  # what its long side may show, where no pose tells (estimate)
# ArUco, set to propose much, as the fit decides: windows of its thresholds in pixels, then shares of the picture or of a square's outline
WINDOWS_PX, WINDOW_STEP_PX = (11, 35), 24
LEAST_OUTLINE, OUTLINE_STRAY, LEAST_CORNERS = 0.02, 0.05, 0.01
# a square of a sticker's size: its longest side and least area over those of the black part seen squarely
LEAST_SIDE, MOST_SIDE, LEAST_AREA = 0.55, 1.5, 0.1
NO_STICKER = 128  # grey level that the scale card is painted over with
STRAY_MM = 40.0  # a sticker may lie so far from the outline of the person, whose mask is coarse
DECODED_MATCH = 0.70  # correlation of pattern and pixels after the fit (estimate)
UPRIGHT_LEAD = 0.08  # over the same pointer upside down, where its arrow is not seen; fitted to 80 rendered fittings
FLAT_FACING = 0.6  # from farther aside a bust is round
GUESS_FACING = 0.45  # a sticker that did not decode is told as guessed where it is flatter (estimate)
# Per axis at a square view, from the scenes (tests/benchmarks/markers.py): the photo's part and the bent paper's part.
CENTRE_SD_PX, CENTRE_SD_MM = 0.10, 0.10
LEAST_FACING = 0.2  # a flatter sticker is placed no worse (estimate)
FIT_SD_FACTOR = 2.0  # residuals of neighbouring pixels are not independent


@dataclass(frozen=True, slots=True)
class _Square:
    """A proposed dark square: its corners in photo pixels and the id ArUco read, if it could."""

    corners_px: Floats
    number: int | None


def find_point_markers(photo: Photo, skip_polygon: Floats | None = None, pose: Pose | None = None) -> tuple[Sighting, ...]:
    """The point stickers in a photo.

    Parameters
    ----------
    photo : Photo
    skip_polygon : ndarray, shape (N, 2), optional
        Area to leave out: the scale card.
    pose : Pose, optional
        Says where to look and how large a sticker is; without it the whole photo is searched, and only for squares that decode.

    Returns
    -------
    tuple of Sighting
        At most one per point and kind, in order of id. Flag `marker_guessed`: too oblique to decode, known by its pattern and place.
    """
    gray = photo.grey
    if skip_polygon is not None:
        gray = gray.copy()
        cv2.fillPoly(gray, [np.round(skip_polygon).astype(np.int32)], NO_STICKER)
    height, width = gray.shape
    px_per_mm = person_scale(pose) if pose else max(height, width) / WHOLE_PHOTO_MM
    box = _search_box(pose, px_per_mm, width, height) if pose else (0, 0, width, height)
    reduction = min(1.0, FIT_PX_PER_MM / px_per_mm)
    fine = gray if reduction == 1.0 else cv2.resize(gray, None, fx=reduction, fy=reduction, interpolation=cv2.INTER_AREA)
    canvas = Canvas(fine, fine.shape[1] / width, px_per_mm * reduction)

    left, top, right, bottom = box
    squares = _propose(gray, box, px_per_mm, WHOLE) + _propose(gray, (left, top, right, (top + bottom) // 2), px_per_mm, UPPER)
    found: Found = {}
    _decoded(canvas, squares, found)
    if pose is not None:
        shoulders, hips = (canvas.of(pose.points_px[[*pair]].mean(axis=0)) for pair in (SHOULDERS, HIPS))
        where = Where(photo.view, shoulders, hips)
        for start in _undecoded(canvas, squares):
            read_pattern(canvas, start, found, where)
        near = neck_and_shoulders(pose.points_px, photo.view)
        if _points_missing(found, photo.view):
            squares = [square for place in near for square in _propose(gray, _around(place, px_per_mm, gray), px_per_mm, CLOSE)]
            _decoded(canvas, squares, found)
            for start in _undecoded(canvas, squares):
                read_pattern(canvas, start, found, where)
        if found and _points_missing(found, photo.view):
            taken = [fit.corners_px for fit, _ in found.values()]
            contrast = float(np.median([fit.contrast for fit, _ in found.values()]))
            starts = oblique_starts(canvas.gray, canvas.px_per_mm, [canvas.of(place) for place in near], photo.view, taken, contrast)
            for start in starts:
                read_pattern(canvas, start, found, where)
            if photo.view in ("left", "right"):
                shoulder_by_elimination(canvas, _undecoded(canvas, squares) + starts, found, SIDES[photo.view == "right"], contrast)
        found = {number: one for number, one in found.items() if _on_person(one[0].centre_px / canvas.scale, pose, px_per_mm)}
    sightings = [_sighting(photo, canvas, fit, decoded) for _, (fit, decoded) in sorted(found.items())]
    return tuple(one for one in sightings if one is not None)


def _search_box(pose: Pose, px_per_mm: float, width: int, height: int) -> tuple[int, int, int, int]:
    """From the ears to below the hip, as wide as the person with room for a sticker at her edge: left, top, right, bottom."""
    points = pose.points_px[[*EARS, *SHOULDERS, *HIPS]]
    low, high = points.min(axis=0) - [BESIDE_MM * px_per_mm, 0], points.max(axis=0) + np.array([BESIDE_MM, BELOW_MM]) * px_per_mm
    left, top = np.clip(low, 0, [width - 1, height - 1]).astype(int)
    right, bottom = np.clip(high, 1, [width, height]).astype(int)
    first, _, wide, _ = cv2.boundingRect(pose.mask[top:bottom].view(np.uint8))
    if wide:
        room = round((STRAY_MM + HALF_MM) * px_per_mm)
        left, right = max(left, first - room), min(right, first + wide - 1 + room)
    return int(left), int(top), int(max(right, left + 1)), int(max(bottom, top + 1))


def _around(place: Floats, px_per_mm: float, gray: NDArray[np.uint8]) -> tuple[int, int, int, int]:
    """The neighbourhood of some points: left, top, right, bottom."""
    left, top = np.clip(place.min(axis=0) - CLOSE_MM * px_per_mm, 0, np.array(gray.shape[::-1]) - 1).astype(int)
    right, bottom = np.clip(place.max(axis=0) + CLOSE_MM * px_per_mm, 1, gray.shape[::-1]).astype(int)
    return int(left), int(top), int(max(right, left + 1)), int(max(bottom, top + 1))


def _propose(gray: NDArray[np.uint8], box: tuple[int, int, int, int], px_per_mm: float, stretch: tuple[float, float]) -> list[_Square]:
    """Dark squares in a part of the picture, seen at so many px per mm across and down."""
    left, top, right, bottom = box
    part = gray[top:bottom, left:right]
    size = (max(1, round(part.shape[1] * stretch[0] / px_per_mm)), max(1, round(part.shape[0] * stretch[1] / px_per_mm)))
    picture = cv2.resize(part, size, interpolation=cv2.INTER_LINEAR if size[0] >= part.shape[1] else cv2.INTER_AREA)
    corners, numbers, rejected = cv2.aruco.ArucoDetector(DICTIONARY, _parameters()).detectMarkers(picture)
    read = [None] * len(rejected) if numbers is None else [*numbers.ravel().tolist(), *[None] * len(rejected)]
    scale = np.array(size) / part.shape[::-1]
    quads = [*corners, *rejected]
    return [_Square((quad[0].astype(float) + 0.5) / scale - 0.5 + [left, top], n) for quad, n in zip(quads, read, strict=True)]


def _parameters() -> cv2.aruco.DetectorParameters:
    """ArUco set to propose much: the fit decides."""
    parameters = cv2.aruco.DetectorParameters()
    parameters.adaptiveThreshWinSizeMin, parameters.adaptiveThreshWinSizeMax = WINDOWS_PX
    parameters.adaptiveThreshWinSizeStep = WINDOW_STEP_PX
    parameters.minMarkerPerimeterRate = LEAST_OUTLINE
    parameters.polygonalApproxAccuracyRate = OUTLINE_STRAY
    parameters.minCornerDistanceRate = LEAST_CORNERS
    parameters.minDistanceToBorder = 1
    return parameters


def _plausible(corners_px: Floats, px_per_mm: float) -> bool:
    """Whether a square is about as large as a sticker's black part, foreshortened or not."""
    longest = float(np.linalg.norm(corners_px - np.roll(corners_px, 1, axis=0), axis=1).max())
    side = POINT_MARKER_MM * px_per_mm
    return LEAST_SIDE * side < longest < MOST_SIDE * side and cv2.contourArea(corners_px.astype(np.float32)) > LEAST_AREA * side**2


def _start(square: _Square, canvas: Canvas) -> Floats:
    """Starting shape of a proposed square; ArUco's rejected ones may run either way round."""
    x, y = square.corners_px.T
    clockwise = float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)) > 0
    corners = square.corners_px if clockwise else square.corners_px[::-1]
    return shape_from_corners(canvas.of(corners))


def _decoded(canvas: Canvas, squares: list[_Square], found: Found) -> None:
    """Take up the squares that ArUco read, fitted."""
    for square in squares:
        known = found.get(square.number) if square.number is not None else None
        if square.number in MARKED_POINTS and (known is None or known[0].match < SURE_MATCH):
            keep_if_better(found, fit_sticker(canvas.gray, square.number, _start(square, canvas), least=DECODED_MATCH), True, DECODED_MATCH)


def _undecoded(canvas: Canvas, squares: list[_Square]) -> list[Floats]:
    """Starting shapes of the squares that ArUco could not read, if they may be stickers."""
    unread = [square for square in squares if square.number is None]
    return [_start(square, canvas) for square in unread if _plausible(canvas.of(square.corners_px), canvas.px_per_mm)]


def _points_missing(found: Found, view: View) -> bool:
    """Whether a shoulder or neck point that faces this camera still has no sticker."""
    have = {(MARKED_POINTS[number].name, MARKED_POINTS[number].side) for number in found}
    if view in ("left", "right"):
        return not {("shoulder_point", f"wearer_{view}"), ("side_neck_point", f"wearer_{view}")} <= have
    # from the front a sticker centred on the shoulder lies edge-on; only a pointer on the upper arm can be seen
    uses_pointers = any(MARKED_POINTS[number].kind == "pointer" for number in found)
    return uses_pointers and not {("shoulder_point", side) for side in SIDES} <= have


def _on_person(centre_px: Floats, pose: Pose, px_per_mm: float) -> bool:
    """Whether a sticker lies on the person, or close to her outline."""
    reach = round(STRAY_MM * px_per_mm)
    x, y = np.round(centre_px).astype(int)
    return bool(pose.mask[max(y - reach, 0) : y + reach + 1, max(x - reach, 0) : x + reach + 1].any())


def _sighting(photo: Photo, canvas: Canvas, fit: StickerFit, decoded: bool) -> Sighting | None:
    """The named point in photo pixels; None where a pointer may point the one way or the other."""
    point = MARKED_POINTS[fit.number]
    flags = () if decoded or fit.facing > GUESS_FACING else ("marker_guessed",)
    if point.kind == "pointer":
        tip = _pointed(photo, canvas, fit)
        if not decoded and not len(tip.path_px):
            back = fit_sticker(canvas.gray, fit.number, turned(fit.shape, 2), least=fit.match - UPRIGHT_LEAD)
            if back.match > fit.match - UPRIGHT_LEAD:
                tip = _pointed(photo, canvas, back)
                if not len(tip.path_px):
                    return None
        xy_px, sd_px = tip.xy_px, tip.sd_px
    else:
        xy_px = (fit.centre_px + 0.5) / canvas.scale - 0.5
        floor = float(np.hypot(CENTRE_SD_PX, CENTRE_SD_MM * canvas.px_per_mm)) / float(np.sqrt(max(fit.facing, LEAST_FACING)))
        sd_px = float(np.hypot(floor, FIT_SD_FACTOR * fit.centre_sd_px)) / canvas.scale
    return Sighting(
        name=point.name,
        side=point.side,
        view=photo.view,
        grade="marker",
        xy_px=xy_px,
        sd_px=sd_px,
        kind=point.kind,
        corners_px=(fit.corners_px + 0.5) / canvas.scale - 0.5,
        flags=flags,
    )


def _pointed(photo: Photo, canvas: Canvas, fit: StickerFit) -> Tip:
    """Where a pointer sticker's arrow ends."""
    flat = MARKED_POINTS[fit.number].name == "bust_point" and fit.facing > FLAT_FACING
    return follow_arrow(photo.rgb, fit, canvas.scale, canvas.px_per_mm, flat)
