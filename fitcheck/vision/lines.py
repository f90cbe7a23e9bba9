"""Coloured pen or tape lines on cloth: where their centre lines run, to a fraction of a pixel.

The photo is read as log brightness and two log colour ratios. Light and shade multiply all three colours alike, so they move log
brightness only, while a pen moves the ratios as well (or, if it is black or white, brightness far more than any fold). The distance from
the cloth around is a relief in which pen lines are narrow ridges; their centre lines come from the Hessian (C. Steger 1998, "An unbiased
detector of curvilinear structures", IEEE PAMI 20), are linked to chains, centred again on colour profiles across, and kept only where
cloth lies on both sides: edges of the garment and of the body are steps, not ridges.
"""

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.records import Floats
from fitcheck.vision.cloth import Cloth, log_colour

RIDGE_SIGMA_MM = 1.4  # suits lines 1.5 to 4 mm wide (Steger: at least half the width / sqrt 3)
MEDIAN_MM = 5.5  # half window of the local median: more than twice the width of a line
WORKING_MM_PER_PX = 0.75  # finer photos are searched at this scale, then centred at their own
WEAK, STRONG = 0.025, 0.06  # ridge response (in units of log colour distance) to follow and to begin a line
REACH = 7.0  # half length of a profile across, in working pixels
COLOUR_CONTRAST, DARK_CONTRAST, LIGHT_CONTRAST = 0.06, 0.35, 0.30
EDGE_CONTRAST, SKIN_CONTRAST = 0.12, 0.30  # at an edge: least distance from any mixture of the two sides' colours
SHORTEST_MM = 6.0
FAINT = 3.0  # least length (working px) times colour change: a faint line must be longer to be believed
FREE_GAP_MM, COVERED_GAP_MM = 16.0, 60.0


@dataclass(frozen=True, slots=True)
class Curve:
    """One drawn line, or a piece of one.

    Attributes
    ----------
    points_px : ndarray, shape (N, 2)
        Centre line, about 2 px apart.
    seen : ndarray of bool, shape (N,)
        False where the line was bridged under a sticker or a crossing.
    sd_px : float
        Standard uncertainty across the line.
    change : ndarray, shape (3,)
        Log colour of the line minus that of the cloth beside it (see `log_colour`): its colour whatever the light.
    edge : float
        Share of the line that has cloth on one side only.
    """

    points_px: Floats
    seen: NDArray[np.bool_]
    sd_px: float
    change: Floats
    edge: float

    @property
    def length_px(self) -> float:
        """Along the line."""
        return float(np.hypot(*np.diff(self.points_px, axis=0).T).sum())


def find_curves(rgb: NDArray[np.uint8], cloth: Cloth, leave_out: list[Floats], mm_per_px: float) -> list[Curve]:
    """All pen or tape lines on the cloth of one photo.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (H, W, 3)
    cloth : Cloth
        Where the garment lies and what colour it has (`cloth.find_cloth`).
    leave_out : list of ndarray, shape (N, 2)
        Polygons that hide the cloth: stickers, dots, the scale card.
    mm_per_px : float
        Scale of the photo at the body.

    Returns
    -------
    list of Curve
        Longest first.
    """
    x0, y0, x1, y1 = cloth.box_px
    if x1 - x0 < 16 or y1 - y0 < 16:
        return []
    zoom = min(1.0, mm_per_px / WORKING_MM_PER_PX)
    crop = rgb[y0:y1, x0:x1]
    if zoom < 1:
        crop = cv2.resize(crop, None, fx=zoom, fy=zoom, interpolation=cv2.INTER_AREA)
    step_mm = mm_per_px / zoom
    colour = log_colour(crop)
    free = _free(colour.shape[:2], leave_out, (x0, y0), zoom)
    excess = _excess(crop, colour, max(2, round(MEDIAN_MM / step_mm)))
    here = free * cv2.resize(
        cv2.dilate(cloth.mask.astype(np.uint8), np.ones((5, 5), np.uint8)), free.shape[::-1], interpolation=cv2.INTER_NEAREST
    )
    chains = _chains(excess, here, max(1.0, RIDGE_SIGMA_MM / step_mm))
    pieces = [piece for chain in chains for piece in _measure(chain, colour, free, cloth, SHORTEST_MM / step_mm)]
    curves = _join(pieces, free, step_mm)
    curves = [replace(c, points_px=_to_photo(c.points_px, (x0, y0), zoom), sd_px=c.sd_px / zoom) for c in curves]
    return sorted(curves, key=lambda c: -c.length_px)


