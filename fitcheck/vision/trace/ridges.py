"""Ridges of a relief: centre lines of thin bright lines to a fraction of a pixel, linked to chains.

C. Steger 1998, "An unbiased detector of curvilinear structures", IEEE PAMI 20(2): the Hessian of the smoothed relief gives the direction
across the line, a Taylor expansion along it the place of the crest.
"""

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.records import Floats

REACH_SIGMAS = 3.5  # of the smoothing, beyond which a Gaussian is as good as nothing
CREST_PX = 0.6  # half a pixel, and some slack: how far from a pixel's middle the crest may lie for it to be that pixel's (Steger 1998)
LEAST_AHEAD_PX, MOST_PRICE, MOST_TURN = 0.5, 5.0, 0.4  # of a neighbour that may follow in a chain; the turn as 1 - cosine (estimates)
PER_PX_OFF, PER_TURN = 2, 3  # what a px beside the direction and a right angle cost beside a px ahead (estimates)
SHORTEST = 4  # points of a chain


def ridge_chains(relief: NDArray[np.float32], allowed: NDArray[np.uint8], sigma: float, weak: float, strong: float) -> list[Floats]:
    """Centre lines of the ridges of a relief.

    Parameters
    ----------
    relief : ndarray of float32, shape (H, W)
    allowed : ndarray of uint8, shape (H, W)
        Ridges are looked for where this is not 0.
    sigma : float
        Of the smoothing, pixels; suits lines up to 2 sqrt(3) sigma wide.
    weak, strong : float
        Ridge response (curvature times sigma squared, in units of the relief) to follow a line and to begin one.

    Returns
    -------
    list of ndarray, shape (N, 2)
        Points about a pixel apart, in order along each line.
    """
    return _of_signs((1,), relief, allowed, sigma, weak, strong)[0]


def ridge_and_valley_chains(
    relief: NDArray[np.float32], allowed: NDArray[np.uint8], sigma: float, weak: float, strong: float
) -> tuple[list[Floats], list[Floats]]:
    """As `ridge_chains`, of the relief and of its negative, for little more than the price of one."""
    ridges, valleys = _of_signs((1, -1), relief, allowed, sigma, weak, strong)
    return ridges, valleys


def reach_px(sigma: float) -> int:
    """How far a pixel of the relief is felt around it."""
    return int(np.ceil(REACH_SIGMAS * sigma))


def _of_signs(
    signs: tuple[int, ...], relief: NDArray[np.float32], allowed: NDArray[np.uint8], sigma: float, weak: float, strong: float
) -> list[list[Floats]]:
    """Chains of the relief times each sign; nothing is computed beyond the reach of the places allowed."""
    x, y, width, height = cv2.boundingRect(allowed)
    if not width:
        return [[] for _ in signs]
    reach = reach_px(sigma)
    left, top = max(x - reach, 0), max(y - reach, 0)
    box = np.s_[top : y + height + reach, left : x + width + reach]
    derivatives, here = _derivatives(relief[box], sigma), allowed[box] > 0
    return [_chains(sign, derivatives, here, (left, top), sigma, weak, strong) for sign in signs]


def _derivatives(relief: NDArray[np.float32], sigma: float) -> list[NDArray[np.float32]]:
    """Of the smoothed relief: second along x, along y and mixed, first along x and along y."""
    half = reach_px(sigma)
    x = np.arange(-half, half + 1)
    g0 = np.exp(-0.5 * (x / sigma) ** 2)
    g0 /= g0.sum()
    g1 = -x / sigma**2 * g0
    g2 = (x**2 / sigma**4 - 1 / sigma**2) * g0
    g2 -= g2.mean()
    k0, k1, k2 = (np.ascontiguousarray(k[::-1], np.float32) for k in (g0, g1, g2))
    pairs = ((k2, k0), (k0, k2), (k1, k1), (k1, k0), (k0, k1))
    return [np.asarray(cv2.sepFilter2D(relief, cv2.CV_32F, across, down), np.float32) for across, down in pairs]


