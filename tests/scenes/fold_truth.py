"""Better fold truth for the draped scenes: crest and valley lines of the cloth relative to the shape it was cut to.

Method. The relative height of the cloth is how far it stands off its own smoothed shape, less how far the cut shape does the same at
the same place, so that the bust or the small of the back are no folds. Smoothing is heat flow with the metric of the cut shape
(Laplacian with cotangent weights; Meyer et al. 2003, "Discrete differential-geometry operators"), so that it is the same for both
shapes as far as the cloth does not stretch. Around every vertex a quadratic is fitted to the relative height in the tangent plane;
crest lines are where the slope along the direction of strongest curvature vanishes and the curvature is negative, valleys the same with
the sign turned (the linking over triangles follows Ohtake, Belyaev & Seidel 2004, "Ridge-valley lines on meshes", with height in place
of curvature). The height of a fold at a point is the geometric mean of how far it falls to the lowest places within 45 mm to both sides.

Long, because it is one method from mesh to lines, whose steps serve nothing else.
"""

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray
from scipy.sparse.linalg import splu
from scipy.spatial import cKDTree

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
Line = dict[str, Any]  # kind, points_mm (N, 3), height_mm (N,), normal (N, 3)

SMOOTH_MM = 25.0  # folds up to about six times as wide from crest to crest are kept
FIT_MM = 17.0  # radius of the quadratic fit: a mesh edge is about 11 mm
ACROSS_MM, BESIDE_MM = 45.0, 8.0  # where the feet of a fold are looked for
LEAST_HEIGHT_MM, LEAST_LENGTH_MM = 1.0, 25.0
RIM_MM = 12.0  # edges of the cloth curl, which is no fold
STEP_MM = 5.0
ANISOTROPY = 0.5  # least bending across against the contrary bending along: a pass between two hills is no fold
LEAST_BALANCE = 0.25  # of the falls to both sides
GAP_MM = 20.0


def relative_height(x: Floats, triangles: Ints, rest: Floats) -> Floats:
    """Height of the draped cloth over its smoothed shape, less that of the cut shape; mm, shape (n,).

    Parameters
    ----------
    x, rest : ndarray, shape (n, 3)
        Draped and cut shape, mm.
    triangles : ndarray of int, shape (m, 3)
    """
    flow, mass = _heat(rest, triangles)
    heights = []
    for shape in (x, rest):
        smooth = shape.copy()
        for _ in range(4):
            smooth = flow(mass[:, None] * smooth)
        heights.append(((shape - smooth) * vertex_normals(smooth, triangles)).sum(1))
    return np.asarray(heights[0] - heights[1])


def _heat(rest: Floats, triangles: Ints) -> tuple[Callable[[Floats], Floats], Floats]:
    """Solver of one of four implicit heat steps, together a smoothing by SMOOTH_MM, and the vertex areas."""
    n = len(rest)
    rows, columns, weights = [], [], []
    area = np.zeros(n)
    doubled = np.linalg.norm(np.cross(rest[triangles[:, 1]] - rest[triangles[:, 0]], rest[triangles[:, 2]] - rest[triangles[:, 0]]), axis=1)
    for k in range(3):
        i, j, o = triangles[:, k], triangles[:, (k + 1) % 3], triangles[:, (k + 2) % 3]
        u, v = rest[i] - rest[o], rest[j] - rest[o]
        cotangent = np.clip((u * v).sum(1) / np.maximum(doubled, 1e-6), 0.02, 20.0) / 2
        rows += [i, j]
        columns += [j, i]
        weights += [cotangent, cotangent]
        np.add.at(area, i, doubled / 6)
    stiff = sp.csr_matrix((np.concatenate(weights), (np.concatenate(rows), np.concatenate(columns))), (n, n))
    laplacian = sp.diags(np.asarray(stiff.sum(1)).ravel()) - stiff
    area = np.maximum(area, 1e-3)
    return splu((sp.diags(area) + SMOOTH_MM**2 / 8 * laplacian).tocsc()).solve, area


def vertex_normals(v: Floats, triangles: Ints) -> Floats:
    """Unit normals (n, 3), weighted by area."""
    face = np.cross(v[triangles[:, 1]] - v[triangles[:, 0]], v[triangles[:, 2]] - v[triangles[:, 0]])
    n = np.zeros_like(v)
    for k in range(3):
        np.add.at(n, triangles[:, k], face)
    return np.asarray(n / np.maximum(np.linalg.norm(n, axis=1, keepdims=True), 1e-12))


