"""The scales of a fitting by the floor: what the floor sheets, the wall card and the lens say together, as the photos' cameras.

The cameras are handed on in a frame of their own, as if a card hung plumb where she stands: 1 m above the floor, level with the middle of
the sheets. Its upright is that of the floor. All that the fit leaves in doubt goes with it: how level the floor is, how surely each camera
and all of them are pitched against it, the lens, and the size of the print.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np

from fitcheck.core.camera import Camera, CardHeight, FloorSeen, LensProfile, Photo, Scale, pinhole
from fitcheck.core.records import Floats, View
from fitcheck.photo.camera.flat_target import Edges
from fitcheck.photo.camera.lens import Lens
from fitcheck.photo.camera.lens_prior import lens_prior
from fitcheck.photo.card.card_edges import find_card_edges
from fitcheck.photo.card.find_card import LEAST_MARKERS, find_card
from fitcheck.photo.card.scale import CARD_HELD, focal_flags, picture_size, same_lens
from fitcheck.photo.floor.find_sheets import SheetSighting
from fitcheck.photo.floor.moved import Agreed, agreed
from fitcheck.photo.floor.one_floor import FloorFit, Seen, Setting, Thing
from fitcheck.photo.floor.told_height import heeded, told_height

# Estimates of ours.
ORIGIN_MM = 1000.0  # above the floor
LEVEL_SD_DEG = 0.2  # of a floor indoors, within a stride
EDGE_SD_PX = 0.1  # of an edge between cells, light and coding of neighbours being alike
UNEVEN = 2.0  # a sheet that lies uneven beside its curled corners errs by as much again, and alike over a square
STRAIGHT_DEG = 1.5  # a wall card is called crooked beyond
# A sheet is called poor from that unevenness on, or with fewer squares read; flat and curled ones have 0.05 to 0.10, those that
# follow a carpet's bumps 0.20 to 0.25.
POOR_PX, POOR_SQUARES = 0.15, 4
LEAST_COSINE = 0.1  # of a camera's pitch; none looks straight down
FOCAL_TOLD_SD = 0.02  # a focal length known that well is no longer unknown
SIZES_DIFFER = 0.003  # of two sheets
MOVED_FLAGS: dict[Thing, str] = {"left": "floor_left_moved", "right": "floor_right_moved", "card": "wall_card_moved"}


@dataclass(frozen=True, slots=True)
class Print:
    """How everything was printed: its size over the drawing, and the doubt of that."""

    share: float
    sd: float


def scales_by_floor(
    photos: Sequence[Photo],
    cards: Mapping[View, Scale],
    sheets: Mapping[View, Sequence[SheetSighting]],
    printed: Print,
    lenses: Sequence[LensProfile] = (),
    camera: str = "",
) -> dict[View, Scale]:
    """The scales of all photos that show the floor sheets, or a card that others show with them.

    Parameters
    ----------
    photos : sequence of Photo
        In the order in which they were taken.
    cards : mapping of view to Scale
        As the card alone gave them.
    sheets : mapping of view to sequence of SheetSighting
    printed : Print
    lenses : sequence of LensProfile
        The user's calibrated cameras.
    camera : str
        The camera's name where the files no longer say it.
    """
    seen = [_sheet(view, sheet, printed.share) for view, found in sheets.items() for sheet in found]
    shown = {photo.view: photo for photo in photos if photo.view in sheets or photo.view in cards}
    seen += [s for view, photo in shown.items() if view in cards and (s := _card(photo, cards[view], printed.share)) is not None]
    order = list(shown)
    seen.sort(key=lambda s: order.index(s.view))
    known: list[tuple[Photo, Lens]] = []
    by_view: dict[View, Lens] = {}
    for view, photo in shown.items():
        alike = next((lens for other, lens in known if same_lens(other, photo)), None)
        by_view[view] = alike or lens_prior(photo, lenses, camera)
        known.append((photo, by_view[view]))
    found = agreed(Setting(seen, {view: picture_size(photo) for view, photo in shown.items()}, by_view, {}))
    if found is None:
        return {}
    found, odd = heeded(found, told_height(cards.values()))
    scales = {view: _scale(shown[view], found, cards.get(view), sheets.get(view, ()), printed) for view in found.fit.poses}
    return {view: replace(scale, flags=(*scale.flags, *odd)) if scale.source == "card" else scale for view, scale in scales.items()}


def _sheet(view: View, sheet: SheetSighting, share: float) -> Seen:
    edges = replace(sheet.edges, middles_mm=sheet.edges.middles_mm * share)
    return Seen(view, sheet.which, edges, math.hypot(EDGE_SD_PX, UNEVEN * sheet.left_px))


def _card(photo: Photo, scale: Scale, share: float) -> Seen | None:
    """The wall card's edges; None where it hangs on its side or shows too small."""
    if scale.source != "card" or "card_turned" in scale.flags:
        return None
    card = find_card(np.asarray(cv2.cvtColor(photo.rgb, cv2.COLOR_RGB2GRAY), np.uint8))
    if len(card.ids) < LEAST_MARKERS:
        return None
    edges: Edges | None = find_card_edges(photo.rgb, card.ids, share, scale.camera)
    return None if edges is None else Seen(photo.view, "card", edges, EDGE_SD_PX)


