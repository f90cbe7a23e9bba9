"""How commands say what went wrong, and the data they print for scripts."""

import json
import stat
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
import typer

from fitcheck.core.errors import PhotoError, UsageError
from fitcheck.terminal import BareDiary, progress, say, say_data, show, speaks_plainly


def stopped(error, capsys):
    @speaks_plainly
    def command():
        raise error

    with pytest.raises(typer.Exit) as exit:
        command()
    said = capsys.readouterr()
    assert said.out == ""
    return exit.value.exit_code, said.err


def test_an_error_is_one_line_on_stderr_with_its_own_code(capsys):
    assert stopped(PhotoError("front.jpg is no picture.", "Take another."), capsys) == (3, "front.jpg is no picture. Take another.\n")


def test_several_faults_are_told_line_by_line(capsys):
    assert stopped(UsageError("One.\nTwo.", "Mend both."), capsys) == (2, "One.\nTwo.\nMend both.\n")


def test_what_nobody_foresaw_is_kept_in_a_file_for_the_owner_only(capsys, tmp_path, monkeypatch):
    monkeypatch.setattr("platformdirs.user_log_path", lambda *_, **__: tmp_path / "logs")
    code, said = stopped(ZeroDivisionError("by nothing"), capsys)
    file = tmp_path / "logs" / "error.txt"
    assert code == 70
    assert "ZeroDivisionError in test_terminal.py" in said
    assert str(file) in said
    assert "ZeroDivisionError: by nothing" in file.read_text()
    assert stat.S_IMODE(file.stat().st_mode) == 0o600


def test_where_no_file_can_be_kept_the_words_are_told(capsys, tmp_path, monkeypatch):
    (tmp_path / "logs").write_text("in the way")
    monkeypatch.setattr("platformdirs.user_log_path", lambda *_, **__: tmp_path / "logs")
    code, said = stopped(ZeroDivisionError("by nothing"), capsys)
    assert code == 70
    assert said.endswith("Please report these words: by nothing\n")


@pytest.mark.parametrize("name", ["é" * 200, "x" * 300, "deep/" * 1000])
def test_a_name_that_is_too_long_for_any_folder_is_one_sentence(name, capsys):
    @speaks_plainly
    def command():
        Path(name).stat()

    with pytest.raises(typer.Exit) as exit:
        command()
    assert exit.value.exit_code == 2
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert len(said) < 200
    assert "too long" in said
    assert "shorter" in said


def test_a_reader_that_has_had_enough_is_no_fault():
    @speaks_plainly
    def command():
        raise BrokenPipeError(32, "Broken pipe")

    with pytest.raises(BrokenPipeError):
        command()


def test_asides_go_to_stderr(capsys):
    say("data")
    say("aside", aside=True)
    assert capsys.readouterr() == ("data\n", "aside\n")


def test_data_is_plain_json(capsys):
    @dataclass(frozen=True)
    class Record:
        name: str
        points: np.ndarray
        file: Path

    say_data([Record("tip", np.array([[1.0, 2.5]]), Path("a/b"))])
    assert json.loads(capsys.readouterr().out) == [{"name": "tip", "points": [[1.0, 2.5]], "file": "a/b"}]


def test_brackets_in_a_table_are_words(capsys):
    show(["name", "value"], [["[bold]", "1"], ["tip", "22"]])
    lines = capsys.readouterr().out.splitlines()
    assert [line.split() for line in lines] == [["name", "value"], ["[bold]", "1"], ["tip", "22"]]


def test_no_bar_where_nobody_looks(capsys):
    with progress("Reading") as tell:
        tell("Measuring", 0.5)
    assert capsys.readouterr() == ("", "")


@pytest.mark.parametrize(
    ("words", "diary"),
    [(["--diary"], ""), (["--diary", "--loud"], ""), (["--diary", "folder"], "folder"), ([], None), (["--diary=here"], "here")],
)
def test_a_diary_may_stand_without_a_folder(words, diary):
    app = typer.Typer()
    seen = []

    @app.command(cls=BareDiary)
    def command(diary: str = typer.Option(None), loud: bool = False):
        seen.append(diary)

    app(words, standalone_mode=False)
    assert seen == [diary]
