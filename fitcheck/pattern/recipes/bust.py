"""What is altered at the bust of a front, for every kind of front: the height of the bust point, the span, the cup."""

import numpy as np

from fitcheck.core.records import Floats
from fitcheck.pattern.drafts.bodice import DRAFTED_MM, darted_front, half
from fitcheck.pattern.moves import move_line, slash_and_spread
from fitcheck.pattern.moves.true_seams import matched_princess
from fitcheck.pattern.piece import Mark, Piece, arrow
from fitcheck.pattern.recipes.recipe import Case


def bust_height(case: Case) -> list[Piece]:
    if case.darted:
        return [move_line.moved_dart(case.front, case.amount)]
    return _princess(case, np.array([0.0, -case.amount]))


def bust_span(case: Case) -> list[Piece]:
    if case.darted:
        return [move_line.moved_dart_point(case.front, case.amount)]
    return _princess(case, np.array([case.amount, 0.0]))


def _princess(case: Case, by: Floats) -> list[Piece]:
    return list(move_line.moved_princess({name: case.pieces[name] for name in case.fronts if case.princess}, by).values())


def bust_width(case: Case) -> list[Piece]:
    bust = np.array([case.body.bust_span / 2, case.body.bust_level])
    if case.darted:
        old = case.front.edges["dart_upper"][1]
        new = darted_front(case.body, half(case.body, "front"), DRAFTED_MM + case.amount, not case.one_side)
        apex, foot = new.edges["dart_upper"][1], new.edges["waist"][1]
        hinge = next(mark.points[0] for mark in new.marks if mark.kind == "hinge")
        area = np.array([hinge, old, [old[0], foot[1]], foot, apex])
        return [new.with_edges(Mark("gap" if case.amount > 0 else "lap", area), arrow(old, apex, case.amount))]
    if not case.princess:
        return [slash_and_spread.bust_spread(case.front, case.amount, bust)]
    side = move_line.moved_princess({"side front": case.beside}, np.array([-case.amount, 0.0]))["side front"]
    hinge = side.edges["armhole"][-1]
    side = side.with_edges(Mark("cut", np.array([bust, hinge])), Mark("hinge", hinge[None])) if case.amount > 0 else side
    return [side, matched_princess(case.front, side, not case.one_side)]
