"""What a row may hold: the edge of each rule from both sides, and nothing that no fitcheck writes."""

import pytest

from fitcheck.core.errors import DiaryError
from fitcheck.diary.contract import UnsoundError, sound, whole_row

SHA = "0123456789abcdef" * 4


@pytest.mark.parametrize(
    ("table", "column", "value"),
    [
        ("wearer", "name", "Ä" * 200),
        ("wearer", "id", 1),
        ("garment", "maker", ""),
        ("fitting", "day", "2024-02-29"),
        ("fitting", "day", "1900-01-01"),
        ("fitting", "day", "2199-12-31"),
        ("fitting", "stage", ""),
        ("fitting", "photos", 0),
        ("fitting", "photos", 4),
        ("fitting", "fingerprint", SHA),
        ("fitting", "fingerprint", SHA + "+12"),
        ("fitting", "facts", '{"sleeve": "none"}'),
        ("result", "data", "{}"),
        ("photo", "width_px", 50_000),
        ("measurement", "value", -1e6),
        ("measurement", "value", 3),
        ("measurement", "sd", 0.0),
        ("measurement", "to_y_px", None),
        ("posture", "side", ""),
        ("posture", "unit", "deg"),
        ("advised", "side", "both"),
        ("advised", "probability", 1.0),
        ("placed", "side", "wearer_left"),
        ("tape", "value_mm", 0.1),
        ("note", "fitting", None),
    ],
)
def test_what_a_column_takes(table, column, value):
    assert sound(table, {column: value}) == {column: value}


@pytest.mark.parametrize(
    ("table", "column", "value", "says"),
    [
        ("wearer", "name", "x" * 201, "the name of a wearer is longer than 200 characters"),
        ("wearer", "name", " \t", "the name of a wearer is missing"),
        ("wearer", "name", "Zo\ud800", "holds characters that are none"),
        ("wearer", "id", 0, "is not between 1 and"),
        ("wearer", "id", True, "is no whole number"),
        ("wearer", "id", 1.0, "is no whole number"),
        ("wearer", "shoe", 38, "the shoe of a wearer is not known"),
        ("fitting", "day", "2026-02-29", "the day of a fitting is no date"),
        ("fitting", "day", "20260401", "is no date"),
        ("fitting", "day", "1899-12-31", "1900 to 2199"),
        ("fitting", "day", "2200-01-01", "1900 to 2199"),
        ("fitting", "day", None, "is no date"),
        ("fitting", "stage", "muslin", "is none that fitcheck writes"),
        ("fitting", "photos", 5, "is not between 0 and 4"),
        ("fitting", "retake", 2, "is not between 0 and 1"),
        ("fitting", "uid", "../elsewhere", "the uid of a fitting is none"),
        ("fitting", "fingerprint", SHA[1:], "is none that fitcheck writes"),
        ("fitting", "fingerprint", SHA + "+x", "is none that fitcheck writes"),
        ("fitting", "facts", "[1]", "the facts of a fitting are none"),
        ("fitting", "facts", '{"sleeve": "long"}', "are none"),
        ("result", "data", "", "the data of a result is missing"),
        ("photo", "view", "top", "the view of a photo is none"),
        ("photo", "view", ["front"], "is none"),
        ("photo", "kept", None, "is none"),
        ("measurement", "value", float("nan"), "the value of a measurement is no number"),
        ("measurement", "value", float("inf"), "is no number"),
        ("measurement", "value", "12", "is no number"),
        ("measurement", "value", True, "is no number"),
        ("measurement", "value", 1.1e6, "is not between -1e+06 and 1e+06"),
        ("measurement", "sd", -0.1, "is not between 0 and"),
        ("measurement", "key", "Tip", "is none that fitcheck writes"),
        ("posture", "side", "left", "is none"),
        ("posture", "unit", "cm", "is none"),
        ("advised", "amount_mm", None, "the amount of an advised is no number"),
        ("advised", "probability", 1.1, "is not between"),
        ("expected", "side", "", "the side of an expected is none"),
        ("tape", "value_mm", 0.0, "the value of a tape is not between 0.1"),
        ("note", "text", b"x", "the text of a note is no text"),
        ("leftover", "uid", "A" * 32, "the uid of a leftover"),
    ],
)
def test_what_a_column_refuses(table, column, value, says):
    with pytest.raises(UnsoundError) as error:
        sound(table, {column: value})
    assert says in error.value.why
    assert isinstance(error.value, DiaryError)


def test_names_come_back_tidied_and_the_given_row_stays():
    row = {"name": "  Anna\n Ma\u0308rz "}
    assert sound("wearer", row) == {"name": "Anna M\u00e4rz"}
    assert row == {"name": "  Anna\n Ma\u0308rz "}


PHOTO = {"fitting": 1, "view": "front", "file": "front.jpg", "kept": "copy", "sha256": SHA, "width_px": 4000, "height_px": 3000}


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"file": "back.jpg"}, "the file of a photo"),  # a copy is named by its view
        ({"file": "../front.jpg"}, "the file of a photo"),
        ({"width_px": 10_000, "height_px": 8_001}, "beyond 80 megapixels"),
    ],
)
def test_columns_of_a_photo_that_do_not_go_together(change, says):
    assert whole_row("photo", PHOTO) == PHOTO
    assert whole_row("photo", PHOTO | {"kept": "reference", "file": "elsewhere/x.jpg"})
    assert whole_row("photo", PHOTO | {"width_px": 10_000, "height_px": 8_000})
    with pytest.raises(UnsoundError, match=says):
        whole_row("photo", PHOTO | change)


@pytest.mark.parametrize("column", sorted(PHOTO))
def test_a_whole_row_lacks_nothing(column):
    with pytest.raises(UnsoundError, match=f"the {column.removesuffix('_mm').replace('_', ' ')} of a photo is missing"):
        whole_row("photo", {key: value for key, value in PHOTO.items() if key != column})


def test_a_new_row_has_no_number_yet():
    assert whole_row("wearer", {"name": "Anna"}) == {"name": "Anna"}
