"""Lengths that only the drawing knows, put into the sentences that ask for them: what a neighbour gives, how wide a dart has become.

A sentence asks with `{drawn:cap_notch}`; with `{drawn:+cap_notch}` or `{drawn:-cap_notch}` it is said only where the length is above, or
below, zero. What is too little to be drawn is not said either, so a row may hold a sentence for each way and one of them stays.
"""

import re
from collections.abc import Sequence

from fitcheck.pattern.alter import Altered
from fitcheck.pattern.piece import Pieces

HAIR_MM = 1.5  # less is no pencil line beside another
_FIELD = re.compile(r"\{drawn:([+-]?)([a-z_]+)\}")


def told(sentences: Sequence[str], changed: Altered | None) -> tuple[str, ...]:
    """The sentences that the drawing bears out, with its lengths in `{mm:<number>}` fields; where nothing is drawn none that asks."""
    lengths = drawn_lengths(changed) if changed else {}
    return tuple(_FIELD.sub(lambda field: _written(lengths.get(field[2], 0.0)), text) for text in sentences if _holds(text, lengths))


def drawn_lengths(changed: Altered) -> dict[str, float]:
    """Lengths by name, signed, mm; what is not on these pieces is left out.

    `cap_notch`: the notch at the top of the sleeve cap, towards the front; `cap_top`: the top of the cap, raised; `sleeve_back`,
    `sleeve_front`: the underarm ends of the cap, moved outwards; `collar_...`, `band_...`: halves of a collar or facing and of a waistband,
    longer. All of these are what truing does, beyond what was altered on that piece itself. `<piece>_<edge>_taken`: what darts, tape or
    ease take out of an edge when it is sewn; `dart`: the bust dart's mouth, wider; `drop`: the front waist at the centre, lower.
    """
    before, hand, after = changed.block.pieces, changed.by_hand, changed.after
    found = _sleeve(hand, after) if "sleeve" in after else {}
    for strip, name in (("collar or facing", "collar"), ("waistband", "band")):
        if strip in after:
            found |= {f"{name}_{half}": after[strip].length(half) - hand[strip].length(half) for half in ("back", "front")}
    for name, piece in after.items():
        for edge in piece.edges:
            found[f"{name}_{edge}_taken".replace(" ", "_")] = piece.taken.get(edge, 0.0) - before[name].taken.get(edge, 0.0)
    return found


def _sleeve(hand: Pieces, after: Pieces) -> dict[str, float]:
    old, new = hand["sleeve"], after["sleeve"]
    return {
        "cap_notch": new.length("cap_back") - old.length("cap_back"),
        "cap_top": float(old.edges["cap_back"][-1, 1] - new.edges["cap_back"][-1, 1]),
        "sleeve_back": float(old.edges["cap_back"][0, 0] - new.edges["cap_back"][0, 0]),
        "sleeve_front": float(new.edges["cap_front"][-1, 0] - old.edges["cap_front"][-1, 0]),
    }


def _holds(text: str, lengths: dict[str, float]) -> bool:
    signs = {"+": 1.0, "-": -1.0}
    return all(
        abs(lengths.get(name, 0.0)) >= HAIR_MM and (not sign or lengths[name] * signs[sign] > 0) for sign, name in _FIELD.findall(text)
    )


def _written(mm: float) -> str:
    return f"{{mm:{abs(mm):.1f}}}"
