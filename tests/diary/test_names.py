"""One wearer is one name, whatever its capitals and however its accents are composed."""

import pytest
from diary.conftest import fit_check, new_fitting

from fitcheck.diary.forgetting import delete_wearer
from fitcheck.diary.names import folded, tidy
from fitcheck.diary.reading import notes, tapes
from fitcheck.diary.recording import add_note, add_tape, record

COMPOSED, APART = "Zo\u00eb", "Zoe\u0308"  # the same on paper


@pytest.mark.parametrize(
    ("one", "other"),
    [("Anna", "ANNA"), (COMPOSED, APART), ("\u00c4nne", "a\u0308NNE"), ("Stra\u00dfer", "STRASSER"), (" Anna  Maria", "Anna\nMaria ")],
)
def test_one_name(one, other):
    assert folded(one) == folded(other)


@pytest.mark.parametrize(("one", "other"), [("Anna", "Anne"), ("Zoe", COMPOSED), ("Anna Maria", "AnnaMaria")])
def test_two_names(one, other):
    assert folded(one) != folded(other)


def test_what_is_shown_is_composed_and_on_one_line():
    assert tidy(f" {APART}\t\x00 Maria\u2028") == f"{COMPOSED} Maria"
    assert tidy("\n\x00") == ""
    assert tidy("Andr\udce9") == "Andr\ufffd"


def test_fittings_notes_and_tape_of_one_wearer_whatever_she_is_called(diary):
    record(diary, new_fitting(fit_check(1), COMPOSED, "r\u00f6ckchen"))
    record(diary, new_fitting(fit_check(2), APART.upper(), "RO\u0308CKCHEN"))
    add_note(diary, "loose", wearer=APART)
    add_tape(diary, APART, "bust", 920)
    assert diary.wearers() == [COMPOSED]
    assert len(diary.entries(APART, "R\u00d6CKCHEN")) == 2
    assert {entry.garment for entry in diary.entries()} == {"r\u00f6ckchen"}
    assert [text for _, text in notes(diary, APART)] == ["loose"]
    assert [value for _, value, _ in tapes(diary, APART)] == [920]
    removed = delete_wearer(diary, APART)
    assert (removed["fittings"], removed["notes"], removed["tape measurements"]) == (2, 1, 1)
    assert diary.entries() == []
