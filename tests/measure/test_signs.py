"""What a number above zero means: every measurement of the table, on a garment that fits but for one point.

Each row quotes the words of the table for a number above zero, moves the point that they speak of 10 mm that way, and says what must be
measured then. The frame is the wearer's own: outwards is away from her middle, back is behind her.
"""

import pytest
from hand_made import SD_MM, L, R, moved, solution

from fitcheck.advice.findings import find
from fitcheck.advice.prior import by_hand
from fitcheck.advice.table import knowledge
from fitcheck.core.fitting import FittingFacts, TapeFacts
from fitcheck.measure.observables import measure

# Her left half; the right is its mirror image. The shoulder falls 60 mm over 80: its line is 100 mm long, 36.87 degrees from level.
HALF = {
    "side_neck_point": (60, 1390, -20),
    "shoulder_point": (140, 1330, -20),
    "underarm_point": (150, 1250, 0),
    "bust_point": (95, 1180, 110),
    "waist_side": (125, 1030, 0),
    "hip_side": (170, 820, 0),
    "shoulder_seam_neck": (60, 1390, -20),
    "shoulder_seam_tip": (140, 1330, -20),
    "bust_mark": (95, 1180, 110),
    "waist_seam_side": (125, 1030, 0),
    **{f"side_seam_{level}": (140, height, 0) for level, height in (("bust", 1180), ("waist", 1030), ("hip", 820))},
    **{f"side_seam_{i}": (140, 1230 - 80 * i, 0) for i in range(6)},
}
MIDDLE = {
    "waist_front": (0, 1030, 90),
    "waist_back": (0, 1030, -80),
    "waist_seam_front": (0, 1030, 90),
    "waist_seam_back": (0, 1030, -80),
}
CENTRES = {
    f"centre_{where}_{level}": (0, height, depth)
    for where, depth in (("front", 90), ("back", -80))
    for level, height in (("bust", 1180), ("waist", 1030), ("hip", 820))
}

# measurement and level: (words of the table for a number above zero, what is moved, what is measured then)
MEASURED = {
    ("shoulder_seam_behind", "tip"): ("the seam lies behind the shoulder point (tip)", "shoulder_seam_tip 10 back", 10),
    ("shoulder_seam_behind", "neck"): ("behind the line from neck to shoulder point (neck)", "shoulder_seam_neck 10 back", 10),
    # 10 mm on along the line: 8 outwards and 6 down
    ("shoulder_tip_beyond", ""): (
        "the seam's outer end lies outside the shoulder point",
        "shoulder_seam_tip 8 outwards, shoulder_seam_tip 6 down",
        10,
    ),
    # 70 mm over 80 is 41.19 degrees, the body's 60 over 80 is 36.87
    ("shoulder_slope_excess", ""): ("the garment's shoulder line is steeper than the body's", "shoulder_seam_tip 10 down", 4.32),
    ("shoulder_height_difference", ""): ("the wearer's right shoulder is the lower one", "her right shoulder_point 10 down", 10),
    ("bust_mark_above", ""): (
        "the garment's apex mark, dart point or fullest place of the princess seam lies above",
        "bust_mark 10 up",
        10,
    ),
    ("bust_mark_outside", ""): ("the garment's apex mark lies further from the middle", "bust_mark 10 outwards", 10),
    ("side_seam_forward", "bust"): ("the side seam lies in front of the plumb line", "side_seam_bust 10 forward", 10),
    ("side_seam_forward", "waist"): ("the side seam lies in front of the plumb line", "side_seam_waist 10 forward", 10),
    ("side_seam_forward", "hip"): ("the side seam lies in front of the plumb line", "side_seam_hip 10 forward", 10),
    # a straight seam whose lower end, 400 mm below its upper one, is 10 mm further forward: atan(1/40)
    ("side_seam_tilt", ""): (
        "the lower end of the side seam swings to the front",
        ", ".join(f"side_seam_{i} {2 * i} forward" for i in range(6)),
        1.43,
    ),
    ("waist_mark_above", "front"): ("the garment's waist line lies above the waist", "middle waist_seam_front 10 up", 10),
    ("waist_mark_above", "side"): ("the garment's waist line lies above the waist", "waist_seam_side 10 up", 10),
    ("waist_mark_above", "back"): ("the garment's waist line lies above the waist", "middle waist_seam_back 10 up", 10),
}
CENTRE_WORDS = {
    "centre_front_short": "the centre front line stays short of the body's midline (on an open front: half the gap)",
    "centre_back_short": "the centre back line stays short of the body's midline (on an open back: half the gap)",
    "centre_front_left": "the closed centre front lies towards the wearer's left",
    "centre_back_left": "the closed centre back lies towards the wearer's left",
}
LEVELS = ("bust", "waist", "hip")
MEASURED |= {
    (id, level): (
        words,
        f"middle {id[:-5]}_{level} 10 to her left"
        if id.endswith("left")
        else f"her left {id[:-6]}_{level} 10 outwards, her right {id[:-6]}_{level} 10 outwards",
        10,
    )
    for id, words in CENTRE_WORDS.items()
    for level in LEVELS
}


