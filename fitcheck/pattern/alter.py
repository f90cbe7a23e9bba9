"""What the alterations do to the block's pieces: pivot, slash and spread, fold out, true. Every seam keeps its partner's length.

Each alteration is written once, for the amount that is added or taken (signed as in alterations.toml), and names the seams that are sewn
together, so that their lengths can be compared before and after.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq
from shapely import LineString, affinity
from shapely.ops import substring

from fitcheck.core.records import Floats
from fitcheck.pattern.block import Body, Piece, bodice, line, path_length, princess, skirt, sleeve, trousers

Pieces = Mapping[str, Piece]
Seam = tuple[tuple[str, str], ...]  # (piece, edge) whose lengths add up to one side of a seam


@dataclass(frozen=True, slots=True)
class Altered:
    """The pieces before and after, and which seams are sewn to each other.

    Attributes
    ----------
    sewn : tuple of (Seam, Seam)
        The two sides of each seam; one may be longer by the ease that it had before.
    note : str
        What the drawing does not show, with `{mm:<number>}` fields.
    """

    before: Pieces
    after: Pieces
    sewn: tuple[tuple[Seam, Seam], ...]
    note: str = ""

    def lengths(self, seam: Seam) -> tuple[float, float]:
        """Before and after, mm."""
        before, after = (sum(pieces[piece].length(edge) for piece, edge in seam) for pieces in (self.before, self.after))
        return before, after

    def mismatches(self) -> list[float]:
        """By how much the two sides of each seam have grown apart, mm."""
        found = []
        for one, two in self.sewn:
            (one_before, one_after), (two_before, two_after) = self.lengths(one), self.lengths(two)
            found.append((one_after - two_after) - (one_before - two_before))
        return found


def alter(id: str, amount_mm: float, body: Body, front: str) -> Altered | None:
    """The pieces of one alteration, or None where there is no drawing for it.

    Parameters
    ----------
    id : str
        As in alterations.toml.
    front : dart | princess | none
    """
    draft = _DRAFTS.get((id, front)) or _DRAFTS.get((id, ""))
    return draft(amount_mm, body) if draft else None


SHOULDER = ((("back", "shoulder"),), (("front", "shoulder"),))
SIDE = ((("back", "side"),), (("front", "side"),))


def _forward_shoulder(amount: float, body: Body) -> Altered:
    before = {**bodice(body), **sleeve(body)}
    back, front = _turn_shoulder(before["back"], amount), _turn_shoulder(before["front"], -amount)
    grown = back.length("armhole") - before["back"].length("armhole")
    front = _hollowed(front, before["front"].length("armhole") - grown)
    one = before["sleeve"]
    cap = np.vstack([one.edges["cap_back"], one.edges["cap_front"][1:]])
    notch = one.length("cap_back") + grown
    moved = one.with_edges(cap_back=_part(cap, 0, notch), cap_front=_part(cap, notch, path_length(cap)))
    after = {"back": back, "front": front, "sleeve": moved}
    caps = (((("back", "armhole"),), (("sleeve", "cap_back"),)), ((("front", "armhole"),), (("sleeve", "cap_front"),)))
    return Altered(before, after, (SHOULDER, SIDE, *caps), "The notch at the top of the sleeve moves; the cap keeps its form.")


def _shoulder_slope(amount: float, body: Body) -> Altered:
    before = bodice(body)
    after = {name: _raise_underarm(_turn_shoulder(piece, amount, whole=True), amount) for name, piece in before.items()}
    return Altered(before, after, (SHOULDER, SIDE))


def _shoulder_width(amount: float, body: Body) -> Altered:
    before = bodice(body)
    after = {}
    for name, piece in before.items():
        neck, tip = piece.edges["shoulder"]
        new = tip + (tip - neck) / np.hypot(*(tip - neck)) * amount
        after[name] = piece.with_edges(
            (np.array([neck, new]),), shoulder=np.array([neck, new]), armhole=_drag(piece.edges["armhole"], new - tip)
        )
    return Altered(before, after, (SHOULDER, SIDE))


def _upper_back(amount: float, body: Body) -> Altered:
    """Slash at the blades, hinge at the armhole: what lies above turns until centre back has opened."""
    before = bodice(body)
    back = before["back"]
    armhole = back.edges["armhole"]
    at = len(armhole) // 2
    hinge = armhole[at]
    angle = math.atan2(amount, hinge[0])
    turned = {name: _rotated(back.edges[name], angle, hinge) for name in ("neck", "shoulder")}
    upper = _rotated(armhole[: at + 1], angle, hinge)
    neck, width = turned["neck"], float(-turned["neck"][0, 0])
    straight = neck + np.outer(np.linspace(1, 0, len(neck)) ** 2, [width, 0.0])  # what the turn adds at the neck goes into dart or ease
    after = back.with_edges(
        (line((0.0, hinge[1]), tuple(hinge)),),
        neck=straight,
        shoulder=turned["shoulder"],
        armhole=np.vstack([upper, armhole[at + 1 :]]),
        centre=np.array([back.edges["centre"][0], straight[0]]),
    )
    note = (
        f"At the neck {{mm:{abs(width):.0f}}} {'too much goes into a small dart or ease' if amount > 0 else 'is taken from dart or ease'}."
    )
    return Altered(before, {**before, "back": after}, (SHOULDER, SIDE), note)


def _waist_length(main: str, at_centre: float, at_side: float) -> Callable[[float, Body], Altered]:
    """The cut above the waist opens by shares of the amount; the other piece follows at the side, to nothing at its centre."""

    def draft(amount: float, body: Body) -> Altered:
        before = bodice(body)
        other = "front" if main == "back" else "back"
        after = {main: _open(before[main], amount * at_centre, amount * at_side), other: _open(before[other], 0.0, amount * at_side)}
        return Altered(before, after, (SHOULDER, SIDE))

    return draft


def _bust_princess(amount: float, body: Body) -> Altered:
    before = princess(body)
    centre, side = before["centre front"], before["side front"]
    out = np.array([-amount, 0.0])
    after_side = side.with_edges(
        (np.array([side.edges["princess_upper"][0] + out, side.edges["armhole"][-1]]),),
        princess_upper=_drag(side.edges["princess_upper"], out),
        princess_lower=_drag(side.edges["princess_lower"][::-1], out)[::-1],
    )
    return Altered(before, {"centre front": _match_princess(centre, after_side), "side front": after_side}, PRINCESS)


def _bust_height_princess(amount: float, body: Body) -> Altered:
    before = princess(body)
    up = np.array([0.0, -amount])
    after = {
        name: piece.with_edges(
            princess_upper=_drag(piece.edges["princess_upper"][::-1], up)[::-1]
            if name == "centre front"
            else _drag(piece.edges["princess_upper"], up),
            princess_lower=_drag(piece.edges["princess_lower"], up)
            if name == "centre front"
            else _drag(piece.edges["princess_lower"][::-1], up)[::-1],
        )
        for name, piece in before.items()
    }
    return Altered(before, {**after, "centre front": _match_princess(after["centre front"], after["side front"])}, PRINCESS)


PRINCESS = (
    ((("centre front", "princess_upper"),), (("side front", "princess_upper"),)),
    ((("centre front", "princess_lower"),), (("side front", "princess_lower"),)),
)


def _bust_dart(amount: float, body: Body) -> Altered:
    """Slash from the waist to the bust point and on to the armhole, and across through the dart; the side part turns about the armhole."""
    back = bodice(body)["back"]
    before, after = (_darted_front(body, _DRAFTED_MM + more) for more in (0.0, amount))
    sewn = (
        SHOULDER,
        ((("front", "side_upper"), ("front", "side_lower")), (("back", "side"),)),
        ((("front", "dart_upper"),), (("front", "dart_lower"),)),
    )
    note = (
        "The waist dart is not drawn; the width gained at the waist goes into it. Draw the dart's point back a little from the bust point."
    )
    return Altered({"back": back, "front": before}, {"back": back, "front": after}, sewn, note)


def _darted_front(body: Body, spread: float) -> Piece:
    """The front slashed to the bust point and spread there, so that the dart at the side opens; its legs have one length."""
    front = bodice(body)["front"]
    armhole, side = front.edges["armhole"], front.edges["side"]
    at = len(armhole) * 2 // 3
    hinge = armhole[at]
    bust = np.array([body.bust_span / 2, side[0, 1] + 45.0])
    dart = side[0] + (side[1] - side[0]) * 0.35
    foot = np.array([bust[0], body.back_waist])
    angle = -2 * math.asin(spread / 2 / float(np.hypot(*(bust - hinge))))
    apex, leg, underarm = (_rotated(point[None], angle, hinge)[0] for point in (bust, dart, side[0]))
    slide = apex - bust  # what lies below the dart slides out unturned: the edges of the long cut stay parallel
    level = np.array([0.0, slide[1]])
    return Piece(
        "front",
        {
            "neck": front.edges["neck"],
            "shoulder": front.edges["shoulder"],
            "armhole": np.vstack([armhole[: at + 1], _rotated(armhole[at + 1 :], angle, hinge)]),
            "side_upper": np.array([underarm, leg]),
            "dart_upper": np.array([leg, apex]),
            "dart_lower": np.array([apex, dart + slide]),
            "side_lower": np.array([dart + slide, side[1] + slide]),
            "waist": np.array([side[1] + slide, foot + slide, foot + level, [0.0, body.back_waist + slide[1]]]),
            "centre": line((0.0, body.back_waist + float(slide[1])), (0.0, float(front.edges["neck"][0, 1]))),
        },
        (np.array([apex, hinge]), np.array([foot + slide, apex])),
    )


def _side_width(
    draft: Callable[[Body], dict[str, Piece]], edge: str, reach: Callable[[Floats], Floats]
) -> Callable[[float, Body], Altered]:
    """Both side seams move out by half of the amount, by shares that depend on the height."""

    def made(amount: float, body: Body) -> Altered:
        before = draft(body)
        after = {}
        for name, piece in before.items():
            seam = piece.edges[edge]
            moved = seam + np.outer(reach(seam[:, 1]), [amount / 2, 0.0])
            after[name] = _joined(piece, edge, moved)
        return Altered(before, after, (((("back", edge),), (("front", edge),)),))

    return made


def _sleeve_length(amount: float, body: Body) -> Altered:
    before = sleeve(body)
    one = before["sleeve"]
    down = np.array([0.0, amount])
    after = one.with_edges(
        hem=one.edges["hem"] + down,
        seam_front=one.edges["seam_front"] + np.outer([0, 1], down),
        seam_back=one.edges["seam_back"] + np.outer([1, 0], down),
    )
    return Altered(before, {"sleeve": after}, (((("sleeve", "seam_front"),), (("sleeve", "seam_back"),)),))


def _crotch_depth(amount: float, body: Body) -> Altered:
    before = trousers(body)
    level = 120.0
    after = {
        name: piece.with_edges(
            (line((0.0, level), (float(piece.edges["waist"][-1, 0]), level)),),
            **{e: _below(points, level, amount) for e, points in piece.edges.items()},
        )
        for name, piece in before.items()
    }
    legs = tuple(((("back", edge),), (("front", edge),)) for edge in ("outside", "inside"))
    return Altered(before, after, legs)


_HIP_MM = 200.0
_DRAFTED_MM = 42.0  # spread at the bust of the block's own dart (estimate: a usual B)
_DRAFTS: dict[tuple[str, str], Callable[[float, Body], Altered]] = {
    ("forward_shoulder", ""): _forward_shoulder,
    ("square_sloping_shoulder", ""): _shoulder_slope,
    ("uneven_shoulders", ""): lambda amount, body: _shoulder_slope(-amount, body),
    ("narrow_broad_shoulder", ""): _shoulder_width,
    ("rounded_erect_upper_back", ""): _upper_back,
    ("waist_length_back", ""): _waist_length("back", 1.0, 0.5),
    ("waist_length_front", ""): _waist_length("front", 1.0, 0.5),
    ("sway_back", ""): _waist_length("back", -1.0, 0.0),
    ("full_small_bust", "princess"): _bust_princess,
    ("full_small_bust", "dart"): _bust_dart,
    ("bust_point_height", "princess"): _bust_height_princess,
    ("waist_width", ""): _side_width(bodice, "side", lambda y: (y - y[0]) / (y[-1] - y[0])),
    ("hip_width", ""): _side_width(skirt, "side", lambda y: np.clip((y - y[0]) / (_HIP_MM - y[0]), 0, 1)),
    ("sleeve_length", ""): _sleeve_length,
    ("crotch_depth", ""): _crotch_depth,
}


def drawn() -> frozenset[tuple[str, str]]:
    """(alteration, front) for which there is a drawing; an empty front means any."""
    return frozenset(_DRAFTS)


def _rotated(points: Floats, angle: float, about: Floats) -> Floats:
    """Turned clockwise on paper for negative angles (y points down), in radians."""
    if len(points) == 0:
        return points
    shape = affinity.rotate(LineString(np.vstack([points, points[-1:]])), angle, origin=tuple(about), use_radians=True)
    turned: Floats = np.array(shape.coords)[:-1]
    return turned


def _part(points: Floats, start: float, end: float) -> Floats:
    """Of a polyline, between two lengths along it."""
    part: Floats = np.array(substring(LineString(points), start, end).coords)
    return part


def _drag(points: Floats, by: Floats) -> Floats:
    """The first point moves, the last stays, and what lies between follows smoothly."""
    steps = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    share = (1 - steps / steps[-1]) ** 2 if len(points) > 2 else 1 - steps / steps[-1]
    dragged: Floats = points + np.outer(share, by)
    return dragged


def _turn_shoulder(piece: Piece, amount: float, whole: bool = False) -> Piece:
    """The shoulder seam turned about its neck end, its armhole end raised; the armhole follows, to nothing at its base."""
    neck, tip = piece.edges["shoulder"]
    angle = -2 * math.asin(amount / 2 / float(np.hypot(*(tip - neck))))
    new = _rotated(tip[None], angle, neck)[0]
    armhole = piece.edges["armhole"] + (new - tip) if whole else _drag(piece.edges["armhole"], new - tip)
    return piece.with_edges((np.array([neck, new]),), shoulder=np.array([neck, new]), armhole=armhole)


def _hollowed(piece: Piece, length: float) -> Piece:
    """The armhole smoothed a little in or out until it has this length, so that both armholes together keep theirs."""
    armhole = piece.edges["armhole"]
    bow = np.sin(np.pi * np.linspace(0, 1, len(armhole)))

    def smoothed(by: float) -> Floats:
        curved: Floats = armhole - np.outer(bow, [by, 0.0])
        return curved

    return piece.with_edges(armhole=smoothed(_solve(lambda by: path_length(smoothed(by)) - length)))


def _raise_underarm(piece: Piece, amount: float) -> Piece:
    """The base of the armhole raised on the side seam; the armhole, which has moved whole, is eased to it."""
    armhole, side = piece.edges["armhole"], piece.edges["side"]
    base = side[0] - np.array([0.0, amount])
    eased = armhole + np.outer(np.linspace(0, 1, len(armhole)) ** 2, base - armhole[-1])
    return piece.with_edges(armhole=eased, side=np.array([base, side[1]]))


def _open(piece: Piece, at_centre: float, at_side: float) -> Piece:
    """A level cut half way between armhole and waist, opened (or folded) by one amount at the centre and one at the side."""
    level = (piece.edges["side"][0, 1] + piece.edges["side"][1, 1]) / 2
    width = piece.edges["side"][1, 0]

    def moved(points: Floats) -> Floats:
        below = points[:, 1] > level
        return points + np.outer(below * (at_centre + (at_side - at_centre) * points[:, 0] / width), [0.0, 1.0])

    cut = line((0.0, level), (float(piece.edges["side"][:, 0].mean()), level))
    return piece.with_edges((cut,), **{name: moved(piece.edges[name]) for name in ("side", "waist", "centre")})


def _match_princess(centre: Piece, side: Piece) -> Piece:
    """Lengthen (or shorten) the centre front above and below the bust until its princess seams are as long as the side front's."""

    def upper(drop: float) -> Floats:
        return _drag(centre.edges["princess_upper"][::-1], np.array([0.0, drop]))[::-1]

    drop = _solve(lambda d: path_length(upper(d)) - side.length("princess_upper"))
    bust = upper(drop)[-1]
    foot = centre.edges["princess_lower"][-1]

    def lower(more: float) -> Floats:
        return np.array([bust, foot + [0.0, more]])

    more = _solve(lambda d: path_length(lower(d)) - side.length("princess_lower"))
    low = np.array([[0.0, more], [0.0, more]])
    return centre.with_edges(
        (line((0.0, float(bust[1])), (float(bust[0]), float(bust[1]))),),
        princess_upper=upper(drop),
        princess_lower=lower(more),
        waist=centre.edges["waist"] + low,
        centre=centre.edges["centre"] + np.array([[0.0, more], [0.0, 0.0]]),
    )


def _solve(excess: Callable[[float], float]) -> float:
    """The smallest change for which the excess is nothing."""
    if abs(excess(0.0)) < 1e-9:
        return 0.0
    reach = 1.0
    while excess(-reach) * excess(reach) > 0 and reach < 500:
        reach *= 1.3
    found: float = brentq(excess, -reach, reach, xtol=1e-6)
    return found


def _below(points: Floats, level: float, by: float) -> Floats:
    """What lies below a level moves down as one; edges that cross it get longer or shorter by as much."""
    moved: Floats = points + np.outer(points[:, 1] > level, [0.0, by])
    return moved


def _joined(piece: Piece, edge: str, moved: Floats) -> Piece:
    """An edge moved, with the ends of its neighbours."""
    names = list(piece.edges)
    at = names.index(edge)
    before, after = names[at - 1], names[(at + 1) % len(names)]
    first, last = piece.edges[before].copy(), piece.edges[after].copy()
    first[-1], last[0] = moved[0], moved[-1]
    return piece.with_edges((moved,), **{before: first, edge: moved, after: last})
