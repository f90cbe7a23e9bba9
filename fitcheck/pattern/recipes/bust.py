"""What is altered at the bust of a front, for every kind of front: the height of the bust point, the span, the cup."""

from dataclasses import replace

import numpy as np

from fitcheck.core.records import Floats
from fitcheck.pattern.drafts.bodice import DRAFTED_MM, darted_front
from fitcheck.pattern.lines import steps_along
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
    """The spread of the draft made wider or narrower; beyond what its dart holds the dart is gone and the front lapped.

    What the draft moves by that is added to the front as it is, so that whatever was altered before stays.
    """
    old, new = (_drafted(case, DRAFTED_MM + amount) for amount in (0.0, case.amount))
    apexes = [front.edges["dart_upper"][1] for front in (old, new)]
    foot, hinge = (next(mark.points[0] for mark in reversed(new.marks) if mark.kind == kind) for kind in ("cut", "hinge"))
    area = np.array([hinge, apexes[0], [apexes[0][0], foot[1]], foot, apexes[1]])
    marks = (*case.front.marks, *new.marks, Mark("gap" if case.amount > 0 else "lap", area), arrow(apexes[0], apexes[1], case.amount))
    edges = {edge: _carried(points, old.edges[edge], new.edges[edge]) for edge, points in case.front.edges.items()}
    inner = {name: _carried(points, old.inner[name], new.inner[name]) for name, points in case.front.inner.items()}
    return replace(case.front, edges=edges, inner=inner, marks=marks)


def _drafted(case: Case, spread: float) -> Piece:
    """The front drafted with such a spread, as long below the waist as the front is."""
    back = case.pieces["back"]
    below = float(back.edges["hem"][-1, 1] - back.inner["waist"][0, 1]) if "hem" in back.edges else 0.0
    new = darted_front(case.body, max(spread, 0.0), below, level=not case.one_side)
    if spread >= 0:
        return new
    return replace(slash_and_spread.bust_spread(new, spread, new.edges["dart_upper"][1]), marks=new.marks)


def _carried(points: Floats, old: Floats, new: Floats) -> Floats:
    """A line moved as another one moves from old to new, point by point or at the same share of its length."""
    if len(points) == len(old) == len(new):
        return points + (new - old)
    shares = steps_along(points)
    ways = (np.column_stack([np.interp(shares, steps_along(one), one[:, k]) for k in (0, 1)]) for one in (new, old))
    carried: Floats = points + next(ways) - next(ways)
    return carried
