"""The true, signed fit and posture numbers of a scene, computed from the 3D result (never from the spec).

Points are metres in the subject frame (Z up, facing -Y, +X to the wearer's left); results are millimetres and degrees, None where a line
does not reach. README.md tells every sign.
"""

import math
from collections.abc import Mapping

import numpy as np
from scipy.spatial import ConvexHull

from .mesh import Bools, Floats
from .polylines import value_at
from .spec import Letter

Points = Mapping[str, Floats]


def levels(lm: Points) -> dict[str, float]:
    """Heights of bust, waist and hip, m."""
    pairs = {"bust": ("bust_point_L", "bust_point_R"), "waist": ("waist_front", "waist_back"), "hip": ("hip_side_L", "hip_side_R")}
    return {level: float((lm[a][2] + lm[b][2]) / 2) for level, (a, b) in pairs.items()}


def centre_levels(lm: Points) -> dict[str, float]:
    """The same and the chest, half way from the bust up to the pit of the neck, which is the height of the blades behind."""
    bust = levels(lm)["bust"]
    return {"chest": float(bust + lm["front_neck"][2]) / 2} | levels(lm)


def posture(lm: Points) -> dict[str, float]:
    """Posture numbers of a body with landmarks `lm`."""
    c7, ear = lm["back_neck"], (lm["ear_L"] + lm["ear_R"]) / 2
    out = {"shoulder_right_lower": (lm["shoulder_point_L"][2] - lm["shoulder_point_R"][2]) * 1000}
    for side in "LR":
        tip = lm["shoulder_point_" + side]
        up = lm["side_neck_" + side] - tip
        out["shoulder_slope_deg_" + side] = math.degrees(math.atan2(up[2], abs(up[0])))
        out["shoulder_forward_of_C7_" + side] = (c7[1] - tip[1]) * 1000
    out["craniovertebral_deg"] = math.degrees(math.atan2(ear[2] - c7[2], c7[1] - ear[1]))
    out["bust_span"] = (lm["bust_point_L"][0] - lm["bust_point_R"][0]) * 1000
    out["stature"] = lm["crown"][2] * 1000
    return {key: round(float(value), 2) for key, value in out.items()}


def fit(lm: Points, lines: Points, opened: bool, half: Letter | None = None) -> dict[str, float | None]:
    """Fit numbers of the garment lines (name: polyline (n, 3)) on the body landmarks `lm`; of a half tissue, those of its side."""
    out: dict[str, float | None] = {}
    level = levels(lm)
    for side, sign in (("L", 1), ("R", -1)):
        if half not in (None, side):
            continue
        out |= _shoulder(lm["side_neck_" + side], lm["shoulder_point_" + side], lines["shoulder_" + side], side)
        bust, princess, seam = lm["bust_point_" + side], lines["princess_" + side], lines["side_" + side]
        mark = max((princess[0], princess[-1]), key=lambda p: float(p[2]))
        out["bust_mark_above_" + side], out["bust_mark_outside_" + side] = _mm(mark[2] - bust[2]), _mm(sign * (mark[0] - bust[0]))
        for name, z in level.items():
            y = value_at(seam, 2, z, 1)
            out[f"side_seam_forward_{name}_{side}"] = None if y is None else _mm(lm["underarm_" + side][1] - y)
        out["side_seam_tilt_deg_" + side] = round(math.degrees(math.atan(np.polyfit(seam[:, 2], seam[:, 1], 1)[0])), 2)
    for place in ("side_L", "side_R", "front", "back") if half is None else ("side_" + half, "front", "back"):
        body, ring = lm["waist_" + place], lines["waist"]
        nearest = ring[np.linalg.norm(ring[:, :2] - body[:2], axis=1).argmin()]
        out["waist_mark_above_" + place] = _mm(nearest[2] - body[2])
    if half is not None:
        return out | _half_centres(lm, lines, half)
    for name, z in level.items():
        if opened:
            left, right = (value_at(lines["front_edge_" + side], 2, z, 0) for side in "LR")
            both = left is not None and right is not None
            out["centre_front_short_" + name] = _mm((left - right) / 2) if left is not None and right is not None else None
            out[f"centre_front_short_{name}_L"] = _mm(left) if both else None
            out[f"centre_front_short_{name}_R"] = _mm(None if right is None else -right) if both else None
        else:
            out["centre_front_left_" + name] = _mm(value_at(lines["centre_front"], 2, z, 0))
        out["centre_back_left_" + name] = _mm(value_at(lines["centre_back"], 2, z, 0))
    return out


def _half_centres(lm: Points, lines: Points, half: Letter) -> dict[str, float | None]:
    """How far the centre lines of a half tissue stay short of the midline; below 0 they lie beyond it."""
    outwards, out = (1 if half == "L" else -1), {}
    for name, z in centre_levels(lm).items():
        for end, at in (("front", name), ("back", "blade" if name == "chest" else name)):
            x = value_at(lines[f"centre_{end}_{half}"], 2, z, 0)
            out[f"centre_{end}_short_{at}_{half}"] = None if x is None else _mm(x * outwards)
    return out


def _shoulder(neck: Floats, tip: Floats, seam: Floats, side: str) -> dict[str, float | None]:
    at_neck, at_tip = (seam[0], seam[-1]) if abs(seam[0, 0]) < abs(seam[-1, 0]) else (seam[-1], seam[0])
    t = (at_neck[0] - neck[0]) / (tip[0] - neck[0])
    along = (tip - neck)[[0, 2]]
    return {
        f"shoulder_seam_behind_at_tip_{side}": _mm(at_tip[1] - tip[1]),
        f"shoulder_seam_behind_at_neck_{side}": _mm(at_neck[1] - (neck[1] * (1 - t) + tip[1] * t)),
        f"shoulder_tip_beyond_{side}": _mm((at_tip - tip)[[0, 2]] @ (along / np.linalg.norm(along))),
    }


def _mm(value: float | None) -> float | None:
    return None if value is None else round(float(value) * 1000, 2)


def girths(v: Floats, torso: Bools, lm: Points) -> dict[str, float | None]:
    """What a tape would measure at bust, waist and hip, mm: the convex hull of a 12 mm slice of the vertices that are `torso`."""
    out: dict[str, float | None] = {}
    for name, z in levels(lm).items():
        p = v[torso & (np.abs(v[:, 2] - z) < 0.006)][:, :2]
        out[name] = round(float(ConvexHull(p).area) * 1000, 1) if len(p) > 5 else None  # in the plane, "area" is the perimeter
    return out
