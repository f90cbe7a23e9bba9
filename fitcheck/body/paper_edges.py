"""Stickers seen edge-on: where the outline passes a sticker that faces aside, the paper's own edge is the outline.

A sticker at centre front is seen from the front alone; how far it lies before the body is told by the side views' outlines, which its paper
makes there.
"""

import numpy as np

from fitcheck.body.point_table import body_points
from fitcheck.body.undistort import undistorted
from fitcheck.core.camera import Camera
from fitcheck.core.evidence import Evidence
from fitcheck.core.outline import Outline
from fitcheck.core.records import Floats, Sighting, View, X, Z
from fitcheck.core.solution import PointKey, Solution

# How far beyond a sticker's middle the outline runs beside it (mean, sd), mm: it is turned against the line of sight, bent and stuck on by
# hand. Measured on our drawn scenes. At the seat, at the neck and on the shoulder something else than the paper is the outline.
EDGE_MM: dict[str, tuple[float, float]] = {
    "bust_point": (-0.5, 1.6),
    "waist_front": (0.5, 1.2),
    "waist_back": (0.5, 1.5),
    "waist_side": (0.5, 1.0),
    "hip_side": (0.0, 1.2),
}
EDGE_ON = 0.9  # cosine between the sticker's normal and the picture's plane (estimate)
NEXT_ROW_MM = 25.0  # between the rows of an outline that a sticker may lie between (they are some 20 apart)


def paper_edges(body: Solution, evidence: Evidence) -> list[Sighting]:
    """Where the outlines show stickers edge-on.

    Parameters
    ----------
    body : Solution
        Placed by all else.
    evidence : Evidence

    Returns
    -------
    list of Sighting
        Of kind `edge_on`: only the column counts, which is that of the sticker's middle.
    """
    stuck = {(s.name, s.side) for s in evidence.sightings if s.grade == "marker" and s.kind == "centred"}
    found = []
    for view, outline in evidence.outlines.items():
        if view in body.views:
            for sense in (-1.0, 1.0):
                for name in EDGE_MM:
                    outermost = _outermost(body, view, name, sense)
                    if outermost in stuck:
                        found.append(_edge(body, evidence, view, outline, outermost, sense))
    return [sighting for sighting in found if sighting is not None]


def _outermost(body: Solution, view: View, name: str, sense: float) -> PointKey | None:
    """Of the points of that name, with a sticker or without, the one that is the outline towards image right (sense 1) or left (-1)."""
    reach = {key: px for key in body.keys if key[0] == name and (px := _reach_px(body, view, key, sense)) is not None}
    return max(reach, key=lambda key: reach[key], default=None)


def _middle_mm(body: Solution, key: PointKey) -> Floats:
    point = body_points()[key]
    return np.asarray(body.position(*key) + body.stand_offs_mm.get(key, point.stand_off_mm[0]) * point.normal)


def _reach_px(body: Solution, view: View, key: PointKey, sense: float) -> float | None:
    """How far towards image right (sense 1) or left (-1) a sticker reaches; None where it does not face that way."""
    normal = body_points()[key].normal
    across = float(body.views[view].rotation[0] @ normal) / float(np.hypot(*normal[[X, Z]]))
    return sense * float(body.views[view].project(_middle_mm(body, key))[0, 0]) if sense * across > EDGE_ON else None


def _edge(body: Solution, evidence: Evidence, view: View, outline: Outline, key: PointKey, sense: float) -> Sighting | None:
    placed, middle_mm = body.views[view], _middle_mm(body, key)
    mm_per_px = placed.mm_per_px(middle_mm)
    row = float(placed.project(middle_mm)[0, 1])
    at = _at_row(outline, int(sense > 0), evidence.scales[view].camera, row, NEXT_ROW_MM / mm_per_px)
    if at is None:
        return None
    beyond, sd_mm = EDGE_MM[key[0]]
    return Sighting(key[0], key[1], view, "detected", at[0] - [sense * beyond / mm_per_px, 0.0], at[1], sd_mm, kind="edge_on")


def _at_row(outline: Outline, side: int, camera: Camera, row: float, most_px: float) -> tuple[Floats, float] | None:
    """Where the outline passes a row of the picture without bending (2,), and how surely; None where it is not seen around it."""
    seen = np.flatnonzero(np.isfinite(outline.edges_px[side]))
    if len(seen) < 2:
        return None
    px = np.column_stack([outline.edges_px[side, seen], outline.rows_px[seen]])
    rows = undistorted(camera, px)[:, 1]
    order = np.argsort(rows)
    after = int(np.searchsorted(rows[order], row))
    if not 0 < after < len(order):
        return None
    pair = order[[after - 1, after]]
    if rows[pair[1]] - rows[pair[0]] > most_px:
        return None
    share = (row - rows[pair[0]]) / (rows[pair[1]] - rows[pair[0]])
    weights = np.array([1 - share, share])
    return weights @ px[pair], float(weights @ outline.sds_px[side, seen[pair]])
