"""One fitting on the table: what changes of it, and what of it lies on the disk."""

import stat

import pytest

from fitcheck.body.placed import PlacedFile, read_placed
from fitcheck.core.errors import PhotoError
from fitcheck.core.fitting import FittingFacts
from fitcheck.web.case import CasePhoto, FilmView, Look
from fitcheck.web.choices import Choices
from fitcheck.web.corrections import Corrections
from fitcheck.web.work import MOST_PHOTOS, Held, Work

LOOK = Look((3, 4), None, "", b"")
PLACED = PlacedFile.model_validate(
    {"point": [{"name": "shoulder_point", "side": "wearer_right", "view": "right", "xy": [12.5, 40.25], "sure": True}]}
)


@pytest.fixture
def work(tmp_path) -> Work:
    (tmp_path / "w").mkdir()
    return Work("w", tmp_path / "w")


def held(work: Work, id: str, view=None, **more) -> Held:
    path = work.folder / f"{id}.jpg"
    path.write_bytes(b"x")
    return Held(id, path, LOOK, view, **more)


def test_photos_come_in_go_and_are_named_by_her(work):
    for id, view in (("a", "back"), ("b", None), ("c", "front")):
        work.add(held(work, id, view))
    assert work.in_order() == (CasePhoto("front", work.folder / "c.jpg"), CasePhoto("back", work.folder / "a.jpg"))
    work.say_view("b", "right")
    work.say_view("a", None)
    assert [photo.view for photo in work.in_order()] == ["front", "right"]
    work.remove("c")
    assert work.photo("c") is None
    assert work.photo("b").view == "right"
    assert sorted(path.name for path in work.folder.iterdir()) == ["a.jpg", "b.jpg"]


def test_one_more_than_there_are_views_is_refused_and_leaves_no_file(work):
    for number in range(MOST_PHOTOS):
        work.add(held(work, str(number)))
    with pytest.raises(PhotoError, match="4 photos at most"):
        work.add(held(work, "more"))
    assert len(list(work.folder.iterdir())) == MOST_PHOTOS


def test_a_view_of_a_film_takes_the_place_of_an_earlier_one_of_that_view(work):
    work.add(held(work, "a", "front"))
    work.add(held(work, "b", "back"))
    path = work.folder / "film.jpg"
    path.write_bytes(b"x")
    made = work.add_filmed(FilmView(CasePhoto("front", path, 0.4), LOOK, "0:01 to 0:03"))
    assert {photo.id for photo in work.photos} == {"b", made.id}
    assert made.says == "0:01 to 0:03"
    assert work.in_order()[0] == CasePhoto("front", path, 0.4)


def test_a_case_is_what_holds_now_told_as_she_chose(work):
    work.facts = FittingFacts(wearer="Anna")
    work.put_right(work.corrections.then(PLACED))
    case = work.case((), Choices(units="in", finest="fine"))
    assert (case.id, case.facts.wearer, case.facts.units, case.facts.finest) == ("w", "Anna", "in", "fine")
    assert case.placed == PLACED
    assert work.case((), Choices(), Corrections()).placed == PlacedFile()


def test_every_answer_is_another_version(work):
    photos = (CasePhoto("front", work.folder / "a.jpg"),)
    work.answered(photos, ("front",))
    assert (work.state, work.version, work.checked, work.views) == ("done", 1, photos, ("front",))
    work.put_right(work.corrections.then(PLACED))
    assert work.version == 2


def test_what_is_put_right_is_kept_for_her_alone_and_can_be_read_by_the_command_line(work):
    work.put_right(work.corrections.then(PLACED))
    path = work.folder / "placed.toml"
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    (point,), seams = read_placed(path, [])
    assert (point.name, point.side, point.view, point.xy_px.tolist()) == ("shoulder_point", "wearer_right", "right", [12.5, 40.25])
    assert not seams
    assert [one.name for one in work.folder.iterdir()] == ["placed.toml"]


def test_how_far_it_is(work):
    work.told("measuring", 0.7)
    assert (work.stage, work.share, work.at) == ("measuring", 0.7, None)


def test_cleared_away_nothing_of_it_is_left(work):
    work.add(held(work, "a"))
    work.clear()
    assert not work.folder.exists()
    work.clear()
