"""Lengths and widths of the trunk; how it is done follows alterations.toml.

Places that alterations.toml leaves open (at which level a cut runs) are common practice.
"""

import numpy as np

from fitcheck.core.records import Floats
from fitcheck.pattern.lines import line, path_length, point_at
from fitcheck.pattern.moves import lengthen, move_line
from fitcheck.pattern.moves.move_line import rounded
from fitcheck.pattern.piece import Mark, Piece, arrow
from fitcheck.pattern.recipes.recipe import Case, Change

BESIDE_ARMHOLE_MM = 25.0  # where the cut for a broad back leaves the shoulder seam, 1 in from its end (common practice)
_SHORT_OF_BLADE_MM = 20.0  # darts end short of the fullest place (common practice: 2 to 3 cm)


def opened(names: list[str], case: Case, level: float, at_centre: float, at_side: float) -> list[Piece]:
    """Across a back or front, under the dart where there is one."""
    last = case.pieces[names[-1]]
    side = last.edges[last.edges_named("side")[-1]]
    if "dart_lower" in last.edges:
        level = max(level, float(side[0, 1]) + 8)
    width = float(np.interp(level, side[:, 1], side[:, 0]))
    return [lengthen.opened_across(case.pieces[name], level, at_centre, at_side, width) for name in names]


def length_below_armhole(back_centre: float, front_centre: float, side: float) -> Change:
    """Opened half way between bust and waist by shares of the amount, at the centres and at the side seams."""

    def change(case: Case) -> list[Piece]:
        level = (case.body.bust_level + case.body.waist_level) / 2
        halves = ((["back"], back_centre), (case.fronts, front_centre))
        return [piece for names, centre in halves for piece in opened(names, case, level, case.amount * centre, case.amount * side)]

    return change


def above_bust(case: Case) -> list[Piece]:
    """Opened level across the chest through both armholes, and across the sleeve cap alike."""
    neck = float(case.front.edges["centre"][-1, 1])
    level = (neck + (float(case.back.edges["shoulder"][-1, 1]) + case.body.armhole_depth) / 2) / 2
    sleeve = case.pieces["sleeve"]
    cap = float(sleeve.edges["cap_back"][0, 1])
    return [lengthen.lengthened(piece, at, case.amount) for piece, at in ((case.back, level), (case.front, level), (sleeve, cap / 2))]


def back_width(case: Case) -> list[Piece]:
    """The armhole part slid level outwards: all of the amount from the blade to the underarm, nothing at the shoulder and the waist."""
    back = case.back
    shoulder, armhole, side = (back.edges[edge] for edge in ("shoulder", "armhole", "side"))
    out = np.array([case.amount, 0.0])
    blade_level = _blade_level(armhole)

    def by(_: Floats, __: str) -> Floats:
        down = np.clip((armhole[:, 1] - armhole[0, 1]) / (blade_level - armhole[0, 1]), 0, 1)
        moves: Floats = np.outer(rounded(down), out)
        return moves

    start = point_at(shoulder, path_length(shoulder) - BESIDE_ARMHOLE_MM)
    low = float(armhole[-1, 1]) + 20
    corner = np.array([start[0], low])
    end = np.array([float(np.interp(low, side[:, 1], side[:, 0])), low])
    blade = np.array([start[0], blade_level])
    marks = [
        Mark("cut", np.array([start, corner, end])),
        Mark("gap" if case.amount > 0 else "lap", np.array([start, corner, corner + out, start + out])),
        arrow(blade, blade + out),
    ]
    return [move_line.moved_armhole(case.pieces, ["back"], by)["back"].with_edges(*marks)]


def _blade_level(armhole: Floats) -> float:
    """Half way down the armhole (common practice)."""
    return float((armhole[0, 1] + armhole[-1, 1]) / 2)


def shoulder_blades(case: Case) -> list[Piece]:
    """Cut from shoulder to waist through the blade, opened with its edges parallel; a dart at the shoulder and one at the waist."""
    back, out = case.back, np.array([case.amount, 0.0])
    low = "hem" if "hem" in back.edges else "waist"
    shoulder, waist = back.edges["shoulder"], back.edges[low]
    top = point_at(shoulder, path_length(shoulder) / 2)
    foot = np.array([top[0], waist[-1, 1]])
    blade = np.array([top[0], _blade_level(back.edges["armhole"])])
    middle, short = blade + out / 2, np.array([0.0, _SHORT_OF_BLADE_MM])
    says = f"dart {{mm:{case.amount:.1f}}}"
    marks = [
        Mark("cut", line(tuple(top), tuple(foot))),
        Mark("gap", np.array([top, foot, foot + out, top + out])),
        Mark("dart", np.array([top, middle - short, top + out]), says),
        Mark("dart", np.array([foot, middle + short, foot + out]), says),
        arrow(blade, blade + out),
    ]
    slid = back.with_edges(
        *marks,
        shoulder=np.array([shoulder[0], top, top + out, shoulder[-1] + out]),
        armhole=back.edges["armhole"] + out,
        side=back.edges["side"] + out,
        **{low: np.array([waist[0] + out, foot + out, foot, waist[-1]])},
    )
    return [slid.taking(shoulder=case.amount, **({} if low == "hem" else {"waist": case.amount}))]


def neck_depth(case: Case) -> list[Piece]:
    """The front neck seam lowered at the centre, to nothing at the shoulder."""
    centre, down = case.front.edges["centre"][-1], np.array([0.0, case.amount])
    return [move_line.moved_neck(case.front, down, np.zeros(2)).with_edges(arrow(centre, centre + down))]