def _to_photo(points: Floats, origin: tuple[int, int], zoom: float) -> Floats:
    return np.asarray((points + 0.5) / zoom - 0.5 + np.array(origin, float))


def _free(shape: tuple[int, ...], leave_out: list[Floats], origin: tuple[int, int], zoom: float) -> NDArray[np.uint8]:
    """1 where no sticker hides the cloth (with a rim for its soft edge)."""
    free = np.ones(shape[:2], np.uint8)
    for polygon in leave_out:
        cv2.fillPoly(free, [np.round((polygon - np.array(origin) + 0.5) * zoom - 0.5).astype(np.int32)], 0)
    return np.asarray(cv2.erode(free, np.ones((5, 5), np.uint8)), np.uint8)


def _excess(rgb: NDArray[np.uint8], colour: NDArray[np.float32], half: int) -> NDArray[np.float32]:
    """Distance of every pixel from the local median colour, which has no thin lines but keeps edges; brightness counts half."""
    away = colour - log_colour(cv2.medianBlur(rgb, 2 * half + 1))
    light, red, yellow = cv2.split(away)
    return np.minimum(cv2.sqrt(0.25 * light * light + red * red + yellow * yellow), np.float32(1.0))


def _chains(excess: NDArray[np.float32], free: NDArray[np.uint8], sigma: float) -> list[Floats]:
    """Centre lines of the ridges of `excess`, linked (Steger 1998), each an (N, 2) array."""
    half = int(np.ceil(3.5 * sigma))
    x = np.arange(-half, half + 1)
    g0 = np.exp(-0.5 * (x / sigma) ** 2)
    g0 /= g0.sum()
    g1 = -x / sigma**2 * g0
    g2 = (x**2 / sigma**4 - 1 / sigma**2) * g0
    g2 -= g2.mean()
    k0, k1, k2 = (np.ascontiguousarray(k[::-1], np.float32) for k in (g0, g1, g2))
    xx, yy = cv2.sepFilter2D(excess, cv2.CV_32F, k2, k0), cv2.sepFilter2D(excess, cv2.CV_32F, k0, k2)
    rows, cols = np.nonzero((xx + yy < -WEAK / sigma**2) & (free > 0))
    xx, yy = xx[rows, cols], yy[rows, cols]
    xy = cv2.sepFilter2D(excess, cv2.CV_32F, k1, k1)[rows, cols]
    gx = cv2.sepFilter2D(excess, cv2.CV_32F, k1, k0)[rows, cols]
    gy = cv2.sepFilter2D(excess, cv2.CV_32F, k0, k1)[rows, cols]
    root = np.hypot((xx - yy) / 2, xy)
    bend = (xx + yy) / 2 - root
    angle = 0.5 * np.arctan2(2 * xy, xx - yy) + np.pi / 2  # of the eigenvector with the most negative eigenvalue
    nx, ny = np.cos(angle), np.sin(angle)
    with np.errstate(divide="ignore", invalid="ignore"):
        shift = -(gx * nx + gy * ny) / bend
    strength = -bend * sigma**2
    good = (strength > WEAK) & (np.abs(shift * nx) <= 0.6) & (np.abs(shift * ny) <= 0.6)
    rows, cols, strength = rows[good], cols[good], strength[good]
    points = np.stack([cols + shift[good] * nx[good], rows + shift[good] * ny[good]], 1).astype(float)
    along = np.stack([-ny[good], nx[good]], 1).astype(float)
    return _link(rows, cols, points, along, strength, excess.shape)


