"""Pattern pieces as meshes that can be sewn: cut in triangles on paper, their edges named, points that are sewn together made one.

All pieces that are made from one block by altering it share one mesh: an altered piece keeps the triangles and moves their corners, so that
two drapes differ by the alteration alone. Millimetres on paper, x to the side, y down.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.spatial import Delaunay
from shapely import Polygon, contains_xy
from shapely import distance as distance_to
from shapely import points as as_points

from fitcheck.pattern.lines import path_length
from fitcheck.pattern.piece import Piece, Pieces, Seam, Sewn

from ..mesh import Floats, Ints, edge_list

STEP_MM = 14.0  # between points: a sagitta of 0.4 mm on a curve of 60
CLEAR_OF_BORDER = 0.62  # of a step: inner points nearer than this would make slivers
LEAST_AREA = 0.05  # of a triangle's area on the block: less is a triangle turned over
UNTANGLING = 200  # rounds
Edge = tuple[str, str]  # piece, edge


@dataclass(frozen=True)
class Cloth:
    """A mesh for all pieces made from one block.

    Attributes
    ----------
    tris : ndarray of int, shape (m, 3)
        Of points on paper.
    sewn_to : ndarray of int, shape (k,)
        Which point of the garment each point on paper is once sewn.
    piece_of : ndarray of int, shape (k,)
        Which piece (by `names`) a point lies on.
    border : dict of (piece, edge) to ndarray of int
        Points on paper along each edge, in its own direction.
    inner : dict of str to (points, weights)
        Points inside each piece, and how they follow its outline.
    """

    names: tuple[str, ...]
    sewn: Sewn
    counts: Mapping[Edge, tuple[int, ...]]
    tris: Ints
    sewn_to: Ints
    piece_of: Ints
    border: Mapping[Edge, Ints]
    inner: Mapping[str, tuple[Ints, Floats]]
    flat: Floats

    @property
    def size(self) -> int:
        """Number of points of the garment."""
        return int(self.sewn_to.max()) + 1

    @property
    def sewn_tris(self) -> Ints:
        """Triangles of the garment's points."""
        return np.asarray(self.sewn_to[self.tris])

    def along(self, piece: str, edge: str) -> Ints:
        """Points of the garment along an edge."""
        return np.asarray(self.sewn_to[self.border[piece, edge]])

    def on_paper(self, pieces: Pieces) -> Floats:
        """Where every point lies on these pieces, shape (k, 2).

        Raises
        ------
        ValueError
            Where a piece is so altered that triangles would turn over.
        """
        placed = self.flat.copy()
        lengths = _stations(pieces, self.names, self.sewn, self.counts)
        for name in self.names:
            for edge, points in pieces[name].edges.items():
                placed[self.border[name, edge]] = _at(points, lengths[name, edge])
        for name in self.names:
            inside, weights = self.inner[name]
            rim = _rim(self.border, pieces[name])
            placed[inside] = self.flat[inside] + weights @ (placed[rim] - self.flat[rim])
        return self._untangled(placed)

    def _untangled(self, placed: Floats) -> Floats:
        """Inner points of triangles that have turned over are moved, least of all, until each has a part of its area again."""
        free = np.zeros(len(placed), bool)
        free[np.concatenate([points for points, _ in self.inner.values()])] = True
        least = 2 * LEAST_AREA * doubled_areas(self.flat, self.tris)
        for _ in range(UNTANGLING):
            lacking = least - doubled_areas(placed, self.tris)
            turned = self.tris[lacking > least / 2]
            if not len(turned):
                return placed
            for t, lack in zip(self.tris[lacking > 0], lacking[lacking > 0], strict=True):
                opposite = placed[np.roll(t, -2)] - placed[np.roll(t, -1)]
                grows = np.column_stack([-opposite[:, 1], opposite[:, 0]]) * free[t, None]
                placed[t] += grows * lack / max(float((grows**2).sum()), 1e-9)
        raise ValueError(f"{len(turned)} triangles of the altered pieces turn over, near {placed[turned].mean(1).round()}")


@dataclass(frozen=True)
class Worn:
    """One garment on one body: its pieces, where the mesh lies on them (k, 2), and which figure."""

    pieces: Mapping[str, Piece]
    flat: Floats
    figure: int