def crest_lines(x: Floats, triangles: Ints, rest: Floats) -> list[Line]:
    """Crest and valley lines with the height of the fold along them.

    Returns
    -------
    list of dict
        kind (ridge | valley), points_mm (N, 3), height_mm (N,), normal (N, 3); longest first.
    """
    height = relative_height(x, triangles, rest)
    normals = vertex_normals(x, triangles)
    slope, bending = _fit(x, normals, height, _rings(len(x), triangles))
    rim = _near_rim(rest, triangles)
    lines = []
    for kind, sign in (("ridge", 1.0), ("valley", -1.0)):
        for chain in _trace(triangles, ~rim, sign * slope, sign * bending, x):
            i, j, t = (np.array(part) for part in zip(*chain, strict=True))
            points = x[i] * (1 - t[:, None]) + x[j] * t[:, None]
            normal = normals[i] + normals[j]
            normal /= np.linalg.norm(normal, axis=1, keepdims=True)
            points, normal, value = _even(_smoothed(points), _smoothed(normal), height[i] * (1 - t) + height[j] * t)
            if len(points) >= 4:
                rise = _rise(points, normal, sign * value, x, normals, sign * height)
                lines += [{"kind": kind, **part} for part in _parts(points, normal, rise)]
    return sorted(_joined(lines), key=lambda line: -len(line["points_mm"]))


def _rings(n: int, triangles: Ints) -> Any:
    """Which vertices lie within three rings of each other."""
    edges = np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]])
    one = sp.csr_matrix((np.ones(2 * len(edges)), (np.r_[edges[:, 0], edges[:, 1]], np.r_[edges[:, 1], edges[:, 0]])), (n, n))
    one = one + sp.identity(n)
    return (one @ one @ one).tocsr()


def _near_rim(rest: Floats, triangles: Ints) -> Bools:
    edges = np.sort(np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]]), 1)
    edges, count = np.unique(edges, axis=0, return_counts=True)
    open_edges = edges[count == 1]
    if len(open_edges) == 0:
        return np.zeros(len(rest), bool)
    samples = np.concatenate([rest[open_edges[:, 0]] * (1 - t) + rest[open_edges[:, 1]] * t for t in (0, 0.5)])
    return np.asarray(cKDTree(samples).query(rest)[0] < RIM_MM)


def _fit(x: Floats, normals: Floats, height: Floats, neighbours: Any) -> tuple[Floats, Floats]:
    """Slope (n, 3) and second derivative (n, 3, 3) of the height over the tangent plane."""
    n = len(x)
    slope, bending = np.zeros((n, 3)), np.zeros((n, 3, 3))
    for i in range(n):
        near = neighbours.indices[neighbours.indptr[i] : neighbours.indptr[i + 1]]
        away = x[near] - x[i]
        weight = np.exp(-0.5 * (away**2).sum(1) / (0.6 * FIT_MM) ** 2)
        u = np.cross(normals[i], [1.0, 0, 0] if abs(normals[i, 0]) < 0.8 else [0, 1.0, 0])
        u /= np.linalg.norm(u)
        frame = np.stack([u, np.cross(normals[i], u)])
        a, b = away @ frame[0], away @ frame[1]
        basis = np.stack([np.ones(len(a)), a, b, a * a / 2, a * b, b * b / 2], 1)
        c = np.linalg.lstsq(basis * weight[:, None], height[near] * weight, rcond=None)[0]
        slope[i] = c[1:3] @ frame
        bending[i] = frame.T @ np.array([[c[3], c[4]], [c[4], c[5]]]) @ frame
    return slope, bending


def _trace(triangles: Ints, allowed: Bools, slope: Floats, bending: Floats, x: Floats) -> list[list[tuple[int, int, float]]]:
    """Chains of crest crossings (vertex, vertex, share): on an edge, the slope along the direction of strongest bending changes its sign.

    Direction and bending of an edge are those of the mean of its two ends, so that both its triangles see the same crossing.
    """
    edges = np.unique(np.sort(np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]]), 1), axis=0)
    i, j = edges.T
    values, vectors = np.linalg.eigh((bending[i] + bending[j]) / 2)
    way = vectors[:, :, 0]  # strongest negative curvature
    p, q = (slope[i] * way).sum(1), (slope[j] * way).sum(1)
    apart = ((x[j] - x[i]) * way).sum(1) / np.linalg.norm(x[j] - x[i], axis=1)
    uphill = np.sign(p) * apart > -0.4  # towards the crest from both ends; an edge may also run along the crest
    crest = (p * q < 0) & uphill & (values[:, 0] < 0) & (-values[:, 0] > ANISOTROPY * values[:, 2]) & allowed[i] & allowed[j]
    shares = p[crest] / (p[crest] - q[crest])
    share = {(int(a), int(b)): float(t) for a, b, t in zip(i[crest], j[crest], shares, strict=True)}
    links: dict[tuple[int, int], list[tuple[int, int]]] = {key: [] for key in share}
    for triangle in triangles:
        sides = [(int(min(a, b)), int(max(a, b))) for a, b in zip(triangle, np.roll(triangle, -1), strict=True)]
        crossed = [side for side in sides if side in share]
        if len(crossed) == 2:
            links[crossed[0]].append(crossed[1])
            links[crossed[1]].append(crossed[0])
    chains, used = [], set()
    for start in sorted(links, key=lambda key: len(links[key])):
        if start in used:
            continue
        chain = [start]
        used.add(start)
        while following := [key for key in links[chain[-1]] if key not in used]:
            chain.append(following[0])
            used.add(following[0])
        if len(chain) > 2:
            chains.append([(*key, share[key]) for key in chain])
    return chains


