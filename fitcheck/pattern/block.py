"""A schematic block drafted to the wearer's measurements: flat pieces by named points, enough to show what an alteration does to seams.

The draft is a plain one of our own (half girths with ease, shoulder from slope and length, curves by quadratic Bezier); it is to scale,
but it is no pattern to cut a garment from. Lengths in millimetres, x to the side, y downwards, centre line at x = 0.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from fitcheck.core.fitting import TapeFacts
from fitcheck.core.records import Floats

CURVE_STEPS = 16


@dataclass(frozen=True, slots=True)
class Body:
    """What the block is drafted to (mm, degrees); the defaults are ANSUR II women's means (TRADE 7) or estimates around them."""

    bust: float = 930.0
    waist: float = 760.0
    hip: float = 1010.0
    back_waist: float = 410.0
    shoulder: float = 130.0
    slope_deg: float = 22.0
    bust_span: float = 190.0

    @classmethod
    def of(cls, tape: TapeFacts) -> "Body":
        """To the wearer's own tape measurements where she gave them."""
        names = {"back_waist_length": "back_waist", "shoulder_length": "shoulder"}
        given = {names.get(name, name): value for name, value in tape.given_mm().items()}
        return cls(**{name: value for name, value in given.items() if name in cls.__dataclass_fields__})


@dataclass(frozen=True, slots=True)
class Piece:
    """One flat piece.

    Attributes
    ----------
    edges : dict of str to ndarray, shape (N, 2)
        Seam lines in order around the piece; each begins where the one before it ends.
    cuts : tuple of ndarray
        Lines along which it was cut, folded or drawn anew, for the drawing.
    """

    name: str
    edges: Mapping[str, Floats]
    cuts: tuple[Floats, ...] = field(default=())

    @property
    def outline(self) -> Floats:
        """Shape (N, 2): all edges one after the other, closed."""
        return np.vstack([*self.edges.values(), next(iter(self.edges.values()))[:1]])

    def length(self, edge: str) -> float:
        """Of one seam line, mm."""
        return path_length(self.edges[edge])

    def with_edges(self, cuts: tuple[Floats, ...] = (), **edges: Floats) -> "Piece":
        """The same with some seam lines replaced, and the lines of the change."""
        return replace(self, edges={name: edges.get(name, old) for name, old in self.edges.items()}, cuts=(*self.cuts, *cuts))


def path_length(points: Floats) -> float:
    """Length of a polyline."""
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


def curve(start: Floats, control: Floats, end: Floats) -> Floats:
    """A quadratic Bezier curve as a polyline, shape (CURVE_STEPS + 1, 2)."""
    t = np.linspace(0, 1, CURVE_STEPS + 1)[:, None]
    bent: Floats = (1 - t) ** 2 * start + 2 * t * (1 - t) * control + t**2 * end
    return bent


def line(*points: tuple[float, float]) -> Floats:
    """A polyline through points."""
    return np.array(points, dtype=float)


def bodice(body: Body) -> dict[str, Piece]:
    """Front and back to the waist, undarted outlines; both have the same shoulder and side seam lengths."""
    quarter_bust, quarter_waist = body.bust / 4 + 17, body.waist / 4 + 35
    neck, drop = body.bust / 20 + 17, body.shoulder * math.sin(math.radians(body.slope_deg))
    reach = neck + body.shoulder * math.cos(math.radians(body.slope_deg))
    depth = body.bust / 6 + 55  # base of the armhole below the neck end of the shoulder
    pieces = {}
    for name, neck_depth, chest, top in (("back", 20.0, reach - 12, 0.0), ("front", 75.0, reach - 24, 0.0)):
        neck_end, tip = np.array([neck, top]), np.array([reach, top + drop])
        underarm, waist_side = np.array([quarter_bust, depth]), np.array([quarter_waist, body.back_waist])
        middle = np.array([chest, (drop + depth) / 2])
        pieces[name] = Piece(
            name,
            {
                "neck": curve(np.array([0.0, neck_depth]), np.array([neck * 0.95, neck_depth]), neck_end),
                "shoulder": np.array([neck_end, tip]),
                "armhole": np.vstack(
                    [curve(tip, np.array([chest, drop + 25]), middle), curve(middle, np.array([chest, depth]), underarm)[1:]]
                ),
                "side": np.array([underarm, waist_side]),
                "waist": np.array([waist_side, [0.0, body.back_waist]]),
                "centre": line((0.0, body.back_waist), (0.0, neck_depth)),
            },
        )
    return pieces


