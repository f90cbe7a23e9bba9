"""The round's alterations done on her own pieces by the operations of `pattern/`, and their seams compared."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from fitcheck.core.drawing import SewnSeam
from fitcheck.core.errors import UsageError
from fitcheck.core.toml_file import meant
from fitcheck.pattern.alter import Altered, drawn
from fitcheck.pattern.drafts.block import Block
from fitcheck.pattern.drafts.bodice import half, sleeve
from fitcheck.pattern.drafts.skirt_and_trousers import skirt, trousers
from fitcheck.pattern.moves.dart_spread import dart_spread
from fitcheck.pattern.moves.true_seams import HAIR_MM, trued
from fitcheck.pattern.piece import Mark, Piece, Pieces, Seam, Sewn
from fitcheck.pattern.recipes.recipe import Case, Recipe
from fitcheck.pattern.recipes.upper import UPPER_BODY
from fitcheck.piece.as_pattern import Handed, OwnBody, body_of, handed_over, taken_back
from fitcheck.piece.limbs import SLEEVE, handed_leg, handed_sleeve, leg_taken_back, sleeve_taken_back
from fitcheck.piece.own_levels import OWN_SKIRT, OWN_TROUSERS
from fitcheck.piece.own_piece import OwnPiece

ROLES = {
    "front": "front",
    "back": "back",
    "sleeve": "sleeve",
    "skirt": "front",
    "skirt_front": "front",
    "skirt_back": "back",
    "trousers": "front",
    "trousers_front": "front",
    "trousers_back": "back",
}
CALLED = {"outside": "side", "inside": "inseam"}
NEEDED = {"sleeve": {"cap", *SLEEVE}, "front": {"side", "hem", "inseam", "crotch"}, "back": {"side", "hem", "inseam", "crotch"}}
WITH_SLEEVE = ("armhole_depth", "above_bust_length")  # change the sleeve too, whether it was read or not
TRUE_MM = 1.0  # by which the two sides of a seam may differ more after than before


@dataclass(frozen=True, slots=True)
class AlteredPiece:
    """One alteration of one piece of hers.

    Attributes
    ----------
    before, after : OwnPiece
    marks : tuple of Mark
        In the frame of the pieces: cuts, hinges, paper put in or taken out, arrows.
    """

    before: OwnPiece
    after: OwnPiece
    marks: tuple[Mark, ...]


@dataclass(frozen=True, slots=True)
class Alteration:
    """One alteration of all pieces that were read.

    Attributes
    ----------
    pieces : tuple of AlteredPiece
        Only those that change.
    changed : Altered
        The same as `pattern/` tells it, stand-ins for pieces that were not read included.
    seams : tuple of SewnSeam
        Between pieces that were both read.
    says : tuple of str
        What has to follow on pieces that were not read, with `{mm:<number>}` fields.
    """

    id: str
    amount_mm: float
    pieces: tuple[AlteredPiece, ...]
    changed: Altered
    seams: tuple[SewnSeam, ...]
    says: tuple[str, ...]


def alter_own(pieces: Sequence[OwnPiece], id: str, amount_mm: float, one_side: bool = False) -> Alteration:
    """One alteration done on the pieces that were read.

    Parameters
    ----------
    pieces : sequence of OwnPiece
        Of one garment: halves front and back, and its sleeve; skirt_front and skirt_back; or trousers_front and trousers_back.
    id, amount_mm
        As in alterations.toml.

    Raises
    ------
    UsageError
        It cannot be done on these pieces; the sentence says why.
    """
    table = alterations_for(pieces)
    recipe = table.get(id)
    if recipe is None:
        every = sorted({name for name, _ in drawn()})
        known = sorted(table)
        why = "is not for this piece" if id in every else f"is not known; {meant(id, known)}"
        raise UsageError(f'The alteration "{id[:60]}" {why}.', f"Known here are {', '.join(known)}.")
    handed = {ROLES[piece.name]: _handed(piece) for piece in pieces if piece.name in ROLES}
    if not handed:
        raise UsageError(
            "A piece of another kind cannot be altered.",
            "Name it front, back, sleeve, skirt_front, skirt_back, trousers_front or trousers_back.",
        )
    own = {role: one.piece for role, one in handed.items()}
    body = body_of(own)
    block = _block(own, table, body, id in WITH_SLEEVE)
    by_hand, after = _changed(recipe, block, body, id, amount_mm, one_side)
    changed = Altered(block, by_hand, after, recipe.note)
    found = []
    for role, one in handed.items():
        if after[role] is not block.pieces[role]:
            marks = tuple(replace(mark, points=mark.points + one.origin) for mark in after[role].marks if mark.kind != "dart")
            found.append(AlteredPiece(one.own, _taken_back(one, after[role], (id, amount_mm)), marks))
    if not found:
        raise UsageError(f'The alteration "{id}" changes none of the pieces that were read.', "Photograph the piece that it is done on.")
    seams = tuple(
        seam for seam, sides in zip(changed.seams(), block.sewn, strict=True) if {name for side in sides for name, _ in side} <= set(own)
    )
    return Alteration(id, amount_mm, tuple(found), changed, seams, _to_follow(block, after, own, handed))


def alterations_for(pieces: Sequence[OwnPiece]) -> Mapping[str, Recipe]:
    """What can be asked of pieces of one kind."""
    if any(piece.name.startswith("trousers") for piece in pieces):
        return OWN_TROUSERS
    return OWN_SKIRT if any(piece.name.startswith("skirt") for piece in pieces) else UPPER_BODY


def _handed(piece: OwnPiece) -> Handed:
    missing = (
        NEEDED[ROLES[piece.name]] - set(piece.edges) if piece.name in ("sleeve", "trousers", "trousers_front", "trousers_back") else set()
    )
    if missing:
        raise UsageError(
            f"This {piece.name.replace('_', ' ')} has no edge named {' or '.join(sorted(missing))}.", "Name its edges first, then alter it."
        )
    if piece.name == "sleeve":
        return handed_sleeve(piece)
    return (handed_leg if piece.name.startswith("trousers") else handed_over)(piece, ROLES[piece.name])


def _taken_back(handed: Handed, after: Piece, done: tuple[str, float]) -> OwnPiece:
    if handed.own.name == "sleeve":
        return sleeve_taken_back(handed, after, done)
    return (leg_taken_back if "outside" in handed.piece.edges else taken_back)(handed, after, done)


def _block(own: Mapping[str, Piece], table: Mapping[str, Recipe], body: OwnBody, with_sleeve: bool) -> Block:
    """Her pieces, and stand-ins for those that were not read, with what is sewn to what."""
    if table is OWN_SKIRT or table is OWN_TROUSERS:
        stand = (skirt if table is OWN_SKIRT else trousers)(body).pieces
        return _sewn({name: own.get(name, stand[name]) for name in ("back", "front")})
    halves = {name: own.get(name, half(body, name, 260.0 if _long(own) else 0.0)) for name in ("back", "front")}
    if "sleeve" in own:
        halves["sleeve"] = own["sleeve"]
    elif with_sleeve:
        halves["sleeve"] = sleeve(body, halves["back"].length("armhole"), halves["front"].length("armhole"))
    return _sewn(halves)


def _long(own: Mapping[str, Piece]) -> bool:
    return any("hem" in piece.edges for name, piece in own.items() if name != "sleeve")


def _sewn(pieces: Pieces) -> Block:
    """A block of pieces with the seams that join them."""
    back, front = pieces["back"], pieces["front"]

    def joined(start: str) -> tuple[Seam, Seam]:
        one, two = (tuple((piece.name, edge) for edge in piece.edges_named(start)) for piece in (back, front))
        return one, two

    found: Sewn = tuple(joined(start) for start in ("shoulder", "side", "outside", "inside") if front.edges_named(start))
    if "sleeve" in pieces:
        found += tuple((((piece.name, "armhole"),), (("sleeve", f"cap_{piece.name}"),)) for piece in (back, front))
        found += (((("sleeve", "seam_back"),), (("sleeve", "seam_front"),)),)
    legs = front.edges_named("dart")
    return Block(pieces, (*found, ((("front", legs[0]),), (("front", legs[1]),))) if legs else found)


def _changed(recipe: Recipe, block: Block, body: OwnBody, id: str, amount: float, one_side: bool) -> tuple[Pieces, Pieces]:
    front = block.pieces["front"]
    try:
        if id == "full_small_bust" and "dart_upper" in front.edges:
            parts = [dart_spread(front, amount, not one_side)]
        else:
            parts = recipe.change(Case(block.pieces, amount, body, one_side))
    except KeyError as error:
        raise UsageError(
            f"This alteration needs the {error.args[0]}.", "Photograph that piece too and give it with --with, or leave it out."
        ) from None
    except ValueError as error:
        raise UsageError(f"This alteration is too large for the piece: {error}.", "Give a smaller amount.") from None
    if not parts:
        raise UsageError("A front without a dart has no such alteration.", "Put its dart into piece.toml, if it has one.")
    hand = {piece.name: piece for piece in parts if piece.name in block.pieces}
    by_hand: Pieces = {**block.pieces, **hand}
    holds = "front" if set(hand) <= {"back"} else "back"
    return by_hand, trued(block, by_hand, recipe.cap, holds)


def _to_follow(block: Block, after: Pieces, own: Mapping[str, Piece], handed: Mapping[str, Handed]) -> tuple[str, ...]:
    """By how much edges have changed that are sewn to pieces which were not read."""
    partners = dict.fromkeys(("shoulder", "side", "outside", "inside"), "back" if "front" in own else "front")
    others = {"neck": "collar or facing", "armhole": "sleeve cap or facing", "waist": "waistband, skirt or bodice", "hem": "hem facing"}
    if "sleeve" in own:
        del others["armhole"]
    found = []
    for role, piece in own.items():
        bases = dict.fromkeys("side" if name.startswith("side") else name for name in piece.edges if not name.startswith("dart"))
        for base in bases:
            partner = others.get(base) or (partners.get(base) if not {"front", "back"} <= set(own) else None)
            if partner is None:
                continue
            more = sum(
                after[role].length(name) - block.pieces[role].length(name)
                for name in piece.edges
                if name == base or name.startswith(f"{base}_")
            )
            if abs(more) > TRUE_MM:
                longer = "longer" if more > 0 else "shorter"
                stand_in = ""
                if base in partners and partner in after:
                    own_change = sum(
                        after[partner].length(name) - block.pieces[partner].length(name)
                        for name in after[partner].edges
                        if name == base or name.startswith(f"{base}_")
                    )
                    stand_in = " by the same alteration" if math.isclose(own_change, more, abs_tol=HAIR_MM) else ""
                name = handed[role].own.name.replace("_", " ")
                found.append(
                    f"The {CALLED.get(base, base)} of the {name} becomes {{mm:{abs(more):.1f}}} {longer}; so must its {partner}{stand_in}."
                )
    return tuple(found)
