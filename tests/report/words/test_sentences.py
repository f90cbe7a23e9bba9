import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import fitcheck
from fitcheck.core.advice import Amount, Explanation
from fitcheck.core.check import FitCheck
from fitcheck.core.flags import FLAGS
from fitcheck.core.records import Measurement, Side, Unmeasured
from fitcheck.measure.observables import _WANT
from fitcheck.measure.tape import TAPE_SD_MM
from fitcheck.report.words import sentences as words

# The observables that a fitting is asked for.
OBSERVABLES = """
shoulder_seam_behind shoulder_tip_beyond shoulder_slope_excess shoulder_height_difference bust_mark_above bust_mark_outside
centre_front_short centre_back_short side_seam_forward side_seam_tilt waist_mark_above back_neck_below neck_stand_off
armhole_stand_off hem_front_rise underarm_gap centre_front_left centre_back_left
"""


def item(id: str, at: str = "", value: float = 10.0, side: Side | None = None, unit: str = "mm") -> Measurement:
    return Measurement(id, at, side, None, value, unit, 1.0, {"pixel": 1.0})


@pytest.mark.parametrize("id", OBSERVABLES.split())
def test_every_observable_has_its_words_for_both_signs(id: str) -> None:
    assert words.by_group([item(id)])[0][0] != "Other"
    more, less = words.measurement_says(item(id), "cm"), words.measurement_says(item(id, value=-10), "cm")
    assert more.startswith("1.0 cm ")
    assert less.startswith("1.0 cm ")
    assert more != less


def test_measurement_in_words() -> None:
    tip = item("shoulder_seam_behind", "tip", 10.2, "wearer_right")
    assert words.measurement_name(tip) == "Shoulder seam at the tip, your right"
    assert words.measurement_says(tip, "cm") == "1.0 cm behind the shoulder point"
    assert words.measurement_says(replace(tip, value=-10.2), "in") == "3/8 in in front of the shoulder point"
    assert words.measurement_says(replace(tip, value=0.2), "cm") == "0 cm"
    assert words.measurement_says(replace(tip, at="neck"), "cm") == "1.0 cm behind your shoulder line"
    assert words.measurement_says(item("side_seam_tilt", value=-1.3, unit="deg"), "in") == "1.3° leaning back at the hem"


def test_an_unknown_id_is_shown_as_its_own_words() -> None:
    odd = item("collar_roll", "tip", 3, "wearer_left")
    assert words.measurement_name(odd) == "Collar roll at the tip, your left"
    assert words.measurement_says(odd, "cm") == "0.3 cm"
    assert words.by_group([odd]) == [("Other", [odd])]
    assert words.measurement_name(Unmeasured("underarm_gap", "", "wearer_right", "")) == "Armhole depth, your right"


def test_doubts_are_the_largest_shares_of_the_variance() -> None:
    # 9 + 16 + 0.25: shares 0.356, 0.634, 0.0099
    first, second = words.doubts({"turn": 3.0, "definition": 4.0, "pixel": 0.5}, most=3)
    assert first.says == "where exactly the point sits on the body"
    assert first.share == pytest.approx(16 / 25.25)
    assert second.remedy == "stand with your feet on a taped line"
    assert words.doubts({}) == []
    assert words.doubts({"pixel": 0.0}) == []


def test_the_main_doubt_weighs_every_measurement_alike() -> None:
    small = replace(item("bust_mark_above"), sources={"turn": 0.1})
    large = replace(item("bust_mark_above"), sources={"turn": 5.0, "depth": 6.0})
    doubt = words.main_doubt([small, large])
    assert doubt is not None
    assert doubt.says == "how squarely you stood"
    assert words.main_doubt([]) is None


def test_flags(check: FitCheck) -> None:
    assert [flag.code for flag in words.flags_of(["dark"], ["dark", "blurred"])] == ["dark", "blurred"]
    assert words.flags_of(["dark"])[0] is FLAGS["dark"]
    assert words.flags_of(["something_new"])[0].says == "Something new."
    assert [words.flags_of_photo(result) for result in check.photos] == [[], [], [], ["turned"]]


