"""A new fitting: photos, which view they are, and the form."""

import pytest
from web.asked import Asked
from web.opened import SAMPLES

from fitcheck.web.case import FilmMoment, Look
from fitcheck.web.work import Held, Work

PHOTO = (SAMPLES / "forward_shoulder" / "right.jpg").read_bytes()


@pytest.fixture
def draft(asked) -> Work:
    """Begun by the button."""
    place = asked.post("/fittings").headers["location"]
    return asked.house.bench.get(place.removeprefix("/fitting/"))


def held(work: Work, id: str, view=None) -> None:
    path = work.folder / f"{id}.jpg"
    path.write_bytes(b"x")
    work.add(Held(id, path, Look((3, 4), view, "It is <dark>.", b"\xff\xd8" + id.encode()), view))


def told(asked: Asked, work: Work) -> str:
    return asked.get(f"/fitting/{work.id}").text


def test_the_next_round_begins_with_what_was_said(recorded):
    place = recorded.post("/fittings", {"like": "3"}).headers["location"]
    text = recorded.get(place).text
    assert 'name="wearer" value="Berta"' in text
    assert 'name="garment" value="coat"' in text
    assert '<option value="Anna"></option><option value="Berta"></option>' in text


def test_another_garment_begins_with_the_last_wearer_and_no_garment(recorded):
    text = recorded.get(recorded.post("/fittings").headers["location"]).text
    assert 'name="wearer" value="Berta"' in text
    assert 'name="garment" value=""' in text


def test_a_photo_tells_its_view_whatever_it_is_called(asked, draft):
    answer = asked.post(f"/fitting/{draft.id}/photo?named=front", PHOTO)
    assert (answer.data["view"], answer.data["seems"]) == ("right", "right")
    (photo,) = draft.photos
    assert asked.get(f"/fitting/{draft.id}/photos/{photo.id}.jpg").body == photo.look.small
    assert asked.post(f"/fitting/{draft.id}/photo", PHOTO).data["view"] is None  # one such is there already
    assert f'data-photo="{photo.id}"' in told(asked, draft)


def test_what_is_no_photo_is_refused_and_leaves_nothing(asked, draft):
    for data in (b"", b"text" * 9, PHOTO[:3000]):
        answer = asked.post(f"/fitting/{draft.id}/photo", data)
        assert answer.status == 400
        assert "photo" in answer.data["problem"]
        assert str(draft.folder) not in answer.data["problem"]
    assert not draft.photos
    assert list(draft.folder.iterdir()) == []


def test_nothing_comes_in_while_it_is_checked(asked, draft):
    draft.state = "checking"
    for what in ("photo", "film"):
        answer = asked.post(f"/fitting/{draft.id}/{what}", PHOTO, "*/*")
        assert answer.status == 400
        assert answer.data["problem"] == "This fitting is being checked. Wait until it is done."
    assert list(draft.folder.iterdir()) == []


def test_what_is_no_film(asked, draft):
    answer = asked.post(f"/fitting/{draft.id}/film", PHOTO, "*/*")
    assert "no film" in answer.data["problem"]
    assert draft.state == "draft"
    assert list(draft.folder.iterdir()) == []


def test_she_says_which_view_it_is_and_takes_it_away(asked, draft):
    held(draft, "a", "front")
    asked.post(f"/fitting/{draft.id}/view", {"photo": "a", "view": "left"})
    assert draft.photo("a").view == "left"
    asked.post(f"/fitting/{draft.id}/view", {"photo": "a", "view": ""})
    assert draft.photo("a").view is None
    for wrong in ({"photo": "a", "view": "above"}, {"photo": "b", "view": "left"}):
        assert asked.post(f"/fitting/{draft.id}/view", wrong).status == 400
    assert "It is &lt;dark&gt;." in told(asked, draft)
    asked.post(f"/fitting/{draft.id}/take-away", {"photo": "a"})
    assert not draft.photos
    assert list(draft.folder.iterdir()) == []
    assert asked.get(f"/fitting/{draft.id}/photos/a.jpg").status == 404


@pytest.mark.parametrize(
    ("views", "says"),
    [
        ((), "There is no photo yet."),
        (("front", None), "Of one photo it is not known which view it is."),
        (("front", "front", "back"), "Two photos are said to be the front view."),
    ],
)
def test_what_is_missing_is_said_before_anything_is_checked(asked, draft, views, says):
    for number, view in enumerate(views):
        held(draft, str(number), view)
    answer = asked.post(f"/fitting/{draft.id}/check", {"wearer": "Anna", "garment": "blouse"})
    assert answer.status == 400
    assert says in answer.text
    assert 'name="garment" value="blouse"' in answer.text  # what was typed stays
    assert draft.state == "draft"


def test_all_faults_of_the_form_are_told_at_once(asked, draft):
    held(draft, "a", "front")
    answer = asked.post(f"/fitting/{draft.id}/check", {"tape_bust": "9", "tape_waist": "wide", "hand_sleeve_tight_R": "x"})
    assert answer.status == 400
    alert = answer.text.split('class="flag problem"')[1].split("</p>")[0]
    for word in ("Bust, at its fullest", "Waist", "Sleeve too tight at the upper arm, your right"):
        assert word in alert


def test_checked_with_what_was_told(asked, draft):
    asked.post(f"/fitting/{draft.id}/photo", PHOTO)
    answer = asked.post(f"/fitting/{draft.id}/check", {"wearer": "Anna", "tape_height": "165", "hand_sleeve_tight_R": "1,2"})
    assert answer.headers["location"] == f"/fitting/{draft.id}"
    assert draft.state == "done"
    assert draft.facts.wearer == "Anna"
    assert draft.facts.tape.height == draft.facts.height_mm == 1650
    assert draft.facts.observed == {"sleeve_tight_R": 12.0}


def test_the_form_is_kept_as_it_is_typed(asked, draft):
    asked.post(f"/fitting/{draft.id}/telling", {"garment": "blo", "tape_waist": "x" * 900})
    text = told(asked, draft)
    assert 'name="garment" value="blo"' in text
    assert f'value="{"x" * 300}"' in text


def test_moments_of_a_film_that_is_not_there(asked, draft):
    for form in ({"view": "front", "moment": "0"}, {"view": "above", "moment": "0"}, {"view": "front", "moment": "x"}):
        assert asked.post(f"/fitting/{draft.id}/moment", form).status == 400
    assert asked.get(f"/fitting/{draft.id}/film/0.jpg").status == 404
    draft.moments = (FilmMoment(1.5, b"\xff\xd8moment"),)
    assert asked.get(f"/fitting/{draft.id}/film/0.jpg").body == b"\xff\xd8moment"
