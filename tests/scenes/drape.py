"""Draping: cloth by extended position-based dynamics with small steps (XPBD; Macklin, Mueller & Chentanez 2016), edges coloured so that
each group is solved at once. Metres, seconds, kg.

The body morphs from the reference to the subject while the garment, with the lengths it was cut to, is carried by contact, friction and
gravity. It is nearly inextensible, like fitting tissue.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from . import mesh
from .mesh import Bools, Floats, Ints

STEP_S = 1 / 600
GRAVITY, DAMPING, DENSITY = 0.6, 0.01, 0.06  # little gravity: tissue rests, it does not pull
BEND_COMPLIANCE = 2e-2  # m/N; edges do not stretch at all
GAP_M = 0.002
SPEED_LIMIT = 2.5
PIECES = 40  # the body's morph, in straight pieces


@dataclass(frozen=True)
class _Springs:
    """Springs of one colour: no two share a vertex."""

    a: Ints
    b: Ints
    rest: Floats
    share_a: Floats
    share_b: Floats

    def solve(self, x: Floats) -> None:
        """Move the ends so that every spring has its length."""
        d = x[self.a] - x[self.b]
        length = np.sqrt((d * d).sum(1))
        correction = ((length - self.rest) / np.maximum(length, 1e-9))[:, None] * d
        x[self.a] -= self.share_a * correction
        x[self.b] += self.share_b * correction


@dataclass(frozen=True)
class _Over:
    """The body under each vertex of the cloth: a point of it, its normal there, and how far it moves in this step."""

    surface: Floats
    normal: Floats
    step: Floats


def simulate(
    tris: Ints,
    rest: Floats,
    start: Floats,
    body: Callable[[float], Floats],
    quads: Ints,
    morph_steps: int = 0,
    settle_steps: int = 600,
    friction: float = 0.8,
    iterations: int = 2,
    held: Ints | None = None,
) -> Floats:
    """Drape.

    Parameters
    ----------
    tris : ndarray of int, shape (m, 3)
    rest, start : ndarray, shape (n, 3)
        The shape that gives the lengths, and where to begin.
    body : callable
        Share of the morph 0..1 -> vertices of the body.
    quads : ndarray of int
        Of the body.
    iterations : int
        Passes over the edges in every step.
    held : ndarray of int, optional
        Vertices that stay as far off the body as they begin, as under pins or tape; they slide against friction as any other.

    Returns
    -------
    ndarray, shape (n, 3)
    """
    edges, opposite = _edges_and_bends(tris)
    inverse_mass = _inverse_mass(tris, rest)
    stages = _springs(opposite, rest, inverse_mass, BEND_COMPLIANCE) + _springs(edges, rest, inverse_mass, 0.0) * iterations
    body_tris, used = mesh.triangles(quads), np.unique(quads)
    x, velocity, piece = start.copy(), np.zeros_like(start), -1
    lies, gap = np.zeros(len(x), bool), np.full(len(x), GAP_M)
    lies[[] if held is None else held] = True
    for step in range(morph_steps + settle_steps):
        share = min(1.0, step / morph_steps) if morph_steps else 1.0
        if int(share * PIECES) != piece:
            piece = int(share * PIECES)
            v_now, v_next = body(min(1.0, piece / PIECES)), body(min(1.0, (piece + 1) / PIECES))
            n_now, n_next = mesh.normals(v_now, body_tris), mesh.normals(v_next, body_tris)
            tree = cKDTree(v_now[used])
        within = share * PIECES - piece if share < 1 else 0.0
        if step % 8 == 0:
            near = used[tree.query(x)[1]]
        surface = v_now[near] * (1 - within) + v_next[near] * within
        normal = mesh.unit(n_now[near] * (1 - within) + n_next[near] * within)
        if step == 0:
            gap[lies] = np.maximum(((x - surface) * normal).sum(1), GAP_M)[lies]
        body_step = (v_next[near] - v_now[near]) * (PIECES / morph_steps if share < 1 else 0.0)
        velocity[:, 2] -= GRAVITY * STEP_S
        velocity *= 1 - DAMPING
        before = x.copy()
        x = x + velocity * STEP_S
        for springs in stages:
            springs.solve(x)
        _contact(x, before, _Over(surface, normal, body_step), friction, gap, lies)
        velocity = (x - before) / STEP_S
        velocity *= np.minimum(1, SPEED_LIMIT / np.maximum(np.linalg.norm(velocity, axis=1, keepdims=True), 1e-9))
    return x


def _contact(x: Floats, before: Floats, over: _Over, friction: float, gap: Floats, lies: Bools) -> None:
    """Push the cloth to `gap` before the body, what `lies` there also back to it, and let it slide against friction, in place."""
    depth = gap - ((x - over.surface) * over.normal).sum(1)
    j = (depth > 0) | lies
    if not j.any():
        return
    x[j] += depth[j, None] * over.normal[j]
    moved = x[j] - before[j] - over.step[j]
    slide = moved - (moved * over.normal[j]).sum(1, keepdims=True) * over.normal[j]
    length = np.linalg.norm(slide, axis=1, keepdims=True)
    x[j] -= slide * np.minimum(1.0, friction * np.maximum(np.abs(depth[j, None]), 2e-5) / np.maximum(length, 1e-12))


def _edges_and_bends(tris: Ints) -> tuple[Ints, Ints]:
    """Edges, and the pairs of vertices across each inner edge, which resist bending."""
    across: dict[tuple[int, int], list[int]] = {}
    for t in tris:
        for k in range(3):
            a, b, c = (int(t[(k + step) % 3]) for step in range(3))
            across.setdefault((min(a, b), max(a, b)), []).append(c)
    return np.array(list(across)), np.array([q for q in across.values() if len(q) == 2 and q[0] != q[1]])


def _inverse_mass(tris: Ints, rest: Floats) -> Floats:
    area = np.zeros(len(rest))
    face = np.linalg.norm(np.cross(rest[tris[:, 1]] - rest[tris[:, 0]], rest[tris[:, 2]] - rest[tris[:, 0]]), axis=1) / 6
    for k in range(3):
        np.add.at(area, tris[:, k], face)
    w = 1 / np.maximum(area * DENSITY, 1e-7)
    return np.asarray(np.minimum(w, np.median(w) * 4))  # slivers along cuts would fly


def _springs(pairs: Ints, rest: Floats, w: Floats, compliance: float) -> list[_Springs]:
    out = []
    for colour in _colours(pairs, len(rest)):
        a, b = pairs[colour].T
        total = w[a] + w[b] + compliance / STEP_S**2
        length = np.linalg.norm(rest[a] - rest[b], axis=1)
        out.append(_Springs(a, b, length, (w[a] / total)[:, None], (w[b] / total)[:, None]))
    return out


def _colours(pairs: Ints, n: int) -> list[Ints]:
    """Places of the pairs of each colour; greedy, each vertex's used colours kept as bits."""
    used, colour = [0] * n, np.empty(len(pairs), int)
    for k, (a, b) in enumerate(pairs):
        free = ~(used[a] | used[b])
        lowest = free & -free
        colour[k] = lowest.bit_length() - 1
        used[a] |= lowest
        used[b] |= lowest
    return [np.flatnonzero(colour == c) for c in range(colour.max() + 1)]


def strain(x: Floats, tris: Ints, rest: Floats) -> tuple[Floats, Floats]:
    """Principal strains per triangle, the larger and the smaller, without unit."""
    a1, a2 = rest[tris[:, 1]] - rest[tris[:, 0]], rest[tris[:, 2]] - rest[tris[:, 0]]
    u = mesh.unit(a1)
    w = np.cross(mesh.unit(np.cross(a1, a2)), u)
    flat = np.stack([np.stack([(a1 * u).sum(1), (a2 * u).sum(1)], 1), np.stack([(a1 * w).sum(1), (a2 * w).sum(1)], 1)], 1)
    worn = np.stack([x[tris[:, 1]] - x[tris[:, 0]], x[tris[:, 2]] - x[tris[:, 0]]], 2)
    gradient = worn @ np.linalg.pinv(flat)
    squares = np.linalg.eigvalsh(np.swapaxes(gradient, 1, 2) @ gradient)
    stretch = np.sqrt(np.maximum(squares, 0)) - 1
    return stretch[:, 1], stretch[:, 0]
