"""The diagrams of what is worn on the upper body, one row an alteration; how it is done follows alterations.toml, in its order.

Places that alterations.toml leaves open (where on an edge a wedge lies, at which level a cut runs) are common practice.
"""

import math
from collections.abc import Callable
from functools import partial

import numpy as np

from fitcheck.core.records import Floats
from fitcheck.pattern.drafts.block import ABDOMEN_BELOW_WAIST, HIP_BELOW_WAIST
from fitcheck.pattern.drafts.bodice import bodice
from fitcheck.pattern.lines import nearest_along, path_length, point_at, unit
from fitcheck.pattern.moves import lengthen, move_line, pivot, slash_and_spread, take_in
from fitcheck.pattern.moves.move_line import sideways, taper
from fitcheck.pattern.moves.slash_and_spread import Place
from fitcheck.pattern.piece import Mark, Piece, Pieces, arrow
from fitcheck.pattern.recipes import arm, bust, trunk
from fitcheck.pattern.recipes.recipe import Case, Change, Recipe

_GAPES_AT = {"front armhole": 0.6, "front neck": 0.33, "back armhole": 0.4}  # share of the edge: where a wedge meets it about squarely
TO_HIP, TO_KNEE = partial(bodice, below=260.0), partial(bodice, below=600.0)


def _forward_shoulder(case: Case) -> list[Piece]:
    return [pivot.turned_shoulder(case.back, case.amount), pivot.turned_shoulder(case.front, -case.amount)]


def _neck_forward(case: Case) -> list[Piece]:
    half_amount = case.amount / 2
    return [pivot.neck_end_raised(case.back, case.amount, case.amount), pivot.neck_end_raised(case.front, -half_amount, -half_amount)]


def _seam_at_neck(case: Case) -> list[Piece]:
    return [pivot.neck_end_raised(case.back, 0.0, case.amount), pivot.neck_end_raised(case.front, 0.0, -case.amount)]


def _slope(sign: int) -> Change:
    def change(case: Case) -> list[Piece]:
        bases = _along_side(case.pieces, sign * case.amount)
        halves = (pivot.sloped_shoulder(case.pieces, names, sign * case.amount, bases) for names in (["back"], case.fronts))
        return [piece for found in halves for piece in found.values()]

    return change


def _along_side(pieces: Pieces, amount: float) -> dict[str, Floats]:
    """How far the underarm goes up, along each piece's own side seam; nowhere on pieces without one."""
    sides = {name: piece.edges_named("side") for name, piece in pieces.items()}
    return {
        name: unit(pieces[name].edges[at[0]][0] - pieces[name].edges[at[0]][1]) * amount if at else np.zeros(2)
        for name, at in sides.items()
    }


def _shoulder_width(case: Case) -> list[Piece]:
    halves = (move_line.widened_shoulder(case.pieces, names, case.amount) for names in (["back"], case.fronts))
    return [piece for found in halves for piece in found.values()]


def _armhole_depth(case: Case) -> list[Piece]:
    bases = _along_side(case.pieces, case.amount)
    found: list[Piece] = [move_line.raised_underarm(case.pieces["sleeve"], case.amount)]
    for names in (["back"], case.fronts):
        moved = move_line.moved_armhole(case.pieces, names, lambda share, name: np.outer(np.clip(2 * share - 1, 0, 1) ** 2, bases[name]))
        underarm = case.pieces[names[-1]].edges["armhole"][-1]
        moved[names[-1]] = moved[names[-1]].with_edges(arrow(underarm, underarm + bases[names[-1]], case.amount))
        found += moved.values()
    return found


def _sway_back(case: Case) -> list[Piece]:
    return trunk.opened(["back"], case, case.body.waist_level - 30, -case.amount, 0.0)


def _chest_width(case: Case) -> list[Piece]:
    front = case.front
    if "shoulder" in case.beside.edges and case.princess:  # let out or taken in at the seam that is there
        chest, half_amount = (case.body.bust_level + float(front.edges["princess_upper"][0, 1])) / 2, case.amount / 2
        return [
            move_line.displaced(piece, ["princess_upper"], sideways(by, _between_ends(piece, chest)), by)
            for piece, by in ((front, half_amount), (case.beside, -half_amount))
        ]
    start = Place.on(front, "shoulder", front.length("shoulder") / 2)
    cut = point_at(front.edges["shoulder"], start.turns)
    chest = (cut[1] + case.body.armhole_depth) / 2
    if case.princess:
        end = Place.end_of(front, "princess_upper")
        hinge = front.edges["princess_upper"][-1]
    else:
        low = "hem" if "hem" in front.edges else "waist"
        end = Place.on(front, low, nearest_along(front.edges[low], np.array([cut[0], 9e3])))
        hinge = point_at(front.edges[low], end.turns)
    at = cut + (hinge - cut) * (chest - cut[1]) / (hinge[1] - cut[1])
    return [
        slash_and_spread.straight_shoulder(slash_and_spread.spread(front, start, end, hinge, case.amount, at, 1), front.length("shoulder"))
    ]


