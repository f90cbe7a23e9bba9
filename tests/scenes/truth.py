"""What truth.json holds: the scene's own numbers, and everything of one view in pixels with its visibility. See README.md."""

from collections.abc import Callable, Sequence
from typing import Any

import cv2
import numpy as np

from . import observables
from .camera import Camera
from .drape import strain
from .mesh import Bools, Floats
from .placed import Card, FloorSheet, Sticker
from .polylines import resample
from .scene import Draped
from .spec import Spec, Woman

THROUGH_CLOTH_M, ON_CLOTH_M, ON_STICKER_M = 0.020, 0.006, 0.004
SEAM_STEP_M = 0.010
LineOfSight = Callable[[Camera, Floats, float], list[bool]]


def mm(p: Floats | Sequence[float], digits: int = 1) -> Any:
    """Metres as a list of rounded millimetres."""
    return np.round(np.asarray(p) * 1000, digits).tolist()


def scene_truth(spec: Spec, d: Draped) -> dict[str, Any]:
    """Everything but the views."""
    larger, smaller = strain(d.x, d.tris, d.rest)
    moved = np.linalg.norm(d.x - d.hung, axis=1) * 1000
    girths = {k: None if v is None or (r := d.girths_reference[k]) is None else round(v - r, 1) for k, v in d.girths.items()}
    return {
        "name": spec.name,
        "units": "mm, degrees, pixels (pixel centres at integers)",
        "frames": "subject: Z up, floor 0, facing -Y, +X wearer's left; world: see camera.py; world = R subject + t",
        "cause": {
            "line_offsets_mm": spec.line_offsets_mm,
            "subject_minus_reference": differences(spec.reference, spec.subject),
            "girth_difference_mm": girths,
            "note": spec.note,
        },
        "observables_mm": observables.fit(d.lm, d.lines, d.opened, d.half) | observables.posture(d.lm),
        "reference": {
            "posture": observables.posture(d.lm_reference),
            "girths_mm": d.girths_reference,
            "fit_when_hung_on_reference": observables.fit(d.lm_reference, d.lines_hung, d.opened, d.half),
        },
        "subject_girths_mm": d.girths,
        "garment_moved_mm_p50_p95": np.percentile(moved, [50, 95]).round(2).tolist(),
        "strain_pct": {
            "tension_p50_95_99": np.percentile(larger * 100, [50, 95, 99]).round(2).tolist(),
            "compression_p1_5_50": np.percentile(smaller * 100, [1, 5, 50]).round(2).tolist(),
        },
        "landmarks": {name: mm(p, 2) for name, p in d.lm.items()},
        "seams": {name: mm(resample(p, SEAM_STEP_M)) for name, p in d.lines.items()},
        "garment_marks": {name: mm(p, 2) for name, p in d.marks.items()},
        "pins_z_cut_mm": mm(d.pins_z),
    }


def differences(reference: Woman, subject: Woman) -> dict[str, dict[str, float]]:
    """What the spec changes from reference to subject."""
    out = {}
    for group in ("phenotype", "posture", "local"):
        p, q = (woman.model_dump()[group] for woman in (reference, subject))
        out[group] = {key: d for key in sorted({*p, *q}) if (d := round(q.get(key, 0.0) - p.get(key, 0.0), 4))}
    return out