def fits(opened: bool = False):
    """A garment that lies where it should everywhere; its centre lines closed, or one for each half."""
    points = {(name, side): (x if side == L else -x, y, z) for name, (x, y, z) in HALF.items() for side in (L, R)}
    points |= {(name, None): at for name, at in MIDDLE.items()}
    return points | {(name, side): at for name, at in CENTRES.items() for side in ((L, R) if opened else (None,))}


def values(points):
    return {(m.id, m.at, m.side): m for m in measure(solution(points), [])[0]}


CASES = [
    (id, at, side) for (id, at), (_, moves, _) in MEASURED.items() for side in ((None,) if moves.startswith(("her", "middle")) else (L, R))
]


@pytest.mark.parametrize(("id", "at", "side"), CASES)
def test_ten_millimetres_towards_the_words_of_the_plus_side(id, at, side):
    observable = knowledge().observables[id]
    words, moves, expected = MEASURED[id, at]
    assert words in observable.plus
    assert side in observable.sides(at) or observable.whole
    before = fits(opened=id.endswith("short"))
    found, was = values(moved(before, moves, side)), values(before)
    assert found[id, at, side].unit == observable.unit
    assert found[id, at, side].value == pytest.approx(expected, abs=0.005)
    assert was[id, at, side].value == pytest.approx(0, abs=1e-6)
    if side:
        assert found[id, at, R if side == L else L].value == pytest.approx(0, abs=1e-6)  # the other side has not moved


def test_a_seam_that_shows_at_its_ends_only_leans_by_them():
    points = {key: at for key, at in fits().items() if key[0] not in {f"side_seam_{i}" for i in range(1, 5)}}
    for side in (L, R):
        found = values(moved(points, "side_seam_5 10 forward", side))
        assert found["side_seam_tilt", "", side].value == pytest.approx(1.43, abs=0.005)


def test_how_far_a_difference_of_two_points_is_known():
    """Each coordinate is known to 0.5 mm: a difference of two of them to 0.5 times the root of two, the half of it to half as much."""
    found = values(fits(opened=True))
    assert found["waist_mark_above", "front", None].sd == pytest.approx(SD_MM * 2**0.5)
    assert found["centre_front_short", "waist", None].sd == pytest.approx(SD_MM * 2**0.5 / 2)
    assert found["waist_mark_above", "front", None].sources == pytest.approx({"pixel": SD_MM * 2**0.5})


def test_the_armpit_is_a_vague_place():
    """2 mm for want of a definition beside the 0.71 mm of two coordinates, squared and summed."""
    found = values(fits())["side_seam_forward", "waist", R]
    assert found.sources == pytest.approx({"pixel": 0.7071, "definition": 2.0}, abs=1e-3)
    assert found.sd == pytest.approx((0.5 + 4.0) ** 0.5)