def _between_ends(piece: Piece, level: float) -> Callable[[Floats], Floats]:
    """All of it at a level of the upper princess seam, nothing at its ends."""
    ends = piece.edges["princess_upper"][[0, -1], 1]
    return taper((float(ends.min()), 0), (level, 1), (float(ends.max()), 0))


def _front_side(case: Case) -> list[Piece]:
    waist = case.body.waist_level
    share = taper((waist, 1), (waist + HIP_BELOW_WAIST, 0))
    if case.darted:
        return [move_line.beside_the_dart(case.front, case.amount, share)]
    return [move_line.displaced(case.beside, ["side"], sideways(case.amount, share), case.amount)]


def _side_out(which: str, part: float, *stops: tuple[float, float], length: float = 0.0) -> Change:
    """Side seams moved out by a part of the amount, shares by height below the waist, and another opened at the centre."""

    def change(case: Case) -> list[Piece]:
        waist = case.body.waist_level
        found: list[Piece] = []
        for names in [["back"]] * (which != "front") + [case.fronts] * (which != "back"):
            pieces = {name: case.pieces[name] for name in names}
            if length:
                pieces |= {piece.name: piece for piece in trunk.opened(names, case, waist, case.amount * length, 0.0)}
            last = pieces[names[-1]]
            edge = last.edges_named("side")[-1]
            top = max(case.body.bust_level, float(last.edges[edge][0, 1]))
            share = taper(*((waist + y if y > -1 else top, s) for y, s in stops))
            pieces[last.name] = move_line.displaced(last, [edge], sideways(case.amount * part, share), case.amount * part)
            found += pieces.values()
        return found

    return change


def _side_moved(case: Case) -> list[Piece]:
    """The back gains what the front loses, from the waist down."""
    stops = ((-1.0, 0.0), (0.0, 1.0), (HIP_BELOW_WAIST, 1.0))
    return [*_side_out("back", 1.0, *stops)(case), *_side_out("front", -1.0, *stops)(case)]


def _hip_level(case: Case) -> list[Piece]:
    waist = case.body.waist_level
    hip = waist + HIP_BELOW_WAIST
    lasts = (case.back, case.beside)
    return [move_line.raised_hip(piece, piece.edges_named("side")[-1], waist, hip, hip + 60, case.amount) for piece in lasts]


def _armhole_gape(case: Case) -> list[Piece]:
    front = case.front
    if case.darted:
        at = path_length(front.edges["armhole"]) * _GAPES_AT["front armhole"]
        return [take_in.closed_wedge(front, "armhole", at, case.amount, Place.end_of(front, "dart_upper"), front.edges["dart_upper"][1])]
    if not case.princess:
        return [take_in.taped(front, "armhole", path_length(front.edges["armhole"]) * 0.5, case.amount, 100.0)]
    return take_in.taken_at_princess(front, case.beside, case.amount)


def _neckline_gape(case: Case) -> list[Piece]:
    front = case.front
    at = path_length(front.edges["neck"]) * _GAPES_AT["front neck"]
    if case.darted or case.princess:
        edge = "dart_upper" if case.darted else "princess_upper"
        apex = front.edges[edge][-1]
        return [take_in.closed_wedge(front, "neck", at, case.amount, Place.end_of(front, edge), apex)]
    return [take_in.taped(front, "neck", path_length(front.edges["neck"]) * 0.5, case.amount, 70.0)]


def _neck_width(case: Case) -> list[Piece]:
    found = []
    for piece in (case.back, case.front):
        neck, tip = piece.edges["shoulder"]
        out = unit(tip - neck) * case.amount
        found.append(move_line.moved_neck(piece, np.zeros(2), out).with_edges(arrow(neck, neck + out)))
    return found


def _back_armhole_gape(case: Case) -> list[Piece]:
    back = case.back
    cut = Place.on(back, "shoulder", back.length("shoulder") * 0.45)
    mouth = point_at(back.edges["shoulder"], cut.turns)
    blade = np.array([mouth[0] - 15, case.body.armhole_depth * 0.62])
    at = path_length(back.edges["armhole"]) * _GAPES_AT["back armhole"]
    found = take_in.closed_wedge(back, "armhole", at, case.amount, cut, blade, ahead=False)
    shoulder = found.edges["shoulder"]
    width = math.dist(shoulder[1], shoulder[2])
    legs = np.array([shoulder[1], blade, shoulder[2]])
    return [found.with_edges(Mark("dart", legs, f"dart {{mm:{width:.1f}}}")).taking(shoulder=width)]


def _hem(front_centre: float, side: float, back_centre: float) -> Change:
    def change(case: Case) -> list[Piece]:
        hip = case.body.waist_level + HIP_BELOW_WAIST
        found = []
        for name in ("back", *case.fronts):
            piece = case.pieces[name]
            low, wide = (
                float(piece.edges["hem"][0, 1]),
                float(case.pieces[case.fronts[-1] if name != "back" else "back"].edges["hem"][0, 0]),
            )
            centre = back_centre if name == "back" else front_centre
            found.append(lengthen.redrawn_hem(piece, hip, low, case.amount * centre, case.amount * side, 0.0, wide))
        return found

    return change


