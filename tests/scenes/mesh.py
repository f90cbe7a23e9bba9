"""Triangle and quad meshes.

Lengths are metres; frames are the caller's. A "map" is a sparse matrix S with positions = S @ vertices, so that a surface or a line
drawn on one body can be evaluated on any other body (or draped shape) of the same topology.
"""

import math
from typing import Any

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray
from scipy.spatial import cKDTree

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
Map = Any  # scipy.sparse.csr_matrix (k, n); scipy carries no types


def rotation(axis: str, deg: float) -> Floats:
    """Rotation (3, 3) about the axis "x", "y" or "z"."""
    c, s = math.cos(math.radians(deg)), math.sin(math.radians(deg))
    return {
        "x": np.array([[1, 0, 0], [0, c, -s], [0, s, c]]),
        "y": np.array([[c, 0, s], [0, 1, 0], [-s, 0, c]]),
        "z": np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]]),
    }[axis]


def unit(vectors: Floats) -> Floats:
    """Vectors (..., 3) at length 1; zero vectors stay zero."""
    return np.asarray(vectors / np.maximum(np.linalg.norm(vectors, axis=-1, keepdims=True), 1e-12))


def subdivide(quads: Ints, n: int, smooth: bool = True) -> tuple[Map, Ints]:
    """One step of Catmull-Clark subdivision (Catmull & Clark 1978), or a linear one.

    Parameters
    ----------
    quads : ndarray of int, shape (m, 4)
    n : int
        Number of vertices.

    Returns
    -------
    map (n_new, n), ndarray of int (4 m, 4)
    """
    m = len(quads)
    edges = np.sort(np.stack([quads, np.roll(quads, -1, 1)], -1).reshape(-1, 2), 1)
    edge_ends, edge_of = np.unique(edges, axis=0, return_inverse=True)
    edge_of = edge_of.reshape(m, 4)
    n_edges, rows = len(edge_ends), np.repeat(np.arange(m), 4)
    face = sp.csr_matrix((np.full(m * 4, 0.25), (rows, quads.ravel())), (m, n))
    middle = sp.csr_matrix((np.full(n_edges * 2, 0.5), (np.repeat(np.arange(n_edges), 2), edge_ends.ravel())), (n_edges, n))
    vertex, edge = sp.identity(n), middle
    if smooth:
        inner = np.bincount(edge_of.ravel(), minlength=n_edges) == 2
        edge_face = sp.csr_matrix((np.ones(m * 4), (edge_of.ravel(), rows)), (n_edges, m))
        edge = sp.diags(np.where(inner, 0.5, 1.0)) @ middle + sp.diags(np.where(inner, 0.25, 0.0)) @ (edge_face @ face)
        valence = np.bincount(edge_ends.ravel(), minlength=n).astype(float)
        faces = np.bincount(quads.ravel(), minlength=n).astype(float)
        border = np.zeros(n, bool)
        border[edge_ends[~inner].ravel()] = True
        alone = valence == 0
        k = np.where(alone, 1, valence)
        vertex_face = sp.csr_matrix((np.ones(m * 4), (quads.ravel(), rows)), (n, m))
        vertex_edge = sp.csr_matrix((np.ones(n_edges * 2), (edge_ends.ravel(), np.repeat(np.arange(n_edges), 2))), (n, n_edges))
        rim = np.flatnonzero(~inner)
        vertex_rim = sp.csr_matrix((np.ones(len(rim) * 2), (edge_ends[rim].ravel(), np.repeat(rim, 2))), (n, n_edges))
        inside = (~border & ~alone).astype(float)
        vertex = (
            sp.diags(inside / (k * np.where(faces > 0, faces, 1))) @ (vertex_face @ face)
            + sp.diags(inside * 2 / (k * k)) @ (vertex_edge @ middle)
            + sp.diags(inside * (k - 3) / k)
            + sp.diags(alone.astype(float))
            + sp.diags(border * 0.5)
            + sp.diags(border * 0.25) @ (vertex_rim @ middle)
        )
    centre, e = n + n_edges + np.arange(m), n + edge_of
    new = np.stack([np.stack([quads[:, q], e[:, q], centre, e[:, (q - 1) % 4]], 1) for q in range(4)], 1)
    return sp.vstack([vertex, edge, face]).tocsr(), new.reshape(-1, 4)


def triangles(quads: Ints) -> Ints:
    """Each quad as two triangles."""
    return np.concatenate([quads[:, [0, 1, 2]], quads[:, [0, 2, 3]]])


