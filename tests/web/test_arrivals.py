"""A photo that came in is looked at and put into its fitting, or refused and removed."""

import asyncio
from concurrent.futures import Future, ThreadPoolExecutor
from pathlib import Path

import pytest

from fitcheck.core.errors import PhotoError, UsageError
from fitcheck.web.arrivals import in_list, must_take_more, take_in
from fitcheck.web.case import Look
from fitcheck.web.work import Work


class Sees:
    """A bench whose reader says the same of every photo."""

    def __init__(self, look: Look | PhotoError) -> None:
        self.look = look

    def ask(self, task: object, path: Path) -> "Future[Look]":
        answer: Future[Look] = Future()
        answer.set_exception(self.look) if isinstance(self.look, PhotoError) else answer.set_result(self.look)
        return answer


@pytest.fixture
def work(tmp_path) -> Work:
    return Work("w", tmp_path)


def come(work: Work, name: str, look: Look | PhotoError, named: str = ""):
    path = work.folder / f"{name}.jpg"
    path.write_bytes(b"x")
    with ThreadPoolExecutor(1) as pool:  # the browser of other tests has a loop going in this thread
        return pool.submit(asyncio.run, take_in(Sees(look), work, path, named)).result()


def look(seems, trouble: str = "") -> Look:
    return Look((3, 4), seems, trouble, b"small")


def test_it_is_the_view_that_it_seems_to_be(work):
    held = come(work, "one", look("back"), named="front")
    assert (held.view, work.photos) == ("back", (held,))
    assert in_list(held) == {"id": "one", "view": "back", "seems": "back", "trouble": ""}


def test_where_nothing_tells_it_is_what_its_file_is_called(work):
    assert come(work, "one", look(None), named="left").view == "left"
    assert come(work, "two", look(None), named="holiday").view is None


def test_a_view_that_is_taken_is_left_open(work):
    come(work, "one", look("front"))
    assert come(work, "two", look("front")).view is None


def test_a_fifth_takes_the_place_of_one_of_its_view_that_had_better_be_taken_again(work):
    for name, view, trouble in (("a", "front", ""), ("b", "right", "Half turned."), ("c", "back", ""), ("d", "left", "")):
        come(work, name, look(view, trouble))
    come(work, "e", look("right"))
    assert [(held.id, held.view) for held in work.photos] == [("a", "front"), ("c", "back"), ("d", "left"), ("e", "right")]
    assert not (work.folder / "b.jpg").exists()


def test_a_fifth_without_such_a_place_is_refused_and_removed(work):
    for name, view in (("a", "front"), ("b", "right"), ("c", "back"), ("d", "left")):
        come(work, name, look(view))
    with pytest.raises(PhotoError, match="4 photos at most"):
        come(work, "e", look("right"))
    assert not (work.folder / "e.jpg").exists()
    assert len(work.photos) == 4


def test_what_cannot_be_used_is_removed_and_spoken_of_without_its_name_on_disk(work):
    with pytest.raises(PhotoError, match=r"^this photo is damaged\."):
        come(work, "4f2a", PhotoError("4f2a.jpg is damaged.", "Take it again."))
    assert list(work.folder.iterdir()) == []


@pytest.mark.parametrize("state", ["waiting", "checking", "done"])
def test_nothing_is_put_into_what_is_being_checked(work, state):
    work.state = state
    with pytest.raises(UsageError, match="being checked"):
        must_take_more(work)