def _scale(photo: Photo, found: Agreed, card: Scale | None, sheets: Sequence[SheetSighting], printed: Print) -> Scale:
    fit, view = found.fit, photo.view
    origin, turn = _frame(fit)
    pose = fit.poses[view]
    rotation = cv2.Rodrigues(pose[:3])[0]
    focal_px, k1 = fit.lenses[view]
    bent = np.array([k1, *found.setting.lenses[view].higher])
    seen_from = Camera(pinhole(focal_px, picture_size(photo)), bent, rotation @ turn, rotation @ origin + pose[3:])
    pitches = _pitch_sds(fit)
    away = float(seen_from.translation_mm[2])
    size_sd, up_sd_mm = _doubts(fit, view, origin, away)
    focal_sd = math.sqrt(fit.covariance[fit.focal_columns[view], fit.focal_columns[view]])
    level = math.hypot(LEVEL_SD_DEG, pitches.common_deg)
    # of two sheets that differ the told length is anybody's guess; a card takes the part of one
    apart = 0.0 if "card" in fit.sizes else max(abs(math.log(size)) for size in fit.sizes.values())
    lens = found.setting.lenses[view]
    own = focal_flags(lens) if focal_sd > FOCAL_TOLD_SD else []
    return Scale(
        camera=seen_from,
        source="floor" if card is None else "card",
        markers=0 if card is None else card.markers,
        distance_mm=float(np.linalg.norm(seen_from.translation_mm)),
        reprojection_px=max(rms for (of, _), rms in fit.rms_px.items() if of == view),
        mm_per_px=away / focal_px,
        tilt_deg=0.0 if card is None else card.tilt_deg,
        scale_sd=math.hypot(printed.sd, size_sd, apart / 2 if apart > SIZES_DIFFER else 0.0),
        focal_sd=focal_sd,
        plumb_sd_deg=math.hypot(level, pitches.own_deg),
        hang_sd_deg=level,
        depth_sd_mm=CARD_HELD.depth_sd_mm,
        flags=(*_card_flags(found, card), *_sheet_flags(found, view, sheets), *own),
        inset_px=None if card is None else card.inset_px,
        print_share=printed.share,
        above_floor=CardHeight(ORIGIN_MM, up_sd_mm, by_print_mm=ORIGIN_MM),
        foot_mm=None if card is None else card.foot_mm,
        floor=FloorSeen(tuple(sheet.which for sheet in sheets), sum(sheet.squares for sheet in sheets), _crooked_deg(fit)),
    )


def _frame(fit: FloorFit) -> tuple[Floats, Floats]:
    """Origin (3,) and axes (3, 3) of the frame handed on: where the cameras aim, as far away as the sheets lie, facing them."""
    lie = [place[3:] for (thing, _), place in fit.places.items() if thing != "card"]
    eyes, axes = zip(*((-turn.T @ pose[3:], turn[2]) for pose in fit.poses.values() for turn in [cv2.Rodrigues(pose[:3])[0]]), strict=True)
    eye, axis, middle = np.mean(eyes, axis=0), np.mean(axes, axis=0), np.mean(lie, axis=0)
    ahead = axis * [1, 0, 1] / np.linalg.norm(axis * [1, 0, 1])
    origin = eye + ahead * float((middle - eye) @ ahead)
    z = -ahead
    return np.array([origin[0], ORIGIN_MM, origin[2]]), np.column_stack([np.cross([0.0, 1.0, 0.0], z), [0.0, 1.0, 0.0], z])


