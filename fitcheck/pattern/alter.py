"""What an alteration does to the pieces of a block: change them, true their neighbours, and compare the seams that are sewn together."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

from fitcheck.core.drawing import SewnSeam
from fitcheck.core.fitting import FittingFacts
from fitcheck.pattern.drafts.block import Block, Body
from fitcheck.pattern.drafts.bodice import as_worn
from fitcheck.pattern.drafts.fronts import SHAPES, reshaped
from fitcheck.pattern.moves.true_seams import trued
from fitcheck.pattern.piece import Pieces, Seam, seam_length
from fitcheck.pattern.recipes.lower import SKIRT, TROUSERS
from fitcheck.pattern.recipes.recipe import Case, Recipe
from fitcheck.pattern.recipes.upper import UPPER_BODY

_TABLES = {"": UPPER_BODY, "skirt": SKIRT, "trousers": TROUSERS}


@dataclass(frozen=True, slots=True)
class Altered:
    """The pieces before and after.

    Attributes
    ----------
    by_hand : dict of str to Piece
        With what is altered, before its neighbours were trued.
    note : str
        What the drawing does not show.
    """

    block: Block
    by_hand: Pieces
    after: Pieces
    note: str = ""

    def seams(self) -> Iterator[SewnSeam]:
        """Every seam of the block, with the lengths of its two sides before and after."""
        for one, two in self.block.sewn:
            pieces = (self.block.pieces, self.after)
            yield SewnSeam(f"{_named(one)} / {_named(two)}", *(seam_length(at, side) for side in (one, two) for at in pieces))


def altered_for(facts: FittingFacts, id: str, amount_mm: float, one_side: bool) -> Altered | None:
    """As `alter`: on the block of her measurements, her front, garment and sleeve."""
    return alter(id, amount_mm, Body.of(facts.tape), facts.front, facts.kind, one_side, facts.sleeve)


@lru_cache(maxsize=16)  # a round is drawn again after every correction, mostly with the same cuts
def alter(
    id: str, amount_mm: float, body: Body, front: str, kind: str = "dress", one_side: bool = False, sleeve: str = "set_in"
) -> Altered | None:
    """The pieces of one alteration, or None where there is no drawing for it.

    Parameters
    ----------
    id : str
        As in alterations.toml.
    amount_mm : float
        Signed as there.
    front : dart | waist_dart | french_dart | shoulder_dart | princess | shoulder_princess | none
    kind : str
        What is sewn: skirt, trousers, or anything for the upper body. Where the alteration is not for it, what it is for is drawn.
    one_side : bool
        On one side only: nothing may change at the centre lines, where the other side joins.
    sleeve : set_in | none
        Without one none is drawn, and what is done to the sleeve alone has no drawing.
    """
    recipe = _recipe(id, kind)
    if recipe is None:
        return None
    block = recipe.block(body, front)
    on_panels = recipe.on_panels and front in SHAPES and SHAPES[front].parted
    if on_panels:
        block = as_worn(block, front, body)
    changed = {piece.name: piece for piece in recipe.change(Case(block.pieces, amount_mm, body, one_side))}
    if sleeve == "none":
        block, changed = _sleeveless(block), {name: piece for name, piece in changed.items() if name != "sleeve"}
    if not changed:
        return None
    holds = "front" if set(changed) <= {"back"} else "back"
    by_hand: Pieces = {**block.pieces, **changed}
    after: Pieces = trued(block, by_hand, recipe.cap, holds)
    if not on_panels:
        block, by_hand, after = as_worn(block, front, body), reshaped(by_hand, front, body), reshaped(after, front, body)
    return Altered(block, by_hand, after, recipe.front_notes.get(front, recipe.note))


def drawn() -> frozenset[tuple[str, str]]:
    """(alteration, "" or skirt or trousers) for which there is a drawing."""
    return frozenset((id, kind) for kind, table in _TABLES.items() for id in table)


def _sleeveless(block: Block) -> Block:
    pieces = {name: piece for name, piece in block.pieces.items() if name != "sleeve"}
    sewn = tuple(pair for pair in block.sewn if all(piece in pieces for side in pair for piece, _ in side))
    return replace(block, pieces=pieces, sewn=sewn)


def _recipe(id: str, kind: str) -> Recipe | None:
    first = _TABLES.get(kind, UPPER_BODY)
    return next((table[id] for table in (first, *_TABLES.values()) if id in table), None)


def _named(seam: Seam) -> str:
    """`front armhole`, `front side upper + lower`."""
    names: dict[str, list[str]] = {}
    for piece, edge in seam:
        names.setdefault(piece, []).append(edge.replace("_", " "))
    return " + ".join(f"{piece} {' + '.join(edges)}" for piece, edges in names.items())