def view_truth(
    cam: Camera, turn: Floats, shift: Floats, d: Draped, stickers: dict[str, Sticker], card: Card | None, sees: LineOfSight
) -> dict[str, Any]:
    """Everything of one view.

    Parameters
    ----------
    turn, shift : ndarray, shape (3, 3), (3,)
        world = turn @ subject + shift, metres.
    stickers : dict
        By landmark; subject frame.
    card : Card or None
        World frame.
    sees : callable
        Whether the camera sees world points, ignoring what lies within a tolerance before them.
    """

    def world(p: Floats) -> Floats:
        return np.asarray(np.asarray(p).reshape(-1, 3) @ turn.T + shift)

    def inside(q: Floats) -> Bools:
        return np.asarray((q >= 0).all(1) & (q < cam.size).all(1))

    outlines, markers = [], {}
    for name, sticker in stickers.items():
        q, to_camera = cam.project(world(sticker.corners)), cam.position - world(sticker.centre)[0]
        facing = float(turn @ sticker.normal @ to_camera / np.linalg.norm(to_camera))
        spots = world(np.vstack([sticker.centre, sticker.corners]))
        seen = facing > 0.1 and all(sees(cam, spots, ON_STICKER_M)) and bool(inside(q).all())
        printed = {} if sticker.number is None else {"id": sticker.number, "corners_px": q.round(2).tolist()}
        centre_px = cam.project(world(sticker.centre))[0].round(2).tolist()
        markers[name] = printed | {"centre_px": centre_px, "facing": round(facing, 3), "visible": bool(seen)}
        if facing > 0 and sees(cam, world(sticker.centre), ON_STICKER_M)[0]:
            outlines.append(((q - q.mean(0)) * sticker.border + q.mean(0)).astype(np.float32))

    def on_cloth(p: Floats) -> tuple[Floats, list[int]]:
        q = cam.project(world(p))
        free = [all(cv2.pointPolygonTest(o, (float(a[0]), float(a[1])), False) < 0 for o in outlines) for a in q]
        return q, [int(s and i and f) for s, i, f in zip(sees(cam, world(p), ON_CLOTH_M), inside(q), free, strict=True)]

    seams = {}
    for name, line in d.lines.items():
        q, seen_points = on_cloth(resample(line, SEAM_STEP_M))
        seams[name] = {"px": q.round(1).tolist(), "visible": seen_points}
    marks_px, marks_seen = on_cloth(np.stack(list(d.marks.values())))
    points = world(np.stack(list(d.lm.values())))
    points_px = cam.project(points)
    points_seen = zip(sees(cam, points, THROUGH_CLOTH_M), inside(points_px), strict=True)
    return {
        "camera": cam.as_dict(),
        "subject_R": np.round(turn, 7).tolist(),
        "subject_t_mm": mm(shift, 3),
        **({} if card is None else {"card": _card_truth(cam, card)}),
        "point_markers": markers,
        "landmarks": _seen_points(d.lm, points_px, [bool(s and i) for s, i in points_seen]),
        "seams": seams,
        "garment_marks": _seen_points(d.marks, marks_px, [bool(seen) for seen in marks_seen]),
    }


def _seen_points(names: Sequence[str] | dict[str, Floats], px: Floats, seen: Sequence[bool]) -> dict[str, Any]:
    return {name: {"px": p.round(2).tolist(), "visible": s} for name, p, s in zip(names, px, seen, strict=True)}


def _card_truth(cam: Camera, card: Card) -> dict[str, Any]:
    to_camera = cam.position - card.centre
    to_camera /= np.linalg.norm(to_camera)
    angles = {"angle_to_camera_deg": card.normal @ to_camera, "angle_to_optical_axis_deg": -card.normal @ cam.rotation[2]}
    return {
        "corners_px": {str(number): cam.project(corners).round(2).tolist() for number, corners in card.corners.items()},
        "centre_world_mm": mm(card.centre, 2),
        "normal_world": np.round(card.normal, 6).tolist(),
        "tilt_deg": round(card.tilt_deg, 3),
        **{name: round(float(np.degrees(np.arccos(np.clip(c, -1, 1)))), 2) for name, c in angles.items()},
    }


def sheet_truth(cam: Camera, sheet: FloorSheet) -> dict[str, Any]:
    """Where one floor sheet's squares are in a view, and where their middle lies."""
    return {
        "which": sheet.which,
        "corners_px": {str(number): cam.project(corners).round(2).tolist() for number, corners in sheet.corners.items()},
        "centre_world_mm": mm(sheet.centre, 2),
    }
