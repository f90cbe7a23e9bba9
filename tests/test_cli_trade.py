"""The commands about the trade, from the words typed to the words printed."""

import json
from pathlib import Path

from typer.testing import CliRunner

from fitcheck.cli import app

CHART = str(Path(__file__).parents[1] / "sample_images" / "sizes.toml")
run = CliRunner().invoke


def test_size_in_cm_and_inches() -> None:
    told = run(app, ["size", "--chart", CHART, "--high-bust", "85", "--full-bust", "97", "--waist", "72", "--hip", "96"])
    assert told.exit_code == 0
    assert "Cut size C" in told.output
    assert "full bust, 3.5 cm" in told.output
    inches = run(app, ["size", "--chart", CHART, "--high-bust", "33.5", "--full-bust", "38.2", "--units", "in"])
    assert inches.exit_code == 0
    assert "full bust, 1 3/8 in" in inches.output


def test_size_from_the_tape_of_a_fitting(tmp_path: Path) -> None:
    (tmp_path / "fitting.toml").write_text('kind = "jacket"\n[tape]\nunit = "cm"\nhigh_bust = 85\nbust = 90\n', "utf-8")
    told = run(app, ["size", "--chart", CHART, "--fitting", str(tmp_path / "fitting.toml")])
    assert told.exit_code == 0
    assert "less than is usual (10.0 cm to 13.0 cm)" in told.output


def test_what_is_missing_or_unknown_is_one_sentence() -> None:
    for words in (["size", "--chart", CHART], ["size", "--chart", CHART, "--high-bust", "9000"], ["explain", "nosuch"]):
        told = run(app, words)
        assert told.exit_code == 2
    for words in (["sheet", "sway_back", "--amount", "-1"], ["sheet", "sway_back", "--amount", "30"], ["sheet", "nosuch", "--amount", "1"]):
        told = run(app, words)
        assert told.exit_code == 2


def test_explain_fills_its_lengths() -> None:
    told = run(app, ["explain", "forward_shoulder", "--units", "in"])
    assert told.exit_code == 0
    assert "1/4 in to 1/2 in is usual" in told.output
    assert "{" not in told.output


def test_sheet_writes_a_pdf(tmp_path: Path) -> None:
    out = tmp_path / "sheet.pdf"
    told = run(app, ["sheet", "full_small_bust", "--amount", "2", "--full-size", "--out", str(out)])
    assert told.exit_code == 0
    assert out.read_bytes().startswith(b"%PDF")
    assert "scale 1:1" in told.output
    assert "centre front princess upper / side front princess upper: " in told.output


def test_sheet_draws_what_the_fitting_says_is_sewn(tmp_path: Path) -> None:
    (tmp_path / "fitting.toml").write_text('kind = "trousers"\n', "utf-8")
    words = ["sheet", "hip_width", "--amount", "0.5", "--units", "in", "--fitting", str(tmp_path / "fitting.toml")]
    told = run(app, [*words, "--out", str(tmp_path / "sheet.pdf")])
    assert told.exit_code == 0
    assert "back outside / front outside" in told.output
    assert "back inside / front inside: stays 28 3/4 in" in told.output


def test_a_fitting_that_is_named_has_to_be_there(tmp_path: Path) -> None:
    result = run(app, ["size", "--chart", CHART, "--fitting", str(tmp_path / "absent.toml"), "--high-bust", "84"])
    assert result.exit_code == 2
    assert "cannot be read" in result.stderr


def test_a_tape_option_is_spoken_of_in_its_own_unit() -> None:
    result = run(app, ["size", "--chart", CHART, "--high-bust", "840"])
    assert result.exit_code == 2
    assert "--high-bust is 840, too large (50 to 220 cm); did you mean 84?" in result.stderr


def test_the_size_as_data() -> None:
    result = run(app, ["size", "--chart", CHART, "--high-bust", "84", "--full-bust", "89", "--json"])
    assert json.loads(result.stdout)["size"] in "ABCDEFG"


def test_a_sleeveless_garment_has_no_sheet_for_its_sleeve(tmp_path: Path) -> None:
    (tmp_path / "fitting.toml").write_text('sleeve = "none"\n', "utf-8")
    told = run(
        app, ["sheet", "upper_arm", "--amount", "2", "--fitting", str(tmp_path / "fitting.toml"), "--out", str(tmp_path / "sheet.pdf")]
    )
    assert told.exit_code != 0
    assert "A sleeveless garment has no upper arm." in " ".join(told.output.split())
    assert not (tmp_path / "sheet.pdf").exists()
