"""A piece cut along a line and spread, or lapped, about a hinge."""

import math
from dataclasses import dataclass, replace

import numpy as np

from fitcheck.core.records import Floats
from fitcheck.pattern.drafts.fronts import princess_seam
from fitcheck.pattern.lines import (
    curve,
    drag,
    line,
    nearest_along,
    part,
    path_length,
    point_at,
    rotated,
    solve,
    turn_between,
    unit,
)
from fitcheck.pattern.piece import Mark, Piece, arrow

_PANEL_HINGE_MM = 100.0  # above the bust line, or just below the seam's end: where a side front turns at its armhole (estimate)
_PANEL_INSIDE_MM = 45.0  # how far inside the princess seam the cut meets the bust line (estimate)


@dataclass(frozen=True, slots=True)
class Place:
    """Where a cut meets an edge: the part that stays reaches to one length along it, the part that turns to another, a wedge between."""

    edge: str
    stays: float
    turns: float

    @classmethod
    def on(cls, piece: Piece, edge: str, along: float) -> "Place":
        """A plain cut at one length along an edge."""
        return cls(edge, along, along)

    @classmethod
    def end_of(cls, piece: Piece, edge: str) -> "Place":
        """The corner at the end of an edge."""
        return cls.on(piece, edge, path_length(piece.edges[edge]))


def swung(piece: Piece, start: Place, end: Place, about: Floats, angle: float) -> Piece:
    """What lies around the piece from one place to the other turned about a hinge; the cut edges stay joined by straight lines.

    Parameters
    ----------
    start, end : Place
        In the order of the edges; the part between them turns.
    angle : float
        Radians, as `lines.rotated`.
    """
    names = list(piece.edges)
    first, last = names.index(start.edge), names.index(end.edge)
    turning = [names[i % len(names)] for i in range(first + 1, last if last > first else last + len(names))]
    changes = {name: rotated(piece.edges[name], angle, about) for name in turning}
    opening, closing = piece.edges[start.edge], piece.edges[end.edge]
    changes[start.edge] = _joined(
        start, part(opening, 0, start.stays), rotated(part(opening, start.turns, path_length(opening)), angle, about)
    )
    changes[end.edge] = _joined(end, rotated(part(closing, 0, end.turns), angle, about), part(closing, end.stays, path_length(closing)))
    return piece.with_edges(**changes)


def spread(piece: Piece, start: Place, end: Place, hinge: Floats, amount: float, at: Floats, sense: int) -> Piece:
    """Cut from an edge to a hinge on another edge and opened, or lapped for amounts below zero.

    Parameters
    ----------
    at : ndarray, shape (2,)
        Where on the cut the whole amount stands.
    sense : 1 | -1
        1 where opening turns the part clockwise on paper.
    """
    angle = sense * 2 * math.asin(amount / 2 / float(np.hypot(*(at - hinge))))
    places = [point_at(piece.edges[place.edge], place.turns) for place in (start, end)]
    first = float(np.hypot(*(places[0] - hinge))) > float(np.hypot(*(places[1] - hinge)))
    mouth = places[0] if first else places[1]
    turned = rotated(np.array([mouth, at]), angle, hinge)
    if amount < 0:  # of what lies double at the mouth, each part gives half, so that the edge runs on
        half = float(np.hypot(*(turned[0] - mouth))) / 2
        if first:
            start = Place(start.edge, start.stays - half, start.turns + half)
        else:
            end = Place(end.edge, end.stays + half, end.turns - half)
    marks = [
        Mark("cut", np.array([mouth, hinge])),
        Mark("gap" if amount > 0 else "lap", np.array([hinge, mouth, turned[0]])),
        Mark("hinge", hinge[None]),
        arrow(at, turned[1], amount),
    ]
    return swung(piece, start, end, hinge, angle).with_edges(*marks)


