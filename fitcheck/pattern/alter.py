"""What the alterations do to the block's pieces: pivot, slash and spread, fold out, true. Every seam keeps its partner's length.

Each alteration is written once, for the amount that is added or taken (signed as in alterations.toml), and names the seams that are sewn
together, so that their lengths can be compared before and after.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from fitcheck.core.records import Floats
from fitcheck.pattern.block import Body, Piece, bodice, line, path_length, princess, skirt, sleeve, trousers
from fitcheck.pattern.lengthen import below, open_across
from fitcheck.pattern.lines import drag, part, rotated
from fitcheck.pattern.move_line import hollowed, joined, raise_underarm
from fitcheck.pattern.pivot import turn_shoulder
from fitcheck.pattern.slash_and_spread import DRAFTED_MM, darted_front
from fitcheck.pattern.true_seams import match_princess

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
    back, front = turn_shoulder(before["back"], amount), turn_shoulder(before["front"], -amount)
    grown = back.length("armhole") - before["back"].length("armhole")
    front = hollowed(front, before["front"].length("armhole") - grown)
    one = before["sleeve"]
    cap = np.vstack([one.edges["cap_back"], one.edges["cap_front"][1:]])
    notch = one.length("cap_back") + grown
    moved = one.with_edges(cap_back=part(cap, 0, notch), cap_front=part(cap, notch, path_length(cap)))
    after = {"back": back, "front": front, "sleeve": moved}
    caps = (((("back", "armhole"),), (("sleeve", "cap_back"),)), ((("front", "armhole"),), (("sleeve", "cap_front"),)))
    return Altered(before, after, (SHOULDER, SIDE, *caps), "The notch at the top of the sleeve moves; the cap keeps its form.")


def _shoulder_slope(amount: float, body: Body) -> Altered:
    before = bodice(body)
    after = {name: raise_underarm(turn_shoulder(piece, amount, whole=True), amount) for name, piece in before.items()}
    return Altered(before, after, (SHOULDER, SIDE))


def _shoulder_width(amount: float, body: Body) -> Altered:
    before = bodice(body)
    after = {}
    for name, piece in before.items():
        neck, tip = piece.edges["shoulder"]
        new = tip + (tip - neck) / np.hypot(*(tip - neck)) * amount
        after[name] = piece.with_edges(
            (np.array([neck, new]),), shoulder=np.array([neck, new]), armhole=drag(piece.edges["armhole"], new - tip)
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
    turned = {name: rotated(back.edges[name], angle, hinge) for name in ("neck", "shoulder")}
    upper = rotated(armhole[: at + 1], angle, hinge)
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
        after = {
            main: open_across(before[main], amount * at_centre, amount * at_side),
            other: open_across(before[other], 0.0, amount * at_side),
        }
        return Altered(before, after, (SHOULDER, SIDE))

    return draft


def _bust_princess(amount: float, body: Body) -> Altered:
    before = princess(body)
    centre, side = before["centre front"], before["side front"]
    out = np.array([-amount, 0.0])
    after_side = side.with_edges(
        (np.array([side.edges["princess_upper"][0] + out, side.edges["armhole"][-1]]),),
        princess_upper=drag(side.edges["princess_upper"], out),
        princess_lower=drag(side.edges["princess_lower"][::-1], out)[::-1],
    )
    return Altered(before, {"centre front": match_princess(centre, after_side), "side front": after_side}, PRINCESS)


def _bust_height_princess(amount: float, body: Body) -> Altered:
    before = princess(body)
    up = np.array([0.0, -amount])
    after = {
        name: piece.with_edges(
            princess_upper=drag(piece.edges["princess_upper"][::-1], up)[::-1]
            if name == "centre front"
            else drag(piece.edges["princess_upper"], up),
            princess_lower=drag(piece.edges["princess_lower"], up)
            if name == "centre front"
            else drag(piece.edges["princess_lower"][::-1], up)[::-1],
        )
        for name, piece in before.items()
    }
    return Altered(before, {**after, "centre front": match_princess(after["centre front"], after["side front"])}, PRINCESS)


PRINCESS = (
    ((("centre front", "princess_upper"),), (("side front", "princess_upper"),)),
    ((("centre front", "princess_lower"),), (("side front", "princess_lower"),)),
)


def _bust_dart(amount: float, body: Body) -> Altered:
    """Slash from the waist to the bust point and on to the armhole, and across through the dart; the side part turns about the armhole."""
    back = bodice(body)["back"]
    before, after = (darted_front(body, DRAFTED_MM + more) for more in (0.0, amount))
    sewn = (
        SHOULDER,
        ((("front", "side_upper"), ("front", "side_lower")), (("back", "side"),)),
        ((("front", "dart_upper"),), (("front", "dart_lower"),)),
    )
    note = (
        "The waist dart is not drawn; the width gained at the waist goes into it. Draw the dart's point back a little from the bust point."
    )
    return Altered({"back": back, "front": before}, {"back": back, "front": after}, sewn, note)


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
            after[name] = joined(piece, edge, moved)
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
            **{e: below(points, level, amount) for e, points in piece.edges.items()},
        )
        for name, piece in before.items()
    }
    legs = tuple(((("back", edge),), (("front", edge),)) for edge in ("outside", "inside"))
    return Altered(before, after, legs)


_HIP_MM = 200.0
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
