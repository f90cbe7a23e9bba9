"""The wearer's facts: defaults, what is refused, and that every refusal names the key."""

from pathlib import Path

import pytest

from fitcheck.core.errors import UsageError
from fitcheck.core.fitting import PEN_COLOURS, FittingFacts, TapeFacts, read_fitting, with_options, with_tape_options


def written(folder: Path, text: str) -> Path:
    path = folder / "fitting.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_no_file_means_defaults(tmp_path: Path) -> None:
    assert read_fitting(tmp_path / "fitting.toml") == FittingFacts()


def test_every_key_is_read(tmp_path: Path) -> None:
    facts = read_fitting(
        written(
            tmp_path,
            'wearer = "Ada"\ngarment = "blouse"\nsize_bought = "14"\nseam_allowance_mm = 10\ntissue = "half"\nfront = "dart"\n'
            'stage = "toile"\ndrafted_cup_difference_mm = 65\nunits = "in"\ncard_bar_mm = 95.2\nneckline = "style"\nheight_mm = 1650\n'
            '[seam_colours]\nshoulder = "blue"\nside = "dark green"\n',
        )
    )
    assert (facts.tissue, facts.front, facts.stage, facts.units, facts.neckline) == ("half", "dart", "toile", "in", "style")
    assert (facts.seam_allowance_mm, facts.drafted_cup_difference_mm, facts.card_bar_mm, facts.height_mm) == (10, 65, 95.2, 1650)
    assert facts.seam_colours == {"shoulder": "blue", "side": "dark green"}


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("seam_alowance_mm = 15", "seam_alowance_mm"),
        ('tissue = "quarter"', "tissue"),
        ("seam_allowance_mm = 500", "seam_allowance_mm"),
        ("card_bar_mm = nan", "card_bar_mm"),
        ("height_mm = 165", "height_mm"),
        ("wearer = 5", "wearer"),
        ('[seam_colours]\nelbow = "red"', "seam_colours.elbow"),
        ('[seam_colours]\nside = "#00ff00"', "seam_colours.side"),
        ("tissue = half", "TOML"),
    ],
)
def test_a_mistake_is_one_sentence_naming_the_key(tmp_path: Path, text: str, names: str) -> None:
    with pytest.raises(UsageError, match=names) as caught:
        read_fitting(written(tmp_path, text))
    assert "\n" not in str(caught.value)


def test_not_utf8_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "fitting.toml"
    path.write_bytes(b'wearer = "\xff\xfe"')
    with pytest.raises(UsageError, match="UTF-8"):
        read_fitting(path)


@pytest.mark.parametrize(
    ("text", "waist_mm", "span_mm"),
    [("waist = 740\nbust_span = 185.5", 740, 185.5), ('unit = "cm"\nwaist = 74\nbust_span = 18.55', 740, 185.5),
     ('unit = "in"\nwaist = 29\nbust_span = 7.25', 736.6, 184.15)],
)  # fmt: skip
def test_tape_measurements_in_any_unit(tmp_path: Path, text: str, waist_mm: float, span_mm: float) -> None:
    facts = read_fitting(written(tmp_path, f"[tape]\n{text}"))
    assert facts.tape.given_mm() == pytest.approx({"waist": waist_mm, "bust_span": span_mm})
    assert with_options(facts, units="in").tape == facts.tape  # not converted a second time


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("waist = 74", "tape.waist"),
        ("chest = 900", "tape.chest"),
        ('unit = "ell"\nwaist = 740', "tape.unit"),
        ('waist = "slim"', "tape.waist"),
    ],
)
def test_impossible_tape_measurements_are_named(tmp_path: Path, text: str, names: str) -> None:
    with pytest.raises(UsageError, match=f"`{names}`"):
        read_fitting(written(tmp_path, f"[tape]\n{text}"))


def test_knits_are_refused_in_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="ease below zero"):
        read_fitting(written(tmp_path, 'cloth = "knit"\n'))


@pytest.mark.parametrize(
    ("text", "step_mm", "told_in"),
    [
        ("", 2.5, "cm"),
        ('finest = "fine"', 1.0, "cm"),
        ('units = "in"', 25.4 / 8, "in"),
        ('units = "in"\nfinest = "fine"', 25.4 / 16, "in/16"),
    ],
)
def test_how_fine_amounts_are_told(tmp_path: Path, text: str, step_mm: float, told_in: str) -> None:
    facts = read_fitting(written(tmp_path, text))
    assert (facts.step_mm, facts.told_in) == (step_mm, told_in)


def test_all_mistakes_are_told_at_once(tmp_path: Path) -> None:
    text = 'tisue = "half"\nfront = "darts"\nheight_mm = 165\n[seam_colours]\nside = "bleu"\nsholder = "red"\n'
    text += '[tape]\nunit = ["cm"]\n[observed]\nsleve_tight_R = 12\nsleeve_tight_L = 900\n'
    with pytest.raises(UsageError) as caught:
        read_fitting(written(tmp_path, text), ("sleeve_tight_L", "sleeve_tight_R"))
    said = str(caught.value)
    for words in (
        "`tisue` is no key here; did you mean `tissue`?",
        '`front` is "darts"; it can be dart, waist_dart, french_dart, shoulder_dart, princess, shoulder_princess or none; '
        'did you mean "dart"?',
        "`height_mm` is 165, too small (800 to 2500 mm); did you mean 1650?",
        '`seam_colours.side`: "bleu" is no colour that is known; did you mean "blue"?',
        '`seam_colours.sholder` is no key here; did you mean "shoulder"?',
        "`tape.unit` is a list; it can be mm, cm or in",
        'there is no measurement "sleve_tight_R"; did you mean "sleeve_tight_R"?',
        "`observed.sleeve_tight_L` is 900, too large (-500 to 500)",
    ):
        assert words in said


def test_a_tape_in_centimetres_is_spoken_of_in_centimetres(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match=r"`tape.waist` is 740, too large \(40 to 220 cm\); did you mean 74\?"):
        read_fitting(written(tmp_path, '[tape]\nunit = "cm"\nwaist = 740'))


def test_a_wrong_option_speaks_of_the_option() -> None:
    with pytest.raises(UsageError, match=r"^--card-bar is 9, too small \(50 to 381 mm\); did you mean 90\?"):
        with_options(FittingFacts(), card_bar_mm=9.0)
    with pytest.raises(UsageError, match=r"^--height-mm is nan; it must be a number"):
        with_options(FittingFacts(), height_mm=float("nan"))
    with pytest.raises(UsageError, match=r"^--high-bust is 840, too large \(50 to 220 cm\); did you mean 84\?"):
        with_tape_options(FittingFacts(), "cm", high_bust=840.0)
    with pytest.raises(UsageError, match=r'^--kind is "skrit"; it can be top, .*; did you mean "skirt"'):
        with_options(FittingFacts(), kind="skrit")


def test_options_win_over_the_file() -> None:
    facts = with_tape_options(FittingFacts(tape=TapeFacts(waist=700, hip=900)), "in", waist=29.0, hip=None)
    assert facts.tape.given_mm() == pytest.approx({"waist": 736.6, "hip": 900})


def test_the_colours_are_those_that_pens_are_known_by() -> None:
    from fitcheck.vision.lines.pen_colours import _PENS

    assert set(PEN_COLOURS) == set(_PENS)
