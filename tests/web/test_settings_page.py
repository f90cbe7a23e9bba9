"""Her choices, and what is hers in the diary: export, import, delete, rescue."""

import io
import re
import zipfile

import pytest
from web.asked import on_table

from fitcheck.diary.database import FILE_NAME
from fitcheck.web.choices import Choices


def wearers(asked) -> list[str]:
    with asked.house.diary() as diary:
        return diary.wearers()


def test_choices_are_kept_and_shown(asked):
    assert asked.post("/settings", {"units": "in", "paper": "letter", "diary": "/elsewhere"}).headers["location"] == "/settings"
    assert asked.house.choices == Choices(units="in", paper="letter")
    text = asked.get("/settings").text
    assert re.findall(r'value="(\w+)" checked', text) == ["in", "usual", "letter"]
    assert str(asked.house.diary_folder) in text
    assert "Nobody is in it yet." in text


def test_a_choice_that_is_none(asked):
    answer = asked.post("/settings", {"units": "ell"})
    assert answer.status == 400
    assert "ell" in answer.text
    assert asked.house.choices == Choices()


def test_everybody_in_the_diary_with_what_goes(recorded):
    text = recorded.get("/settings").text
    assert [re.sub(r"<[^>]*>", "", one) for one in re.findall(r"<h3>(.*?)</h3>", text)][:2] == ["Anna", "Berta"]
    assert "2 fittings" in text
    assert "1 fitting<" in text
    asks = recorded.get("/wearer/1/delete").text
    assert "2 fittings with 4 photos" in asks
    assert "/wearer/1/export.zip" in asks
    assert "bodice of 1 April 2026" in recorded.get("/diary/1/delete").text


def test_exported_and_brought_in_under_another_name(recorded):
    answer = recorded.get("/wearer/1/export.zip")
    assert answer.headers["content-disposition"] == 'attachment; filename="Anna.zip"'
    assert len([name for name in zipfile.ZipFile(io.BytesIO(answer.body)).namelist() if name.endswith(".jpg")]) == 4
    taken = recorded.post("/archive", answer.body, "*/*")
    assert taken.status == 400
    assert taken.data["problem"] == "The diary already knows Anna. Bring her in under another name, or delete her first."
    made = recorded.post("/archive?as=%C3%84nne", answer.body, "*/*")
    assert made.data == {"wearer": "Änne", "fittings": 2}
    assert set(wearers(recorded)) == {"Anna", "Berta", "Änne"}
    assert not list(recorded.house.bench.place.folder.rglob("*.zip"))


@pytest.mark.parametrize("data", [b"", b"PK\x03\x04 cut off", b"<html>"])
def test_what_is_no_archive_changes_nothing(recorded, data):
    answer = recorded.post("/archive", data, "*/*")
    assert answer.status == 400
    assert "no whole archive" in answer.data["problem"]
    assert "fitcheck diary export" not in answer.data["problem"]
    assert wearers(recorded) == ["Anna", "Berta"]
    assert not list(recorded.house.bench.place.folder.rglob("*.zip"))


def test_a_name_in_a_file_name_is_letters_only(recorded):
    export = recorded.get("/wearer/1/export.zip").body
    recorded.post("/archive?as=..%2f%22x", export)
    number = 3
    assert re.fullmatch(
        r'attachment; filename="[A-Za-z0-9_-]+\.zip"', recorded.get(f"/wearer/{number}/export.zip").headers["content-disposition"]
    )


def test_deleted_for_good(recorded):
    text = recorded.post("/wearer/1/delete").text
    assert "Removed 1 garments, 2 fittings, 4 photos copied" in text
    assert wearers(recorded) == ["Berta"]
    assert recorded.get("/diary/1").status == 400
    assert len(list(recorded.house.diary_folder.rglob("*.jpg"))) == 2


def test_a_deleted_fitting_can_be_recorded_again(recorded, case):
    work = on_table(recorded, case, wearer="Anna", garment="bodice")
    work.recorded, work.recorded_version = 2, work.version
    assert "Removed fitting 2 (bodice, 2 April 2026)." in recorded.post("/diary/2/delete").text
    assert (work.recorded, work.recorded_version) == (0, 0)
    assert recorded.get("/diary/2").status == 400
    assert recorded.get("/diary/1").status == 200


def test_a_damaged_diary_is_rescued_by_a_button(recorded):
    """The page of an error sends to it; there it is offered, her choices stay, and pressing it brings her fittings back."""
    file = recorded.house.diary_folder / FILE_NAME
    data = bytearray(file.read_bytes())
    data[100:600] = b"\xff" * 500  # the list of its tables
    file.write_bytes(data)
    page = recorded.get("/")
    assert page.status == 400
    assert "Press “Rescue the diary” under “Settings”" in page.text
    settings = recorded.get("/settings")
    assert settings.status == 200
    assert "<button>Rescue the diary</button>" in settings.text
    assert 'value="cm" checked' in settings.text
    assert "Nobody is in it yet" not in settings.text


def test_rescued(recorded):
    """A row that cannot be is left out; the rest is there again, and a copy of all as it was."""
    with recorded.house.diary() as diary:
        diary.connection.execute("UPDATE fitting SET day = 'never' WHERE id = 2")
        diary.connection.commit()
    assert "is damaged" in recorded.get("/").text
    text = recorded.post("/settings/rescue").text
    assert "2 fittings are in it again; 1 was seen but could not be read." in text
    assert (recorded.house.diary_folder / "damaged-1" / FILE_NAME).exists()
    assert recorded.get("/").status == 200
    assert recorded.get("/diary/1").status == 200
    assert "Rescue the diary" not in recorded.get("/settings").text