def _chains(
    sign: int,
    derivatives: list[NDArray[np.float32]],
    allowed: NDArray[np.bool_],
    origin: tuple[int, int],
    sigma: float,
    weak: float,
    strong: float,
) -> list[Floats]:
    at = np.flatnonzero((sign * (derivatives[0] + derivatives[1]) < -weak / sigma**2) & allowed)
    rows, cols = np.divmod(at, allowed.shape[1])
    xx, yy, xy, gx, gy = (sign * d.ravel()[at] for d in derivatives)
    root = np.hypot((xx - yy) / 2, xy)
    bend = (xx + yy) / 2 - root
    angle = 0.5 * np.arctan2(2 * xy, xx - yy) + np.pi / 2  # of the eigenvector with the most negative eigenvalue
    nx, ny = np.cos(angle), np.sin(angle)
    with np.errstate(divide="ignore", invalid="ignore"):
        shift = -(gx * nx + gy * ny) / bend
    strength = -bend * sigma**2
    good = (strength > weak) & (np.abs(shift * nx) <= CREST_PX) & (np.abs(shift * ny) <= CREST_PX)
    rows, cols, strength = rows[good], cols[good], strength[good]
    points = np.stack([cols + origin[0] + shift[good] * nx[good], rows + origin[1] + shift[good] * ny[good]], 1).astype(float)
    along = np.stack([-ny[good], nx[good]], 1).astype(float)
    return _link(rows, cols, points, along, strength, strong, allowed.shape)


def _link(
    rows: NDArray[np.intp],
    cols: NDArray[np.intp],
    points: Floats,
    along: Floats,
    strength: NDArray[np.float32],
    strong: float,
    shape: tuple[int, ...],
) -> list[Floats]:
    """Chains of ridge points, begun at the strongest and followed both ways; points beside a chain are used up with it."""
    if not (strength >= strong).any():
        return []
    width = shape[1] + 4
    cell = (rows + 2) * width + cols + 2
    index = np.full((shape[0] + 4) * width, -1, np.int32)
    index[cell] = np.arange(len(rows))
    steps = [dy * width + dx for dy in (-2, -1, 0, 1, 2) for dx in (-2, -1, 0, 1, 2) if dy or dx]
    other = index.take(np.array(steps)[:, None] + cell).ravel()
    there = np.flatnonzero(other >= 0)
    here, to = there % len(rows), other[there]
    (x, y), (u, v) = points.T, along.T
    right, down = x[to] - x[here], y[to] - y[here]
    ahead = right * u[here] + down * v[here]
    off = np.abs(right * v[here] - down * u[here])
    turn = 1 - np.abs(u[here] * u[to] + v[here] * v[to])
    price = np.abs(ahead) + PER_PX_OFF * off + PER_TURN * turn
    best = np.full((2, len(rows)), -1, np.int32)  # neighbour ahead, neighbour behind
    for way, sign in ((0, 1), (1, -1)):
        take = np.flatnonzero((sign * ahead > LEAST_AHEAD_PX) & (price < MOST_PRICE) & (turn < MOST_TURN))
        take = take[np.argsort(-price[take])]  # the cheapest is written last and stays
        best[way, here[take]] = to[take]
    same = (along * along[best]).sum(2) > 0  # whether the neighbour's direction is counted the same way
    nexts, kept, cells = best.tolist(), same.tolist(), cell.tolist()
    taken = bytearray((shape[0] + 4) * width)
    marks = np.frombuffer(taken, np.uint8)
    beside = cell[:, None] + np.array([dy * width + dx for dy in (-1, 0, 1) for dx in (-1, 0, 1)])
    chains = []
    for start in np.argsort(-strength, kind="stable").tolist():
        if strength[start] < strong:
            break
        if taken[cells[start]]:
            continue
        halves = []
        seen = {start}
        for way in (0, 1):
            half, i, facing = [], start, way
            while (j := nexts[facing][i]) >= 0 and j not in seen and not taken[cells[j]]:
                facing = facing if kept[facing][i] else 1 - facing
                seen.add(j)
                half.append(j)
                i = j
            halves.append(half)
        chain = np.array(halves[1][::-1] + [start] + halves[0])
        marks[beside[chain]] = 1
        if len(chain) >= SHORTEST:
            chains.append(points[chain])
    return chains