def test_the_lean_of_a_seam_half_hidden_by_an_arm_is_less_sure():
    """It ends 20 mm below the armpit and 10 above the hip; without its three upper points 240 mm more are hidden: 0.06, 0.54 degrees."""
    whole = values(fits())["side_seam_tilt", "", R]
    part = values({key: at for key, at in fits().items() if key[0] not in {f"side_seam_{i}" for i in range(3)}})["side_seam_tilt", "", R]
    assert whole.sources["definition"] == pytest.approx(0.06, abs=1e-3)
    assert part.sources["definition"] == pytest.approx(0.54, abs=1e-3)
    assert part.sd == pytest.approx((part.sources["definition"] ** 2 + part.sources["pixel"] ** 2) ** 0.5)


# What no photo tells yet is read by hand: the words for a number above zero, and what the finding of 10 more than fits then says.
BY_HAND = {
    ("centre_front_short", "chest"): ("stays short of", "stays {mm:10.0} short of the middle"),
    ("centre_back_short", "blade"): ("stays short of", "stays {mm:10.0} short of the middle"),
    ("centre_front_left", "chest"): ("towards the wearer's left", "{mm:10.0} towards your left"),
    ("centre_back_left", "blade"): ("towards the wearer's left", "{mm:10.0} towards your left"),
    ("back_neck_below", ""): ("the neck seam lies below the bone", "lies {mm:10.0} below the back neck point"),
    ("neck_stand_off", "front"): ("the neck edge gapes away", "front the neck edge stands {mm:10.0} off"),
    ("neck_stand_off", "side"): ("the neck edge gapes away", "side the neck edge stands {mm:10.0} off"),
    ("neck_stand_off", "back"): ("the neck edge gapes away", "back the neck edge stands {mm:10.0} off"),
    ("armhole_stand_off", "front"): ("the armhole edge gapes away", "front armhole edge stands {mm:10.0} off"),
    ("armhole_stand_off", "back"): ("the armhole edge gapes away", "back armhole edge stands {mm:10.0} off"),
    ("hem_front_rise", ""): ("higher at the front than at the back", "{mm:10.0} higher at the front than at the back"),
    ("underarm_gap", ""): ("the base of the armhole lies below the underarm point", "lies {mm:10.0} too low"),
    ("side_neck_beyond", ""): ("the neck edge lies outside the side neck point", "lies {mm:10.0} outside the side neck point"),
    ("sleeve_tight", ""): ("the sleeve lacks this much width", "lacks {mm:10.0} around the upper arm"),
    ("sleeve_bow", ""): ("drawn up in the middle", "drawn up {mm:10.0} in the middle"),
    ("sleeve_swing", ""): ("the arm hangs further forward", "the arm hangs {deg:10.0} further forward"),
    ("sleeve_hem_above", ""): ("the sleeve ends above the wrist bone", "the sleeve is {mm:10.0} too short"),
    ("hem_above_wanted", ""): ("the hem lies above the wanted length", "the garment is {mm:10.0} too short"),
    ("hip_height_difference", ""): ("the wearer's right hip is the lower one", "your right hip is {mm:10.0} lower than your left"),
    ("crotch_below", ""): ("the crotch seam hangs lower", "hangs {mm:10.0} too low"),
    ("crotch_short", "front"): ("the body measures more than the crotch seam", "the front crotch seam is {mm:10.0} too short"),
    ("crotch_short", "back"): ("the body measures more than the crotch seam", "the back crotch seam is {mm:10.0} too short"),
    ("crease_inside", ""): ("the crease line swings to the inside", "swings {deg:10.0} to the inside"),
    ("leg_tight", ""): ("the leg lacks this much width", "lacks {mm:10.0} around the thigh"),
    ("seat_slack", ""): ("this much length can be pinned out", "{mm:10.0} of loose cloth can be pinned out"),
    ("front_neck_below", ""): ("the front neck seam lies below the pit", "lies {mm:10.0} below the pit of the neck"),
    ("hip_curve_above", ""): ("lies above the fullest place of the hip", "lies {mm:10.0} above the fullest place"),
    ("forearm_tight", ""): ("the sleeve lacks this much width around the forearm", "{mm:10.0} too tight around the forearm"),
    ("wrist_tight", ""): ("the sleeve hem lacks this much width", "the sleeve hem is {mm:10.0} too tight"),
    ("calf_tight", ""): ("the leg lacks this much width around the calf", "the leg is {mm:10.0} too tight around the calf"),
    ("cup_excess", ""): ("exceeds the high bust by more", "exceeds the high bust by {mm:10.0} more"),
}
FITS = {"underarm_gap": 25}  # a set-in sleeve's armhole lies an inch below the underarm


