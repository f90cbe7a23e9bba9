from dataclasses import replace
from typing import Literal

import jsonschema
import numpy as np
import pytest

from fitcheck.core.check import FitCheck
from fitcheck.core.folds import Fold, FoldGroup
from fitcheck.report.page.fitting_page import render
from fitcheck.report.picture.fold_lines import FAINT_COLOUR, drawn_folds, readings
from fitcheck.report.result import schema, to_json


def fold(kind: Literal["ridge", "valley"] = "ridge") -> Fold:
    return Fold("front", kind, np.array([[600.0, 700.0], [640.0, 800.0]]), 98.0, 21.8, 18.0, 4.0, 2.2, "taut", 1.1, 0.7)


@pytest.fixture
def folded(check: FitCheck) -> FitCheck:
    fan = FoldGroup(
        "fold_fan", "bust_point", "wearer_left", "front", (0, 2), 4.4, 1.1, 0.7, True, "", "bust_point", "Folds of {mm:11} & more."
    )
    faint = FoldGroup("fold_smiles", "seat", None, "back", (1,), 0.8, None, None, False, says="A faint smile.")
    return replace(check, folds=(fold(), replace(fold("valley"), view="back"), fold()), fold_groups=(fan, faint))


def test_each_fold_is_drawn_in_its_own_photo_in_its_groups_colour(folded: FitCheck) -> None:
    front, back = drawn_folds(folded, "front"), drawn_folds(folded, "back")
    assert len(front) == 2
    assert front[0].colour == front[1].colour == readings(folded)[0].colour != FAINT_COLOUR
    assert [one.colour for one in back] == [FAINT_COLOUR]
    assert back[0].hollow
    assert front[0].title == "Folds fanning, bust point, your left"


def test_the_page_tells_what_each_group_says_in_the_wearers_units(folded: FitCheck) -> None:
    page = render(folded, "cm")
    assert '<div class="usually">' in page
    assert "What such folds usually mean" in page
    assert "Folds of 1.1\u00a0cm &amp; more." in page
    assert page.index("Folds of 1.1") < page.index("A faint smile.")
    assert 'id="show-folds"' in page


def test_a_page_without_folds_has_no_such_heading(check: FitCheck) -> None:
    assert "What the folds say" not in render(check, "cm")


def test_the_result_names_the_group_of_each_fold(folded: FitCheck) -> None:
    data = to_json(folded)
    jsonschema.validate(data, dict(schema()))
    assert [one["group"] for one in data["folds"]] == ["fold_fan_bust_point_L", "fold_smiles_seat", "fold_fan_bust_point_L"]
    assert data["folds"][0]["direction_deg"] == 21.8
    assert data["fold_groups"][0]["to"] == "bust_point"
    assert data["fold_groups"][0]["says"] == "Folds of 1.1 cm & more."