def princess(body: Body) -> dict[str, Piece]:
    """Centre front and side front, whose princess seams (bust to armhole above, bust to waist below) have one length each."""
    front = bodice(body)["front"]
    armhole, side = front.edges["armhole"], front.edges["side"]
    at = len(armhole) // 2
    bust = np.array([body.bust_span / 2, armhole[-1, 1] + 45.0])
    foot = np.array([body.bust_span / 2 - 8, body.back_waist])
    upper = curve(bust, np.array([bust[0] + 8, (bust[1] + armhole[at, 1]) / 2]), armhole[at])
    centre = Piece(
        "centre front",
        {
            "neck": front.edges["neck"],
            "shoulder": front.edges["shoulder"],
            "armhole": armhole[: at + 1],
            "princess_upper": upper[::-1],
            "princess_lower": np.array([bust, foot]),
            "waist": np.array([foot, [0.0, body.back_waist]]),
            "centre": front.edges["centre"],
        },
    )
    gap = 40.0  # drawn apart, so that both can be seen
    shift = np.array([gap, 0.0])
    waist_side = side[-1] + shift
    foot_side = foot + shift + np.array([24.0, 0.0])
    foot_side[1] = bust[1] + math.sqrt(path_length(np.array([bust, foot])) ** 2 - (foot_side[0] - bust[0] - gap) ** 2)
    side_front = Piece(
        "side front",
        {
            "armhole": armhole[at:] + shift,
            "side": np.array([armhole[-1] + shift, waist_side]),
            "waist": np.array([waist_side, foot_side]),
            "princess_lower": np.array([foot_side, bust + shift]),
            "princess_upper": upper + shift,
        },
    )
    return {"centre front": centre, "side front": side_front}


def sleeve(body: Body) -> dict[str, Piece]:
    """A straight set-in sleeve; cap front and back from underarm to top."""
    half, cap, long = body.bust / 7 + 30, body.bust / 8 + 10, 560.0
    under_back, top, under_front = np.array([-half, cap]), np.array([0.0, 0.0]), np.array([half, cap])
    wrist = half * 0.7
    back = np.vstack(
        [
            curve(under_back, np.array([-half * 0.6, cap]), np.array([-half * 0.5, cap / 2])),
            curve(np.array([-half * 0.5, cap / 2]), np.array([-half * 0.38, 0.0]), top)[1:],
        ]
    )
    front = np.vstack(
        [
            curve(top, np.array([half * 0.38, 0.0]), np.array([half * 0.5, cap / 2])),
            curve(np.array([half * 0.5, cap / 2]), np.array([half * 0.6, cap]), under_front)[1:],
        ]
    )
    return {
        "sleeve": Piece(
            "sleeve",
            {
                "cap_back": back,
                "cap_front": front,
                "seam_front": np.array([under_front, [wrist, long]]),
                "hem": line((wrist, long), (-wrist, long)),
                "seam_back": np.array([[-wrist, long], under_back]),
            },
        )
    }


def skirt(body: Body, length: float = 600.0) -> dict[str, Piece]:
    """Front and back with equal side seams."""
    pieces = {}
    for name, rise in (("back", 6.0), ("front", 0.0)):
        waist, hip = body.waist / 4 + 25, body.hip / 4 + 15
        side_top = np.array([waist, -10.0])
        hip_side = np.array([hip, 200.0])
        pieces[name] = Piece(
            name,
            {
                "waist": curve(np.array([0.0, rise]), np.array([waist / 2, rise]), side_top),
                "side": np.vstack([curve(side_top, np.array([hip, 90.0]), hip_side), [[hip, length]]]),
                "hem": line((hip, length), (0.0, length)),
                "centre": line((0.0, length), (0.0, rise)),
            },
        )
    return pieces


def trousers(body: Body) -> dict[str, Piece]:
    """Front and back leg, outside and inside seams equal, crotch curve to the inside leg."""
    pieces = {}
    depth, long = body.hip / 4 + 20, 1000.0
    for name, fork, rise in (("front", body.hip / 16 - 5, 0.0), ("back", body.hip / 8 - 5, -15.0)):
        waist, hip = body.waist / 4 + 20, body.hip / 4 + 10
        inside, hem_half, crease = np.array([-fork, depth]), 100.0, hip / 2 - fork / 2
        outside = np.vstack(
            [curve(np.array([waist, 0.0]), np.array([hip, 80.0]), np.array([hip, depth - 70])), [[crease + hem_half, long]]]
        )
        hem_in = np.array([crease - hem_half, long])
        pieces[name] = Piece(
            name,
            {
                "waist": line((0.0, rise), (waist, 0.0)),
                "outside": outside,
                "hem": np.array([outside[-1], hem_in]),
                "inside": np.array([hem_in, inside]),
                "crotch": np.vstack([curve(inside, np.array([0.0, depth]), np.array([0.0, depth - 90])), [[0.0, rise]]]),
            },
        )
    return pieces
