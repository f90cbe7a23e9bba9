"""A close-fitting sleeveless shell cut on a reference body, in one piece. Subject frame of the reference body, metres."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import scipy.sparse as sp
from scipy.spatial import cKDTree

from . import mesh
from .body import Body
from .mesh import Floats, Ints, Map
from .spec import Letter


class Shell(NamedTuple):
    """Map from the body's vertices, triangles, and the shape it was cut to (n, 3)."""

    s: Map
    tris: Ints
    rest: Floats


def cut_shell(body: Body, v: Floats, quads: Ints, skin_weights: Floats, lm: dict[str, Floats], ease: float, refine: int) -> Shell:
    """Copy the torso skin, cut neckline, armholes and hem, and relax it to a taut membrane `ease` outside the body.

    Parameters
    ----------
    v, quads, skin_weights : ndarray
        Of the subdivided reference body.
    lm : dict
        Landmarks of that body.
    refine : int
        Times the mesh is made finer.
    """
    heads, hip_z = body.heads, body.heads["upperleg01.L"][2]
    used = np.zeros(len(v), bool)
    used[np.unique(quads)] = True
    keep = (v[:, 2] > hip_z - 0.10) & (body.arm_weight(skin_weights) < 0.97) & (v[:, 2] < heads["neck02"][2] + 0.02) & used
    q, s = quads[keep[quads].all(1)], sp.identity(len(v), format="csr")
    for _ in range(refine):
        finer, q = mesh.subdivide(q, s.shape[0], smooth=False)
        s = (finer @ s).tocsr()
    s, tris = mesh.largest_part(*mesh.compact(s, mesh.triangles(q)))
    s, tris = mesh.clip(s, tris, hip_z - 0.035 - (s @ v)[:, 2])  # hem
    s, tris = _cut_neckline(s, tris, v, lm)
    for side, sign in (("L", 1), ("R", -1)):
        s, tris = _cut_armhole(s, tris, v, lm, heads["upperarm01." + side], side, sign)
    return Shell(s, tris, _relaxed(s @ v, tris, mesh.Surface(v, quads), ease, hip_z))


def _cut_neckline(s: Map, tris: Ints, v: Floats, lm: dict[str, Floats]) -> tuple[Map, Ints]:
    """A round neck, 35 mm below the pit of the neck and 12 mm below C7."""
    p, front, back, side = s @ v, lm["front_neck"], lm["back_neck"], lm["side_neck_L"]
    a = np.clip((p[:, 1] - front[1]) / (back[1] - front[1]), -0.6, 1.2)
    plane = (front[2] - 0.035) * (1 - a) + (back[2] - 0.012) * a
    radius = max(0.066, abs(side[0]) + 0.010)
    g = np.minimum(p[:, 2] - plane, radius - np.hypot(p[:, 0], (p[:, 1] - side[1]) / 1.35))
    return mesh.largest_part(*mesh.clip(s, tris, g))


def _cut_armhole(s: Map, tris: Ints, v: Floats, lm: dict[str, Floats], joint: Floats, side: str, sign: int) -> tuple[Map, Ints]:
    """From the shoulder point, hollowed by 18 mm, to 12 mm below the underarm point."""
    p, tip, underarm = s @ v, lm["shoulder_point_" + side], lm["underarm_" + side]
    top, bottom = (abs(tip[0]), tip[2]), (abs(joint[0]) - 0.018, min(joint[2] - 0.13, underarm[2] - 0.012))
    t = np.clip((top[1] - p[:, 2]) / (top[1] - bottom[1]), -0.3, 1)
    edge = top[0] * (1 - t) + bottom[0] * t - 0.018 * np.sin(np.pi * np.clip(t, 0, 1))
    return mesh.largest_part(*mesh.clip(s, tris, np.minimum(sign * p[:, 0] - edge, p[:, 2] - bottom[1])))


def _relaxed(skin: Floats, tris: Ints, body: mesh.Surface, ease: float, hip_z: float, steps: int = 500) -> Floats:
    """The taut membrane: every vertex drawn to the mean of its neighbours, kept off the body; edges keep their place after 20 steps."""
    x = skin + ease * mesh.normals(skin, tris)
    start, n = x.copy(), len(x)
    rim = mesh.boundary_edges(tris)
    inside, along_rim = mesh.averaging(mesh.adjacency(n, tris)), mesh.averaging(mesh.adjacency(n, rim))
    edge = np.zeros(n, bool)
    edge[np.unique(rim)] = True
    hem = edge & (x[:, 2] < hip_z)
    for step in range(steps):
        y, on_rim = 0.4 * x + 0.6 * (inside @ x), 0.4 * x + 0.6 * (along_rim @ x)
        y[edge] = on_rim[edge]
        y[hem, 2] = start[hem, 2]
        if step > 20:
            y[edge & ~hem] = x[edge & ~hem]
        x = body.push(y, ease)
    return x


def open_front(shell: Shell, pins: Sequence[float]) -> Shell:
    """The shell cut open along its centre front (x = 0); it stays joined at the heights `pins` (m)."""
    rest = shell.rest
    n_body, middle_y = shell.s.shape[1], np.median(rest[:, 1])
    both = sp.hstack([shell.s, sp.csr_matrix(rest)]).tocsr()
    x = np.where(np.abs(rest[:, 0]) < 5e-4, 5e-4, rest[:, 0])
    (s_left, t_left), (s_right, t_right) = (mesh.clip(both, shell.tris, sign * x) for sign in (1, -1))
    s, tris = sp.vstack([s_left, s_right]).tocsr(), np.concatenate([t_left, t_right + s_left.shape[0]])
    place = s[:, n_body:].toarray()
    root = np.arange(len(place))
    for i, j in cKDTree(place).query_pairs(2e-6):  # join the halves again at the back and at the pins
        front = abs(place[i, 0]) < 0.006 and place[i, 1] < middle_y
        if not front or any(abs(place[i, 2] - z) < 0.007 for z in pins):
            root[max(root[i], root[j])] = min(root[i], root[j])
    for _ in range(4):
        root = root[root]
    tris = root[tris]
    tris = tris[(tris[:, 0] != tris[:, 1]) & (tris[:, 1] != tris[:, 2]) & (tris[:, 0] != tris[:, 2])]
    used, renumbered = np.unique(tris, return_inverse=True)
    return Shell(s[used][:, :n_body].tocsr(), renumbered.reshape(-1, 3), place[used])


def half_of(x: Floats, tris: Ints, side: Letter, front: Floats, back: Floats) -> tuple[Map, Ints]:
    """One side of a hung shell, cut along the centre front and back: a map from its vertices, and triangles.

    Parameters
    ----------
    x : ndarray, shape (n, 3)
        The shell on its body.
    front, back : ndarray, shape (n,)
        For each vertex's height, how far from the middle the edge lies towards that side, m; below 0 beyond the middle.
    """
    is_front = x[:, 1] < np.median(x[:, 1])
    inwards = x[:, 0] * (1 if side == "L" else -1) - np.where(is_front, front, back)
    return mesh.largest_part(*mesh.clip(sp.identity(len(x), format="csr"), tris, -inwards))