def _link(
    rows: NDArray[np.intp],
    cols: NDArray[np.intp],
    points: Floats,
    along: Floats,
    strength: NDArray[np.float32],
    shape: tuple[int, ...],
) -> list[Floats]:
    """Chains of ridge points, begun at the strongest and followed both ways; points beside a chain are used up with it."""
    width = shape[1] + 4
    cell = (rows + 2) * width + cols + 2
    index = np.full((shape[0] + 4) * width, -1, np.int32)
    index[cell] = np.arange(len(rows))
    best = np.full((2, len(rows)), -1, np.int32)  # neighbour ahead, neighbour behind
    cost = np.full((2, len(rows)), 5.0)
    for dy, dx in [(dy, dx) for dy in (-2, -1, 0, 1, 2) for dx in (-2, -1, 0, 1, 2) if dy or dx]:
        other = index[cell + dy * width + dx]
        here = np.flatnonzero(other >= 0)
        to = other[here]
        gap = points[to] - points[here]
        u, v = along[here], along[to]
        ahead = gap[:, 0] * u[:, 0] + gap[:, 1] * u[:, 1]
        off = np.abs(gap[:, 0] * u[:, 1] - gap[:, 1] * u[:, 0])
        turn = 1 - np.abs(u[:, 0] * v[:, 0] + u[:, 1] * v[:, 1])
        price = np.abs(ahead) + 2 * off + 3 * turn
        for way, sign in ((0, 1), (1, -1)):
            take = (sign * ahead > 0.5) & (price < cost[way, here]) & (turn < 0.4)
            cost[way, here[take]] = price[take]
            best[way, here[take]] = to[take]
    nexts, heading, cells = best.T.tolist(), along.tolist(), cell.tolist()
    taken = np.zeros((shape[0] + 4) * width, bool).tolist()
    beside = [dy * width + dx for dy in (-1, 0, 1) for dx in (-1, 0, 1)]
    chains = []
    for start in np.argsort(-strength, kind="stable").tolist():
        if strength[start] < STRONG:
            break
        if taken[cells[start]]:
            continue
        halves = []
        seen = {start}
        for way in (0, 1):
            half, i, facing = [], start, way
            while (j := nexts[i][facing]) >= 0 and j not in seen and not taken[cells[j]]:
                same = heading[i][0] * heading[j][0] + heading[i][1] * heading[j][1] > 0
                facing = facing if same else 1 - facing
                seen.add(j)
                half.append(j)
                i = j
            halves.append(half)
        chain = halves[1][::-1] + [start] + halves[0]
        for i in chain:
            for step in beside:
                taken[cells[i] + step] = True
        if len(chain) >= 4:
            chains.append(points[chain])
    return chains


def _even(points: Floats, step: float) -> Floats:
    """The polyline again with vertices `step` apart, smoothed over about 4 px."""
    s = np.r_[0.0, np.cumsum(np.hypot(*np.diff(points, axis=0).T))]
    t = np.linspace(0, s[-1], max(2, round(s[-1] / step) + 1))
    even = np.stack([np.interp(t, s, points[:, i]) for i in (0, 1)], 1)
    return _smooth(even, 2)


