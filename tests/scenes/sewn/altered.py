"""Alterations made on the pieces of a dress that reaches below the hip."""

from collections.abc import Mapping, Sequence

import numpy as np

from fitcheck.advice.table import knowledge
from fitcheck.pattern.drafts.block import Block, Body
from fitcheck.pattern.drafts.bodice import bodice
from fitcheck.pattern.moves.true_seams import trued
from fitcheck.pattern.piece import Piece
from fitcheck.pattern.recipes.recipe import Case
from fitcheck.pattern.recipes.upper import UPPER_BODY

from .cut import Cloth, cut

BELOW_MM = 260.0


def altered(body: Body, front: str, amounts: Sequence[tuple[str, float]]) -> dict[str, Piece]:
    """The sewn pieces of the block with these alterations made, in the order of alterations.toml.

    Raises
    ------
    ValueError
        Where an alteration has no drawing on such a dress.
    """
    block = bodice(body, front, BELOW_MM)
    order = {id: i for i, id in enumerate(knowledge().alterations)}
    pieces: Mapping[str, Piece] = block.pieces
    for id, amount in sorted(amounts, key=lambda one: order[one[0]]):
        recipe = UPPER_BODY.get(id)
        if recipe is None:
            raise ValueError(f"no drawing of {id} on a dress")
        now = Block(pieces, block.sewn)
        changed = {piece.name: piece for piece in recipe.change(Case(pieces, amount, body, False))}
        holds = "front" if set(changed) <= {"back"} else "back"
        pieces = trued(now, {**pieces, **changed}, recipe.cap, holds)
    return sewn_pieces(pieces)


def dress(body: Body, front: str = "dart") -> dict[str, Piece]:
    """Back and front of the block as drafted."""
    return sewn_pieces(bodice(body, front, BELOW_MM).pieces)


def sewn_pieces(pieces: Mapping[str, Piece]) -> dict[str, Piece]:
    """Back and front; sleeve and collar are not worn."""
    return {name: piece for name, piece in pieces.items() if name == "back" or name.endswith("front")}


def shared_cloth(bodies: Sequence[Body], front: str = "dart") -> Cloth:
    """One mesh for the blocks of all, cut on the middle of their entries."""
    middle = Body(**{name: float(np.median([getattr(body, name) for body in bodies])) for name in Body.__dataclass_fields__})
    block = bodice(middle, front, BELOW_MM)
    return cut(dress(middle, front), block.sewn)