def bust_spread(piece: Piece, width: float, bust: Floats) -> Piece:
    """A front without a dart cut from its lower edge over the bust point to the armhole, turned there until it is wider at the bust."""
    armhole = piece.edges["armhole"]
    hinge_at = path_length(armhole[: len(armhole) // 2 + 1])
    hinge = point_at(armhole, hinge_at)
    low = "hem" if "hem" in piece.edges else "waist"
    foot_at = nearest_along(piece.edges[low], np.array([bust[0], 9e3]))
    foot = point_at(piece.edges[low], foot_at)
    radius, across = math.dist(bust, hinge), float(bust[0] + width - hinge[0])
    angle = turn_between(bust - hinge, np.array([across, math.sqrt(radius**2 - across**2)]))
    new, foot_new = rotated(np.array([bust, foot]), angle, hinge)
    turned = swung(piece, Place.on(piece, "armhole", hinge_at), Place.on(piece, low, foot_at), hinge, angle)
    marks = [
        Mark("cut", np.array([foot, bust, hinge])),
        Mark("gap" if width > 0 else "lap", np.array([hinge, bust, foot, foot_new, new])),
        Mark("hinge", hinge[None]),
        arrow(bust, new, width),
    ]
    edge = turned.edges[low]
    return turned.with_edges(*marks, **{low: np.array([edge[0], edge[-1]])})


def bust_panel_opened(piece: Piece, width: float) -> Piece:
    """A side front cut from its armhole to the bust line and on to the foot of its princess seam, and across at the bust; spread there.

    Both parts beside the princess seam turn, the upper one about the armhole, the lower one about the foot, until the seam lies so much
    further out at the bust: nothing changes at armhole, side and waist, and the seam grows by what the cut across has opened.
    """
    armhole, upper, lower = piece.edges["armhole"], piece.edges["princess_upper"], piece.edges["princess_lower"]
    bust, foot = upper[0], lower[0]
    high = int(np.argmax(armhole[:, 1] > bust[1] - _PANEL_HINGE_MM))
    hinge_at = max(path_length(armhole[: high + 1]), 15.0)
    hinge = point_at(armhole, hinge_at)
    inside = bust + [_PANEL_INSIDE_MM, 0.0]
    angles = [sign * 2 * math.asin(width / 2 / math.dist(inside, about)) for sign, about in ((1, hinge), (-1, foot))]
    turned = [rotated(np.array([bust, inside]), angle, about) for angle, about in zip(angles, (hinge, foot), strict=True)]
    middle = np.array([bust[0] - width, (turned[0][0, 1] + turned[1][0, 1]) / 2])
    above = swung(piece, Place.end_of(piece, "princess_lower"), Place.on(piece, "armhole", hinge_at), hinge, angles[0])
    top = above.edges["princess_upper"][-1]
    kind, across = "gap" if width > 0 else "lap", np.array([inside, turned[0][1], turned[0][0], turned[1][0], turned[1][1]])
    marks = [
        *(Mark(kind, area) for area in (np.array([hinge, inside, turned[0][1]]), np.array([foot, inside, turned[1][1]]), across)),
        Mark("cut", np.array([hinge, inside, foot])),
        Mark("cut", np.array([middle, inside])),
        Mark("hinge", hinge[None]),
        Mark("hinge", foot[None]),
        arrow(bust, middle, width),
    ]
    found = above.with_edges(
        *marks,
        princess_upper=princess_seam(top, middle)[::-1],
        princess_lower=curve(foot, np.array([(foot[0] + 2 * middle[0]) / 3, (foot[1] + middle[1]) / 2]), middle),
    )
    return replace(found, inner={**piece.inner, "bust point": middle[None]})


def upper_back_opened(piece: Piece, amount: float) -> Piece:
    """Slash at the blades, hinge at the armhole: what lies above turns until centre back has opened; it is drawn straight again."""
    armhole, centre = piece.edges["armhole"], piece.edges["centre"]
    hinge_at = path_length(armhole[: len(armhole) // 2 + 1])
    hinge = point_at(armhole, hinge_at)
    cut = np.array([0.0, hinge[1]])
    angle = 2 * math.asin(amount / 2 / hinge[0])
    turned = swung(piece, Place.on(piece, "centre", float(centre[0, 1] - cut[1])), Place.on(piece, "armhole", hinge_at), hinge, angle)
    neck = turned.edges["neck"]
    straight = drag(neck, np.array([-neck[0, 0], 0.0]))
    more = path_length(straight) - path_length(neck)
    top = rotated(cut[None], angle, hinge)[0]
    marks = [
        Mark("cut", np.array([cut, hinge])),
        Mark("gap" if amount > 0 else "lap", np.array([cut, hinge, top])),
        Mark("hinge", hinge[None]),
    ]
    found = turned.with_edges(*marks, arrow(cut, cut - [0.0, amount], amount), neck=straight, centre=np.array([centre[0], straight[0]]))
    return in_a_dart(found, "neck", more, 0.45, 75.0) if more > 0 else found


def straight_shoulder(piece: Piece, long: float) -> Piece:
    """The shoulder seam drawn straight and as long as it was, at its armhole end; the armhole follows."""
    neck, tip = piece.edges["shoulder"][[0, -1]]
    new = neck + unit(tip - neck) * long
    return piece.with_edges(shoulder=np.array([neck, new]), armhole=drag(piece.edges["armhole"], new - tip))


def in_a_dart(piece: Piece, edge: str, width: float, share: float, long: float, told: bool = True) -> Piece:
    """A dart drawn square to an edge, taking its width out of it when sewn."""
    points = piece.edges[edge]
    middle = path_length(points) * share
    legs = [point_at(points, middle + side * width / 2) for side in (-1, 1)]
    along = unit(legs[1] - legs[0])
    inward = np.array([-along[1], along[0]])  # the edges run clockwise on paper for a centre line at the left
    if edge == "neck":
        inward = np.array([0.0, 1.0])
    tip = (legs[0] + legs[1]) / 2 + inward * long
    dart = Mark("dart", np.array([legs[0], tip, legs[1]]), f"dart {{mm:{width:.1f}}}" if told else "")
    return piece.with_edges(dart).taking(**{edge: width})


def widened_upper_arm(piece: Piece, amount: float) -> Piece:
    """Cut down the middle and across the base of the cap, hinged at top, wrist and both underarms; opened at the upper arm.

    The lower halves turn about the wrist, the upper ones follow at the underarms; every seam keeps its length, so the cap, drawn smooth,
    sinks as the arm widens.
    """
    top, wrist = piece.edges["cap_back"][-1], point_at(piece.edges["hem"], path_length(piece.edges["hem"]) / 2)
    under = {"back": piece.edges["cap_back"][0], "front": piece.edges["cap_front"][-1]}
    middle = np.array([wrist[0], under["front"][1]])
    angle = 2 * math.asin(amount / 4 / float(np.hypot(*(middle - wrist))))
    lower = {name: angle if name == "front" else -angle for name in under}
    moved = {name: rotated(point[None], lower[name], wrist)[0] for name, point in under.items()}
    cap = _rescaled(np.vstack([piece.edges["cap_back"], piece.edges["cap_front"][1:]]), moved["back"], moved["front"])
    notch = path_length(piece.edges["cap_back"])
    edges, corners = {"cap_back": part(cap, 0, notch), "cap_front": part(cap, notch, path_length(cap))}, {}
    sunk = edges["cap_back"][-1]
    for name in under:
        turn = turn_between(top - under[name], sunk - moved[name])
        corners[name] = rotated((middle - under[name])[None], turn, np.zeros(2))[0] + moved[name]
        edges[f"seam_{name}"] = rotated(piece.edges[f"seam_{name}"], lower[name], wrist)
    edges["hem"] = np.array([edges["seam_front"][-1], edges["seam_back"][0]])
    inner = {name: rotated(middle[None], lower[name], wrist)[0] for name in under}
    kind = "gap" if amount > 0 else "lap"
    marks = [
        Mark(kind, np.array([wrist, inner["back"], inner["front"]])),
        Mark(kind, np.array([sunk, corners["back"], corners["front"]])),
        Mark("cut", np.array([top, wrist])),
        Mark("cut", np.array([under["back"], under["front"]])),
        *(Mark("hinge", point[None]) for point in (sunk, wrist, *moved.values())),
        arrow(inner["back"], inner["front"], amount),
    ]
    return piece.with_edges(*marks, **edges)


def turned_leg(piece: Piece, edge: str, level: float, hem: float, amount: float) -> Piece:
    """The leg below a level slid out, more the lower, the seams straight across the cut; the crease line follows."""

    def moved(points: Floats) -> Floats:
        found: Floats = points + np.outer(np.clip((points[:, 1] - level) / (hem - level), 0, None), [amount, 0.0])
        return found

    crease = piece.inner["crease"]
    bent = np.array([crease[0], [crease[0, 0], level], crease[-1]])
    leg = {name: moved(points) for name, points in piece.edges.items()}
    lines = [np.array(sorted(piece.edges[name].tolist(), key=lambda point: point[1])) for name in (edge, "inside")]
    sides = [float(np.interp(level, found[:, 1], found[:, 0])) for found in lines]
    foot = crease[-1]
    marks = [
        Mark("cut", line((sides[0], level), (sides[1], level))),
        Mark("hinge", line((crease[0, 0], level))),
        arrow(foot, foot + [amount, 0.0]),
    ]
    return replace(piece.with_edges(*marks, **leg), inner={**piece.inner, "crease": moved(bent)})


def _joined(place: Place, one: Floats, two: Floats) -> Floats:
    """Two parts of an edge; where a wedge has been shut between them they meet in one point."""
    meet = place.stays != place.turns or np.allclose(one[-1], two[0], atol=1e-6)
    joined: Floats = np.vstack([one, two[1:] if meet else two])
    return joined


def _rescaled(cap: Floats, back: Floats, front: Floats) -> Floats:
    """A sleeve cap between new underarm ends, higher or lower until it is as long as it was."""
    low = cap[0, 1]
    across = np.interp(cap[:, 0], [cap[0, 0], cap[-1, 0]], [back[0], front[0]])
    long = path_length(cap)

    def high(more: float) -> Floats:
        return np.column_stack([across, back[1] + (cap[:, 1] - low) * (1 + more)])

    return high(solve(lambda more: path_length(high(more)) - long))
