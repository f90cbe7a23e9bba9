"""What is altered at the bust of a front, for every kind of front: the height of the bust point, the span, the cup."""

from dataclasses import replace

import numpy as np

from fitcheck.core.records import Floats
from fitcheck.pattern.drafts.bodice import DRAFTED_MM, darted_front
from fitcheck.pattern.moves import move_line, slash_and_spread
from fitcheck.pattern.moves.true_seams import matched_princess
from fitcheck.pattern.piece import Mark, Piece, arrow
from fitcheck.pattern.recipes.recipe import Case

SIDE_FRONT_SHARE = 0.75  # of the width of a princess front's cup (common practice: most of it)


def bust_height(case: Case) -> list[Piece]:
    """The dart moved whole, or the princess seam slid along."""
    if case.darted:
        return [move_line.moved_dart(case.front, case.amount)]
    return _princess(case, np.array([0.0, -case.amount]))


def bust_span(case: Case) -> list[Piece]:
    """The dart's point, or the princess seam at the bust, moved sideways."""
    if case.darted:
        return [move_line.moved_dart_point(case.front, case.amount)]
    return _princess(case, np.array([case.amount, 0.0]))


def _princess(case: Case, by: Floats) -> list[Piece]:
    return list(move_line.moved_princess({name: case.pieces[name] for name in case.fronts if case.princess}, by).values())


def bust_width(case: Case) -> list[Piece]:
    """Full or small bust: a darted or plain front is slashed over the bust point, the panels of a princess front widen at the bust."""
    if case.darted:
        return [_respread(case)]
    if case.princess:
        side = slash_and_spread.bust_panel_opened(case.beside, case.amount * SIDE_FRONT_SHARE)
        centre = move_line.moved_princess({case.front.name: case.front}, np.array([case.amount * (1 - SIDE_FRONT_SHARE), 0.0]))
        return [side, matched_princess(centre[case.front.name], side, not case.one_side)]
    point = np.array([case.body.bust_span / 2, case.body.bust_level])
    return [slash_and_spread.bust_spread(case.front, case.amount, point)]


def _respread(case: Case) -> Piece:
    """The front drafted anew with a wider or narrower spread; beyond what its dart holds the dart is gone and the front lapped."""
    old = case.front.edges["dart_upper"][1]
    spread = DRAFTED_MM + case.amount
    new = darted_front(case.body, max(spread, 0.0), level=not case.one_side)
    apex, foot = new.edges["dart_upper"][1], next(mark.points[0] for mark in reversed(new.marks) if mark.kind == "cut")
    hinge = next(mark.points[0] for mark in new.marks if mark.kind == "hinge")
    if spread < 0:
        lapped = slash_and_spread.bust_spread(new, spread, apex)
        new = replace(lapped, marks=new.marks)
    area = np.array([hinge, old, [old[0], foot[1]], foot, apex])
    return new.with_edges(Mark("gap" if case.amount > 0 else "lap", area), arrow(old, apex, case.amount))
