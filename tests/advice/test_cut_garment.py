"""A cut garment is let out or taken in within its allowances, or recut; it is never told what belongs on paper."""

import re
from pathlib import Path

import pytest

from fitcheck.advice.cut_garment import cut_rows, load_cut, possible_mm, row_for, steps_on_cloth
from fitcheck.advice.plan import plan_round
from fitcheck.advice.rows import Knowledge
from fitcheck.advice.solve import solve
from fitcheck.advice.table import knowledge
from fitcheck.core.errors import KnowledgeError
from fitcheck.core.fitting import FittingFacts, Shaping

ON_PAPER = re.compile(
    r"cut (down|across|along|from|a plumb|a level|out a block)|slash|tape paper|draw (a new|the new|it|both|centre)|\bfold out|\bopen it|"
    r"\blap|\bhinge|tissue|paper|pattern|lengthen or shorten line|trace",
    re.IGNORECASE,
)
EVERY = [(row.id, sign) for row in knowledge().alterations.values() for sign in ((1, -1) if row.minus else (1,))]


def told(id: str, amount: float, allowance: float = 15.0, front: Shaping = "princess") -> tuple[str, ...]:
    fitting = FittingFacts(stage="garment", seam_allowance_mm=allowance)
    return steps_on_cloth(knowledge().alterations[id], amount, front, fitting)


@pytest.mark.parametrize(("id", "sign"), EVERY)
def test_every_alteration_has_its_row_and_nothing_is_done_on_paper(id: str, sign: int) -> None:
    row = knowledge().alterations[id]
    assert (id, "plus" if sign > 0 else "minus") in cut_rows()
    for front in row.fronts:
        for allowance in (0.0, 8.0, 15.0, 40.0):
            texts = [*told(id, sign * row.amounts.usual[1], allowance, front), *row_for(row, sign).matching]
            assert len(texts) >= 2 or row_for(row, sign).way == "recut"
            assert not [text for text in texts if ON_PAPER.search(text)]


def test_no_row_is_for_an_alteration_that_is_gone() -> None:
    assert set(cut_rows()) <= {(id, "plus" if sign > 0 else "minus") for id, sign in EVERY}


def test_the_whole_round_of_a_garment_says_nothing_of_paper(table: Knowledge, measure) -> None:
    fitting = FittingFacts(stage="garment")
    given = [measure(f"centre_front_short_waist_{s}", 12) for s in "LR"]
    plan = plan_round(solve(given, table, fitting), (), given, table, fitting)
    (step,) = plan.steps
    texts = [*step.steps, *step.matching, step.caution, *plan.look_again]
    assert "let front and back out by" in " ".join(step.steps)
    assert not [text for text in texts if ON_PAPER.search(text)]


def test_what_the_allowance_gives_worked_by_hand() -> None:
    """Waist 20 on each half: 10 an edge. Of an allowance of 15, 6 stay: 9 an edge, 18 in all. Of one of 20, 14 an edge: enough."""
    row, fitting = row_for(knowledge().alterations["waist_width"], 20), FittingFacts(stage="garment", seam_allowance_mm=15)
    assert possible_mm(row, fitting) == pytest.approx(18)
    short, enough = " ".join(told("waist_width", 20, 15)), " ".join(told("waist_width", 20, 20))
    assert "by {mm:9.0} each" in short
    assert "that gives {mm:18.0} of {amount}" in short
    assert "by {mm:10.0} each" in enough
    assert "holds it" in enough


def test_without_allowance_nothing_is_let_out_but_all_is_taken_in() -> None:
    assert "has nothing to give" in told("waist_width", 20, 6)[0]
    assert "Cut this anew" in told("waist_width", 20, 6)[1]
    assert "Take front and back in by {mm:10.0}" in told("waist_width", -20, 6)[0]


def test_what_no_seam_can_give_is_recut() -> None:
    assert "Cut this anew" in told("rounded_erect_upper_back", 12)[-1]


def test_an_alteration_without_a_row_is_recut(table: Knowledge) -> None:
    new = table.alterations["waist_width"].model_copy(update={"id": "something_new"})
    assert row_for(new, 10).way == "recut"
    assert "Cut this anew" in steps_on_cloth(new, 10, "princess", FittingFacts(stage="garment"))[-1]


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        ('source = "common practice; from memory"\n', "", "`source`"),
        ('way = "let out"', 'way = "stretch"', "`way`"),
        ('direction = "minus"', 'direction = "plus"', "stands there twice"),
        ("[[cut]]", "[[cut]", "cannot be read"),
    ],
)
def test_a_faulty_table_is_refused(tmp_path: Path, old: str, new: str, fault: str) -> None:
    text = (Path(__file__).parents[2] / "fitcheck/advice/knowledge/cut_garment.toml").read_text()
    rows = "[[cut]]" + text.partition("\n[[cut]]")[2]
    assert old in rows
    file = tmp_path / "cut_garment.toml"
    file.write_text(rows.replace(old, new, 1))
    with pytest.raises(KnowledgeError, match=fault):
        load_cut(file)
