"""The diagrams of skirts and trousers, one row an alteration; how it is done follows alterations.toml, in its order."""

import math
from collections.abc import Callable

import numpy as np

from fitcheck.core.records import Floats
from fitcheck.pattern.drafts.block import ABDOMEN_BELOW_WAIST, HIP_BELOW_WAIST
from fitcheck.pattern.drafts.skirt_and_trousers import SKIRT_LONG, TROUSERS_LONG, crotch_level, skirt, trousers
from fitcheck.pattern.lines import drag, path_length, point_at, steps_along
from fitcheck.pattern.moves import lengthen, move_line, slash_and_spread
from fitcheck.pattern.moves.move_line import sideways, taper
from fitcheck.pattern.moves.slash_and_spread import Place
from fitcheck.pattern.piece import Piece, arrow
from fitcheck.pattern.recipes.recipe import Case, Change, Recipe

KNEE, CALF = 560.0, 720.0  # below the waist (estimates)
_BOTH = ("back", "front")
Share = Callable[[Floats], Floats]  # heights to shares of the amount


def _waist_level(name: str, sign: int, part: float = 1.0) -> Change:
    """The waist seam moved at the centre, to nothing at the side; downwards for sign 1."""

    def change(case: Case) -> list[Piece]:
        return [_tilted(case.pieces[name], sign * case.amount * part)]

    return change


def _tilted(piece: Piece, down: float) -> Piece:
    def by(points: Floats) -> Floats:
        moves: Floats = np.outer((1 + np.cos(np.pi * steps_along(points))) / 2, [0.0, down])
        return moves

    return move_line.displaced(piece, ["waist"], by)


def _uneven_hips(side: str, nothing: float) -> Change:
    """Waist corner and hip curve raised as they are, to nothing at the centre and below."""
    share = taper((HIP_BELOW_WAIST, 1), (nothing, 0))

    def raised(piece: Piece, up: float) -> Piece:
        corner = float(piece.edges["waist"][-1, 0])

        def by(points: Floats) -> Floats:
            moves: Floats = np.outer(np.clip(points[:, 0] / corner, 0, 1) * share(points[:, 1]), [0.0, -up])
            return moves

        return move_line.displaced(piece, ["waist", side], by)

    return lambda case: [raised(case.pieces[name], case.amount) for name in _BOTH]


def _side_out(side: str, names: tuple[str, ...], part: float, *stops: tuple[float, float], raised: float = 0.0) -> Change:
    """Side seams moved out by a part of the amount, shares by height; the waist seam raised by another part at the centre."""
    share = taper(*stops)

    def change(case: Case) -> list[Piece]:
        found = []
        for name in names:
            piece = _tilted(case.pieces[name], -case.amount * raised) if raised else case.pieces[name]
            found.append(move_line.displaced(piece, [side], sideways(case.amount * part, share), case.amount * part))
        return found

    return change


def _thigh(case: Case) -> list[Piece]:
    crotch = crotch_level(case.body)
    full = (crotch + 100, 1.0)
    return _wider_leg(case, taper((HIP_BELOW_WAIST, 0), full, (KNEE, 0)), taper((crotch, 0), full, (KNEE, 0)))


def _calf(case: Case) -> list[Piece]:
    share = taper((KNEE, 0), (CALF, 1), (TROUSERS_LONG, 0))
    return _wider_leg(case, share, share)


def _wider_leg(case: Case, outside: Share, inside: Share) -> list[Piece]:
    """A quarter of the amount at each of the four leg seams, in shares by height."""
    quarter, found = case.amount / 4, []
    for name in _BOTH:
        piece = case.pieces[name]
        for edge, share, out in (("outside", outside, quarter), ("inside", inside, -quarter)):
            piece = move_line.displaced(piece, [edge], sideways(out, share), out)
        found.append(piece)
    return found


def _crotch_depth(case: Case) -> list[Piece]:
    return [lengthen.lengthened(case.pieces[name], crotch_level(case.body) / 2, case.amount) for name in ("back", "front")]


def _crotch_length(name: str, across: float = 0.5, at_fork: float = 0.5) -> Change:
    """Shares of the amount opened across the seat or abdomen, to nothing at the side, and added at the inner end of the curve."""

    def change(case: Case) -> list[Piece]:
        piece, level = case.pieces[name], crotch_level(case.body) * 0.55
        up, out = case.amount * across, case.amount * at_fork
        crotch, outside = piece.edges["crotch"], piece.edges["outside"]
        at = path_length(crotch) - (level - crotch[-1, 1])
        low = int(np.argmax(outside[:, 1] >= level))
        above, step = outside[low - 1], outside[low] - outside[low - 1]
        hinge_at = path_length(outside[:low]) + float(np.hypot(*step) * (level - above[1]) / step[1])
        hinge = point_at(outside, hinge_at)
        cut = point_at(crotch, at)
        opened = slash_and_spread.spread(piece, Place.on(piece, "crotch", at), Place.on(piece, "outside", hinge_at), hinge, up, cut, 1)
        hem_in, fork = piece.edges["inside"]
        reach = fork[0] - out
        new = np.array([reach, hem_in[1] - math.sqrt(path_length(piece.edges["inside"]) ** 2 - (hem_in[0] - reach) ** 2)])
        moved = drag(opened.edges["crotch"], new - fork)
        return [opened.with_edges(arrow(fork, new, out), inside=np.array([hem_in, new]), crotch=moved)]

    return change


