"""What a drape shows: the observables of a half dress, by the definitions of tests/scenes/observables.py and of observables.toml.

Keys are `<observable>_<level>`; both sides of her are alike.
"""

import math
from collections.abc import Mapping

import numpy as np
from scipy.spatial import cKDTree

from fitcheck.advice.table import knowledge
from fitcheck.pattern.lines import dense

from .. import observables
from ..mesh import Floats
from ..polylines import value_at
from .cut import Cloth, Worn
from .figure import Figure

LEVELS = ("bust", "waist", "hip")
WAIST_STEP_MM = 8.0
UNWANTED = (  # of edges: only what stands off is a fault, none that lies close
    "armhole_stand_off_front",
    "armhole_stand_off_back",
    "neck_stand_off_side",
    "neck_stand_off_front",
    "neck_stand_off_back",
)


def read(x: Floats, cloth: Cloth, worn: Worn, figure: Figure, opened: bool) -> dict[str, float]:
    """All observables of a shape x (n, 3) of half a dress, mm and degrees; levels that a line does not reach are left out."""
    at = figure.points
    front = next(name for name in cloth.names if name.endswith("front"))
    beside = [name for name in cloth.names if name.endswith("front")][-1]

    def line(piece: str, edge: str) -> Floats:
        return np.asarray(x[cloth.along(piece, edge)])

    shoulder, side = line("back", "shoulder"), line("back", "side")
    apex = _apex(x, cloth, front)
    half = {
        "shoulder": shoulder,
        "princess": np.array([apex, apex - [0, 0, 1.0]]),
        "side": side,
    }
    lines = {f"{name}_L": points / 1000 for name, points in half.items()}
    lines |= {f"{name}_R": points * [-1, 1, 1] / 1000 for name, points in half.items()}
    ring = np.concatenate([on_cloth(x, cloth, worn, name, worn.pieces[name].inner["waist"]) for name in ("back", front, beside)]) / 1000
    lines["waist"] = np.concatenate([ring, ring * [-1, 1, 1]])
    centre = line(front, "centre") / 1000
    lines |= {"centre_front": centre, "front_edge_L": centre, "front_edge_R": centre * [-1, 1, 1]}
    lines["centre_back"] = line("back", "centre") / 1000
    metres = {name: place / 1000 for name, place in at.items()}
    found = observables.fit(metres, lines, opened)
    seen = {
        "shoulder_seam_behind_tip": found["shoulder_seam_behind_at_tip_L"],
        "shoulder_seam_behind_neck": found["shoulder_seam_behind_at_neck_L"],
        "shoulder_tip_beyond": found["shoulder_tip_beyond_L"],
        "bust_mark_above": found["bust_mark_above_L"],
        "bust_mark_outside": found["bust_mark_outside_L"],
        "side_seam_tilt": found["side_seam_tilt_deg_L"],
        "waist_mark_above_front": found["waist_mark_above_front"],
        "waist_mark_above_side": found["waist_mark_above_side_L"],
        "waist_mark_above_back": found["waist_mark_above_back"],
    }
    seen |= {f"side_seam_forward_{level}": found[f"side_seam_forward_{level}_L"] for level in LEVELS}
    if opened:
        seen |= {f"centre_front_short_{level}": found[f"centre_front_short_{level}"] for level in LEVELS}
        chest = value_at(centre, 2, (at["shoulder_point_L"][2] + at["underarm_L"][2]) / 2000, 0)
        seen["centre_front_short_chest"] = None if chest is None else chest * 1000
    return {key: float(value) for key, value in seen.items() if value is not None} | _edges(x, cloth, figure, front, beside)


def _edges(x: Floats, cloth: Cloth, figure: Figure, front: str, beside: str) -> dict[str, float]:
    """Neckline, armhole, hem and the slope of the shoulder. An edge stands off where it gapes beyond a taut one, which bridges hollows."""
    at = figure.points
    back_neck, front_neck = x[cloth.along("back", "neck")], x[cloth.along(front, "neck")]
    shoulder = x[cloth.along("back", "shoulder")]
    armhole = {"back": x[cloth.along("back", "armhole")], "front": x[cloth.along(beside, "armhole")]}
    bone = at["shoulder_point_L"] - at["side_neck_L"]
    outwards = bone[[0, 2]] / np.hypot(*bone[[0, 2]])
    seam = shoulder[-1] - shoulder[0]
    hems = {name: x[cloth.along(name, "hem")] for name in ("back", front)}
    found = {
        "shoulder_slope_excess": math.degrees(math.atan2(-seam[2], seam[0]) - math.atan2(-bone[2], bone[0])),
        "back_neck_below": at["back_neck"][2] - back_neck[0, 2],
        "front_neck_below": at["front_neck"][2] - front_neck[0, 2],
        "side_neck_beyond": (shoulder[0] - at["side_neck_L"])[[0, 2]] @ outwards,
        "underarm_gap": at["underarm_L"][2] - min(armhole["back"][:, 2].min(), armhole["front"][:, 2].min()),
        "neck_stand_off_side": figure.stands_off(shoulder[:1])[0],
        "hem_front_rise": hems[front][-1, 2] - hems["back"][-1, 2],
    }
    edges = {f"armhole_stand_off_{name}": edge for name, edge in armhole.items()}
    edges |= {"neck_stand_off_back": back_neck, "neck_stand_off_front": front_neck}
    for name, edge in edges.items():  # between its ends: an open corner hangs free
        found[name] = figure.stands_off(edge[len(edge) // 4 : len(edge) * 3 // 4]).mean()
    return {key: max(0.0, float(value)) if key in UNWANTED else float(value) for key, value in found.items()}


def _apex(x: Floats, cloth: Cloth, front: str) -> Floats:
    """The bust mark: where the dart ends, or the princess seams meet over the bust."""
    for (piece, edge), line in cloth.border.items():
        if piece == front and edge.startswith(("dart", "princess")):
            return np.asarray(x[cloth.sewn_to[line[-1]]])
    raise ValueError("a front without dart or princess seam has no bust mark")


def on_cloth(x: Floats, cloth: Cloth, worn: Worn, piece: str, points: Floats) -> Floats:
    """Where a line drawn on one piece of paper lies on the body, shape (k, 3)."""
    number = cloth.names.index(piece)
    tris = cloth.tris[cloth.piece_of[cloth.tris[:, 0]] == number]
    line = dense(points, WAIST_STEP_MM)
    corner = worn.flat[tris]
    sides = np.stack([corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]], -1)
    inverse = np.linalg.inv(sides)
    near = cKDTree(corner.mean(1)).query(line, k=min(12, len(tris)))[1]
    found = []
    for place, candidates in zip(line, near, strict=True):
        local = np.einsum("kij,kj->ki", inverse[candidates], place - corner[candidates, 0])
        weights = np.column_stack([1 - local.sum(1), local])
        best = int(weights.min(1).argmax())
        if weights[best].min() > -0.5:
            found.append(weights[best] @ x[cloth.sewn_to[tris[candidates[best]]]])
    return np.array(found)


def off(seen: Mapping[str, float]) -> dict[str, float]:
    """How far each observable lies from what fits, in tolerances."""
    found = {}
    for key, value in seen.items():
        observable = knowledge().places[key][0]
        wanted = observable.wanted.get("set_in", 0.0)
        found[key] = (value - wanted) / observable.tolerance.amount
    return found
