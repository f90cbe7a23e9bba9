"""Which of the lines along each edge are of one size."""

from collections.abc import Sequence

from fitcheck.core.polyline import length as line_length
from fitcheck.piece.dashes import DASHES, Dash
from fitcheck.piece.size_lines import SizeLine

ALIKE_SHARE = 0.45  # of the longest line's length on the same edge, that a line must have: darts and hands part lines
LONG_SHARE = 0.72  # the same where no line is dashed as the chosen size: a fold's bracket is shorter
LEAST_ALIKE = 0.12  # of a line's length that must be dashed as its size is: a window on a crossing tells anything
BENEATH_MM = 25.0  # the innermost line that is well seen: two grades; what lies deeper is no size line
SURE_SHARE = 0.75  # of a line's length, dashed in one way, by which it is that size's and no other's
EDGES_SHARE = 0.34  # of the edges, on which a size must be seen
HALF_REACH, WHOLE_REACH, LEAST_NEST = 0.5, 0.8, 3  # of an edge's length, for a line to count; lines that are sizes by their number


def chosen_lines(edges: Sequence[Sequence[SizeLine]], sizes: Sequence[Dash], dash: Dash) -> list[SizeLine | None]:
    """Of each edge the line of the chosen size: told by its dashes and by the order of the sizes; where all run together, the one there is.

    Parameters
    ----------
    sizes : sequence of Dash
        From the outermost inwards.
    """
    return [_of_size(lines, sizes, sizes.index(dash)) for lines in edges]


def _of_size(lines: Sequence[SizeLine], sizes: Sequence[Dash], rank: int) -> SizeLine | None:
    best = max((line.reach for line in lines), default=0.0)
    whole = [line for line in lines if line.reach > ALIKE_SHARE * best]
    outer, inner = _in_order(whole, sizes), _in_order(whole, sizes[::-1])
    found = (outer[1] if outer[0] >= inner[0] else inner[1][::-1])[rank]
    if found is not None:
        return found
    # where hands leave little of it to be seen, what is dashed as it is nevertheless tells more than any other size's line
    deepest = max((line.depth_mm for line in whole), default=0.0) + BENEATH_MM
    own = [line for line in lines if line.shares.get(sizes[rank], 0.0) > SURE_SHARE and line.depth_mm < deepest]
    if own and any(line.dash != sizes[rank] and line.shares.get(line.dash, 0.0) > SURE_SHARE for line in whole):
        return max(own, key=lambda line: line.reach)
    long = [line for line in whole if line.reach > LONG_SHARE * best]
    return long[round(rank / max(len(sizes) - 1, 1) * (len(long) - 1))] if long else None


def _in_order(lines: Sequence[SizeLine], sizes: Sequence[Dash]) -> tuple[float, list[SizeLine | None]]:
    """Which line is which size, as their dashes and their order together tell best: no size lies outside the one before it.

    At a neck the largest size may lie innermost, so both orders are tried; first stands how much speaks for this one.
    """
    table = [[0.0] * (len(sizes) + 1) for _ in range(len(lines) + 1)]  # what the first lines and sizes tell at most
    for i, line in enumerate(lines, 1):
        for j, dash in enumerate(sizes, 1):
            table[i][j] = max(table[i - 1][j], table[i][j - 1], table[i - 1][j - 1] + _alike(line, dash))
    found: list[SizeLine | None] = [None] * len(sizes)
    i, j = len(lines), len(sizes)
    while i and j:
        if table[i][j] == table[i - 1][j]:
            i -= 1
        elif table[i][j] == table[i][j - 1]:
            j -= 1
        else:
            i, j = i - 1, j - 1
            found[j] = lines[i]
    return table[-1][-1], found


def _alike(line: SizeLine, dash: Dash) -> float:
    """How much speaks for a line being of a size: the length that is dashed so; below nothing where hardly any is."""
    return line.reach * (line.shares.get(dash, float(line.dash == dash)) - LEAST_ALIKE)


def sizes_seen(edges: list[list[SizeLine]]) -> list[Dash]:
    """The sizes of a nested print from the outermost inwards, by how their lines are dashed; empty where fewer than two are seen.

    The edges on which most kinds are seen tell their order, the longest ones: at a neck it may be the other way
    round. A line along one or two edges only is a fold's or a hem's, and one kind all
    round within the paper's edge is the seam line of a piece that is cut out; but three and more along the whole of one edge are sizes,
    wherever else they run on top of each other.
    """

    def kinds(lines: list[SizeLine], least_reach: float) -> list[Dash]:
        return list(dict.fromkeys(line.dash for line in lines if line.reach > least_reach))

    seen = [kinds(lines, HALF_REACH) for lines in edges]
    often = {dash for dash in DASHES if sum(dash in own for own in seen) >= max(2.0, EDGES_SHARE * len(edges))}
    often |= {dash for own in (kinds(lines, WHOLE_REACH) for lines in edges) if len(own) >= LEAST_NEST for dash in own}
    ordered = [tuple(dash for dash in own if dash in often) for own in seen]
    most = max((len(own) for own in ordered), default=0)
    long: dict[tuple[Dash, ...], float] = {}
    for own, lines in zip(ordered, edges, strict=True):
        if len(own) == most > 1:
            long[own] = long.get(own, 0.0) + max(line_length(line.points) for line in lines)
    return list(max(long.items(), key=lambda one: one[1])[0]) if long else []
