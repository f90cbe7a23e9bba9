"""Every number in every instruction is measured on the pieces: what is told is what is drawn.

Measured are the pieces before and after alone, not what is written beside their arrows: how far a corner has moved, how much longer an
edge is sewn, how far an edge lies beside its old place, how wide a gap or a lap stands, how wide a dart is.
"""

import re
from itertools import pairwise

import numpy as np
import pytest

from fitcheck.advice.only_for import said_of
from fitcheck.advice.rows import Alteration
from fitcheck.advice.table import knowledge
from fitcheck.core.fitting import SHAPING, FittingFacts
from fitcheck.core.records import Floats
from fitcheck.pattern.alter import Altered, alter
from fitcheck.pattern.drafts.block import Body
from fitcheck.pattern.piece import Piece
from fitcheck.pattern.told import told

LOWER = ("skirt", "trousers")
CASES = [
    (row.id, kind, front)
    for row in knowledge().alterations.values()
    for kind in sorted({garment if garment in LOWER else "dress" for garment in row.garments})
    for front in (row.fronts[:1] if kind in LOWER else [front for front, shaping in SHAPING.items() if shaping in row.fronts])
]
TOLD = re.compile(r"(a quarter of |three quarters of )?\{(amount|half_amount|mm:([\d.]+))\}")
PIECES = ("Back", "Front", "Sleeve", "Collar", "Waistband", "Centre front", "Side front")
TOLERANCE_MM, TOLERANCE = 1.0, 0.04  # a pencil line, and chords drawn for arcs


@pytest.mark.parametrize(("id", "kind", "front"), CASES)
def test_every_number_is_drawn(id: str, kind: str, front: str) -> None:
    row = knowledge().alterations[id]
    facts = FittingFacts.model_validate({"kind": kind, "front": front})
    for sign in (1, -1) if row.minus else (1,):
        for size in (row.amounts.smallest, row.amounts.usual[1], row.amounts.most(sign)):
            amount = sign * size
            changed = alter(id, amount, Body(), front, kind)
            assert changed is not None
            for text in instructions(row, amount, facts, changed):
                lengths = measured(changed, text)
                for quarter, field, mm in TOLD.findall(text):
                    wanted = float(mm) if mm else abs(amount) / (2 if field == "half_amount" else 1)
                    wanted *= {"": 1.0, "a quarter of ": 0.25, "three quarters of ": 0.75}[quarter]
                    near = min(lengths, key=lambda one: abs(one - wanted))
                    assert near == pytest.approx(wanted, abs=TOLERANCE_MM + TOLERANCE * wanted), (amount, text)


def instructions(row: Alteration, amount: float, facts: FittingFacts, changed: Altered) -> tuple[str, ...]:
    """All sentences but those with a fixed length, which have tests of their own."""
    direction = row.direction(amount)
    texts = (*direction.steps_for(facts), *direction.matching_for(facts))
    return told((*(text for text in texts if "{mm:" not in text), *knowledge().follows), changed)


def measured(changed: Altered, text: str) -> list[float]:
    """All lengths on the pieces that a sentence speaks of, mm; on all pieces if it names none."""
    named = [piece.lower() for piece in PIECES if re.search(rf"\b{piece}\b", text, re.IGNORECASE if piece != "Back" else 0)]
    found: list[float] = []
    for name, after in changed.after.items():
        if not named or any(word in name or (word == "front" and "front" in name) for word in named):
            found += lengths_on(changed.block.pieces[name], after) + lengths_on(changed.by_hand[name], after)
    for edge in {edge for name in changed.after if "front" in name for edge in changed.after[name].edges} if "front" in named else ():
        pieces = [name for name, after in changed.after.items() if edge in after.edges and "front" in name]
        found.append(abs(sum(changed.after[name].length(edge) - changed.block.pieces[name].length(edge) for name in pieces)))
    return found or [0.0]


def lengths_on(before: Piece, after: Piece) -> list[float]:
    found = [0.0]
    for edge, new in after.edges.items():
        old = before.edges[edge]
        found += [after.length(edge) - before.length(edge)]
        for end in (0, -1):
            found += [*(new[end] - old[end]), float(np.hypot(*(new[end] - old[end])))]
        found.append(apart(old, new))
    if legs := after.edges_named("dart"):
        wide = [float(np.hypot(*(piece.edges[legs[0]][0] - piece.edges[legs[1]][-1]))) for piece in (before, after)]
        found.append(wide[1] - wide[0])
    for start in ("side", "princess"):
        edges = after.edges_named(start)
        found.append(sum(after.length(edge) - before.length(edge) for edge in edges))
    for mark in after.marks:
        if mark.kind in ("gap", "lap", "dart", "arrow"):
            around = mark.points if mark.kind in ("arrow", "dart") else np.vstack([mark.points, mark.points[:1]])
            found += [float(np.hypot(*(two - one))) for one, two in pairwise(around)]
        if mark.kind == "arrow":
            found += list(mark.points[1] - mark.points[0])  # widths are meant level, lengths plumb
        if mark.kind == "dart":
            found.append(float(np.hypot(*(mark.points[-1] - mark.points[0]))))
        if mark.kind == "tape":
            found += list(after.taken.values())
    if "cap_back" in after.edges:
        found += [float(abs(after.edges["cap_back"][-1, 1] - before.edges["cap_back"][-1, 1])), *notch(before, after)]
    return [abs(one) for one in found]


