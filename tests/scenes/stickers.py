"""Stickers on the wearer: square point markers, pointer markers, plain round dots. Subject frame, metres."""

from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import numpy as np

from . import prints
from .blender import material, mesh_object, picture_material, ribbon
from .mesh import Floats, unit
from .placed import Sticker
from .scene import Draped
from .spec import Rgb, Spec, base_name
from .subject import Subject
from .various.parts import Stuck

DOTS: dict[str, Rgb] = {"L": (0.02, 0.55, 0.85), "R": (0.95, 0.55, 0.02), "": (0.95, 0.02, 0.25)}
# from the named point to its pointer's centre, for the wearer's left; the other points keep centred markers
POINTER_AWAY = {
    "shoulder_point": (0.45, 0.0, -0.9),
    "side_neck": (-0.2, 0.0, 1.0),
    "back_neck": (0.0, 0.0, -1.0),
    "bust_point": (0.0, 0.0, 1.0),
}
ABOVE_M, REACH_M = 0.05, 0.09  # rays begin that far above the point and look that far down
THICK_M = 0.0028
GRID, RING = 9, 32


def place_stickers(subject: Subject, spec: Spec, d: Draped, folder: Path) -> dict[str, Sticker]:
    """Put stickers on the body landmarks, on top of the cloth; by landmark name. Pictures are written into `folder`."""
    out: dict[str, Sticker] = {}
    for name, number in prints.MARKER_IDS.items():
        p, n = d.lm[name], d.normals[name]
        if spec.markers == "none" or name in spec.no_marker:
            continue
        if spec.markers == "dots":
            side = name[-1] if base_name(name) != name else ""
            out[name] = _dot(subject, name, p, n, DOTS[side])
        elif spec.markers == "pointer" and base_name(name) in POINTER_AWAY:
            out[name] = _pointer(subject, name, p, number + prints.POINTER_ID_STEP, _Making(spec, folder))
        else:
            up = np.array([0, 0, 1.0]) if abs(n[2]) < 0.85 else np.array([0, 1.0, 0])
            out[name] = _square(subject, name, p, n, _crooked(up, n, spec, number), number, _Making(spec, folder))[0]
    return out


class _Making(NamedTuple):
    """How the stickers are put on, and where their pictures go."""

    spec: Spec
    folder: Path


def _crooked(up: Floats, n: Floats, spec: Spec, number: int) -> Floats:
    """The upward direction of a sticker that is put on by hand."""
    angle = np.radians(np.random.default_rng(spec.seed + number).normal(0, 1) * spec.stuck.turn_sd_deg)
    up = unit(up - (up @ n) * n)
    return np.asarray(up * np.cos(angle) + np.cross(n, up) * np.sin(angle))


def _relief(stuck: Stuck, size: float, seed: int) -> Callable[[Floats], Floats]:
    """How high a creased or peeling sticker stands off at (right, up) offsets (k, 2)."""
    random = np.random.default_rng(seed)
    creased, peels = random.uniform(size=2) < stuck.share
    turn, aside = random.uniform(0, np.pi), random.uniform(-0.25, 0.25) * size
    corner = random.choice([-1, 1], 2) * size / 2

    def high(q: Floats) -> Floats:
        from_crease = np.abs(q @ [np.cos(turn), np.sin(turn)] - aside)
        from_corner = np.linalg.norm(q - corner, axis=1)
        ridge = np.clip(1 - from_crease / (0.3 * size), 0, 1) * stuck.crease * creased
        return np.asarray(ridge + np.clip(1 - from_corner / (0.75 * size), 0, 1) ** 2 * stuck.peel * peels) / 1000

    return high


def _paper(subject: Subject, p: Floats, n: Floats, up: Floats, size: float) -> Callable[[Floats], Floats]:
    """Stiff paper of that size over p, bent onto the outermost surface: its points from (right, up) offsets (k, 2)."""
    up = unit(up - (up @ n) * n)
    right = np.cross(up, n)
    uv = _grid() * size
    depth = np.array([subject.depth_below(p + right * a + up * b + n * ABOVE_M, -n, REACH_M) for a, b in uv])

    def basis(q: Floats) -> Floats:
        return np.stack([np.ones(len(q)), q[:, 0], q[:, 1], q[:, 0] ** 2, q[:, 0] * q[:, 1], q[:, 1] ** 2], 1)

    ok = np.isfinite(depth)
    for _ in range(4):  # a smooth bend, ignoring steps at cloth edges
        c = np.linalg.lstsq(basis(uv[ok]), depth[ok], rcond=None)[0]
        misfit = depth - basis(uv) @ c
        ok = np.isfinite(depth) & (np.abs(misfit) < max(0.0025, 2 * np.nanmedian(np.abs(misfit))))
    bends, axes = np.linalg.eigh([[2 * c[3], c[4]], [c[4], 2 * c[5]]])
    h = axes @ np.diag(np.clip(bends, 0, None)) @ axes.T  # paper bends over, not into hollows
    c = np.r_[c[:3], h[0, 0] / 2, h[0, 1], h[1, 1] / 2]
    misfit = depth - basis(uv) @ c
    lift = ABOVE_M + THICK_M + max(0.0, float(np.percentile(-misfit[ok], 97)))
    return lambda q: np.asarray(p + q[:, :1] * right + q[:, 1:] * up + n * (lift - basis(q) @ c)[:, None])


