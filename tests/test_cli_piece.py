"""The command about a piece of one's own, from the words typed to the files written."""

import json

import pytest
from piece.own_pieces import as_read
from scenes.sheets.drafted import bodice
from typer.testing import CliRunner

from fitcheck.cli import app
from fitcheck.piece.piece_file import write_piece

run = CliRunner().invoke


@pytest.fixture
def pieces(tmp_path):
    """piece.toml of a front and of a back."""
    for name in ("front", "back"):
        (tmp_path / name).mkdir()
        write_piece(tmp_path / name / "piece.toml", as_read(bodice(name, 1.0, 15.0, True, name == "front")))
    return tmp_path


def test_a_piece_is_altered_with_its_partner_and_everything_is_written(pieces):
    out = pieces / "out"
    words = ["piece", str(pieces / "front" / "piece.toml"), "--with", str(pieces / "back" / "piece.toml"), "--out", str(out)]
    told = run(app, [*words, "--alter", "forward_shoulder=10"])
    assert told.exit_code == 0, told.output
    for name in ("piece", "front_altered", "back_altered"):
        for end in ("toml", "pdf", "svg", "dxf"):
            assert (out / f"{name}.{end}").stat().st_size > 500, (name, end)
    assert "back shoulder / front shoulder" in told.output
    assert "waist: paper" in told.output


def test_the_next_round_starts_from_the_altered_piece(pieces):
    first = run(app, ["piece", str(pieces / "front" / "piece.toml"), "--out", str(pieces / "one"), "--alter", "full_small_bust=15"])
    assert first.exit_code == 0, first.output
    again = [
        "piece",
        str(pieces / "one" / "front_altered.toml"),
        "--out",
        str(pieces / "two"),
        "--alter",
        "waist_length_front=10",
        "--json",
    ]
    told = run(app, again)
    assert told.exit_code == 0, told.output
    data = json.loads(told.stdout)
    assert data["pieces"][0]["done"] == [["full_small_bust", 15.0], ["waist_length_front", 10.0]]


def test_the_round_of_a_fitting_is_done_on_the_piece(pieces):
    fitting = pieces / "fitting"
    fitting.mkdir()
    (fitting / "fitcheck.json").write_text(
        json.dumps({"version": 1, "round": [{"id": "forward_shoulder", "side": "both", "amount_mm": 7.5}]})
    )
    (fitting / "fitting.toml").write_text('kind = "dress"\n[tape]\nunit = "cm"\nbust = 90\nwaist = 74\nback_waist_length = 40\n')
    words = ["piece", str(pieces / "front" / "piece.toml"), "--with", str(pieces / "back" / "piece.toml"), "--fitting", str(fitting)]
    told = run(app, [*words, "--out", str(pieces / "out"), "--paper", "sheet"])
    assert told.exit_code == 0, told.output
    assert "tape 74.0 cm" in told.output
    assert (pieces / "out" / "front_altered.pdf").exists()


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (["--alter", "forward_shoulder"], 2),
        (["--alter", "no_such=10"], 2),
        (["--at", "here"], 2),
        (["--fitting", "nowhere/fitcheck.json"], 2),
        (["--with", "nowhere.toml"], 2),
    ],
)
def test_what_is_wrong_is_one_sentence(pieces, words, code):
    told = run(app, ["piece", str(pieces / "front" / "piece.toml"), "--out", str(pieces / "out"), *words])
    assert told.exit_code == code, told.output


def test_a_photo_that_is_none_is_told(tmp_path):
    (tmp_path / "x.jpg").write_bytes(b"none")
    assert run(app, ["piece", str(tmp_path / "x.jpg"), "--out", str(tmp_path / "out")]).exit_code == 3
    assert not (tmp_path / "out").exists()