def apart(old: Floats, new: Floats) -> float:
    """The greatest sideways distance between two seam lines that run downwards."""
    one, two = (points[np.argsort(points[:, 1])] for points in (old, new))
    levels = np.linspace(max(one[0, 1], two[0, 1]), min(one[-1, 1], two[-1, 1]), 60)
    return float(np.abs(np.interp(levels, *one.T[::-1]) - np.interp(levels, *two.T[::-1])).max())


def notch(before: Piece, after: Piece) -> list[float]:
    """How far the notch of a cap has moved along the cap, by the new cap's length between the old place and the new one, and how much
    higher the cap is at the old place."""
    whole = np.vstack([after.edges["cap_back"], after.edges["cap_front"][1:]])
    passed = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(whole, axis=0).T))])
    at = [float(np.interp(piece.edges["cap_back"][-1, 0], whole[:, 0], passed)) for piece in (before, after)]
    old = before.edges["cap_back"][-1]
    return [at[1] - at[0], float(np.interp(old[0], *whole.T)) - float(old[1])]


@pytest.mark.parametrize(("id", "kind", "front"), CASES)
def test_what_is_written_beside_an_arrow_on_a_neighbour_stands_in_the_words(id: str, kind: str, front: str) -> None:
    row = knowledge().alterations[id]
    for sign in (1, -1) if row.minus else (1,):
        for size in (row.amounts.smallest, row.amounts.usual[1], row.amounts.most(sign)):
            changed = alter(id, sign * size, Body(), front, kind)
            assert changed is not None
            said = [float(mm) for text in told(knowledge().follows, changed) for mm in re.findall(r"\{mm:([\d.]+)\}", text)]
            for name in {"sleeve", "collar or facing", "waistband"} & set(changed.after):
                for mark in changed.after[name].marks[len(changed.by_hand[name].marks) :]:
                    if mark.kind == "arrow":
                        far, label = float(np.hypot(*(mark.points[1] - mark.points[0]))), float(mark.says[len("{mm:") : -1])
                        assert label in said, (sign * size, name)
                        assert far == pytest.approx(label, abs=TOLERANCE * label + 0.1), (sign * size, name)


def test_what_is_measured_would_notice_an_amount_typed_beside_the_drawing() -> None:
    """A shallow neck 10 mm wider at the shoulder: the back half of the collar grows by 6 to 7 mm and the front half by 1, not by 5 each."""
    shallow = Body(neck_more=17.0, back_neck=20.0, front_neck=75.0, seam_forward_neck=0.0, seam_forward_tip=0.0)
    changed = alter("neck_width", 10.0, shallow, "none")
    assert changed is not None
    lengths = measured(changed, "Collar or facing: lengthen each half by 5 mm.")
    assert min(abs(one - 5.0) for one in lengths) > 1.2
    assert said_of(("(skirt) a", "b"), FittingFacts()) == ("b",)


SAID_OF_THE_FRONT = {  # what a dressmaker would hear of each front, and what would make no sense there
    ("full_small_bust", "princess"): (["below the end of the princess seam"], ["dart", "take"]),
    ("full_small_bust", "shoulder_princess"): (["lower half of the armhole"], ["dart", "below the end of the princess seam"]),
    ("full_small_bust", "dart"): (["the dart folded", "take {amount} off again"], ["wedge"]),
    ("full_small_bust", "waist_dart"): (["sew the dart wider by another {amount}"], ["the dart folded", "take {amount} off again"]),
    ("full_small_bust", "shoulder_dart"): (["shut the wedge at the side"], ["the dart folded"]),
    ("bust_point_height", "dart"): (["cut out a block"], ["waist", "shoulder"]),
    ("bust_point_height", "waist_dart"): (["move the dart point up"], ["block", "draw the side seam anew"]),
    ("bust_point_height", "shoulder_dart"): (["move the dart point up", "shoulder seam"], ["block", "side seam"]),
    ("bust_point_span", "waist_dart"): (["move the whole dart"], ["move the dart point"]),
    ("bust_point_span", "french_dart"): (["move the dart point"], ["whole dart"]),
    ("armhole_gape", "princess"): (["take in centre front and side front alike", "{amount} shorter"], ["wedge", "half_amount"]),
    ("armhole_gape", "shoulder_princess"): (["wedge", "{amount} shorter"], ["half_amount"]),
    ("chest_width", "dart"): (["open it {amount} at chest level", "armhole smooth"], ["princess"]),
    ("chest_width", "princess"): (["bust point on the princess seam line"], ["waist", "{half_amount}"]),
    ("chest_width", "shoulder_princess"): (["{half_amount} on each at chest level"], ["plumb line", "armhole"]),
    ("neckline_gape", "shoulder_princess"): (["The side front stays"], ["dart"]),
}


@pytest.mark.parametrize(("id", "front"), SAID_OF_THE_FRONT)
def test_steps_speak_of_the_front_that_is_sewn(id: str, front: str) -> None:
    plus = knowledge().alterations[id].plus
    facts = FittingFacts.model_validate({"front": front})
    words = " ".join((*plus.steps_for(facts), *plus.matching_for(facts)))
    said, unsaid = SAID_OF_THE_FRONT[id, front]
    assert [one for one in said if one not in words] == []
    assert [one for one in unsaid if one in words] == []
