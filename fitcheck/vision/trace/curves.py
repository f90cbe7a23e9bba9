"""Pieces of drawn lines, and how they are put together over crossings and under stickers."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fitcheck.core.polyline import length
from fitcheck.core.records import Floats

# Which ends of two pieces may be one line; pixels are those of the picture that lines are looked for in. Estimates.
FREE_GAP_MM, COVERED_GAP_MM = 16.0, 60.0  # longest gap in the open, and under a sticker (25 mm square with rim, seen across the corner)
TURN_DEG = 30.0  # largest angle between the two ends
TINT = 0.85  # least cosine of their colour changes
POINT_PX = 2.0  # between the points of a bridge, as of lines
END_POINTS, WHOLE_POINTS = 9, 6  # that tell the direction of an end, its rough last point left out; of a piece no longer than this all do
TOUCH_PX, SHORT_PX = 3.0, 10.0  # a gap whose own direction tells nothing; one whose direction tells little
# a gap may bend against the ends by so many degrees: short, mostly covered, in the open; or lie so far aside of their lines: short, longer
SHORT_BEND_DEG, COVERED_BEND_DEG, OPEN_BEND_DEG = 35.0, 25.0, 15.0
SHORT_ASIDE_PX, ASIDE_PX = 2.0, 1.0  # of a short gap, of a longer one
MOSTLY = 0.5  # share of a gap under stickers that makes it covered
LOOKS = 24  # places of a gap at which that is looked at
# what pairs are chosen by: px of gap, and what a degree of bend, a px aside and a wholly other colour are worth beside it
PER_DEG, PER_PX_ASIDE, PER_TINT = 0.5, 2.0, 40.0


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
    pen : float
        How likely it is drawn or taped (`vision/lines/pen.py`); 1 where that was not asked.
    """

    points_px: Floats
    seen: NDArray[np.bool_]
    sd_px: float
    change: Floats
    edge: float
    pen: float = 1.0

    @property
    def length_px(self) -> float:
        """Along the line."""
        return length(self.points_px)


def _tangent(curve: Curve, end: int) -> tuple[Floats, Floats]:
    """The end point and the outward direction there (over about 16 px)."""
    points = curve.points_px if end else curve.points_px[::-1]
    tail = points[-END_POINTS:-1] if len(points) > WHOLE_POINTS else points
    x, y = (tail - tail.mean(0)).T
    angle = 0.5 * np.arctan2(2 * (x @ y), x @ x - y @ y)  # of the line's main axis
    direction = np.array([np.cos(angle), np.sin(angle)])
    return points[-1], direction * np.sign(direction @ (tail[-1] - tail[0]) or 1.0)


def join_curves(pieces: list[Curve], free: NDArray[np.uint8], step_mm: float) -> list[Curve]:
    """Pieces of one line put together where their ends point at each other and have one colour, best fitting pairs first.

    Parameters
    ----------
    pieces : list of Curve
    free : ndarray of uint8, shape (H, W)
        0 where a sticker hides the cloth.
    step_mm : float
        Size of a pixel.
    """
    if not pieces:
        return []
    ends = [(key, end, *_tangent(curve, end)) for key, curve in enumerate(pieces) for end in (0, 1)]
    tips, ways = np.array([e[2] for e in ends]), np.array([e[3] for e in ends])
    tints = np.repeat([c.change / np.linalg.norm(c.change) for c in pieces], 2, axis=0)
    near = np.hypot(*(tips[:, None] - tips[None]).transpose(2, 0, 1)) * step_mm < COVERED_GAP_MM
    fits = np.triu(near & (ways @ ways.T < -np.cos(np.radians(TURN_DEG))) & (tints @ tints.T > TINT), 1)
    offers = []
    for i, j in np.argwhere(fits).tolist():
        price = _price(*ends[i][2:], *ends[j][2:], free, step_mm) if ends[i][0] != ends[j][0] else None
        if price is not None:
            offers.append((price + PER_TINT * (1 - float(tints[i] @ tints[j])), i, j))
    partner: dict[int, int] = {}
    group = list(range(len(pieces)))  # pieces already in one line share a number, so that no ring is closed
    for _, i, j in sorted(offers):
        a, b = group[i // 2], group[j // 2]
        if i in partner or j in partner or a == b:
            continue
        partner[i], partner[j] = j, i
        group = [a if g == b else g for g in group]
    lines = []
    for first in range(len(ends)):
        if first in partner or group[first // 2] < 0:
            continue
        number, end, line = group[first // 2], first, pieces[first // 2]
        line = line if first % 2 == 0 else _turned(line)
        while (end := end ^ 1) in partner:
            end = partner[end]
            line = _joined(line, pieces[end // 2] if end % 2 == 0 else _turned(pieces[end // 2]))
        group = [-1 if g == number else g for g in group]
        lines.append(line)
    return lines


def _price(p: Floats, u: Floats, q: Floats, v: Floats, free: NDArray[np.uint8], step_mm: float) -> float | None:
    """How badly two ends (points p, q; outward directions u, v) fit as one line; None when they do not."""
    gap = q - p
    size = float(np.hypot(*gap))
    bend = max(_angle(u, gap), _angle(v, -gap)) if size > TOUCH_PX else _angle(u, -v)
    aside = max(abs(gap[0] * u[1] - gap[1] * u[0]), abs(gap[0] * v[1] - gap[1] * v[0]))
    at = np.round(p + np.linspace(0, 1, LOOKS)[:, None] * gap).astype(int)
    at = np.clip(at, 0, np.array(free.shape)[::-1] - 1)
    covered = float((free[at[:, 1], at[:, 0]] == 0).mean())
    most_bend, most_aside = COVERED_BEND_DEG if covered > MOSTLY else OPEN_BEND_DEG, ASIDE_PX
    if size < SHORT_PX:
        most_bend, most_aside = SHORT_BEND_DEG, SHORT_ASIDE_PX
    if size * step_mm * (1 - covered) > FREE_GAP_MM or (bend > most_bend and aside > most_aside):
        return None
    return size + PER_DEG * bend + PER_PX_ASIDE * float(aside)


def _angle(a: Floats, b: Floats) -> float:
    return float(np.degrees(np.arctan2(abs(a[0] * b[1] - a[1] * b[0]), a @ b)))


def _turned(curve: Curve) -> Curve:
    return replace(curve, points_px=curve.points_px[::-1], seen=curve.seen[::-1])


def _joined(a: Curve, b: Curve) -> Curve:
    """b after a, with a cubic Hermite bridge over the gap."""
    p, q = a.points_px[-1], b.points_px[0]
    size = float(np.hypot(*(q - p)))
    u, v = _tangent(a, 1)[1], -_tangent(b, 0)[1]
    t = np.linspace(0, 1, max(2, round(size / POINT_PX) + 1))[1:-1, None]
    bridge = (2 * t**3 - 3 * t**2 + 1) * p + (t**3 - 2 * t**2 + t) * size * u + (3 * t**2 - 2 * t**3) * q + (t**3 - t**2) * size * v
    weights = np.array([len(a.points_px), len(b.points_px)], float)
    return Curve(
        np.concatenate([a.points_px, bridge, b.points_px]),
        np.concatenate([a.seen, np.zeros(len(bridge), bool), b.seen]),
        float(np.average([a.sd_px, b.sd_px], weights=weights)),
        np.average([a.change, b.change], axis=0, weights=weights),
        float(np.average([a.edge, b.edge], weights=weights)),
    )