def cut(pieces: Pieces, sewn: Sewn, step: float = STEP_MM, shift: tuple[float, float] = (0.0, 0.0)) -> Cloth:
    """Mesh the pieces and join what is sewn.

    Parameters
    ----------
    pieces : mapping of str to Piece
        Of the block; seams that name others are left out.
    step : float
        Between points, mm.
    shift : pair of float
        Of the lattice of inner points, in steps: another mesh of the same pieces.
    """
    names = tuple(pieces)
    sewn = tuple(pair for pair in sewn if all(piece in pieces for side in pair for piece, _ in side))
    counts = _counts(pieces, sewn, step)
    lengths = _stations(pieces, names, sewn, counts)
    flat: list[Floats] = []
    tris: list[Ints] = []
    border: dict[Edge, Ints] = {}
    inner: dict[str, tuple[Ints, Floats]] = {}
    start = 0
    for name in names:
        rim, edges = _outline(pieces[name], {edge: lengths[name, edge] for edge in pieces[name].edges})
        points, triangles = _meshed(rim, step, shift)
        for edge, at in edges.items():
            border[name, edge] = at + start
        inside = np.arange(len(rim), len(points))
        inner[name] = (inside + start, _spreading(points, triangles, len(rim)))
        flat.append(points)
        tris.append(triangles + start)
        start += len(points)
    sewn_to = _joined(start, sewn, border)
    piece_of = np.repeat(np.arange(len(names)), [len(points) for points in flat])
    return Cloth(names, sewn, counts, np.concatenate(tris), sewn_to, piece_of, border, inner, np.concatenate(flat))


def doubled_areas(flat: Floats, tris: Ints) -> Floats:
    """Twice the signed area of each triangle, shape (m,)."""
    a, b = flat[tris[:, 1]] - flat[tris[:, 0]], flat[tris[:, 2]] - flat[tris[:, 0]]
    return np.asarray(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])


def _at(points: Floats, along: Floats) -> Floats:
    steps = np.r_[0.0, np.cumsum(np.hypot(*np.diff(points, axis=0).T))]
    return np.column_stack([np.interp(along, steps, points[:, k]) for k in (0, 1)])


def _breaks(pieces: Pieces, one: Seam, two: Seam) -> Floats:
    """Shares of a seam's length at which an edge of either side ends, 0 and 1 among them."""
    found = [0.0, 1.0]
    for side in (one, two):
        lengths = np.cumsum([path_length(pieces[piece].edges[edge]) for piece, edge in side])
        found += list(lengths[:-1] / lengths[-1])
    return np.array(sorted(found))


def _counts(pieces: Pieces, sewn: Sewn, step: float) -> dict[Edge, tuple[int, ...]]:
    """Points between the breaks: of every seam (by its first edge), and of every edge that is sewn to nothing."""
    found: dict[Edge, tuple[int, ...]] = {}
    for one, two in sewn:
        long = max(sum(path_length(pieces[piece].edges[edge]) for piece, edge in side) for side in (one, two))
        found[one[0]] = tuple(max(1, round(long * share / step)) for share in np.diff(_breaks(pieces, one, two)))
    in_seams = {part for pair in sewn for side in pair for part in side}
    for name, piece in pieces.items():
        for edge, points in piece.edges.items():
            if (name, edge) not in in_seams:
                found[name, edge] = (max(1, round(path_length(points) / step)),)
    return found


def _stations(pieces: Pieces, names: Sequence[str], sewn: Sewn, counts: Mapping[Edge, tuple[int, ...]]) -> dict[Edge, Floats]:
    """How far along each edge its points lie, mm."""
    found: dict[Edge, Floats] = {}
    for one, two in sewn:
        breaks = _breaks(pieces, one, two)
        parts = [np.linspace(a, b, n + 1)[:-1] for a, b, n in zip(breaks[:-1], breaks[1:], counts[one[0]], strict=True)]
        shares = np.concatenate([*parts, [1.0]])
        for side in (one, two):
            passed, total = 0.0, sum(path_length(pieces[piece].edges[edge]) for piece, edge in side)
            for piece, edge in side:
                long = path_length(pieces[piece].edges[edge])
                low, high = passed / total, (passed + long) / total
                own = shares[(shares > low - 1e-9) & (shares < high + 1e-9)]
                along = np.clip((own - low) / (high - low), 0, 1) * long
                found[piece, edge] = long - along[::-1] if side is two and _runs_against(one, two) else along
                passed += long
    for name in names:
        for edge, points in pieces[name].edges.items():
            if (name, edge) not in found:
                found[name, edge] = np.linspace(0, path_length(points), counts[name, edge][0] + 1)
    return found