def test_every_measurement_of_the_table_is_in_one_of_these_lists():
    places = {(observable.id, at) for observable, at in knowledge().places.values()}
    assert {*MEASURED} | {*BY_HAND} == places
    assert not {*MEASURED} & {*BY_HAND}
    given = {(m.id, m.at) for opened in (False, True) for m in measure(solution(fits(opened)), [])[0]}
    assert given == {*MEASURED}


@pytest.mark.parametrize(("id", "at"), BY_HAND)
def test_ten_more_than_fits_by_hand_says_the_words_of_the_plus_side(id, at):
    table = knowledge()
    observable = table.observables[id]
    words, says = BY_HAND[id, at]
    assert words in observable.plus
    kind = "dress" if "dress" in observable.garments else observable.garments[0]
    for side in observable.sides(at):
        key = "_".join(part for part in (id, at, {L: "L", R: "R", None: ""}[side]) if part)
        facts = FittingFacts.model_validate({"kind": kind, "observed": {key: FITS.get(id, 0) + 10}})
        (reading,) = by_hand(table, facts)
        assert (reading.id, reading.at, reading.side) == (id, at, side)
        (finding,) = find([reading], table, facts)
        whose = {L: "on your left", R: "on your right", None: ""}[side]
        assert says in finding.says.lower()
        assert whose in finding.says


@pytest.mark.parametrize(("id", "at"), MEASURED)
def test_what_was_measured_towards_the_plus_side_is_said_so(id, at):
    """Twice as far as any tolerance above zero gives the sentence of the plus side, below zero that of the other."""
    table = knowledge()
    row = table.findings["_".join(part for part in (id, at) if part)]
    words = {
        "shoulder_seam_behind": ("behind", "in front of"),
        "shoulder_tip_beyond": ("outside", "short of"),
        "shoulder_slope_excess": ("steeper", "flatter"),
        "shoulder_height_difference": ("Your right shoulder is {amount} lower", "Your left shoulder is {amount} lower"),
        "bust_mark_above": ("above", "below"),
        "bust_mark_outside": ("outside", "inside"),
        "centre_front_short": ("short of the middle", "past the middle"),
        "centre_back_short": ("short of the middle", "past the middle"),
        "centre_front_left": ("towards your left", "towards your right"),
        "centre_back_left": ("towards your left", "towards your right"),
        "side_seam_forward": ("in front of", "behind"),
        "side_seam_tilt": ("to the front", "to the back"),
        "waist_mark_above": ("above", "below"),
    }[id]
    assert words[0] in row.plus
    assert words[1] in row.minus
    facts = FittingFacts(kind="dress")
    for side in table.observables[id].sides(at):
        key = "_".join(part for part in (id, at, {L: "L", R: "R", None: ""}[side]) if part)
        for sign, sentence in ((20, row.plus), (-20, row.minus)):
            given = by_hand(table, facts.model_copy(update={"observed": {key: sign}}))
            unit = table.observables[id].unit
            (finding,) = find(given, table, facts)
            start = sentence.split("{amount}")[0]
            assert finding.says.startswith(f"{start}{{{unit}:20.0}}")


def test_girths_of_the_tape_give_the_cup():
    """High bust 90, full bust 96, drafted for 5: 10 mm more than that."""
    facts = FittingFacts(tape=TapeFacts(unit="cm", high_bust=90, bust=96), drafted_cup_difference_mm=50)
    (found,) = by_hand(knowledge(), facts)
    assert (found.id, found.value) == ("cup_excess", pytest.approx(10))
