"""A film that came in; reading it is replaced here by a film of known moments."""

from collections.abc import Callable

import numpy as np
import pytest
from PIL import Image

from fitcheck.core.records import View
from fitcheck.film.open_film import Look as Seen
from fitcheck.film.read_film import READ, FilmedView
from fitcheck.web import filming
from fitcheck.web.case import CasePhoto, Look
from fitcheck.web.filming import LOOKED_AT, MOST_MOMENTS, STRIP_PX, Strip


def look_at(time_s: float) -> Seen:
    return Seen(time_s, np.full((320, 240, 3), 90, np.uint8))


def view(name: View, start_s: float, end_s: float) -> FilmedView:
    return FilmedView(name, np.zeros((4, 3, 3), np.uint8), 0.4, None, "", start_s, end_s, 10)


def times(strip: Strip) -> list[float]:
    return [moment.time_s for moment in strip.moments]


def test_one_picture_a_second(tmp_path):
    strip = Strip()
    for k in range(41):
        strip.see(look_at(k / 4))
    assert times(strip) == list(range(11))
    (tmp_path / "a.jpg").write_bytes(strip.moments[0].small)
    assert Image.open(tmp_path / "a.jpg").size == (STRIP_PX * 3 // 4, STRIP_PX)


def test_of_a_long_film_ever_further_apart_and_never_more(tmp_path):
    strip = Strip()
    for k in range(600):
        strip.see(look_at(float(k)))
        assert len(strip.moments) <= MOST_MOMENTS
    apart = np.diff(times(strip))
    assert set(apart) == {8.0}  # doubled at 91, 181 and 361 s
    assert times(strip)[0] == 0


@pytest.fixture
def film(monkeypatch, tmp_path):
    """Ten seconds, out of which her back is taken."""

    def read(path, tell, seen: Callable[[Seen], None]):
        for k in range(11):
            seen(look_at(float(k)))
        return (view("back", 1.0, 3.0),)

    monkeypatch.setattr(filming, "read_film", read)
    monkeypatch.setattr(filming, "read_moment", lambda path, name, moment_s: view(name, moment_s - 0.5, moment_s + 0.5))
    monkeypatch.setattr(filming, "save_views", lambda views, folder: {one.view: folder / f"{one.view}.png" for one in views})
    monkeypatch.setattr(filming, "look", lambda path: Look((3, 4), "back", "", path.name.encode()))
    return tmp_path / "film.mp4"


def test_its_views_are_photos_with_their_doubt_and_say_when_they_were(film, tmp_path):
    made = filming.filmed(film, tmp_path, lambda *told: None)
    (one,) = made.views
    assert one.photo == CasePhoto("back", tmp_path / "back.png", 0.4)
    assert one.says == "0:01.0 to 0:03.0, mean of 10 pictures"
    assert one.look.small == b"back.png"
    assert [moment.time_s for moment in made.moments] == list(range(11))


def test_last_the_views_are_looked_at(film, tmp_path):
    told = []
    filming.filmed(film, tmp_path, lambda stage, share, *more: told.append((stage, share)))
    assert told[-1] == ("looking at the views", LOOKED_AT)
    assert LOOKED_AT > READ


def test_another_moment(film, tmp_path):
    one = filming.at_moment(film, "left", 7.5, tmp_path)
    assert one.photo == CasePhoto("left", tmp_path / "left.png", 0.4)
    assert one.says == "0:07.0 to 0:08.0, mean of 10 pictures"