def _runs_against(one: Seam, two: Seam) -> bool:
    """Edges run round their piece, so the legs of a dart, and the two sides of a princess seam, run opposite ways."""
    return one[0][0] == two[0][0] or "princess" in one[0][1]


def _outline(piece: Piece, lengths: Mapping[str, Floats]) -> tuple[Floats, dict[str, Ints]]:
    """Points round a piece, shape (N, 2), and which of them lie along each edge."""
    points: list[Floats] = []
    edges: dict[str, Ints] = {}
    start, total = 0, sum(len(along) - 1 for along in lengths.values())
    for edge, along in lengths.items():
        points.append(_at(piece.edges[edge], along)[:-1])
        edges[edge] = np.arange(start, start + len(along)) % total
        start += len(along) - 1
    return np.concatenate(points), edges


def _rim(border: Mapping[Edge, Ints], piece: Piece) -> Ints:
    return np.concatenate([border[piece.name, edge][:-1] for edge in piece.edges])


def _meshed(rim: Floats, step: float, shift: tuple[float, float]) -> tuple[Floats, Ints]:
    """Points (the rim first) and triangles of one piece."""
    shape = Polygon(rim)
    low_x, low_y, high_x, high_y = shape.bounds
    rows = np.arange(low_y + shift[1] * step, high_y, step * np.sqrt(3) / 2)
    columns = [np.arange(low_x + step * (shift[0] + k % 2 / 2), high_x, step) for k in range(len(rows))]
    grid = np.column_stack([np.concatenate(columns), np.repeat(rows, [len(x) for x in columns])])
    grid = grid[contains_xy(shape, *grid.T)]
    grid = grid[distance_to(shape.exterior, as_points(grid)) > CLEAR_OF_BORDER * step]
    points = np.concatenate([rim, grid])
    tris = Delaunay(points).simplices
    tris = tris[contains_xy(shape, *points[tris].mean(1).T)]
    area = doubled_areas(points, tris)
    tris = np.where((area < 0)[:, None], tris[:, ::-1], tris)[np.abs(area) > 1e-3 * step**2]
    sides = {frozenset((int(a), int(b))) for a, b in edge_list(tris)}
    missing = [i for i in range(len(rim)) if frozenset((i, (i + 1) % len(rim))) not in sides]
    if missing:
        raise ValueError(f"the mesh misses {len(missing)} stretches of the outline; choose a smaller step")
    return points, tris


def _spreading(points: Floats, tris: Ints, rim: int) -> Floats:
    """Weights (inner, rim) that carry moves of the rim smoothly inwards (harmonic: Pinkall & Polthier 1993)."""
    n = len(points)
    stiffness = np.zeros((n, n))
    for k in range(3):
        a, b, c = tris[:, k], tris[:, (k + 1) % 3], tris[:, (k + 2) % 3]
        u, v = points[a] - points[c], points[b] - points[c]
        cotangent = (u * v).sum(1) / np.abs(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0])
        np.add.at(stiffness, (a, b), -cotangent / 2)
        np.add.at(stiffness, (b, a), -cotangent / 2)
    np.fill_diagonal(stiffness, -stiffness.sum(1))
    return np.asarray(np.linalg.solve(stiffness[rim:, rim:], -stiffness[rim:, :rim]))


def _joined(k: int, sewn: Sewn, border: Mapping[Edge, Ints]) -> Ints:
    root = np.arange(k)

    def find(i: int) -> int:
        while root[i] != i:
            i = int(root[i])
        return i

    for one, two in sewn:
        first, second = (_chain(side, border) for side in (one, two))
        if _runs_against(one, two):
            second = second[::-1]
        for a, b in zip(first, second, strict=True):
            low, high = sorted((find(int(a)), find(int(b))))
            root[high] = low
    tops = np.array([find(i) for i in range(k)])
    return np.unique(tops, return_inverse=True)[1]


def _chain(side: Seam, border: Mapping[Edge, Ints]) -> Ints:
    parts = [border[part] for part in side]
    return np.concatenate([*(part[:-1] for part in parts[:-1]), parts[-1]])
