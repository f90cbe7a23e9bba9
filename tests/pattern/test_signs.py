"""Which way the paper goes: of each alteration one corner or more, with the words of its instruction that say where they go.

The half piece lies with its centre line at the left and its neck or waist at the top: outwards is away from the centre line.
"""

import numpy as np
import pytest

from fitcheck.advice.table import knowledge
from fitcheck.core.records import Floats
from fitcheck.pattern.alter import alter
from fitcheck.pattern.drafts.block import Body

WAYS = {"up": (0, -1), "down": (0, 1), "outwards": (1, 0), "inwards": (-1, 0)}
FIRST, LAST = 0, -1

# Alteration, garment, words of its instruction for an amount above zero, then a corner: piece, edge, which end of it, how far of 10 mm,
# which way. How far is said to the millimetre: a seam that runs aslant moves a little less in height than along itself.
PAPER = (
    ("forward_shoulder", "dress", "Back: draw a new shoulder seam line {amount} above the old one", ("back", "shoulder", LAST, 9, "up")),
    (
        "forward_shoulder",
        "dress",
        "Front: draw the new shoulder seam line {amount} below the old one",
        ("front", "shoulder", LAST, 9, "down"),
    ),
    ("neck_forward", "dress", "Back: raise the neck seam {amount} at centre back", ("back", "neck", FIRST, 10, "up")),
    ("neck_forward", "dress", "the neck seam at centre front by {half_amount}", ("front", "neck", FIRST, 5, "down")),
    ("neck_forward", "dress", "Front: lower the neck end of the shoulder seam by {half_amount}", ("front", "shoulder", FIRST, 5, "down")),
    ("rounded_erect_upper_back", "dress", "open it {amount} at centre back", ("back", "neck", FIRST, 10, "up")),
    ("square_sloping_shoulder", "dress", "raise the armhole end of the shoulder seam {amount}", ("back", "shoulder", LAST, 9, "up")),
    ("square_sloping_shoulder", "dress", "raise the armhole end of the shoulder seam {amount}", ("front", "shoulder", LAST, 9, "up")),
    ("square_sloping_shoulder", "dress", "Raise the base of the armhole by {amount}", ("front", "armhole", LAST, 10, "up")),
    ("uneven_shoulders", "dress", "lower the armhole end of the shoulder seam {amount}", ("back", "shoulder", LAST, 9, "down")),
    ("uneven_shoulders", "dress", "Lower the base of this armhole by {amount}", ("back", "armhole", LAST, 10, "down")),
    (
        "narrow_broad_shoulder",
        "dress",
        "lengthen the shoulder seam {amount} at the armhole end",
        ("front", "shoulder", LAST, 9, "outwards"),
    ),
    ("above_bust_length", "dress", "cut level across", ("front", "armhole", LAST, 10, "down")),
    ("whole_bodice_length", "dress", "between armhole and waist and open it {amount}", ("back", "waist", LAST, 10, "down")),
    ("waist_length_back", "dress", "open it {amount} at centre back", ("back", "waist", LAST, 10, "down")),
    ("waist_length_front", "dress", "open it {amount} at centre front", ("front", "waist", LAST, 10, "down")),
    ("side_length", "dress", "open it {amount} at the side seam", ("back", "side", LAST, 10, "down")),
    ("sway_back", "dress", "fold out {amount} at centre back", ("back", "centre", FIRST, 10, "up")),
    ("waist_level", "skirt", "draw the waist seam {amount} above the old one", ("back", "waist", FIRST, 10, "up")),
    ("waist_back_level", "skirt", "mark {amount} below the waist seam at centre back", ("back", "waist", FIRST, 10, "down")),
    ("waist_front_level", "skirt", "mark {amount} above the waist seam at centre front", ("front", "waist", FIRST, 10, "up")),
    ("uneven_hips", "skirt", "raise the waist seam {amount} at the side seam", ("front", "waist", LAST, 10, "up")),
    ("crotch_depth", "trousers", "above the crotch and open it {amount}", ("back", "crotch", FIRST, 10, "down")),
    ("crotch_length_back", "trousers", "open it {half_amount} at centre back", ("back", "crotch", LAST, 5, "up")),
    (
        "crotch_length_back",
        "trousers",
        "Lengthen the inner end of the crotch curve by {half_amount}",
        ("back", "crotch", FIRST, 5, "inwards"),
    ),
    ("crotch_length_front", "trousers", "open it {half_amount} at centre front", ("front", "crotch", LAST, 5, "up")),
    ("flat_seat", "trousers", "fold out {amount} at centre back", ("back", "crotch", LAST, 10, "down")),
    ("flat_seat", "trousers", "Shorten the inner end of the crotch curve by {half_amount}", ("back", "crotch", FIRST, 5, "outwards")),
    ("leg_line", "trousers", "{amount} outwards at the hem", ("front", "hem", LAST, 10, "outwards")),
    ("shoulder_seam_at_neck", "dress", "Back: add {amount} at the neck end of the shoulder seam", ("back", "shoulder", FIRST, 9.3, "up")),
    ("shoulder_seam_at_neck", "dress", "Front: take {amount} off at the neck end", ("front", "shoulder", FIRST, 9.3, "down")),
    ("bust_point_height", "dress", "move it up {amount}", ("front", "dart_upper", LAST, 10, "up")),
    ("bust_point_span", "dress", "move the dart point {amount} towards the side", ("front", "dart_upper", LAST, 10, "outwards")),
    ("full_small_bust", "dress", "Open {amount} at the bust line", ("front", "dart_upper", LAST, 10, "outwards")),
    ("front_side_width", "dress", "add {amount} along the side seam from armhole to waist", ("front", "armhole", LAST, 10, "outwards")),
    ("back_width", "dress", "Slide the cut-off part {amount} level outwards", ("back", "armhole", LAST, 10, "outwards")),
    ("shoulder_blades", "dress", "open it {amount}, both edges parallel", ("back", "armhole", LAST, 10, "outwards")),
    ("abdomen_width", "dress", "add {amount} at the side seam at abdomen level", ("front", "hem", FIRST, 10, "outwards")),
    (
        "side_seam_place",
        "dress",
        "Back: add {amount} at the side seam from the waist",
        ("back", "hem", FIRST, 10, "outwards"),
    ),
    (
        "side_seam_place",
        "dress",
        "Front: take {amount} off at the side seam from the waist",
        ("front", "hem", FIRST, 10, "inwards"),
    ),
    ("seat_width", "dress", "add {amount} at the side seam at seat level", ("back", "hem", FIRST, 10, "outwards")),
    ("hip_width", "dress", "{half_amount} on the front and {half_amount} on the back at the hip", ("front", "hem", FIRST, 5, "outwards")),
    ("neck_width", "dress", "move the neck end of the shoulder seam {amount} outwards", ("back", "neck", LAST, 9, "outwards")),
    ("neck_depth", "dress", "lower the neck seam {amount} at centre front", ("front", "neck", FIRST, 10, "down")),
    ("armhole_depth", "dress", "raise the base of the armhole {amount}", ("back", "armhole", LAST, 10, "up")),
    ("sleeve_cap_height", "dress", "raise the top of the cap {amount}", ("sleeve", "cap_back", LAST, 10, "up")),
    ("upper_arm", "dress", "Open it {amount} at the upper arm", ("sleeve", "cap_front", LAST, 5, "outwards")),
    ("wrist_width", "dress", "add {half_amount} at each end of the hem", ("sleeve", "hem", FIRST, 5, "outwards")),
    ("hem_levelling", "dress", "Add {amount} at the hem at centre front", ("front", "hem", LAST, 10, "down")),
    ("sleeve_length", "dress", "open it {amount}", ("sleeve", "hem", FIRST, 10, "down")),
    ("hem_length", "dress", "add {amount} at the hem", ("back", "hem", FIRST, 10, "down")),
)


def moved(id: str, kind: str, amount: float, piece: str, edge: str, end: int) -> Floats:
    """How far a corner goes, before the neighbours are trued."""
    changed = alter(id, amount, Body(), "dart", kind)
    assert changed is not None
    return np.asarray(changed.by_hand[piece].edges[edge][end] - changed.block.pieces[piece].edges[edge][end])


@pytest.mark.parametrize(("id", "kind", "words", "corner"), PAPER)
def test_the_paper_goes_where_the_words_say(id: str, kind: str, words: str, corner: tuple[str, str, int, int, str]) -> None:
    row = knowledge().alterations[id]
    assert words in " ".join((*row.plus.steps, *row.plus.steps_dart))
    piece, edge, end, far, way = corner
    assert moved(id, kind, 10.0, piece, edge, end) @ WAYS[way] == pytest.approx(far, abs=0.6)
    if row.minus:
        assert moved(id, kind, -10.0, piece, edge, end) @ WAYS[way] == pytest.approx(-far, abs=1.0)
