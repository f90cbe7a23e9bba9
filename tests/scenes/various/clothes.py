"""What she wears besides the garment, in Blender: skirt, trousers, belt, straps, necklace, glasses, hair. Subject frame, metres."""

from collections.abc import Callable
from itertools import pairwise
from typing import Any

import bpy
import numpy as np

from ..blender import material, mesh_object, ribbon
from ..mesh import Floats, Ints
from ..scene import Draped
from .parts import Wears

AROUND = 72
Outermost = Callable[[Floats], tuple[Floats, Floats]]
HAIR_END_M, HAIR_LIFT_M, HAIR_OUT_M = (
    0.16,
    0.014,
    0.06,
)  # below the neck's side; off what lies beneath; farther out than at the head it never is
FACE_FREE_DEG = 78.0  # either side of straight ahead
BELT_REACH_M = 0.02


def below(wears: Wears, d: Draped, leg_faces: Ints) -> list[Any]:
    """A skirt to the knee, or wide trousers."""
    if wears.below == "leggings":
        return []
    cloth = material("below", wears.below_rgb, 0.85, 0.15, (160, 0.0008), vary=0.1)
    hem_z, knee_z = d.x[:, 2].min() + 0.07, d.v_subject[np.unique(d.quads)][:, 2].max() * 0.27
    used, faces = np.unique(leg_faces, return_inverse=True)
    v = d.v_subject[used]
    if wears.below == "trousers":
        away = 0.006 + 0.03 * np.clip((hem_z - v[:, 2]) / hem_z, 0, 1)
        normals = _normals(v, faces.reshape(-1, 4))
        return [mesh_object("trousers", v + normals * away[:, None], faces.reshape(-1, 4), [cloth], subdivide=1)]
    levels = np.linspace(hem_z, knee_z, 26)
    angle = np.linspace(0, 2 * np.pi, AROUND, endpoint=False)
    outwards, rings, reach = np.stack([np.sin(angle), -np.cos(angle)], 1), [], np.zeros(AROUND)
    middle = v[:, :2].mean(0) * [0, 1]
    for k, z in enumerate(levels):
        near = v[np.abs(v[:, 2] - z) < 0.02, :2] - middle
        if len(near):
            reach = np.maximum(reach, (near @ outwards.T).max(0) + 0.006)
        wave = 1 + 0.03 * k / len(levels) * np.sin(9 * angle)
        rings.append(np.c_[middle + outwards * (reach * wave * (1 + 0.1 * k / len(levels)))[:, None], np.full(AROUND, z)])
    return [mesh_object("skirt", np.concatenate(rings), _tube(len(levels)), [cloth], subdivide=1)]


def worn_on_trunk(wears: Wears, d: Draped, outermost: Outermost) -> list[Any]:
    """Belt, straps of a bag or bra, necklace: strips on the outermost surface."""
    found, lm = [], d.lm
    if wears.belt:
        level = (lm["waist_front"] + lm["waist_back"] + lm["waist_side_L"] + lm["waist_side_R"]) / 4 + [0, 0, 0.01]
        angle = np.linspace(0, 2 * np.pi, 90)
        outwards = np.stack([np.sin(angle), -np.cos(angle), np.zeros(90)], 1)
        near = d.x[np.abs(d.x[:, 2] - level[2]) < BELT_REACH_M] - level
        ring = level + outwards * (near @ outwards.T).max(0)[:, None]
        found.append(_laid("belt", ring, wears.belt / 1000, (0.03, 0.02, 0.015), outermost))
    if wears.straps:
        for side in "LR":
            way = [lm["bust_point_" + side] + [0, 0, 0.05], (lm["side_neck_" + side] + lm["shoulder_point_" + side]) / 2 + [0, 0, 0.02]]
            way.append(lm["shoulder_blade_" + side] if "shoulder_blade_" + side in lm else way[0] * [1, -1, 1] + [0, 0.05, 0.02])
            path = np.concatenate([np.linspace(a, b, 30) for a, b in pairwise(way)])
            found.append(_laid("strap_" + side, path, 0.011, (0.02, 0.02, 0.025), outermost))
    if wears.necklace:
        t = np.linspace(-1, 1, 60)
        neck, pit = (lm["side_neck_L"] + lm["side_neck_R"]) / 2, lm["front_neck"]
        drop = pit[2] - neck[2] - 0.05
        path = np.stack([t * abs(lm["side_neck_L"][0]), neck[1] + (pit[1] - neck[1] - 0.02) * (1 - t**2), neck[2] + drop * (1 - t**2)], 1)
        found.append(_laid("necklace", path, 0.003, (0.7, 0.5, 0.15), outermost))
    return found