def normals(v: Floats, tris: Ints) -> Floats:
    """Unit vertex normals (n, 3), weighted by area."""
    face = np.cross(v[tris[:, 1]] - v[tris[:, 0]], v[tris[:, 2]] - v[tris[:, 0]])
    n = np.zeros_like(v)
    for k in range(3):
        np.add.at(n, tris[:, k], face)
    return unit(n)


def compact(s: Map, tris: Ints) -> tuple[Map, Ints]:
    """The map without unused rows."""
    used, renumbered = np.unique(tris, return_inverse=True)
    return s[used], renumbered.reshape(-1, 3)


def largest_part(s: Map, tris: Ints) -> tuple[Map, Ints]:
    """The largest connected part."""
    _, label = sp.csgraph.connected_components(adjacency(s.shape[0], tris), False)
    return compact(s, tris[label[tris[:, 0]] == np.bincount(label).argmax()])


def clip(s: Map, tris: Ints, g: Floats) -> tuple[Map, Ints]:
    """The part where g <= 0 (g per vertex), triangles cut at the zero crossing."""
    n = s.shape[0]
    g = np.where(np.abs(g) < 1e-6, -1e-6, g)
    inside = g <= 0
    new: dict[tuple[int, int], int] = {}
    rows: list[tuple[int, int, float]] = []
    extra: list[tuple[int, int, int]] = []

    def cut(a: int, b: int) -> int:
        key = (min(a, b), max(a, b))
        if key not in new:
            t = g[key[0]] / (g[key[0]] - g[key[1]])
            new[key] = n + len(rows)
            rows.append((*key, min(max(t, 0.02), 0.98)))  # no slivers
        return new[key]

    count = inside[tris].sum(1)
    for t in tris[(count == 1) | (count == 2)]:
        one_inside = inside[t].sum() == 1
        k = int(np.flatnonzero(inside[t] if one_inside else ~inside[t])[0])
        a, b, d = (int(t[(k + step) % 3]) for step in range(3))
        p, q = cut(a, b), cut(a, d)
        extra += [(a, p, q)] if one_inside else [(p, b, d), (p, d, q)]
    tris = np.concatenate([tris[count == 3], np.array(extra, int).reshape(-1, 3)])
    if rows:
        r = np.array(rows)
        columns = np.r_[r[:, 0], r[:, 1]].astype(int)
        add = sp.csr_matrix((np.r_[1 - r[:, 2], r[:, 2]], (np.tile(np.arange(len(r)), 2), columns)), (len(r), n))
        s = sp.vstack([s, add @ s]).tocsr()
    return compact(s, tris)


def edge_list(tris: Ints) -> Ints:
    """Edges (3 m, 2) as the triangles run, each as often as triangles have it."""
    return np.concatenate([tris[:, [0, 1]], tris[:, [1, 2]], tris[:, [2, 0]]])


def boundary_edges(tris: Ints) -> Ints:
    """Edges (k, 2) of one triangle only."""
    edges, count = np.unique(np.sort(edge_list(tris), 1), axis=0, return_counts=True)
    return np.asarray(edges[count == 1])


def adjacency(n: int, edges_or_tris: Ints) -> Map:
    """Symmetric matrix (n, n), 1 between joined vertices; from edges (k, 2) or triangles (m, 3)."""
    e = edges_or_tris if edges_or_tris.shape[1] == 2 else edge_list(edges_or_tris)
    a = sp.csr_matrix((np.ones(len(e) * 2), (np.r_[e[:, 0], e[:, 1]], np.r_[e[:, 1], e[:, 0]])), (n, n))
    a.data[:] = 1
    return a


def averaging(a: Map) -> Map:
    """Matrix that replaces every vertex by the mean of its neighbours."""
    return sp.diags(1 / np.maximum(np.asarray(a.sum(1)).ravel(), 1)) @ a


class Surface:
    """A closed body that points are pushed out of, along the normal of the nearest vertex or face centre."""

    def __init__(self, v: Floats, quads: Ints) -> None:
        t = triangles(quads)
        face = unit(np.cross(v[t[:, 1]] - v[t[:, 0]], v[t[:, 2]] - v[t[:, 0]]))
        self._points = np.concatenate([v, v[t].mean(1)])
        self._normals = np.concatenate([normals(v, t), face])
        self._tree = cKDTree(self._points)

    def push(self, x: Floats, offset: float) -> Floats:
        """Points (n, 3); those nearer than `offset` are moved outwards to that distance."""
        _, i = self._tree.query(x)
        d = ((x - self._points[i]) * self._normals[i]).sum(1)
        return np.asarray(x + np.maximum(offset - d, 0)[:, None] * self._normals[i])
