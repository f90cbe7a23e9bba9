"""No sentence that a dressmaker would stumble over, wherever the tables of the trade are read out."""

import re

import pytest

from fitcheck.advice.explain import explain
from fitcheck.advice.folds import fold_rows
from fitcheck.advice.plan import plan_round
from fitcheck.advice.rows import Knowledge
from fitcheck.advice.rules import review_sheet
from fitcheck.advice.solve import solve
from fitcheck.advice.table import knowledge
from fitcheck.core.fitting import FittingFacts
from fitcheck.report.words.units import Units, fill

STUMBLES = re.compile(
    r"plumber|\bline the amount\b|all of half|half of half|\.\s*\.|,\s*[,.;]|\(\s*\)|  +[a-z]|\b(the|a|an|of|to|by|at|on|is) \1\b", re.I
)


def stumbles(text: str) -> list[str]:
    return [text[max(0, found.start() - 40) : found.end() + 20] for found in STUMBLES.finditer(text)]


@pytest.mark.parametrize(
    "text", ["should hang plumber", "ends here.. .", "cut the line the amount above", "all of half of it", "by by 1 cm"]
)
def test_what_counts_as_a_stumble(text: str) -> None:
    assert stumbles(text)
    assert not stumbles("The side seams, which should hang plumb; fold out half of it, 1.0 cm. Then press.")


def test_nobody_stumbles_over_the_rules(table: Knowledge) -> None:
    assert not stumbles(review_sheet(table))


@pytest.mark.parametrize(
    "name", [*knowledge().alterations, *knowledge().observables, *fold_rows(), *(t.word for t in knowledge().glossary)]
)
def test_nobody_stumbles_over_what_is_explained(table: Knowledge, name: str) -> None:
    for units in ("cm", "in"):
        assert not stumbles(fill(explain(name, table), units))


@pytest.mark.parametrize(
    ("units", "finest", "told_in"), [("cm", "usual", "cm"), ("cm", "fine", "cm"), ("in", "usual", "in"), ("in", "fine", "in/16")]
)
def test_nothing_is_rounded_to_what_it_reads_already(table: Knowledge, measure, units: str, finest: str, told_in: Units) -> None:
    """Shoulder seams 4 to 33 mm behind, each told in the wearer's units."""
    facts = FittingFacts.model_validate({"units": units, "finest": finest})
    spoken = 0
    for tenths in range(40, 330, 3):
        given = [measure(f"shoulder_seam_behind_tip_{side}", tenths / 10) for side in "LR"]
        for step in plan_round(solve(given, table, facts), (), given, table, facts).steps:
            told = re.findall(r"(\d[\d./ ]* (?:cm|in))", fill(step.rounding, told_in))
            spoken += bool(told)
            assert len(told) in (0, 2), step.rounding
            assert len(set(told)) == len(told), (tenths, step.rounding, told)
            if told and told_in == "cm":  # 1.2 cm and 1.25 cm are one length to who pins
                assert abs(float(told[0].split()[0]) - float(told[1].split()[0])) >= 0.1 - 1e-9, told
    assert spoken > 3