def _grid() -> Floats:
    """(right, up) in -0.5..0.5, rows from the top."""
    g = np.linspace(-0.5, 0.5, GRID)
    return np.stack(np.meshgrid(g, -g), -1).reshape(-1, 2)


def _square(
    subject: Subject, name: str, p: Floats, n: Floats, up: Floats, number: int, making: _Making
) -> tuple[Sticker, Callable[[Floats], Floats]]:
    size, half = subject.print_share * prints.STICKER / 1000, subject.print_share * prints.POINT_MARKER / 2000
    flat, relief = _paper(subject, p, n, up, size), _relief(making.spec.stuck, size, making.spec.seed + number)

    def put(q: Floats) -> Floats:
        return np.asarray(flat(q) + n * relief(q)[:, None])

    picture = making.folder / f"marker_{number}.png"
    prints.point_marker(picture, number)
    cells = [(i * GRID + j, (i + 1) * GRID + j, (i + 1) * GRID + j + 1, i * GRID + j + 1) for i in range(GRID - 1) for j in range(GRID - 1)]
    paper = picture_material("marker_" + name, picture)
    subject.objects.append(mesh_object("marker_" + name, put(_grid() * size), cells, [paper], uv=_grid() + 0.5))
    corners = put(np.array([[-half, half], [half, half], [half, -half], [-half, -half]]))
    return Sticker(number, put(np.zeros((1, 2)))[0], corners, n, prints.STICKER / prints.POINT_MARKER), put


def _dot(subject: Subject, name: str, p: Floats, n: Floats, rgb: Rgb) -> Sticker:
    size = prints.DOT / 1000
    put = _paper(subject, p, n, np.array([0, 0, 1.0]) if abs(n[2]) < 0.85 else np.array([0, 1.0, 0]), size)
    t = np.linspace(0, 2 * np.pi, RING, endpoint=False)
    ring = np.stack([np.cos(t), np.sin(t)], 1) * size / 2
    faces: list[tuple[int, ...]] = []
    for i in range(RING):
        j = (i + 1) % RING
        faces += [(0, 1 + i, 1 + j), (1 + i, 1 + RING + i, 1 + RING + j), (1 + i, 1 + RING + j, 1 + j)]
    v = put(np.concatenate([[[0, 0]], ring * 0.5, ring]))
    subject.objects.append(mesh_object("dot_" + name, v, faces, [material("dot_" + name, rgb, 0.5)]))
    return Sticker(None, put(np.zeros((1, 2)))[0], put(ring[:: RING // 8]), n, 1.0)


def _pointer(subject: Subject, name: str, p: Floats, number: int, making: _Making) -> Sticker:
    """Its arrow's tip touches the body point p."""
    x, y, z = POINTER_AWAY[base_name(name)]
    away = unit(np.array([-x if name.endswith("_R") else x, y, z]))
    centre, n = subject.outermost(p + away * subject.print_share * prints.POINTER_REACH / 1000)
    sticker, put = _square(subject, name, centre, n, p - centre, number, making)
    _arrow(subject, name, put(np.array([[0, subject.print_share * prints.STICKER / 2000]]))[0], p)
    face = np.cross(sticker.corners[1] - sticker.corners[0], sticker.corners[0] - sticker.corners[3])
    return Sticker(number, sticker.centre, sticker.corners, unit(face), sticker.border)


def _arrow(subject: Subject, name: str, start: Floats, tip: Floats) -> None:
    """A black arrow lying on the outermost surface."""
    line = [subject.outermost(start + (tip - start) * share) for share in np.linspace(0, 1, 9)]
    p, n = (np.stack(part) for part in zip(*line, strict=True))
    black = material("arrow_" + name, (0.01, 0.01, 0.01), 0.6)
    subject.objects.append(ribbon("shaft_" + name, p[:-1], n[:-1], 0.0022, 0.0025, black))
    along = unit(p[-1] - p[-3])
    side, base = np.cross(n[-1], along) * 0.004, p[-1] - along * 0.008
    head = np.stack([base - side, base + side, p[-1]]) + n[-1] * 0.0026
    subject.objects.append(mesh_object("head_" + name, head, [(0, 1, 2)], [black]))
