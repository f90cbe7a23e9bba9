"""Whatever stands in a file that a user wrote is said in one message, and nothing in it can hang or flood the program."""

import os
from pathlib import Path
from typing import Annotated, Literal

import pytest
from pydantic import BaseModel, ConfigDict, Field

from fitcheck.core.errors import UsageError
from fitcheck.core.plain_file import MOST_BYTES
from fitcheck.core.toml_file import read_toml


class Part(BaseModel):
    model_config = ConfigDict(extra="forbid")
    unit: Literal["mm", "cm"] = "mm"
    waist: Annotated[float | None, Field(ge=400, le=2200)] = None


class Sheet(BaseModel):
    model_config = ConfigDict(extra="forbid")
    cut: Literal["half", "full"] = "full"
    wide_mm: Annotated[float, Field(ge=0, le=60)] = 15
    name: Annotated[str, Field(max_length=20)] = ""
    tape: Part = Part()
    row: list[Part] = []


def refused(folder: Path, text: str | bytes) -> str:
    path = folder / "sheet.toml"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    with pytest.raises(UsageError) as caught:
        read_toml(path, Sheet)
    return str(caught.value)


def test_every_fault_stands_in_one_message_each_with_its_key_and_what_was_meant(tmp_path):
    said = refused(tmp_path, 'cut = "haalf"\nwide = 3\nwide_mm = 150\nname = 5\n[tape]\nwiast = 700\n[[row]]\n[[row]]\nwaist = "slim"')
    assert '`cut` is "haalf"; it can be half or full; did you mean "half"?' in said
    assert "`wide` is no key here; did you mean `wide_mm`?" in said
    assert "`wide_mm` is 150, too large (0 to 60 mm); did you mean 15?" in said
    assert '`name` is 5; it must be words in "quotes"' in said
    assert "`tape.wiast` is no key here; did you mean `tape.waist`?" in said
    assert '`row 2.waist` is "slim"; it must be a number' in said
    assert said.count("\n- ") == 6


def test_one_fault_is_one_line(tmp_path):
    said = refused(tmp_path, "wide_mm = -1")
    assert said.startswith("In sheet.toml, `wide_mm` is -1, too small (0 to 60 mm).")
    assert "\n" not in said


def test_a_key_of_a_table_written_above_it_is_put_right(tmp_path):
    assert "`waist` is no key here; did you mean `tape.waist`?" in refused(tmp_path, "waist = 700")


def test_numbers_are_told_in_the_unit_of_their_table(tmp_path):
    """74 in a table of millimetres was meant in cm."""
    assert "`tape.waist` is 74, too small (400 to 2200 mm); did you mean 740?" in refused(tmp_path, "[tape]\nwaist = 74")


def test_an_unknown_word_far_from_all_others_lists_them(tmp_path):
    assert "`zzz` is no key here; known are cut, wide_mm, name, tape, row" in refused(tmp_path, "zzz = 1")


@pytest.mark.parametrize(
    "text",
    [
        "cut = half",
        b'name = "\xff"',
        "wide_mm = " + "9" * 5000,
        "name = " + "[" * 20000,
        "a." * 5000 + "b = 1",
        "#" * (MOST_BYTES + 1),
        "wide_mm = nan",
        "wide_mm = " + "9" * 400,
        "\0",
        "name = [" + "{a = " * 3000 + "1" + "}" * 3000 + "]",
    ],
    ids=["no quotes", "not utf-8", "5000 digits", "deep lists", "deep keys", "large", "nan", "400 digits", "zero byte", "deep tables"],
)
def test_what_is_no_such_file_is_refused_in_a_short_sentence(tmp_path, text):
    said = refused(tmp_path, text)
    assert "sheet.toml" in said
    assert len(said) < 600


def test_a_named_pipe_and_a_folder_are_refused_and_do_not_hang(tmp_path):
    os.mkfifo(tmp_path / "sheet.toml")
    with pytest.raises(UsageError, match="no plain file"):
        read_toml(tmp_path / "sheet.toml", Sheet)
    with pytest.raises(UsageError, match="no plain file"):
        read_toml(tmp_path, Sheet)


@pytest.mark.parametrize("name", ["x" * 300 + ".toml", "a\0b.toml", "absent.toml"])
def test_a_path_that_cannot_be_is_one_sentence(tmp_path, name):
    with pytest.raises(UsageError, match="cannot be read"):
        read_toml(tmp_path / name, Sheet)