def test_how_sure() -> None:
    assert [words.sure_words(p) for p in (1.0, 0.95, 0.9, 0.5, 0.2)] == [
        "almost certainly needed",
        "almost certainly needed",
        "very likely needed",
        "probably needed",
        "perhaps needed",
    ]


def unclear(**changed: Any) -> Measurement:
    sources = {"turn": 2.4, "pixel": 0.6, "definition": 0.8}
    sd = float(np.sqrt(sum(part**2 for part in sources.values())))
    return replace(Measurement("shoulder_seam_behind", "tip", "wearer_right", "right", 4.0, "mm", sd, sources), **changed)


def test_without_its_largest_source_the_rest_remains() -> None:
    assert words.without_largest({"turn": 12.0, "pixel": 3.0, "depth": 4.0}) == ("turn", pytest.approx(5.0))  # 3-4-5
    assert words.without_largest({"turn": 2.0}) == ("turn", 0.0)
    assert words.without_largest({}) is None


def test_what_would_help_is_told_in_numbers_where_it_matters() -> None:
    # 2.6 mm and 1.0 mm, doubled 5.2 and 2.0 mm; a margin is rounded up
    told = words.promise(unclear(), "unclear", "cm")
    assert (
        told == "To be surer, retake the photo of your right side and stand with your feet on a taped line: ± 0.6 cm could become ± 0.2 cm."
    )
    assert words.promise(unclear(), "present", "cm") == ""
    even = {"turn": 1.5, "pixel": 1.4, "depth": 1.4}  # without the largest 1.98 of 2.48: a fifth less
    assert words.promise(unclear(sources=even, sd=2.48), "unclear", "cm") == ""


def test_a_sticker_that_is_on_is_not_asked_for() -> None:
    sources = {"definition": 2.4, "pixel": 0.6}
    assert words.promise(unclear(sources=sources, sd=2.47), "unclear", "cm") == ""
    assert "stick its marker on" in words.promise(unclear(sources=sources, sd=2.47, flags=("point_hidden",)), "unclear", "cm")


def test_each_tape_measurement_has_its_name() -> None:
    assert all("," in words.tape_name(id) or " " in words.tape_name(id) or id == "height" for id in TAPE_SD_MM)
    assert words.tape_name("ankle_girth") == "Ankle girth"


def test_how_much_worse_is_computed_from_the_scale(check: FitCheck):
    scale = next(result.scale for result in check.photos if result.scale is not None)
    said = words.how_much_worse(replace(scale, scale_sd=0.03))
    assert "6.0 mm" in said  # 2 x 3 % of 100 mm
    assert "10.0 times" in said  # against 0.3 %


def test_an_explanation_names_each_alteration_once() -> None:
    two = (
        Amount("forward_shoulder", "wearer_left", 9.0, 1.0, 1.0, "forward shoulder"),
        Amount("forward_shoulder", "wearer_right", 10.0, 1.0, 1.0, "forward shoulder"),
        Amount("full_small_bust", "both", -12.0, 2.0, 1.0, "small bust"),
    )
    told = words.explanation_says(Explanation(0.4, two, ()), "cm")
    assert told == "forward shoulder 0.9 cm on your left and 1.0 cm on your right, with small bust 1.2 cm"
    assert words.explanation_says(Explanation(0.4, (), ()), "cm") == "no alteration at all"


def test_every_cause_of_doubt_has_words_and_a_remedy() -> None:
    body = Path(fitcheck.__file__).parent / "body"
    causes = {"pixel", "definition", "symmetry", "by_hand", "tape"}
    causes |= set(re.findall(r', "(\w+)"(?:, True)?\)$', (body / "prior_rows.py").read_text("utf-8"), re.M))  # those of the solution
    causes |= set(re.findall(r'sources \+?= \["(\w+)"', "".join(file.read_text("utf-8") for file in body.glob("*.py"))))
    causes -= {"wearer_left", "wearer_right"}
    assert {"outline", "floor", "frame"} <= causes
    for cause in causes:
        (doubt,) = words.doubts({cause: 1.0})
        assert doubt.says != words.plain(cause), cause
        assert doubt.remedy, cause
    assert set(_WANT) >= causes - {"by_hand", "tape"}
