"""The tables load, and every kind of mistake in them is refused with a sentence that names the place."""

import shutil
from collections.abc import Callable
from importlib.resources import files
from pathlib import Path

import pytest

from fitcheck.advice.rows import FRONTS, Knowledge
from fitcheck.advice.table import load_knowledge
from fitcheck.core.errors import KnowledgeError
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.records import Measurement

Edit = Callable[[str, str, str], Path]


@pytest.fixture
def edited(tmp_path: Path) -> Edit:
    """The shipped tables with one passage changed."""

    def edit(file: str, old: str, new: str) -> Path:
        shutil.copytree(Path(str(files("fitcheck.advice") / "knowledge")), tmp_path / "knowledge")
        path = tmp_path / "knowledge" / file
        head, first, rows = path.read_text("utf-8").partition("\n[[")  # the head only explains
        rows = first + rows
        assert old in rows
        path.write_text(head + rows.replace(old, new, 1), "utf-8")
        return tmp_path / "knowledge"

    return edit


def test_the_trades_measurements_are_all_there(table: Knowledge) -> None:
    levels = {
        "shoulder_seam_behind": {"tip", "neck"},
        "shoulder_tip_beyond": {""},
        "shoulder_slope_excess": {""},
        "shoulder_height_difference": {""},
        "bust_mark_above": {""},
        "bust_mark_outside": {""},
        "centre_front_short": {"chest", "bust", "waist", "hip"},
        "centre_back_short": {"blade", "waist", "hip"},
        "side_seam_forward": {"bust", "waist", "hip"},
        "side_seam_tilt": {""},
        "waist_mark_above": {"front", "side", "back"},
        "back_neck_below": {""},
        "neck_stand_off": set(),
        "armhole_stand_off": set(),
        "hem_front_rise": {""},
        "underarm_gap": {""},
    }
    tolerances = {"shoulder_seam_behind": 3, "shoulder_slope_excess": 2, "bust_mark_above": 5, "side_seam_tilt": 1.5, "hem_front_rise": 8}
    for id, wanted in levels.items():
        assert wanted <= set(table.observables[id].levels)
    for id, amount in tolerances.items():
        assert table.observables[id].tolerance.amount == amount


def test_usual_amounts_are_the_trades(table: Knowledge) -> None:
    usual = {"forward_shoulder": (6, 13), "square_sloping_shoulder": (6, 13), "rounded_erect_upper_back": (6, 25), "sway_back": (6, 25)}
    for id, wanted in usual.items():
        assert table.alterations[id].amounts.usual == wanted
    for row in table.alterations.values():
        # a prior under which the usual amounts are usual: within two spreads, and not tiny against it
        assert row.amounts.usual[1] <= 2.2 * row.amounts.spread
        assert row.amounts.usual[0] >= 0.2 * row.amounts.spread


def test_an_effect_by_definition_takes_away_exactly_the_amount(table: Knowledge) -> None:
    by_definition = {
        "forward_shoulder": ("shoulder_seam_behind_tip", 10),
        "narrow_broad_shoulder": ("shoulder_tip_beyond", -10),
        "bust_point_height": ("bust_mark_above", -10),
        "bust_point_span": ("bust_mark_outside", -10),
        "waist_length_front": ("waist_mark_above_front", 10),
        "waist_length_back": ("waist_mark_above_back", 10),
        "sway_back": ("waist_mark_above_back", -10),
        "waist_level": ("waist_mark_above_side", -10),
        "neck_depth": ("front_neck_below", -10),
        "flat_seat": ("seat_slack", 10),
        "hem_levelling": ("hem_front_rise", 10),
    }
    for id, (key, value) in by_definition.items():
        assert table.alterations[id].effects.per_10[key] == value
    assert table.alterations["uneven_shoulders"].effects.one_side_per_10 == {"shoulder_height_difference": 10}


def test_groups_and_making_stand_in_order(table: Knowledge) -> None:
    groups = [row.group for row in table.alterations.values()]
    assert groups == sorted(groups)
    balance = ("neck_forward", "rounded_erect_upper_back", "square_sloping_shoulder", "uneven_shoulders")
    assert [table.order(id) for id in (*balance, "forward_shoulder", "narrow_broad_shoulder")] == [0, 1, 2, 3, 4, 5]


def test_every_front_and_tissue_has_steps(table: Knowledge) -> None:
    for row in table.alterations.values():
        for direction in row.directions:
            for front in row.fronts:
                for tissue in ("half", "full"):
                    steps = direction.steps_for(FittingFacts(front=front, tissue=tissue))
                    assert steps
    assert set(table.alterations["full_small_bust"].fronts) == set(FRONTS)


def test_dart_and_princess_steps_differ(table: Knowledge) -> None:
    direction = table.alterations["bust_point_height"].minus
    assert direction is not None
    assert direction.steps_for(FittingFacts(front="dart")) != direction.steps_for(FittingFacts(front="princess"))