def _leg_line(case: Case) -> list[Piece]:
    level = crotch_level(case.body) + 120
    return [slash_and_spread.turned_leg(case.pieces[name], "outside", level, TROUSERS_LONG, case.amount) for name in ("back", "front")]


def _hip_level(side: str) -> Change:
    return lambda case: [move_line.raised_hip(case.pieces[name], side, 0, HIP_BELOW_WAIST, KNEE, case.amount) for name in _BOTH]


def _hem(front_centre: float, side: float, back_centre: float) -> Change:
    def change(case: Case) -> list[Piece]:
        wide = float(case.pieces["front"].edges["hem"][0, 0])
        shares = {"back": back_centre, "front": front_centre}
        return [
            lengthen.redrawn_hem(case.pieces[name], HIP_BELOW_WAIST, SKIRT_LONG, case.amount * centre, case.amount * side, 0.0, wide)
            for name, centre in shares.items()
        ]

    return change


def _trouser_hem(case: Case) -> list[Piece]:
    """Half of the amount at both leg seams; all of it in the middle of the front, nothing in the middle of the back."""

    def curved(piece: Piece, bow: float) -> Piece:
        def by(points: Floats) -> Floats:
            moves: Floats = np.outer(0.5 + bow * np.sin(np.pi * steps_along(points)), [0.0, case.amount])
            return moves

        return move_line.displaced(piece, ["hem"], by)

    return [curved(case.pieces["back"], -0.5), curved(case.pieces["front"], 0.5)]


def _trouser_length(case: Case) -> list[Piece]:
    return [
        lengthen.redrawn_hem(piece, KNEE, TROUSERS_LONG, case.amount, case.amount, 0.0, float(piece.inner["crease"][1, 0]))
        for piece in (case.pieces["back"], case.pieces["front"])
    ]


SKIRT: dict[str, Recipe] = {
    "waist_back_level": Recipe(skirt, _waist_level("back", 1)),
    "waist_front_level": Recipe(skirt, _waist_level("front", -1)),
    "waist_level": Recipe(skirt, lambda case: [move_line.raised_waist(case.pieces[name], "side", "centre", case.amount) for name in _BOTH]),
    "uneven_hips": Recipe(skirt, _uneven_hips("side", SKIRT_LONG), "Over the higher hip only."),
    "waist_width": Recipe(skirt, _side_out("side", _BOTH, 0.5, (0, 1), (HIP_BELOW_WAIST, 0))),
    "abdomen_width": Recipe(skirt, _side_out("side", ("front",), 1.0, (-10, 0), (ABDOMEN_BELOW_WAIST, 1), raised=0.5)),
    "seat_width": Recipe(skirt, _side_out("side", ("back",), 1.0, (-10, 0), (HIP_BELOW_WAIST, 1), raised=0.5)),
    "hip_width": Recipe(skirt, _side_out("side", _BOTH, 0.5, (-10, 0), (HIP_BELOW_WAIST, 1))),
    "hip_level": Recipe(skirt, _hip_level("side")),
    "hem_levelling": Recipe(skirt, _hem(1.0, 0.5, 0.0)),
    "hem_length": Recipe(skirt, _hem(1.0, 1.0, 1.0)),
}
TROUSERS: dict[str, Recipe] = {
    "waist_back_level": Recipe(trousers, _waist_level("back", 1)),
    "waist_front_level": Recipe(trousers, _waist_level("front", -1)),
    "waist_level": Recipe(
        trousers, lambda case: [move_line.raised_waist(case.pieces[name], "outside", "crotch", case.amount) for name in _BOTH]
    ),
    "uneven_hips": Recipe(trousers, _uneven_hips("outside", KNEE), "Over the higher hip only."),
    "crotch_depth": Recipe(trousers, _crotch_depth),
    "crotch_length_back": Recipe(trousers, _crotch_length("back")),
    "crotch_length_front": Recipe(trousers, _crotch_length("front")),
    "flat_seat": Recipe(trousers, _crotch_length("back", -1.0, -0.5)),
    "leg_line": Recipe(trousers, _leg_line),
    "waist_width": Recipe(trousers, _side_out("outside", _BOTH, 0.5, (0, 1), (HIP_BELOW_WAIST, 0))),
    "abdomen_width": Recipe(
        trousers, _side_out("outside", ("front",), 1.0, (0, 0), (ABDOMEN_BELOW_WAIST, 1), (HIP_BELOW_WAIST, 1), (KNEE, 0), raised=0.5)
    ),
    "seat_width": Recipe(trousers, _side_out("outside", ("back",), 1.0, (0, 0), (HIP_BELOW_WAIST, 1), (KNEE, 0), raised=0.5)),
    "hip_width": Recipe(trousers, _side_out("outside", _BOTH, 0.5, (0, 0), (HIP_BELOW_WAIST, 1), (KNEE, 0))),
    "hip_level": Recipe(trousers, _hip_level("outside")),
    "thigh_width": Recipe(trousers, _thigh),
    "calf_width": Recipe(trousers, _calf),
    "hem_levelling": Recipe(trousers, _trouser_hem),
    "hem_length": Recipe(trousers, _trouser_length),
}
