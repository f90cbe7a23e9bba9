"""What can be done on her skirt and trousers: the alterations of `pattern/`, those that reach down to the hem with it where hers lies."""

from collections.abc import Mapping

from fitcheck.core.errors import UsageError
from fitcheck.pattern.drafts.block import HIP_BELOW_WAIST
from fitcheck.pattern.drafts.skirt_and_trousers import crotch_level, skirt, trousers
from fitcheck.pattern.moves import lengthen, slash_and_spread
from fitcheck.pattern.piece import Piece
from fitcheck.pattern.recipes.lower import CALF, KNEE, SKIRT, TROUSERS
from fitcheck.pattern.recipes.recipe import Case, Change, Recipe

BELOW_CROTCH_MM = 120.0  # where a leg line is turned (as on the schematic block)
_BOTH = ("back", "front")


def _hem_of(piece: Piece) -> float:
    return float(piece.edges["hem"][:, 1].mean())


def _skirt_hem(front_centre: float, side: float, back_centre: float) -> Change:
    """Shares of the amount at the centres and the side seams; nothing above the hips, or above half of a short skirt."""

    def change(case: Case) -> list[Piece]:
        found = []
        for name, centre in zip(_BOTH, (back_centre, front_centre), strict=True):
            piece = case.pieces[name]
            low, wide = _hem_of(piece), float(piece.edges["hem"][0, 0])
            found.append(
                lengthen.redrawn_hem(piece, min(HIP_BELOW_WAIST, low / 2), low, case.amount * centre, case.amount * side, 0.0, wide)
            )
        return found

    return change


def _leg_hem(case: Case) -> list[Piece]:
    """The same all round, nothing above the knee or, on short trousers, above the middle of the leg."""
    found = []
    for name in _BOTH:
        piece = case.pieces[name]
        low, fork = _hem_of(piece), float(piece.edges["crotch"][0, 1])
        start = min(KNEE, (low + fork) / 2)
        found.append(lengthen.redrawn_hem(piece, start, low, case.amount, case.amount, 0.0, float(piece.inner["crease"][1, 0])))
    return found


def _leg_line(case: Case) -> list[Piece]:
    level = crotch_level(case.body) + BELOW_CROTCH_MM
    return [slash_and_spread.turned_leg(case.pieces[name], "outside", level, _hem_of(case.pieces[name]), case.amount) for name in _BOTH]


def _calf(case: Case) -> list[Piece]:
    if min(_hem_of(case.pieces[name]) for name in _BOTH) < CALF:
        raise UsageError("These trousers end above the calf.", "Leave this alteration out.")
    return TROUSERS["calf_width"].change(case)


OWN_SKIRT: Mapping[str, Recipe] = {
    **SKIRT,
    "hem_levelling": Recipe(skirt, _skirt_hem(1.0, 0.5, 0.0)),
    "hem_length": Recipe(skirt, _skirt_hem(1.0, 1.0, 1.0)),
}
OWN_TROUSERS: Mapping[str, Recipe] = {
    **TROUSERS,
    "leg_line": Recipe(trousers, _leg_line),
    "calf_width": Recipe(trousers, _calf),
    "hem_length": Recipe(trousers, _leg_hem),
}