@dataclass(frozen=True, slots=True)
class _Pitches:
    """Doubt of the cameras' pitch: alike in all photos, and of each alone."""

    common_deg: float
    own_deg: float


def _pitch_sds(fit: FloorFit) -> _Pitches:
    """How surely the floor's upright is known in the pictures, towards the camera and away from it."""
    rows = []
    for view, pose in fit.poses.items():
        turn, by_turn = cv2.Rodrigues(pose[:3])
        row = np.zeros(len(fit.covariance))
        row[fit.columns[view] : fit.columns[view] + 3] = by_turn[:, 7]  # of the upright's part along the optical axis
        rows.append(row / max(math.sqrt(1 - turn[2, 1] ** 2), LEAST_COSINE))
    matrix = np.array(rows)
    covariance = matrix @ fit.covariance @ matrix.T
    common = max(float(covariance.mean()), 0.0)
    own = max(float(np.trace(covariance)) / len(rows) - common, 0.0)
    return _Pitches(math.degrees(math.sqrt(common)), math.degrees(math.sqrt(own)))


def _doubts(fit: FloorFit, view: View, origin: Floats, away: float) -> tuple[float, float]:
    """How surely a millimetre at the origin is known in pixels (a share), and where the floor below it is seen, mm."""
    column = fit.columns[view]
    turn, by_turn = cv2.Rodrigues(fit.poses[view][:3])
    below = origin * [1, 0, 1]
    size, up = np.zeros(len(fit.covariance)), np.zeros(len(fit.covariance))
    by_angle = by_turn.reshape(3, 3, 3)  # [angle, row, column]
    for row, at, to, factor in ((2, origin, size, 1 / away), (1, below, up, 1.0)):
        to[column : column + 3] += factor * by_angle[:, row] @ at
        to[column + 3 + row] += factor
    size[fit.focal_columns[view]] -= 1.0
    seen = turn @ below + fit.poses[view][3:]  # a point's height in the picture: y less what its depth changes of it
    for at, factor in ((below, -seen[1] / seen[2]),):
        up[column : column + 3] += factor * by_angle[:, 2] @ at
        up[column + 5] += factor
    up[fit.focal_columns[view]] += seen[1]
    return math.sqrt(float(size @ fit.covariance @ size)), math.sqrt(float(up @ fit.covariance @ up))


def _crooked_deg(fit: FloorFit) -> float | None:
    """How far the wall card's upright is off the floor's; None without one."""
    turns = [cv2.Rodrigues(place[:3])[0] for (thing, _), place in fit.places.items() if thing == "card"]
    return None if not turns else max(math.degrees(math.acos(np.clip(turn[1, 1], -1, 1))) for turn in turns)


def _card_flags(found: Agreed, card: Scale | None) -> list[str]:
    if card is None:
        return []
    flags = [flag for flag in card.flags if flag not in ("card_not_plumb", "focal_unknown", "card_moved")]
    crooked = _crooked_deg(found.fit)
    return [*flags, *(["card_crooked"] if crooked is not None and crooked > STRAIGHT_DEG else [])]


def _sheet_flags(found: Agreed, view: View, sheets: Sequence[SheetSighting]) -> list[str]:
    flags = [MOVED_FLAGS[moved.thing] for moved in found.moved if moved.after == view]
    things = {thing for thing in found.fit.sizes if thing != "card"}
    if len(sheets) < len(things):
        flags.append("floor_sheet_missing")
    if any(sheet.left_px > POOR_PX or sheet.squares < POOR_SQUARES for sheet in sheets):
        flags.append("floor_sheet_poor")
    if found.other_size is not None:
        flags.append("floor_sheets_differ")
    return flags
