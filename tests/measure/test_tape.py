"""Tape measurements against a rig of known size, and the perimeter against integration."""

import numpy as np
import pytest
import rig
from hand_made import L, R, solution
from scipy.special import ellipe

from fitcheck.body.adjust import adjust
from fitcheck.core.check import TapeCheck
from fitcheck.core.evidence import Evidence
from fitcheck.core.records import VIEWS, Sighting
from fitcheck.measure.tape import TAPE_SD_MM, perimeter_mm, tape_checks, unlike_the_tape


@pytest.fixture(scope="module")
def body():
    """The usual body, its waist's depth seen from the right too."""
    scale, points = rig.scale_at(), rig.body()
    profile = [
        Sighting(name, None, "right", "placed", rig.pixels(scale, "right", points[name, None])[0], 3.0, kind="placed")
        for name in ("waist_front", "waist_back")
    ]
    return adjust(Evidence(dict.fromkeys(VIEWS, scale), [*rig.sightings(points, scale, {}, noise_px=0.3), *profile]))


@pytest.mark.parametrize(("width", "depth"), [(200, 200), (265, 167), (360, 200), (300, 60)])
def test_perimeter_against_the_elliptic_integral(width, depth):
    a, b = width / 2, depth / 2
    assert perimeter_mm(width, depth) == pytest.approx(4 * a * ellipe(1 - (b / a) ** 2), rel=1e-4)


def test_figures_are_those_of_the_body(body):
    """The usual body, 1650 mm tall."""
    points = rig.body()
    own = {check.id: check for check in tape_checks(body, dict.fromkeys(TAPE_SD_MM, 500.0))}
    back = np.linalg.norm(points["back_neck_point", None] - points["waist_back", None])
    shoulder = np.linalg.norm(points["side_neck_point", "wearer_left"] - points["shoulder_point", "wearer_left"])
    span = 2 * points["bust_point", "wearer_left"][0]
    for name, truth in {"bust_span": span, "height": 1650, "back_waist_length": 1.025 * back, "shoulder_length": 1.01 * shoulder}.items():
        assert own[name].own_mm == pytest.approx(truth, abs=2 * own[name].own_sd_mm), name
        assert own[name].own_mm == pytest.approx(truth, rel=0.05), name
    # as an ellipse, and 6 % more as a trunk
    width, front, back = (
        points[key][axis] for key, axis in ((("waist_side", "wearer_left"), 0), (("waist_front", None), 2), (("waist_back", None), 2))
    )
    ellipse = perimeter_mm(2 * width, front - back)
    assert own["waist"].own_mm == pytest.approx(1.06 * ellipse, rel=0.03)
    assert 0.02 * ellipse < own["waist"].own_sd_mm < 60


def test_a_slip_of_the_tape_or_of_the_unit_is_noticed(body):
    (right,) = tape_checks(body, {"bust_span": 174.0})
    (wrong,) = tape_checks(body, {"bust_span": 205.0})
    assert (right.agrees, wrong.agrees) == (True, False)
    joint = 1.96 * np.hypot(right.own_sd_mm, right.tape_sd_mm)
    for factor, agrees in ((0.98, True), (1.02, False)):
        assert tape_checks(body, {"bust_span": right.own_mm + factor * joint})[0].agrees is agrees
    (inches_taken_for_cm,) = tape_checks(body, {"waist": 732 / 2.54 * 1.5})
    assert not inches_taken_for_cm.agrees


def test_what_cannot_be_compared_is_passed_over(body):
    assert tape_checks(body, {"high_bust": 850.0, "waist": 730.0})[0].id == "waist"
    assert tape_checks(body, {}) == ()


def test_what_the_photos_hardly_show_is_not_held_against_the_tape():
    scale = rig.scale_at()
    front_only = [s for s in rig.sightings(rig.body(), scale, {}) if s.view == "front"]
    front = adjust(Evidence({"front": scale}, front_only))
    assert {check.id for check in tape_checks(front, dict.fromkeys(TAPE_SD_MM, 500.0))} & {"waist"} == set()


def test_a_card_printed_off_size_shows_in_all_lengths_together():
    def checks(share, off=(0.0, 0.0, 0.0, 0.0)):
        own = {"waist": 700.0, "hip": 960.0, "back_waist_length": 400.0, "height": 1640.0}
        return [
            TapeCheck(name, mm * (share + by), mm, 0.012 * mm, TAPE_SD_MM[name], True)
            for (name, mm), by in zip(own.items(), off, strict=True)
        ]

    assert unlike_the_tape(checks(1 / 0.97)) == pytest.approx(0.03, abs=0.002)
    assert unlike_the_tape(checks(0.97)) == pytest.approx(0.03, abs=0.002)
    assert unlike_the_tape(checks(1.0, (0.03, -0.02, 0.02, -0.01))) == 0
    assert unlike_the_tape(checks(1.0, (0.08, 0.0, 0.0, 0.0))) == 0, "one slip of the tape is no other size"
    assert unlike_the_tape(checks(1 / 0.97)[:2]) == 0


def test_a_girth_is_as_unsure_as_what_makes_a_trunk_of_an_ellipse():
    """A round waist of 200 mm through is 628.3 around as a circle, 1.06 times that as a trunk; the factor alone is unsure by 2 % of 628.3,
    which is 12.6 mm, and points known to half a millimetre hardly add to it."""
    points = {("waist_side", L): (100, 1000, 0), ("waist_side", R): (-100, 1000, 0)}
    points |= {("waist_front", None): (0, 1000, 100), ("waist_back", None): (0, 1000, -100)}
    (waist,) = tape_checks(solution(points), {"waist": 666.0})
    assert waist.own_mm == pytest.approx(666.0, abs=0.05)
    assert waist.own_sd_mm == pytest.approx(12.66, abs=0.1)
