"""The wearer in Blender: body, hair, garment, drawn lines, pins. Built in the subject frame (see body.py), put into the world later."""

from pathlib import Path
from typing import Any

import bpy
import numpy as np
from mathutils import Matrix, Vector
from mathutils.bvhtree import BVHTree
from scipy.spatial import cKDTree

from . import mesh, prints
from .blender import material, mesh_object, picture_on, ribbon
from .mesh import Floats, Ints
from .polylines import resample
from .scene import Draped
from .spec import Spec, base_name
from .various import clothes, cloths, hands
from .various.parts import SIDE_M

TAPE_RGB, TAPE_M, PIN_M = (0.78, 0.77, 0.70), 0.018, 0.0012
ACROSS_M, HAND = 0.028, 17  # a pin across a line; whose random numbers
TOP_BELOW_NECK_M = np.array([-0.05, -0.03])  # before and behind
SKIN, LEGGINGS, TOP, HAIR, EYE, IRIS = range(6)


class Subject:
    """Everything that turns with the wearer.

    Attributes
    ----------
    objects : list
        Blender objects; stickers add theirs.
    print_share : float
        Size of her stickers over their drawing.
    """

    def __init__(self, spec: Spec, d: Draped, folder: Path) -> None:
        self.objects: list[Any] = []
        self.print_share = spec.print_share
        self._built: dict[str, Any] = {}  # each object's own place before she was put anywhere
        self._trees = [BVHTree.FromPolygons(d.x.tolist(), d.tris.tolist()), BVHTree.FromPolygons(d.v_subject.tolist(), d.quads.tolist())]
        self._add_body(spec, d)
        self._add_garment(spec, d, folder)
        self.objects += clothes.worn_on_trunk(spec.wears, d, self.outermost)

    def _add_body(self, spec: Spec, d: Draped) -> None:
        c = spec.colours
        hair = material("hair", c.hair, 0.45, 0.5, (40, 0.004), (1, 1, 14), vary=0.35)
        materials = [
            material("skin", c.skin, 0.48, 0.35, (600, 0.0004), vary=0.06),
            material("leggings", c.leggings, 0.75),
            material("top", c.top, 0.8),
            hair,
            material("eye", (0.75, 0.73, 0.7), 0.15),
            material("iris", (0.05, 0.035, 0.02), 0.1, 0.6),
        ]
        body = mesh_object("body", d.v_subject, d.quads, materials, subdivide=1)
        regions = skin_regions(d, c.beneath if d.half or spec.garment.see_through else None)
        body.data.polygons.foreach_set("material_index", regions.astype(np.int32))
        scalp, faces = np.unique(d.quads[regions == HAIR], return_inverse=True)
        faces = faces.reshape(-1, 4)
        thick = 0.0015 + 0.012 * _away_from_rim(faces, len(scalp))
        v = d.v_subject[scalp] + mesh.normals(d.v_subject, mesh.triangles(d.quads))[scalp] * thick[:, None]
        cap = mesh_object("hair", v, faces, [hair], subdivide=1)
        self.objects += [body, cap, *clothes.below(spec.wears, d, d.quads[regions == LEGGINGS])]
        if spec.wears.glasses:
            irises = d.v_subject[d.quads[regions == IRIS]].mean(1)
            left = irises[:, 0] > irises[:, 0].mean()
            self.objects += clothes.glasses(np.stack([irises[left].mean(0), irises[~left].mean(0)]))
        if spec.wears.hair == "down":
            self.objects += clothes.hair_down(d, v, hair, self.outermost)
        if spec.wears.hair != "bun":
            return
        bpy.ops.mesh.primitive_uv_sphere_add(radius=0.038, location=v[np.argmax(v[:, 1])] + [0, 0.012, 0.03], segments=32, ring_count=20)
        bun = bpy.context.object
        bun.scale = (1, 1, 0.85)
        bun.data.materials.append(hair)
        bun.data.polygons.foreach_set("use_smooth", [True] * len(bun.data.polygons))
        self.objects.append(bun)

    def _add_garment(self, spec: Spec, d: Draped, folder: Path) -> None:
        cloth = material("cloth", spec.cloth_rgb, 0.8, 0.15, (220, 0.0006), translucent=0.22)
        on_paper, pattern = None, spec.garment.cloth_print
        if spec.garment.printed or pattern:
            picture = folder / "cloth.png"
            if pattern is None or pattern.kind == "tissue":
                prints.tissue(picture, spec.cloth_rgb)
            else:
                cloths.write(picture, spec.cloth_rgb, pattern, spec.seed)
            picture_on(cloth, picture)
            on_paper = unrolled(d.rest)[d.tris] / SIDE_M
            wraps = np.ptp(on_paper[..., 0], axis=1) > on_paper[..., 0].max()  # triangles over the middle of the back
            on_paper[..., 0] += np.where(wraps[:, None] & (on_paper[..., 0] < 0), np.ptp(on_paper[~wraps, :, 0]), 0)
        if spec.garment.see_through:
            cloth.node_tree.nodes["Principled BSDF"].inputs["Alpha"].default_value = 1 - spec.garment.see_through
        self.objects.append(mesh_object("garment", d.x, d.tris, [cloth], subdivide=1, uv=on_paper))
        normals, tree, random = mesh.normals(d.x, d.tris), cKDTree(d.x), np.random.default_rng(spec.seed + HAND)
        for name, line in d.lines.items():
            if base_name(name) in ("front_edge", "back_edge") or base_name(name) in spec.hide_lines:
                continue
            p = resample(line, 0.004)
            n = mesh.unit(normals[tree.query(p, k=6)[1]].mean(1))
            pen = material("line_" + name, spec.line_rgb(name), 0.7)
            drawn = hands.shaken(p, n, spec.hand, random)
            for run in hands.strokes(p, spec.hand, random):
                self.objects.append(ribbon("line_" + name, drawn[run], n[run], spec.line_width_mm / 1000, 0.0008, pen))
            self._add_pins_across(spec, p, n)
        steel = material("steel", (0.5, 0.5, 0.52), 0.25, 0.6)
        taped = spec.garment.half is not None and spec.garment.half.held_by == "tape"
        strip, wide = (material("tape", TAPE_RGB, 0.5, 0.4), TAPE_M) if taped else (steel, PIN_M)
        for off, on in d.held:
            laid = [self.outermost(off + (on - off) * share) for share in np.linspace(0, 1, 9)]
            p, n = (np.stack(part) for part in zip(*laid, strict=True))
            self.objects.append(ribbon("strip", p, n, wide, 0.0022, strip))
        for ends in d.pins():
            p = resample(np.array(ends), 0.004)
            self.objects.append(ribbon("pin", p, np.tile([0.0, -1, 0], (len(p), 1)), PIN_M, 0.0025, steel))

    def _add_pins_across(self, spec: Spec, p: Floats, n: Floats) -> None:
        """Pins across the line p (k, 3) with its normals n, a coloured head on each."""
        if not spec.hand.pins_every:
            return
        every = max(1, round(spec.hand.pins_every / 4))  # points are 4 mm apart
        steel, head = material("pin", (0.5, 0.5, 0.52), 0.25, 0.6), material("pin_head", (0.8, 0.75, 0.1), 0.3, 0.5)
        across = mesh.unit(np.cross(np.gradient(p, axis=0), n) + 1e-12)
        for k in range(every // 2, len(p), every):
            way = p[k] + np.linspace(-0.5, 0.5, 5)[:, None] * across[k] * ACROSS_M
            self.objects.append(ribbon("pin", way, np.tile(n[k], (5, 1)), PIN_M, 0.0025, steel))
            bpy.ops.mesh.primitive_uv_sphere_add(radius=0.0022, location=way[0] + n[k] * 0.003, segments=12, ring_count=8)
            ball = bpy.context.object
            ball.data.materials.append(head)
            self.objects.append(ball)

    def outermost(self, p: Floats) -> tuple[Floats, Floats]:
        """Surface point nearest to p (3,) and its normal: the garment's where it covers, else the body's."""
        best = None
        for tree in self._trees:
            hit = tree.find_nearest(Vector(p))
            if hit[0] is not None and (best is None or hit[3] < best[3] - 0.004):
                best = hit
        if best is None:
            raise ValueError(f"no surface near {p}")
        return np.array(best[0]), np.array(best[1])

    def depth_below(self, start: Floats, along: Floats, reach: float) -> float:
        """How far below `start` (3,) the first surface lies along the direction (3,); nan where there is none within `reach`."""
        depths = [hit[3] for tree in self._trees if (hit := tree.ray_cast(Vector(start), Vector(along), reach))[0] is not None]
        return min(depths, default=float("nan"))

    def place(self, turn: Floats, shift: Floats) -> None:
        """Put her where p_world = turn p + shift."""
        pose = np.eye(4)
        pose[:3, :3], pose[:3, 3] = turn, shift
        for o in self.objects:
            if o.name not in self._built:
                self._built[o.name] = o.matrix_basis.copy()
            o.matrix_world = Matrix(pose.tolist()) @ self._built[o.name]
        bpy.context.view_layer.update()


def unrolled(rest: Floats) -> Floats:
    """Where each point of the shell (n, 3) lies on paper (n, 2), m: around the body's axis and up."""
    middle = rest[:, :2].mean(0)
    around = np.arctan2(rest[:, 0], middle[1] - rest[:, 1])
    return np.stack([around * np.hypot(*(rest[:, :2] - middle).T).mean(), rest[:, 2]], 1)


def _away_from_rim(faces: Ints, n: int) -> Floats:
    """0 on the border of the faces, growing towards 1 over three rings."""
    edges = np.sort(np.stack([faces, np.roll(faces, -1, 1)], -1).reshape(-1, 2), 1)
    edges, count = np.unique(edges, axis=0, return_counts=True)
    out = np.ones(n)
    out[edges[count == 1].ravel()] = 0
    rim = out == 0
    mean = mesh.averaging(mesh.adjacency(n, edges))
    for _ in range(3):
        out = np.asarray(0.5 * out + 0.5 * (mean @ out))
        out[rim] = 0
    return out


def skin_regions(d: Draped, beneath: str | None = None) -> Ints:
    """What each face of the body shows: SKIN, LEGGINGS, TOP, HAIR, EYE or IRIS; told by the reference body.

    `beneath`, where a half tissue leaves it to be seen: the leggings end level at the waist; the top is a bra's band or covers the trunk.
    """
    heads, v, quads = d.reference.heads, d.v_reference, d.quads
    c = v[quads].mean(1)

    def carried(*bones: str) -> Floats:
        return np.asarray(d.reference.weight(d.skin_weights, lambda bone: bone.startswith(bones))[quads].mean(1))

    arm = d.reference.arm_weight(d.skin_weights)[quads].mean(1)
    leg, eye = carried("upperleg", "lowerleg", "pelvis", "root"), carried("eye.")
    skull = d.reference.weight(d.skin_weights, lambda bone: bone in ("head", "neck03"))[quads].mean(1)
    out = np.full(len(quads), SKIN)
    out[(np.abs(c[:, 2] - d.lm_reference["bust_point_L"][2] + 0.03) < 0.085) & (arm < 0.3)] = TOP
    if beneath == "top":
        y, z = (np.array([d.lm_reference[k][i] for k in ("front_neck", "back_neck")]) for i in (1, 2))
        out[(c[:, 2] < np.interp(c[:, 1], y, z + TOP_BELOW_NECK_M)) & (c[:, 2] > heads["spine05"][2]) & (arm < 0.6)] = TOP
    belt_z = heads["spine05"][2] + 0.08
    if beneath is not None:
        leg[(c[:, 2] < (belt_z := d.lm_reference["waist_side_L"][2] - 0.02)) & (arm < 0.5)] = 1
    covered = ((leg > 0.5) | (c[:, 2] < heads["upperleg01.L"][2])) & (c[:, 2] > 0.10) & (c[:, 2] < belt_z)
    out[covered & (np.abs(c[:, 0]) < 0.33) & (arm < 0.5)] = LEGGINGS
    head = (skull > 0.5) & (eye < 0.5)
    y = v[quads[head]].reshape(-1, 3)[:, 1]
    up = (c[:, 2] - heads["head"][2]) / (v[np.unique(quads)][:, 2].max() - heads["head"][2])
    behind = (c[:, 1] - y.min()) / np.ptp(y)
    hairline = np.interp(up, [-0.2, 0.15, 0.35, 0.7, 0.83, 1.0], [1.0, 0.72, 0.62, 0.46, 0.22, 0.05])
    out[head & (behind > hairline) & (up > -0.05)] = HAIR
    out[eye > 0.9] = EYE
    for sign in (1, -1):
        j = np.flatnonzero((eye > 0.9) & (c[:, 0] * sign > 0))
        if len(j):
            front = c[j][c[j][:, 1].argmin()]
            out[j[np.linalg.norm(c[j] - front, axis=1) < 0.0065]] = IRIS
    return out