UPPER_BODY: dict[str, Recipe] = {
    "forward_shoulder": Recipe(bodice, _forward_shoulder, "The cap all but keeps its form; its notch moves.", cap="top"),
    "neck_forward": Recipe(bodice, _neck_forward),
    "rounded_erect_upper_back": Recipe(
        bodice,
        lambda case: [slash_and_spread.upper_back_opened(case.back, case.amount)],
        "Opening adds width at the neck, for a dart; folding takes it away: make a neck or shoulder dart smaller, or the collar shorter.",
    ),
    "square_sloping_shoulder": Recipe(bodice, _slope(1)),
    "uneven_shoulders": Recipe(bodice, _slope(-1), "On the lower side only."),
    "shoulder_seam_at_neck": Recipe(bodice, _seam_at_neck),
    "narrow_broad_shoulder": Recipe(bodice, _shoulder_width, cap="top"),
    "above_bust_length": Recipe(bodice, trunk.above_bust),
    "whole_bodice_length": Recipe(bodice, trunk.length_below_armhole(1, 1, 1)),
    "waist_length_back": Recipe(bodice, trunk.length_below_armhole(1, 0, 0.5)),
    "waist_length_front": Recipe(bodice, trunk.length_below_armhole(0, 1, 0.5)),
    "side_length": Recipe(bodice, trunk.length_below_armhole(0, 0, 1)),
    "sway_back": Recipe(TO_HIP, _sway_back),
    "bust_point_height": Recipe(bodice, bust.bust_height, on_panels=True),
    "bust_point_span": Recipe(bodice, bust.bust_span),
    "full_small_bust": Recipe(
        bodice,
        bust.bust_width,
        on_panels=True,
        front_notes={
            "none": "The side seam keeps its length, so the lower edge slants; for a level one add at the side, and ease or dart that away."
        },
    ),
    "back_width": Recipe(bodice, trunk.back_width),
    "shoulder_blades": Recipe(bodice, trunk.shoulder_blades),
    "chest_width": Recipe(bodice, _chest_width, on_panels=True),
    "front_side_width": Recipe(TO_HIP, _front_side),
    "side_seam_place": Recipe(TO_HIP, _side_moved),
    "waist_width": Recipe(TO_HIP, _side_out("both", 0.5, (-1, 0), (0, 1), (HIP_BELOW_WAIST, 0))),
    "abdomen_width": Recipe(TO_HIP, _side_out("front", 1.0, (-1, 0), (ABDOMEN_BELOW_WAIST, 1), length=0.5)),
    "seat_width": Recipe(TO_HIP, _side_out("back", 1.0, (0, 0), (HIP_BELOW_WAIST, 1), length=0.5)),
    "hip_width": Recipe(TO_HIP, _side_out("both", 0.5, (0, 0), (HIP_BELOW_WAIST, 1))),
    "armhole_depth": Recipe(bodice, _armhole_depth),
    "armhole_gape": Recipe(bodice, _armhole_gape),
    "neckline_gape": Recipe(bodice, _neckline_gape),
    "neck_width": Recipe(bodice, _neck_width),
    "neck_depth": Recipe(bodice, trunk.neck_depth),
    "back_armhole_gape": Recipe(bodice, _back_armhole_gape),
    "back_neck_gape": Recipe(bodice, lambda case: [slash_and_spread.in_a_dart(case.back, "neck", case.amount, 0.5, 90.0)]),
    "upper_arm": Recipe(
        bodice,
        lambda case: [slash_and_spread.widened_upper_arm(case.pieces["sleeve"], case.amount)],
        "The cap keeps its length, so its top moves as it widens or narrows.",
    ),
    "forearm_width": Recipe(bodice, arm.forearm),
    "wrist_width": Recipe(bodice, arm.wrist),
    "sleeve_cap_height": Recipe(
        bodice,
        lambda case: [move_line.raised_cap(case.pieces["sleeve"], case.amount)],
        "Drawn with the underarm moved so that the cap still fits the armhole; left where it was, the cap has more or less ease.",
    ),
    "sleeve_pitch": Recipe(
        bodice,
        lambda case: [move_line.notches_moved(case.pieces["sleeve"], case.amount)],
        "Nothing is cut: the cap turns in the armhole, its notches move, and the underarm seam no longer meets the side seam.",
    ),
    "hip_level": Recipe(TO_HIP, _hip_level),
    "hem_levelling": Recipe(TO_KNEE, _hem(1.0, 0.5, 0.0)),
    "sleeve_length": Recipe(bodice, lambda case: [lengthen.lengthened(case.pieces["sleeve"], 330.0, case.amount)]),
    "hem_length": Recipe(TO_KNEE, _hem(1.0, 1.0, 1.0)),
}