def _joined(lines: list[Line]) -> list[Line]:
    """Pieces of one fold whose ends lie close and point at each other, put together, nearest first."""
    lines = list(lines)
    while True:
        offers = []
        for a in range(len(lines)):
            for b in range(a + 1, len(lines)):
                if lines[a]["kind"] == lines[b]["kind"]:
                    offers += [(*offer, a, b) for offer in _offers(lines[a]["points_mm"], lines[b]["points_mm"])]
        if not offers:
            return lines
        _, turn_a, turn_b, a, b = min(offers)
        one = {key: value if key == "kind" else value[:: -1 if turn_a else 1] for key, value in lines[a].items()}
        two = {key: value if key == "kind" else value[:: -1 if turn_b else 1] for key, value in lines[b].items()}
        whole = {key: value if key == "kind" else np.concatenate([value, two[key]]) for key, value in one.items()}
        lines = [line for k, line in enumerate(lines) if k not in (a, b)] + [whole]


def _offers(p: Floats, q: Floats) -> list[tuple[float, bool, bool]]:
    """Gap and which of the two must be turned, for the ends that fit."""
    found = []
    for turn_p in (False, True):
        for turn_q in (False, True):
            one, two = p[:: -1 if turn_p else 1], q[:: -1 if turn_q else 1]
            gap = two[0] - one[-1]
            far = float(np.linalg.norm(gap))
            u, v = one[-1] - one[-min(4, len(one))], two[min(3, len(two) - 1)] - two[0]
            turn = u @ v / max(np.linalg.norm(u) * np.linalg.norm(v), 1e-9)
            ahead = min(gap @ u / max(np.linalg.norm(u), 1e-9), gap @ v / max(np.linalg.norm(v), 1e-9)) / max(far, 1e-9)
            if far < GAP_MM and turn > 0.8 and (ahead > 0.7 or far < 4.0):
                found.append((far, turn_p, turn_q))
    return found


def _smoothed(values: Floats) -> Floats:
    out = values.copy()
    for _ in range(2):
        out[1:-1] = 0.25 * out[:-2] + 0.5 * out[1:-1] + 0.25 * out[2:]
    return out


def _even(points: Floats, *values: Floats) -> tuple[Floats, ...]:
    """Resampled every STEP_MM."""
    s = np.r_[0, np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))]
    at = np.arange(0, s[-1] + 1e-6, STEP_MM)
    columns = [np.stack([np.interp(at, s, c) for c in np.atleast_2d(value.T)], -1) for value in (points, *values)]
    return tuple(c[:, 0] if c.shape[1] == 1 else c for c in columns)


def _rise(points: Floats, normal: Floats, value: Floats, x: Floats, normals: Floats, height: Floats) -> Floats:
    """Height over the lowest places to both sides, their geometric mean; 0 where one side hardly falls (the shoulder of a hollow)."""
    tangent = np.gradient(points, axis=0)
    tangent /= np.maximum(np.linalg.norm(tangent, axis=1, keepdims=True), 1e-9)
    across = np.cross(normal, tangent)
    tree = cKDTree(x)
    rise = np.zeros(len(points))
    for k, near in enumerate(tree.query_ball_point(points, ACROSS_MM)):
        at = np.array(near)
        away = x[at] - points[k]
        beside = (np.abs(away @ tangent[k]) < BESIDE_MM) & (normals[at] @ normal[k] > 0.3)
        s = away[beside] @ across[k]
        feet = [height[at][beside][(sign * s > 5.0)] for sign in (1, -1)]
        falls = [value[k] - foot.min() if len(foot) else 0.0 for foot in feet]
        rise[k] = np.sqrt(falls[0] * falls[1]) if min(falls) > LEAST_BALANCE * max(falls) else 0.0
    return rise


def _parts(points: Floats, normal: Floats, rise: Floats) -> list[Line]:
    """The runs that are high enough and long enough."""
    high = np.r_[False, rise > LEAST_HEIGHT_MM, False]
    ends = np.flatnonzero(np.diff(high.astype(int)))
    return [
        {"points_mm": points[a:b], "height_mm": rise[a:b], "normal": normal[a:b]}
        for a, b in zip(ends[::2], ends[1::2], strict=True)
        if (b - a - 1) * STEP_MM >= LEAST_LENGTH_MM
    ]


