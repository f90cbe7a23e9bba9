"""Every alteration on figures far from the mean: a small, a large and a short one; no line of a piece may cross another."""

from itertools import combinations

import numpy as np
import pytest
from shapely import LineString, MultiPoint

from fitcheck.advice.rows import Alteration
from fitcheck.advice.table import knowledge
from fitcheck.core.fitting import SHAPING, TapeFacts
from fitcheck.pattern.alter import alter
from fitcheck.pattern.drafts.block import Body
from fitcheck.pattern.drafts.bodice import bodice
from fitcheck.pattern.piece import Piece

LOWER = ("skirt", "trousers")
TAPES = {
    "small": TapeFacts(unit="mm", bust=760, waist=600, hip=850, back_waist_length=360),
    "large": TapeFacts(unit="mm", bust=1300, waist=1150, hip=1320),
    "short": TapeFacts(unit="mm", back_waist_length=340),
}
CORNER_MM = 1.0  # edges meet at their corners


def crossings(piece: Piece) -> list[tuple[str, str]]:
    """Edges that meet elsewhere than at a corner; a dart that is gone has its two legs on one line, which is none."""
    found = []
    for one, two in combinations(piece.edges, 2):
        first, second = piece.edges[one], piece.edges[two]
        if one.startswith("dart") and two.startswith("dart") and np.allclose(first, second[::-1], atol=0.1):
            continue
        corners = MultiPoint([first[0], first[-1]]).buffer(CORNER_MM)
        if not LineString(first).intersection(LineString(second)).difference(corners).is_empty:
            found.append((one, two))
    return found


def cases(row: Alteration) -> list[tuple[str, str]]:
    """Kinds of garment and of front on which it looks different."""
    kinds = sorted({garment if garment in LOWER else "dress" for garment in row.garments})
    fronts = [front for front, shaping in SHAPING.items() if shaping in row.fronts]
    return [(kind, front) for kind in kinds for front in (fronts if kind == "dress" and "front" in row.pieces else fronts[:1])]


@pytest.mark.parametrize("figure", TAPES)
def test_no_line_of_a_piece_crosses_another(figure: str) -> None:
    body = Body.of(TAPES[figure])
    for row in knowledge().alterations.values():
        for kind, front in cases(row):
            for sign in (1, -1) if row.minus else (1,):
                changed = alter(row.id, sign * row.amounts.usual[1], body, front, kind)
                assert changed is not None
                for piece in changed.after.values():
                    case = (row.id, sign, kind, front, piece.name)
                    assert all(np.isfinite(points).all() for points in piece.edges.values()), case
                    assert crossings(piece) == [], case


def test_a_crossing_is_noticed() -> None:
    front = bodice(Body(), "none").pieces["front"]
    corner = front.edges["shoulder"][0]
    crossed = front.with_edges(shoulder=np.array([corner, corner + [-40.0, 100.0], front.edges["shoulder"][-1]]))
    assert ("neck", "shoulder") in crossings(crossed)
