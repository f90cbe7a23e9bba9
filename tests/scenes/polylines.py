"""Lines on meshes: isolines, cut and resampled. A line map L (k, n) gives the line on any shape x of the mesh as L @ x."""

from collections.abc import Callable

import numpy as np
import scipy.sparse as sp

from .mesh import Bools, Floats, Ints, Map


def isoline(x: Floats, tris: Ints, g: Floats, mask: Callable[[Floats], Bools]) -> Map | None:
    """Longest polyline g = 0 (g per vertex) over the triangles whose centroids (m, 3) satisfy `mask`, as a line map.

    None where there is no such line.
    """
    g = np.where(np.abs(g) < 1e-7, 1e-7, g)
    above = g > 0
    count = above[tris].sum(1)
    link: dict[tuple[int, int], list[tuple[int, int]]] = {}
    for t in tris[(count > 0) & (count < 3) & mask(x[tris].mean(1))]:
        sides = zip(t, np.roll(t, -1), strict=True)
        one, two = ((int(min(a, b)), int(max(a, b))) for a, b in sides if above[a] != above[b])
        link.setdefault(one, []).append(two)
        link.setdefault(two, []).append(one)
    seen: set[tuple[int, int]] = set()
    best: list[tuple[int, int]] = []
    for start in sorted(link, key=lambda key: len(link[key])):  # ends of open lines first
        if start in seen:
            continue
        chain = [start]
        seen.add(start)
        while following := [key for key in link[chain[-1]] if key not in seen]:
            chain.append(following[0])
            seen.add(following[0])
        best = max(best, chain, key=len)
    if len(best) < 2:
        return None
    i, j = np.array(best).T
    t = g[i] / (g[i] - g[j])
    rows = np.arange(len(i))
    return sp.csr_matrix((np.r_[1 - t, t], (np.r_[rows, rows], np.r_[i, j])), (len(i), len(x)))


def trim(line: Map | None, x: Floats, h: Callable[[Floats], Floats]) -> Map | None:
    """The longest run of the line map where h(points) <= 0, cut exactly at the crossings."""
    if line is None:
        return None
    value = h(line @ x)
    runs: list[list[Map]] = []
    run: list[Map] = []
    for k in range(len(value)):
        if value[k] <= 0:
            if not run and k and value[k - 1] > 0:
                t = value[k] / (value[k] - value[k - 1])
                run.append(line[k] * (1 - t) + line[k - 1] * t)
            run.append(line[k])
        elif run:
            t = value[k - 1] / (value[k - 1] - value[k])
            runs.append([*run, line[k - 1] * (1 - t) + line[k] * t])
            run = []
    best = max([*runs, run], key=len)
    return sp.vstack(best).tocsr() if len(best) > 1 else None


def resample(p: Floats, step: float) -> Floats:
    """Polyline (n, d) resampled at about `step` (same unit), its ends kept."""
    along = np.r_[0, np.cumsum(np.linalg.norm(np.diff(p, axis=0), axis=1))]
    s = np.linspace(0, along[-1], max(2, round(along[-1] / step) + 1))
    return np.stack([np.interp(s, along, p[:, k]) for k in range(p.shape[1])], 1)


def value_at(p: Floats, axis: int, level: float, out: int, slack: float = 0.015) -> float | None:
    """Coordinate `out` where the polyline crosses p[axis] = level (their mean if it crosses more than once).

    The nearest vertex's where it misses by at most `slack`, else None.
    """
    a, o = p[:, axis] - level, p[:, out]
    k = np.flatnonzero(a[:-1] * a[1:] <= 0)
    if len(k):
        t = a[k] / np.where(np.abs(a[k] - a[k + 1]) < 1e-12, 1, a[k] - a[k + 1])
        return float(np.mean(o[k] * (1 - t) + o[k + 1] * t))
    nearest = int(np.abs(a).argmin())
    return float(o[nearest]) if abs(a[nearest]) <= slack else None
