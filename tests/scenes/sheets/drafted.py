"""Invented pattern pieces with exact truth, drafted by plain numbers of our own and not by fitcheck's code. Millimetres, y downwards.

A half front or back has its centre line at x = 0; edges run neck, shoulder, armhole, side, hem, centre.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from shapely import LineString, Polygon

from ..mesh import Floats

PEAK = 5.0  # how far the mouth of a dart juts out, so that it folds flush with the seam


@dataclass(frozen=True)
class Drafted:
    """One piece in one size.

    Attributes
    ----------
    edges : dict of str to ndarray, shape (N, 2)
        Seam lines, in order round the piece.
    darts : tuple of ndarray, shape (3, 2)
        Leg end, point, leg end.
    notches : tuple of ndarray, shape (2,)
        On the cutting line.
    on_fold : bool
        The edge `centre` lies on a fold: no allowance there.
    """

    name: str
    edges: Mapping[str, Floats]
    darts: tuple[Floats, ...] = ()
    notches: tuple[Floats, ...] = ()
    grain: Floats = field(default_factory=lambda: np.zeros((2, 2)))
    on_fold: bool = False
    allowance: float = 0.0

    @property
    def seam_line(self) -> Floats:
        """Closed, shape (N, 2)."""
        points = np.vstack(list(self.edges.values()))
        keep = np.hypot(*(points - np.roll(points, 1, axis=0)).T) > 1e-6
        return np.asarray(points[keep])

    @property
    def cutting_line(self) -> Floats:
        """The seam line moved out by the allowance, but for a fold; closed, shape (N, 2)."""
        if not self.allowance:
            return self.seam_line
        grown = Polygon(self.seam_line).buffer(self.allowance, join_style="mitre", mitre_limit=3)
        if self.on_fold:
            _x0, y0, x1, y1 = grown.bounds
            fold = float(self.edges["centre"][0, 0])
            grown = grown.intersection(Polygon([(fold, y0), (x1, y0), (x1, y1), (fold, y1)]))
        return np.array(grown.exterior.coords)[:-1]


def bezier(start: Floats, control: Floats, end: Floats, steps: int = 40) -> Floats:
    """A quadratic curve."""
    t = np.linspace(0, 1, steps + 1)[:, None]
    return np.asarray((1 - t) ** 2 * start + 2 * t * (1 - t) * control + t**2 * end)


def bodice(name: str, size: float, allowance: float, on_fold: bool, dart: bool, length: float = 410.0) -> Drafted:
    """A half front or back; `size` counts grades of 10 mm in the quarter bust."""
    back = name == "back"
    neck_x, neck_y = 68 + 2.0 * size, (22.0 if back else 78 + 2 * size)
    tip = np.array([neck_x + 118 + 3 * size, 42 + 1.5 * size])
    under = np.array([238 + 10 * size, 212 + 5 * size])
    waist_x = 205 + 10 * size
    inside = np.array([tip[0] - (8 if back else 24), (tip[1] + under[1]) / 2 + 12])
    neck = bezier(np.array([0.0, neck_y]), np.array([neck_x * 0.95, neck_y]), np.array([neck_x, 0.0]))
    upper = bezier(tip, np.array([inside[0], tip[1] + 30]), inside)
    armhole = np.vstack([upper, bezier(inside, np.array([inside[0], under[1]]), under)[1:]])
    low = np.array([waist_x, length + 4 * size])
    edges = {"neck": neck, "shoulder": np.array([[neck_x, 0.0], tip]), "armhole": armhole}
    darts: tuple[Floats, ...] = ()
    if dart:
        way = low - under
        legs = [under + way * share for share in (0.28, 0.28 + (34 + 2 * size) / float(np.hypot(*way)))]
        out = np.array([way[1], -way[0]]) / float(np.hypot(*way)) * PEAK
        point = np.array([112 + 3 * size, legs[0][1] + 26])
        edges |= {"side_upper": np.array([under, legs[0]]), "dart_mouth": np.array([legs[0], (legs[0] + legs[1]) / 2 + out, legs[1]])}
        edges |= {"side_lower": np.array([legs[1], low])}
        darts = (np.array([legs[0], point, legs[1]]),)
    else:
        edges["side"] = np.array([under, low])
    edges["waist"] = bezier(low, np.array([waist_x * 0.5, length + 12 + 4 * size]), np.array([0.0, length + 8 + 4 * size]))
    edges["centre"] = np.array([[0.0, length + 8 + 4 * size], [0.0, neck_y]])
    grain = np.array([[70.0, 150.0], [70.0, length - 60]])
    drafted = Drafted(name, edges, darts, (), grain, on_fold, allowance)
    return _notched(drafted, ("armhole", 0.55), *((("side", 0.5),) if not dart else (("side_lower", 0.6),)))


def skirt(name: str, size: float, allowance: float, on_fold: bool, length: float = 620.0) -> Drafted:
    """A half skirt front or back with one waist dart."""
    waist_x, hip_x = 190 + 10 * size, 246 + 10 * size
    top, hip, low = np.array([waist_x, 0.0]), np.array([hip_x, 200.0]), np.array([hip_x + 14, length])
    centre_top = np.array([0.0, 16.0])
    legs = np.array([[waist_x * 0.52 + 11, 6.0], [waist_x * 0.52, 105.0], [waist_x * 0.52 - 11, 7.0]])
    edges = {
        "side": np.vstack([bezier(top, np.array([hip_x - 4, 95.0]), hip), low[None]]),
        "hem": bezier(low, np.array([hip_x * 0.5, length + 10]), np.array([0.0, length + 10])),
        "centre": np.array([[0.0, length + 10], centre_top]),
    }
    curve = bezier(centre_top, np.array([waist_x * 0.6, 15.0]), top)
    one, two = (int(np.argmin(np.abs(curve[:, 0] - legs[i, 0]))) for i in (2, 0))
    legs[2], legs[0] = curve[one], curve[two]
    peak = (legs[0] + legs[2]) / 2 - [0, PEAK]
    edges = {"waist": np.vstack([curve[: one + 1], peak[None], curve[two:]]), **edges}
    grain = np.array([[110.0, 200.0], [110.0, length - 120]])
    return _notched(Drafted(name, edges, (legs,), (), grain, on_fold, allowance), ("side", 0.4))


def sleeve(size: float, allowance: float) -> Drafted:
    """A whole set-in sleeve, its back at the left; `size` counts grades of 10 mm in its width."""
    half, high, wrist, long = 165 + 5 * size, 130 + 2 * size, 105 + 3 * size, 560.0
    left, top, right = np.array([-half, high]), np.array([8.0, 0.0]), np.array([half, high])
    cap = np.vstack(
        [
            bezier(left, np.array([-0.62 * half, high - 12]), np.array([-0.5 * half, 0.52 * high]), 20),
            bezier(np.array([-0.5 * half, 0.52 * high]), np.array([-0.34 * half, 0.0]), top, 20)[1:],
            bezier(top, np.array([0.42 * half, 0.0]), np.array([0.56 * half, 0.56 * high]), 20)[1:],
            bezier(np.array([0.56 * half, 0.56 * high]), np.array([0.68 * half, high - 4]), right, 20)[1:],
        ]
    )
    low = np.array([[wrist, long], [-wrist, long]])
    edges = {"cap": cap, "underarm_1": np.array([right, low[0]]), "wrist": low, "underarm_2": np.array([low[1], left])}
    grain = np.array([[0.0, 170.0], [0.0, long - 90]])
    return _notched(Drafted("sleeve", edges, (), (), grain, False, allowance), ("cap", 0.3), ("cap", 0.72))


def trousers(size: float, allowance: float, long: float = 700.0) -> Drafted:
    """Half a front of short trousers, its centre at the left."""
    waist, hip, low = 185 + 10 * size, 235 + 10 * size, 215 + 5 * size
    top, crotch = np.array([12.0, 0.0]), np.array([-58.0, 255.0])
    side = np.vstack([bezier(np.array([12 + waist, 0.0]), np.array([hip + 4, 90.0]), np.array([hip, 195.0])), [[low, long]]])
    edges = {
        "waist": np.array([top, side[0]]),
        "side": side,
        "hem": np.array([side[-1], [-35.0, long]]),
        "inseam": np.array([[-35.0, long], crotch]),
        "crotch": np.vstack([bezier(crotch, np.array([2.0, 252.0]), np.array([2.0, 165.0])), top[None]]),
    }
    grain = np.array([[90.0, 150.0], [90.0, long - 120]])
    return _notched(Drafted("trousers_front", edges, (), (), grain, False, allowance), ("side", 0.5))


def shape(name: str, outline: Floats) -> Drafted:
    """Any closed line, as a piece of one edge."""
    middle = outline.mean(axis=0)
    return Drafted(name, {"edge": np.vstack([outline, outline[:1]])}, grain=np.array([middle - [0, 40], middle + [0, 40]]))


def moved(piece: Drafted, by: tuple[float, float]) -> Drafted:
    """The same piece lying elsewhere."""
    off = np.array(by)
    edges = {name: points + off for name, points in piece.edges.items()}
    darts, notches = (tuple(one + off for one in every) for every in (piece.darts, piece.notches))
    return Drafted(piece.name, edges, darts, notches, piece.grain + off, piece.on_fold, piece.allowance)


def _notched(piece: Drafted, *where: tuple[str, float]) -> Drafted:
    """Notches on the cutting line beside places along seam lines."""
    ring = LineString(np.vstack([piece.cutting_line, piece.cutting_line[:1]]))
    found = []
    for edge, share in where:
        place = LineString(piece.edges[edge]).interpolate(share, normalized=True)
        found.append(np.array(ring.interpolate(ring.project(place)).coords[0]))
    return Drafted(piece.name, piece.edges, piece.darts, tuple(found), piece.grain, piece.on_fold, piece.allowance)