def project(lines: list[Line], view: dict[str, Any], cloth: tuple[Floats, Floats], body: tuple[Floats, Floats]) -> list[Line]:
    """The lines in one view: kind, px (N, 2), height_mm (N,), facing (N,) (cosine to the line of sight), visible (N,).

    Parameters
    ----------
    view : dict
        One view of the scene's truth.json.
    cloth, body : (vertices (n, 3) in mm, triangles (m, 3))
        What may lie in between.
    """
    turn, shift = np.array(view["subject_R"]), np.array(view["subject_t_mm"])
    camera = view["camera"]
    eye = (np.array(camera["position_mm"]) - shift) @ turn
    rotation, translation = np.array(camera["R_world_to_cam"]), np.array(camera["t_mm"])
    corners = np.concatenate([v[t] for v, t in (cloth, body)])
    seen = [marker for marker in view["point_markers"].values() if marker["visible"] and "corners_px" in marker]
    stickers = [np.array(marker["corners_px"]) for marker in seen]
    stickers = [(s - s.mean(0)) * 31 / 25 + s.mean(0) for s in stickers]
    out = []
    for line in lines:
        points = line["points_mm"]
        towards = eye - points
        far = np.linalg.norm(towards, axis=1, keepdims=True)
        facing = (line["normal"] * towards / far).sum(1)
        in_camera = (points @ turn.T + shift) @ rotation.T + translation
        px = _distorted(in_camera[:, :2] / in_camera[:, 2:], np.array(camera["K"]), np.array(camera["dist"]))
        open_to = np.array([f > 0 and not _blocked(p, eye, corners) for p, f in zip(points, facing, strict=True)])
        covered = np.array([any(_inside(p, s) for s in stickers) for p in px])
        out.append(
            {
                "kind": line["kind"],
                "px": px.round(1).tolist(),
                "height_mm": line["height_mm"].round(2).tolist(),
                "facing": facing.round(3).tolist(),
                "visible": (open_to & ~covered).astype(int).tolist(),
            }
        )
    return [line for line in out if any(line["visible"])]


def _distorted(q: Floats, matrix: Floats, dist: Floats) -> Floats:
    """Brown's lens model."""
    k1, k2, p1, p2, k3 = dist
    x, y = q.T
    r = x * x + y * y
    radial = 1 + k1 * r + k2 * r**2 + k3 * r**3
    bent = np.stack([x * radial + 2 * p1 * x * y + p2 * (r + 2 * x * x), y * radial + p1 * (r + 2 * y * y) + 2 * p2 * x * y], 1)
    return bent * matrix[[0, 1], [0, 1]] + matrix[:2, 2]


def _blocked(point: Floats, eye: Floats, corners: Floats, tolerance: float = 6.0) -> bool:
    """Whether a triangle lies between eye and point, the last 6 mm left aside (Moeller & Trumbore 1997)."""
    way = point - eye
    far = float(np.linalg.norm(way))
    way = way / far
    a, e1, e2 = corners[:, 0], corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    p = np.cross(way, e2)
    det = (e1 * p).sum(1)
    det = np.where(np.abs(det) < 1e-9, np.inf, det)
    s = eye - a
    u = (s * p).sum(1) / det
    q = np.cross(s, e1)
    v = (q @ way) / det
    t = (e2 * q).sum(1) / det
    return bool(((u >= 0) & (v >= 0) & (u + v <= 1) & (t > 1.0) & (t < far - tolerance)).any())


def _inside(p: Floats, polygon: Floats) -> bool:
    a, b = polygon, np.roll(polygon, -1, axis=0)
    side = (b[:, 0] - a[:, 0]) * (p[1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (p[0] - a[:, 0])
    return bool((side > 0).all() or (side < 0).all())


def fold_truth(drape: Mapping[str, Any], truth: dict[str, Any]) -> dict[str, Any]:
    """Fold truth of one scene.

    Parameters
    ----------
    drape : dict
        x, rest (n, 3), T (m, 3) of the cloth and vS (k, 3), quads (l, 4) of the body, metres, see `scene.Draped`.
    truth : dict
        The scene's truth.json.
    """
    x, rest, triangles = 1000 * drape["x"], 1000 * drape["rest"], drape["T"]
    quads = drape["quads"]
    body = (1000 * drape["vS"], np.concatenate([quads[:, [0, 1, 2]], quads[:, [0, 2, 3]]]))
    lines = crest_lines(x, triangles, rest)
    views = {name: project(lines, view, (x, triangles), body) for name, view in truth["views"].items()}
    return {"name": truth["name"], "views": views}
