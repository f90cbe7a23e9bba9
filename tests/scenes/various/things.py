"""What stands and hangs in the room, in Blender, by the wall behind her; and what the card stands on. World frame, metres."""

from collections.abc import Callable, Sequence
from itertools import pairwise
from pathlib import Path
from typing import Any

import bpy
import cv2
import numpy as np

from ..blender import material, mesh_object, picture_material
from ..mesh import Floats
from ..spec import CardSpec, Spec
from . import cloths
from .parts import SIDE_M, Print, Rgb, Thing

Box = tuple[tuple[float, float, float], tuple[float, float, float]]  # middle, size


class _Corner:
    """Where one thing stands: random numbers of its own, the wall's plane, a folder for its pictures."""

    def __init__(self, thing: Thing, wall_y: float, folder: Path) -> None:
        self.x, self.y, self.folder = thing.x_m, wall_y, folder
        self.name, self.random = f"{thing.kind}_{thing.x_m:+.2f}", np.random.default_rng(thing.seed)

    def between(self, low: float, high: float) -> float:
        return float(self.random.uniform(low, high))

    def colour(self, low: float = 0.02, high: float = 0.7) -> Rgb:
        r, g, b = (float(c) for c in self.random.uniform(low, high, 3))
        return r, g, b

    def wood(self) -> Rgb:
        tone = self.between(0.08, 0.6)
        return tone, tone * 0.72, tone * 0.5

    def boxes(self, what: str, boxes: Sequence[Box], rgb: Rgb, rough: float = 0.6) -> None:
        v: list[Floats] = []
        faces: list[list[int]] = []
        for middle, size in boxes:
            corner = np.array([[i, j, k] for k in (-0.5, 0.5) for j in (-0.5, 0.5) for i in (-0.5, 0.5)])
            faces += [
                [8 * len(v) + i for i in f] for f in ((0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (2, 6, 7, 3), (0, 4, 6, 2), (1, 3, 7, 5))
            ]
            v.append(np.array(middle) + corner * size)
        mesh_object(self.name + what, np.concatenate(v), [tuple(f) for f in faces], [material(self.name + what, rgb, rough)], smooth=False)

    def picture(self, middle: tuple[float, float], size: tuple[float, float], mat: Any, off: float) -> None:
        """An upright rectangle `off` the wall, its middle at (x, z)."""
        (x, z), (w, h) = middle, size
        v = np.array([[x - w / 2, self.y - off, z - h / 2], [x + w / 2, self.y - off, z - h / 2]])
        v = np.concatenate([v, v[::-1] + [0, 0, h]])
        mesh_object(self.name + "_picture", v, [(0, 1, 2, 3)], [mat], smooth=False, uv=np.array([[0, 0], [1, 0], [1, 1], [0, 1.0]]))


def _shelf(c: _Corner) -> None:
    w, h, deep = c.between(0.6, 0.9), c.between(1.5, 2.1), 0.26
    levels, y = np.linspace(0.08, h, int(c.between(5, 7))), c.y - deep / 2
    frame = [((c.x, y, z), (w, deep, 0.022)) for z in levels]
    frame += [((c.x + s * w / 2, y, h / 2), (0.022, deep, h)) for s in (-1, 1)]
    c.boxes("_frame", frame, c.wood())
    books: list[list[Box]] = [[] for _ in range(7)]
    for z, above in pairwise(levels):
        x = c.x - w / 2 + 0.02
        while x < c.x + w / 2 - 0.06:
            thick, tall = c.between(0.012, 0.05), (above - z) * c.between(0.6, 0.92)
            if c.between(0, 1) < 0.9:
                books[int(c.random.integers(7))].append(
                    ((x + thick / 2, y - c.between(0, 0.05), z + 0.011 + tall / 2), (thick * 0.95, 0.17, tall))
                )
            x += thick
    for k, some in enumerate(books):
        if some:
            c.boxes(f"_books{k}", some, c.colour())


def _edge(c: _Corner, middle: tuple[float, float], size: tuple[float, float], wide: float, rgb: Rgb) -> None:
    (x, z), (w, h) = middle, size
    sides: list[Box] = [((x, c.y - 0.015, z + s * (h + wide) / 2), (w + 2 * wide, 0.03, wide)) for s in (-1, 1)]
    c.boxes("_edge", sides + [((x + s * (w + wide) / 2, c.y - 0.015, z), (wide, 0.03, h)) for s in (-1, 1)], rgb)


def _frame(c: _Corner) -> None:
    size, middle = (c.between(0.2, 0.6), c.between(0.25, 0.7)), (c.x, c.between(1.2, 1.8))
    _edge(c, middle, size, c.between(0.015, 0.05), c.colour(0.01, 0.6))
    c.picture(middle, size, _painting(c), 0.01)


def _poster(c: _Corner) -> None:
    c.picture((c.x, c.between(1.1, 1.7)), (c.between(0.4, 0.7), c.between(0.5, 1.0)), _painting(c), 0.003)


def _painting(c: _Corner) -> Any:
    """Blurred blots, strokes and some words."""
    small = c.random.uniform(20, 235, (7, 5, 3)).astype(np.float32)
    image = np.clip(cv2.resize(small, (500, 700), interpolation=cv2.INTER_CUBIC), 0, 255).astype(np.uint8)
    for _ in range(12):
        a, b = (tuple(int(v) for v in c.random.uniform(0, 500, 2)) for _ in range(2))
        cv2.line(image, a, b, tuple(c.random.uniform(0, 255, 3).tolist()), int(c.between(2, 18)), cv2.LINE_AA)
    cv2.putText(image, "TUESDAY", (40, 640), cv2.FONT_HERSHEY_DUPLEX, 3.0, (20, 20, 20), 6, cv2.LINE_AA)
    path = c.folder / f"{c.name}.png"
    cv2.imwrite(str(path), image)
    return picture_material(c.name, path)


def _mirror(c: _Corner) -> None:
    size, middle = (c.between(0.4, 0.7), c.between(1.2, 1.7)), (c.x, c.between(0.95, 1.15))
    _edge(c, middle, size, 0.03, c.wood())
    glass = material("glass" + c.name, (0.9, 0.9, 0.9), 0.02)
    glass.node_tree.nodes["Principled BSDF"].inputs["Metallic"].default_value = 1.0
    c.picture(middle, size, glass, 0.012)


def _doorway(c: _Corner) -> None:
    white = c.between(0.4, 0.8)
    _edge(c, (c.x, 1.0), (0.82, 2.0), 0.09, (white, white, white * 0.97))
    dark, tone = c.between(0, 1) < 0.4, c.between(0.3, 0.75)
    rgb = (0.02, 0.02, 0.025) if dark else (tone, tone * 0.97, tone * 0.92)
    c.boxes("_leaf", [((c.x, c.y - 0.004, 1.0), (0.82, 0.02, 2.0))], rgb)
    if not dark:
        panels: list[Box] = [((c.x + s * 0.19, c.y - 0.016, z), (0.28, 0.012, 0.75)) for s in (-1, 1) for z in (0.55, 1.45)]
        c.boxes("_panels", panels, rgb)
        c.boxes("_handle", [((c.x + 0.35, c.y - 0.04, 1.02), (0.11, 0.02, 0.02))], (0.5, 0.5, 0.5), 0.2)


def _wardrobe(c: _Corner) -> None:
    w, h, rgb = c.between(0.8, 1.2), c.between(1.7, 2.2), c.wood()
    c.boxes("_body", [((c.x, c.y - 0.14, h / 2), (w, 0.28, h))], rgb)
    c.boxes("_doors", [((c.x + s * w / 4, c.y - 0.288, h / 2), (w / 2 - 0.01, 0.016, h - 0.06)) for s in (-1, 1)], rgb)
    c.boxes("_knobs", [((c.x + s * 0.04, c.y - 0.31, 1.0), (0.012, 0.02, 0.15)) for s in (-1, 1)], (0.05, 0.05, 0.05))


def _chair(c: _Corner) -> None:
    y, rgb = c.y - 0.28, c.wood()
    legs: list[Box] = [((c.x + i * 0.19, y + j * 0.18, 0.22), (0.035, 0.035, 0.44)) for i in (-1, 1) for j in (-1, 1)]
    legs += [((c.x, y, 0.455), (0.44, 0.42, 0.03)), *(((c.x + i * 0.19, y + 0.18, 0.7), (0.035, 0.03, 0.5)) for i in (-1, 1))]
    c.boxes("_chair", legs + [((c.x, y + 0.18, z), (0.4, 0.02, 0.07)) for z in (0.72, 0.88)], rgb)
    c.boxes("_thrown", [((c.x + 0.05, y + 0.17, 0.8), (0.3, 0.06, 0.36))], c.colour())


def _plant(c: _Corner) -> None:
    y = c.y - 0.25
    c.boxes("_pot", [((c.x, y, 0.16), (0.26, 0.26, 0.32))], c.colour())
    leaves, faces = [], []
    for k in range(70):
        root = np.array([c.x, y, 0.32]) + c.random.normal(0, 0.04, 3)
        tip = root + c.random.normal(0, 0.17, 3) + [0, 0, c.between(0.15, 0.8)]
        tip[1] = min(tip[1], c.y - 0.02)
        side = c.random.normal(0, 0.03, 3)
        leaves += [root, (root + tip) / 2 + side, tip, (root + tip) / 2 - side]
        faces.append((4 * k, 4 * k + 1, 4 * k + 2, 4 * k + 3))
    mesh_object(c.name, np.array(leaves), faces, [material(c.name, (0.03, c.between(0.1, 0.25), 0.03), 0.5)])


def _curtain(c: _Corner) -> None:
    x, z = np.linspace(-0.45, 0.45, 90), np.array([0.05, 2.35])
    wave = c.y - 0.1 - 0.035 * np.sin(x * c.between(45, 70))
    v = np.concatenate([np.stack([c.x + x, wave, np.full(90, h)], 1) for h in z])
    k = np.arange(89)
    path = c.folder / f"{c.name}.png"
    cloths.write(path, c.colour(0.2, 0.8), Print(kind=c.random.choice(["stripes", "flowers", "checks"]), inks=(c.colour(), c.colour())), 3)
    mat = picture_material(c.name, path)
    mat.node_tree.nodes["Image Texture"].extension = "REPEAT"
    uv = np.concatenate([np.stack([np.arange(90) * 0.014, np.full(90, h)], 1) for h in z]) / SIDE_M
    mesh_object(c.name, v, np.stack([k, k + 1, k + 91, k + 90], 1), [mat], uv=uv)


def _lamp(c: _Corner) -> None:
    y, high = c.y - 0.25, c.between(1.3, 1.7)
    c.boxes("_pole", [((c.x, y, high / 2), (0.02, 0.02, high))], (0.06, 0.06, 0.06), 0.3)
    disc((c.x, y, 0.01), 0.14, 0.02, material(c.name + "_foot", (0.06, 0.06, 0.06), 0.3))
    disc((c.x, y, high + 0.1), 0.17, 0.24, material(c.name + "_shade", (0.75, 0.68, 0.5), 0.9))


MAKERS: dict[str, Callable[[_Corner], None]] = {
    "shelf": _shelf,
    "frame": _frame,
    "poster": _poster,
    "mirror": _mirror,
    "doorway": _doorway,
    "wardrobe": _wardrobe,
    "chair": _chair,
    "plant": _plant,
    "curtain": _curtain,
    "lamp": _lamp,
}


def furnish(spec: Spec, folder: Path) -> None:
    """All things of the room, and the wall's paper."""
    room = spec.room
    if room.wall_print is not None:
        path = folder / "wall.png"
        cloths.write(path, spec.colours.wall, room.wall_print, spec.seed)
        mat = picture_material("wall_paper", path)
        mat.node_tree.nodes["Image Texture"].extension = "REPEAT"
        corners = np.array([[-3.4, 0.1], [3.4, 0.1], [3.4, 2.7], [-3.4, 2.7]])
        v = np.stack([corners[:, 0], np.full(4, room.wall_y_m - 0.001), corners[:, 1]], 1)
        mesh_object("wall_paper", v, [(0, 1, 2, 3)], [mat], smooth=False, uv=corners / SIDE_M)
    for thing in room.things:
        MAKERS[thing.kind](_Corner(thing, room.wall_y_m, folder))


def disc(middle: tuple[float, float, float], radius: float, high: float, mat: Any) -> None:
    """A flat cylinder."""
    bpy.ops.mesh.primitive_cylinder_add(radius=radius, depth=high, location=middle, vertices=48)
    bpy.context.object.data.materials.append(mat)


def card_stand(spec: CardSpec, top: Floats, mat: Any) -> None:
    """What holds the card up but a pole with a square foot: a round foot, a tripod, or a thread from above. `top` (3,): behind the card."""
    x, y, z = (float(q) for q in top)
    if spec.stand == "none":
        _rod((x, y, z + 0.1), (x, y, 2.7), 0.001, mat)
        return
    _rod((x, y, 0.012 if spec.stand == "round" else 0.45), (x, y, z), 0.009, mat)
    if spec.stand == "round":
        disc((x, y, 0.008), 0.14, 0.016, mat)
        return
    for angle in np.radians([90, 210, 330]) + np.radians(spec.yaw_deg):
        _rod((x + 0.32 * float(np.cos(angle)), y + 0.32 * float(np.sin(angle)), 0.0), (x, y, 0.6), 0.009, mat)


def _rod(a: tuple[float, float, float], b: tuple[float, float, float], radius: float, mat: Any) -> None:
    way, angle = np.array(b) - a, np.linspace(0, 2 * np.pi, 12, endpoint=False)
    across = np.cross(way, [0.3, 1.0, 0.1])
    across /= np.linalg.norm(across)
    other = np.cross(way / np.linalg.norm(way), across)
    ring = radius * (np.cos(angle)[:, None] * across + np.sin(angle)[:, None] * other)
    k, n = np.arange(12), (np.arange(12) + 1) % 12
    mesh_object("rod", np.concatenate([ring + a, ring + b]), np.stack([k, n, n + 12, k + 12], 1), [mat])