def glasses(eyes: Floats) -> list[Any]:
    """Frames before both eyes (2, 3)."""
    frame, found = material("glasses", (0.03, 0.02, 0.02), 0.3, 0.5), []
    for eye in eyes:
        place = eye + [0, -0.018, -0.002]
        bpy.ops.mesh.primitive_torus_add(location=place, rotation=(np.pi / 2, 0, 0), major_radius=0.023, minor_radius=0.0017)
        found.append(_kept("glasses", frame))
    ends = [eyes[0] + [0, -0.019, 0], eyes[1] + [0, -0.019, 0]]
    ahead = np.tile([0.0, -1.0, 0], (8, 1))
    found.append(ribbon("bridge", np.linspace(ends[0], ends[1], 8), ahead, 0.003, 0.0, frame))
    return found


def hair_down(d: Draped, scalp: Floats, hair: Any, outermost: Outermost) -> list[Any]:
    """Straight hair over neck and shoulders, free of the face: it hangs from the head's widest and lies on what is beneath."""
    top, middle = scalp[:, 2].max(), scalp.mean(0)
    end_z = d.lm["side_neck_L"][2] - HAIR_END_M
    angle = np.radians(np.linspace(FACE_FREE_DEG, 360 - FACE_FREE_DEG, AROUND))
    outwards = np.stack([np.sin(angle), -np.cos(angle), np.zeros(AROUND)], 1)
    reach, rings = np.maximum(((scalp - middle)[:, :2] @ outwards[:, :2].T).max(0) + 0.004, 0.05), []
    widest = reach + HAIR_OUT_M
    for z in np.linspace(top - 0.05, end_z, 26):
        line = np.array([middle[0], middle[1], z]) + outwards * reach[:, None]
        for k, p in enumerate(line):
            surface, normal = outermost(p)
            below_it = float((p - surface) @ normal)
            if below_it < HAIR_LIFT_M:
                line[k] = p + outwards[k] * (HAIR_LIFT_M - below_it)
        reach = np.minimum(np.maximum(((line - middle) * outwards).sum(1), reach * 0.985), widest)
        strand = 0.004 * np.sin(23 * angle + 3 * z)
        rings.append(line + outwards * strand[:, None])
    return [mesh_object("hair_down", np.concatenate(rings), _tube(len(rings), closed=False), [hair], subdivide=1)]


def _laid(name: str, path: Floats, width: float, rgb: tuple[float, float, float], outermost: Outermost) -> Any:
    points = [outermost(p) for p in path]
    p, n = (np.stack(part) for part in zip(*points, strict=True))
    return ribbon(name, p, n, width, 0.003, material(name, rgb, 0.6))


def _kept(name: str, mat: Any) -> Any:
    o = bpy.context.object
    o.name = name
    o.data.materials.append(mat)
    o.data.polygons.foreach_set("use_smooth", [True] * len(o.data.polygons))
    return o


def _tube(rings: int, closed: bool = True) -> Ints:
    """Quads between rings of AROUND points."""
    columns = np.arange(AROUND if closed else AROUND - 1)
    first = np.arange(rings - 1)[:, None] * AROUND
    nxt = (columns + 1) % AROUND
    return np.stack([first + columns, first + nxt, first + AROUND + nxt, first + AROUND + columns], -1).reshape(-1, 4)


def _normals(v: Floats, quads: Ints) -> Floats:
    face = np.cross(v[quads[:, 2]] - v[quads[:, 0]], v[quads[:, 3]] - v[quads[:, 1]])
    out = np.zeros_like(v)
    for k in range(4):
        np.add.at(out, quads[:, k], face)
    return np.asarray(out / (np.linalg.norm(out, axis=1, keepdims=True) + 1e-12))
