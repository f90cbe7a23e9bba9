"""Held against what every dressmaker knows from outside the program: ease of a cap, girths, seams of one length."""

from collections.abc import Iterator

import pytest
from shapely import LineString, Polygon

from fitcheck.advice.table import knowledge
from fitcheck.pattern.alter import Altered, alter
from fitcheck.pattern.drafts.block import Body
from fitcheck.pattern.piece import Pieces

CAP_EASE_MM = (20.0, 40.0)  # set-in sleeves of woven cloth, 2 to 4 cm (common practice)
PENCIL_MM = 1.0


def every(kind: str) -> Iterator[tuple[str, float, str, Altered]]:
    for row in knowledge().alterations.values():
        if kind not in row.garments:
            continue
        for front in row.fronts:
            for sign in (1, -1) if row.minus else (1,):
                for size in (row.amounts.smallest, row.amounts.usual[1], row.amounts.most(sign)):
                    changed = alter(row.id, sign * size, Body(), front, kind)
                    assert changed is not None
                    yield row.id, sign * size, front, changed


def cap_ease(pieces: Pieces) -> float:
    sleeve = pieces["sleeve"]
    armhole = sum(piece.length("armhole") for piece in pieces.values() if "armhole" in piece.edges)
    return sleeve.length("cap_back") + sleeve.length("cap_front") - armhole


def test_every_cap_can_still_be_eased_into_its_armhole() -> None:
    for id, amount, front, changed in every("dress"):
        low, high = CAP_EASE_MM
        assert low <= cap_ease(changed.after) <= high, (id, amount, front)


@pytest.mark.parametrize("kind", ["dress", "skirt", "trousers"])
def test_what_is_sewn_together_is_of_one_length(kind: str) -> None:
    """Shoulder, side, princess, leg and underarm seams, and collar or band on their seam; a back neck or shoulder may be eased."""
    for id, amount, front, changed in every(kind):
        for one, two in changed.block.sewn:
            names = {piece for side in (one, two) for piece, _ in side}
            if "sleeve" in names and len(names) > 1:
                continue  # the cap has its ease
            lengths = [sum(changed.after[piece].length(edge) for piece, edge in side) for side in (one, two)]
            assert lengths[0] == pytest.approx(lengths[1], abs=PENCIL_MM), (id, amount, front, one, two)


@pytest.mark.parametrize(
    ("id", "kind", "level"), [("waist_width", "dress", 430.0), ("hip_width", "dress", 630.0), ("hip_width", "skirt", 200.0)]
)
def test_a_size_step_of_girth_is_half_of_it_on_each_half(id: str, kind: str, level: float) -> None:
    """From one size to the next body tables add 4 cm around; of that each half of the pattern takes 2 cm, front and back together.

    The waist lies 41 cm below the bone at the back neck, which lies 2 cm below the neck end of the shoulder; the hip 20 cm below the waist.
    """
    changed = alter(id, 20.0, Body(back_neck=20.0, back_waist=410.0), "none", kind)
    assert changed is not None
    girths = [
        2 * sum(Polygon(pieces[name].outline).intersection(LineString([(-900, level), (900, level)])).length for name in ("back", "front"))
        for pieces in (changed.block.pieces, changed.after)
    ]
    assert girths[1] - girths[0] == pytest.approx(40, abs=PENCIL_MM)
