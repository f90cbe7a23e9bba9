"""Lengths that only the drawing knows, put into the sentences that ask for them: what a neighbour gives, how wide a dart has become.

A sentence asks with `{drawn:cap_notch}`; with `{drawn:+cap_notch}` or `{drawn:-cap_notch}` it is said only where the length is above, or
below, zero. What is too little to be drawn is not said either, so a row may hold a sentence for each way and one of them stays.
"""

import math
import re
from collections.abc import Sequence

import numpy as np

from fitcheck.core.records import Floats
from fitcheck.pattern.alter import Altered
from fitcheck.pattern.moves.true_seams import HAIR_MM, cap_moved
from fitcheck.pattern.piece import Piece

_FIELD = re.compile(r"\{drawn:([+-]?)([a-z_]+)\}")


def told(sentences: Sequence[str], changed: Altered | None) -> tuple[str, ...]:
    """The sentences that the drawing bears out, with its lengths in `{mm:<number>}` fields; where nothing is drawn none that asks."""
    lengths = drawn_lengths(changed) if changed else {}
    return tuple(_FIELD.sub(lambda field: _written(lengths.get(field[2], 0.0)), text) for text in sentences if _holds(text, lengths))


def drawn_lengths(changed: Altered) -> dict[str, float]:
    """Lengths by name, signed, mm; what is not on these pieces is left out.

    What truing does to the neighbours, beyond what was altered on them by hand: `cap_top`, the top of the sleeve cap, raised; `cap_notch`,
    the notch there, along the cap towards the front; `sleeve_back`, `sleeve_front`, the underarm ends of the cap, outwards; `collar_back`,
    `collar_front`, `band_back`, `band_front`, half of a collar or facing and of a waistband, longer; `<back|front>_<side|outside|inside>`,
    a side or leg seam, longer at its end.

    What has changed on the piece itself: `<piece>_<edge>_taken`, what darts, tape or ease take out of an edge when it is sewn; `cap_sunk`,
    the top of the cap, lower; `dart_wider`, the bust dart at its wide end.
    """
    before, hand, after = changed.block.pieces, changed.by_hand, changed.after
    found: dict[str, float] = {}
    if "sleeve" in after:
        found = _cap(hand["sleeve"], after["sleeve"])
        found["cap_sunk"] = float(after["sleeve"].edges["cap_back"][-1, 1] - before["sleeve"].edges["cap_back"][-1, 1])
    for strip, name in (("collar or facing", "collar"), ("waistband", "band")):
        if strip in after:
            found |= {f"{name}_{half}": after[strip].length(half) - hand[strip].length(half) for half in ("back", "front")}
    for name, piece in after.items():
        half = "back" if name == "back" else "front"
        for seam in ("side", "outside", "inside"):
            if edges := piece.edges_named(seam):
                found[f"{half}_{seam}"] = sum(piece.length(edge) - hand[name].length(edge) for edge in edges)
        if legs := piece.edges_named("dart"):
            found["dart_wider"] = _wide_end(piece, legs) - _wide_end(before[name], legs)
        for edge in piece.edges:
            found[f"{name}_{edge}_taken".replace(" ", "_")] = piece.taken.get(edge, 0.0) - before[name].taken.get(edge, 0.0)
    return found


def _wide_end(piece: Piece, legs: Sequence[str]) -> float:
    """How far apart the two legs of a dart begin on their edge."""
    return math.dist(piece.edges[legs[0]][0], piece.edges[legs[1]][-1])


def _cap(old: Piece, new: Piece) -> dict[str, float]:
    """How truing has moved the top of a cap, its notch and its underarm ends."""
    up, ahead = cap_moved(old, new)
    return {
        "cap_top": up,
        "cap_notch": ahead,
        "sleeve_back": _outwards(new.edges["cap_back"][0] - old.edges["cap_back"][0], -1),
        "sleeve_front": _outwards(new.edges["cap_front"][-1] - old.edges["cap_front"][-1], 1),
    }


def _outwards(move: Floats, way: int) -> float:
    """How far a point has moved, below zero where it has moved inwards."""
    return float(np.copysign(np.hypot(*move), move[0] * way))


def _holds(text: str, lengths: dict[str, float]) -> bool:
    signs = {"+": 1.0, "-": -1.0}
    return all(
        abs(lengths.get(name, 0.0)) >= HAIR_MM and (not sign or lengths[name] * signs[sign] > 0) for sign, name in _FIELD.findall(text)
    )


def _written(mm: float) -> str:
    return f"{{mm:{abs(mm):.1f}}}"