def _smooth(values: Floats, half: int) -> Floats:
    """Moving average over 2 half + 1 rows that keeps straight ends where they are."""
    half = min(half, (len(values) - 1) // 2)
    if half == 0:
        return values
    before = 2 * values[:1] - values[half:0:-1]
    after = 2 * values[-1:] - values[-2 : -half - 2 : -1]
    padded = np.concatenate([before, values, after])
    total = np.cumsum(np.concatenate([np.zeros_like(padded[:1]), padded]), 0)
    return np.asarray((total[2 * half + 1 :] - total[: -2 * half - 1]) / (2 * half + 1))


def _normals(points: Floats, half: int = 4) -> Floats:
    """Unit normals (y, -x of the direction) from the chord over 2 half + 1 points."""
    i = np.arange(len(points))
    chord = points[np.minimum(i + half, len(points) - 1)] - points[np.maximum(i - half, 0)]
    chord /= np.maximum(np.hypot(*chord.T)[:, None], 1e-9)
    return np.stack([chord[:, 1], -chord[:, 0]], 1)


def _profiles(points: Floats, normals: Floats, colour: NDArray[np.float32]) -> tuple[Floats, Floats]:
    """Offsets (K,) and colours (N, K, 3) across the line."""
    offsets = np.arange(-REACH, REACH + 0.25, 0.5)
    at = (points[:, None] + offsets[None, :, None] * normals[:, None]).astype(np.float32)
    values = cv2.remap(colour, at[..., 0], at[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return offsets, values.astype(float)


@dataclass(frozen=True, slots=True)
class _Across:
    """What lies across each point of a chain."""

    shift: Floats  # (N,) of the line's centre from the point, along the normal
    change: Floats  # (N, 3) line minus cloth
    valid: NDArray[np.bool_]  # (N,) a line on cloth
    edge: NDArray[np.bool_]  # (N,) with cloth on one side only


def _across(points: Floats, normals: Floats, colour: NDArray[np.float32], cloth: Cloth) -> _Across:
    offsets, values = _profiles(points, normals, colour)
    sides, spots, on = (np.stack(part) for part in zip(*(_beside(sign * offsets, values, cloth) for sign in (-1, 1)), strict=True))
    spots[0] *= -1
    alike = np.abs(sides[0] - sides[1])[:, 0] < 0.45
    edge = (on[0] != on[1]) | (on[0] & on[1] & ~alike)  # a wall may have the cloth's colour, in another light
    second = (edge & on[1] & ~on[0])[:, None]
    own, other = np.where(second, sides[1], sides[0]), np.where(second, sides[0], sides[1])  # of an edge: cloth, and what lies beyond
    slope = ((offsets - spots[0][:, None]) / (spots[1] - spots[0])[:, None])[..., None]
    base = np.where(edge[:, None, None], own[:, None], sides[0][:, None] * (1 - slope) + sides[1][:, None] * slope)
    away = _smooth(values - base, 2)
    change = away[:, np.abs(offsets) <= 1.0].mean(1)
    chroma = np.hypot(change[:, 1], change[:, 2])
    # a raised tape throws a thin grey shadow to one side, so a coloured line is centred on its colour more than on its darkness
    weight = np.stack([np.where(chroma > 0.25, 0.35, 1.0), np.ones_like(chroma), np.ones_like(chroma)], 1)
    unit = _smooth(change, 6) * weight
    unit = unit / np.maximum((unit * _smooth(change, 6)).sum(1, keepdims=True), 1e-6)
    share = np.einsum("nkc,nc->nk", away, unit)
    shift = np.zeros(len(points))
    reach = np.where(edge, 2.5, 4.0)[:, None]
    for _ in range(3):  # centroid in a window that follows the line
        window = np.clip(reach - np.abs(offsets[None] - shift[:, None]), 0, 1) * np.clip(share, 0, 1.5)
        shift = (window * offsets).sum(1) / np.maximum(window.sum(1), 1e-6)
    inked = (chroma > COLOUR_CONTRAST) | (change[:, 0] < -DARK_CONTRAST) | (change[:, 0] > LIGHT_CONTRAST)
    # where cloth ends beside the line, its colour must be no mixture of the two sides; between cloth and skin runs a thin brown shadow
    apart = _from_mixtures(change, other - own)
    skin = cloth.is_skin(other)
    brown = (change[:, 1] > -0.05) & (change[:, 2] > -0.05)
    valid = (
        inked
        & (np.abs(shift) < 2.5)
        & np.where(edge, (apart > np.where(skin, SKIN_CONTRAST, EDGE_CONTRAST)) & ~(skin & brown), on[0] & on[1] & alike)
    )
    return _Across(shift, change, valid, edge)


def _from_mixtures(change: Floats, step: Floats) -> Floats:
    """Distance (N,) of `change` from the straight line of mixtures between no change and `step`; brightness counts half."""
    weight = np.array([0.5, 1.0, 1.0])
    a, b = change * weight, step * weight
    t = np.clip((a * b).sum(1) / np.maximum((b * b).sum(1), 1e-6), 0, 1)
    return np.asarray(np.linalg.norm(a - t[:, None] * b, axis=1))


def _beside(offsets: Floats, values: Floats, cloth: Cloth) -> tuple[Floats, Floats, NDArray[np.bool_]]:
    """Colour on the side of positive offsets, how far out it was taken, and whether it is cloth: farther out, or else close by."""
    far = np.median(values[:, (offsets >= 4) & (offsets <= 6.5)], 1)
    near = np.median(values[:, (offsets >= 2.75) & (offsets <= 4.25)], 1)
    take_far = cloth.is_cloth(far)
    return np.where(take_far[:, None], far, near), np.where(take_far, 5.25, 3.5), take_far | cloth.is_cloth(near)


def _measure(chain: Floats, colour: NDArray[np.float32], free: NDArray[np.uint8], cloth: Cloth, shortest: float) -> list[Curve]:
    """The pieces of a chain that are drawn lines, centred on their colour."""
    pieces = []
    points = _even(chain, 2.0)
    for run in _runs(~_sharp(points)):
        if (run.stop - run.start) * 2.0 < shortest:
            continue
        part = points[run]
        first = _across(part, _normals(part), colour, cloth)
        for inner in _runs(_bridge(first.valid, 3) & ~_recoloured(first.change)):
            if (inner.stop - inner.start - 1) * 2.0 < shortest or first.valid[inner].mean() < 0.6:
                continue
            moved = part[inner] + _smooth(np.where(first.valid, first.shift, 0)[inner], 1)[:, None] * _normals(part[inner])
            normals = _normals(moved)
            again = _across(moved, normals, colour, cloth)
            centred = moved + np.where(again.valid, np.clip(again.shift, -1, 1), 0)[:, None] * normals
            change = np.median(again.change, 0)
            if (inner.stop - inner.start) * 2.0 * float(np.linalg.norm(change * [0.5, 1.0, 1.0])) < FAINT:
                continue
            centred = _to_ends(centred, change, colour, free, cloth)
            rough = again.shift - _smooth(again.shift, 4)
            sd = float(np.hypot(0.15, 1.48 * np.median(np.abs(rough))))
            pieces.append(Curve(centred, np.ones(len(centred), bool), sd, change, float(again.edge.mean())))
    return pieces


def _sharp(points: Floats) -> NDArray[np.bool_]:
    """True where the direction turns by more than 45 degrees within 16 px: a corner, where two lines were linked to one."""
    i = np.arange(len(points))
    back = points - points[np.maximum(i - 4, 0)]
    ahead = points[np.minimum(i + 4, len(points) - 1)] - points
    size = np.hypot(*back.T) * np.hypot(*ahead.T)
    cosine = (back * ahead).sum(1) / np.maximum(size, 1e-9)
    return np.asarray((cosine < np.cos(np.radians(45))) & (size > 0))


def _recoloured(change: Floats) -> NDArray[np.bool_]:
    """True where the colour of the line changes for good: a place where two lines were linked to one."""
    out = np.zeros(len(change), bool)
    if len(change) < 14:
        return out
    means = np.lib.stride_tricks.sliding_window_view(change, 6, axis=0).mean(-1)
    a, b = means[:-8], means[8:]  # points i .. i+5 and i+8 .. i+13, about point i + 6.5
    cosine = (a * b).sum(1) / np.maximum(np.linalg.norm(a, axis=1) * np.linalg.norm(b, axis=1), 1e-9)
    out[6 : 6 + len(cosine)] = cosine < 0.5
    return out


def _runs(flags: NDArray[np.bool_]) -> list[slice]:
    edges = np.flatnonzero(np.diff(np.r_[0, flags.astype(np.int8), 0]))
    return [slice(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _bridge(flags: NDArray[np.bool_], gap: int) -> NDArray[np.bool_]:
    """Short False runs inside turned to True."""
    out = flags.copy()
    for run in _runs(~flags):
        if run.start > 0 and run.stop < len(flags) and run.stop - run.start <= gap:
            out[run] = True
    return out


def _to_ends(points: Floats, change: Floats, colour: NDArray[np.float32], free: NDArray[np.uint8], cloth: Cloth) -> Floats:
    """Both ends moved along the line to where its colour has fallen to half."""
    for _ in (0, 1):
        points = _to_last(points, change, colour, free, cloth)[::-1]
    return points


def _to_last(points: Floats, change: Floats, colour: NDArray[np.float32], free: NDArray[np.uint8], cloth: Cloth) -> Floats:
    keep = points[:-2] if len(points) > 6 else points
    direction = keep[-1] - keep[max(0, len(keep) - 8)]
    direction = direction / max(np.hypot(*direction), 1e-9)
    s = np.arange(0, 14.0, 0.5)
    normal = np.array([direction[1], -direction[0]])
    at = (keep[-1] + s[:, None] * direction)[None] + np.array([-5.0, -4.5, -1.0, 0.0, 1.0, 4.5, 5.0])[:, None, None] * normal
    at = at.astype(np.float32)
    values = cv2.remap(colour, at[..., 0], at[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE).astype(float)
    x, y = np.round(at[3]).astype(int).T
    inside = (x >= 0) & (y >= 0) & (x < free.shape[1]) & (y < free.shape[0])
    inside[inside] = free[y[inside], x[inside]] > 0
    left, right = values[:2].mean(0), values[-2:].mean(0)
    on_left, on_right = cloth.is_cloth(left)[:, None], cloth.is_cloth(right)[:, None]
    base = np.where(on_left & on_right, (left + right) / 2, np.where(on_left, left, np.where(on_right, right, np.nan)))
    known = ~np.isnan(base[:, 0])
    if not known.any():
        return points
    base = np.where(known[:, None], base, base[known][-1])  # beyond the cloth: compare with the last cloth
    share = ((values[2:5].mean(0) - base) @ change) / (change @ change)
    off = np.hypot(*((values[2:5].mean(0) - base) - share[:, None] * change).T[:2]) if len(change) else 0
    good = inside & (share > 0.5) & (share < 2.0) & (off < 0.6 * np.linalg.norm(change))
    stop = int(np.argmin(good)) if not good.all() else len(good)
    if stop == 0:
        return points
    reach = s[stop - 1]
    if stop < len(s) and inside[stop] and share[stop - 1] > 0.5 > share[stop]:
        reach += 0.5 * (share[stop - 1] - 0.5) / (share[stop - 1] - share[stop])
    steps = np.unique(np.r_[np.arange(2.0, reach, 2.0), reach])
    return np.concatenate([keep, keep[-1] + steps[steps > 0.3, None] * direction])


def _tangent(curve: Curve, end: int) -> tuple[Floats, Floats]:
    """The end point and the outward direction there (over about 16 px)."""
    points = curve.points_px if end else curve.points_px[::-1]
    tail = points[-9:-1] if len(points) > 6 else points
    centre = tail.mean(0)
    direction = np.linalg.svd(tail - centre)[2][0]
    return points[-1], direction * np.sign(direction @ (tail[-1] - tail[0]) or 1.0)


def _join(pieces: list[Curve], free: NDArray[np.uint8], step_mm: float) -> list[Curve]:
    """Pieces of one line put together over crossings and under stickers, best fitting pairs first."""
    curves = dict(enumerate(pieces))
    fresh = len(curves)
    while True:
        ends = [(key, end, *_tangent(curve, end)) for key, curve in curves.items() for end in (0, 1)]
        best: tuple[float, int, int, int, int] | None = None
        for i, (a, end_a, p, u) in enumerate(ends):
            for b, end_b, q, v in ends[i + 1 :]:
                if a == b:
                    continue
                price = _price(p, u, q, v, curves[a].change, curves[b].change, free, step_mm)
                if price is not None and (best is None or price < best[0]):
                    best = price, a, end_a, b, end_b
        if best is None:
            return list(curves.values())
        _, a, end_a, b, end_b = best
        curves[fresh] = _joined(curves.pop(a), end_a, curves.pop(b), end_b)
        fresh += 1


def _price(
    p: Floats, u: Floats, q: Floats, v: Floats, change_a: Floats, change_b: Floats, free: NDArray[np.uint8], step_mm: float
) -> float | None:
    """How badly two ends fit as one line; None when they do not."""
    gap = q - p
    size = float(np.hypot(*gap))
    if size * step_mm > COVERED_GAP_MM or u @ v > -0.8:
        return None
    bend = max(_angle(u, gap), _angle(v, -gap)) if size > 3.0 else _angle(u, -v)
    aside = abs(gap[0] * u[1] - gap[1] * u[0])
    tint = 1 - change_a @ change_b / (np.linalg.norm(change_a) * np.linalg.norm(change_b))
    if tint > 0.15:
        return None
    t = np.linspace(0, 1, 24)[:, None]
    at = np.round(p + t * gap).astype(int)
    at = np.clip(at, 0, np.array(free.shape)[::-1] - 1)
    covered = float((free[at[:, 1], at[:, 0]] == 0).mean())
    open_mm = size * step_mm * (1 - covered)
    limit = 35.0 if size < 10 else 25.0 if covered > 0.5 else 15.0
    if open_mm > FREE_GAP_MM or _angle(u, -v) > 30.0 or (bend > limit and aside > 1.0):
        return None
    return size + 0.5 * bend + 40 * float(tint)


def _angle(a: Floats, b: Floats) -> float:
    return float(np.degrees(np.arctan2(abs(a[0] * b[1] - a[1] * b[0]), a @ b)))


def _joined(a: Curve, end_a: int, b: Curve, end_b: int) -> Curve:
    first, first_seen = (a.points_px, a.seen) if end_a else (a.points_px[::-1], a.seen[::-1])
    then, then_seen = (b.points_px[::-1], b.seen[::-1]) if end_b else (b.points_px, b.seen)
    p, q = first[-1], then[0]
    size = float(np.hypot(*(q - p)))
    u, v = _tangent(a, end_a)[1], -_tangent(b, end_b)[1]
    t = np.linspace(0, 1, max(2, round(size / 2.0) + 1))[1:-1, None]  # cubic Hermite between the two directions
    bridge = (2 * t**3 - 3 * t**2 + 1) * p + (t**3 - 2 * t**2 + t) * size * u + (3 * t**2 - 2 * t**3) * q + (t**3 - t**2) * size * v
    weights = np.array([len(a.points_px), len(b.points_px)], float)
    return Curve(
        np.concatenate([first, bridge, then]),
        np.concatenate([first_seen, np.zeros(len(bridge), bool), then_seen]),
        float(np.average([a.sd_px, b.sd_px], weights=weights)),
        np.average([a.change, b.change], axis=0, weights=weights),
        float(np.average([a.edge, b.edge], weights=weights)),
    )