def test_wanted_depth_follows_the_sleeve(table: Knowledge) -> None:
    observable = table.observables["underarm_gap"]
    reading = Measurement("underarm_gap", "", "wearer_left", None, 20.0, "mm", 1.0, {})
    assert observable.deviation(reading, FittingFacts(sleeve="set_in")) == -5
    assert observable.deviation(reading, FittingFacts(sleeve="none")) == 7


@pytest.mark.parametrize(
    ("file", "old", "new", "says"),
    [
        ("observables.toml", 'source = "common practice; from memory"\n', "", r"shoulder_seam_behind: `tolerance.source`"),
        ("alterations.toml", 'source = "by definition"\n', "", r"narrow_broad_shoulder: `effects.source`"),
        ("findings.toml", 'source = "common practice"\n', "", r"shoulder_seam_behind_tip: `source`"),
        ("glossary.toml", 'source = "common practice"\n', "", r"alteration: `source`"),
        ("findings.toml", 'source = "common practice"', 'source = ""', r"shoulder_seam_behind_tip: `source`"),
        ("alterations.toml", "amount_is =", "ammount_is =", r"`ammount_is`"),
        ("observables.toml", "sided = true\n", "sided = true\ncolour = 3\n", r"shoulder_seam_behind: `colour`"),
        ("alterations.toml", "shoulder_tip_beyond = -10", "shoulder_tip_above = -10", r"`shoulder_tip_above`, which is no measurement"),
        ("alterations.toml", "shoulder_tip_beyond = -10", "", r"narrow_broad_shoulder: has no effect"),
        ("alterations.toml", "shoulder_tip_beyond = -10", "shoulder_tip_beyond = 0", r"narrow_broad_shoulder: has no effect"),
        ("alterations.toml", 'id = "neck_forward"', 'id = "forward_shoulder"', r"`forward_shoulder` stands there twice"),
        ("findings.toml", 'id = "back_neck_below"', 'id = "back_neck_under"', r"`back_neck_under` is no measurement"),
        ("findings.toml", 'id = "back_neck_below"', 'id = "back_neck_under"', r"nothing is said about `back_neck_below`"),
        ("alterations.toml", "usual = [6, 13]", "usual = [13, 6]", r"not in order"),
        ("alterations.toml", "probability = 0.22", "probability = 1.5", r"`amounts.probability`"),
        ("alterations.toml", "{amount} above", "{ammount} above", r"unknown field \{ammount\}"),
        ("alterations.toml", "{amount} above", "10 mm above", r"instead of a unit"),
        (
            "alterations.toml",
            "one_side_per_10 = { shoulder_height",
            "one_side_per_10 = { bust_mark_above = 2, shoulder_height",
            "sides of its own",
        ),
        ("alterations.toml", "{drawn:+back_neck_taken}", "{drawn:*back_neck_taken}", r"unknown field \{drawn:\*back_neck_taken\}"),
        ("alterations.toml", "(sleeveless) ", "(no sleeves) ", r"nothing is called `no sleeves`"),
        ("alterations.toml", 'shoulder_tip_beyond = "', 'shoulder_tip_above = "', r"`shows` lacks or misnames `shoulder_tip_above`"),
        ("alterations.toml", 'told_by = ["crotch_below"]', 'told_by = ["seat_slack"]', r"is told by `seat_slack`, which does not show it"),
        ("follows.toml", 'source = "common practice"\n', "", r"follows.toml, block 1: `source`"),
        ("observables.toml", "level_sd = { neck", "level_sd = { nape", r"nape: no such level"),
        ("observables.toml", "amount = 3", "amount = nan", r"`tolerance.amount`"),
        ("glossary.toml", "[[term]]", "[[word]]", r"unknown table `word`"),
        ("glossary.toml", "[[term]]", "[[term", r"glossary.toml cannot be read"),
    ],
)
def test_a_mistake_is_refused_and_named(edited: Edit, file: str, old: str, new: str, says: str) -> None:
    with pytest.raises(KnowledgeError, match=says):
        load_knowledge(edited(file, old, new))


def test_a_missing_table_is_refused(edited: Edit) -> None:
    folder = edited("glossary.toml", "toile", "toile")
    (folder / "glossary.toml").unlink()
    with pytest.raises(KnowledgeError, match=r"glossary\.toml cannot be read"):
        load_knowledge(folder)


def test_a_table_instead_of_blocks_is_refused(edited: Edit) -> None:
    folder = edited("glossary.toml", "toile", "toile")
    (folder / "glossary.toml").write_text('[term]\nword = "toile"\n', "utf-8")
    with pytest.raises(KnowledgeError, match=r"every block begins with \[\[term\]\]"):
        load_knowledge(folder)
