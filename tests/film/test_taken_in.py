"""A folder and a film are given to the command, and come out alike."""

import shutil

import numpy as np
import pytest
from web.opened import SAMPLES

from fitcheck.core.errors import PhotoError
from fitcheck.core.progress import unheard
from fitcheck.film.read_film import FilmedView
from fitcheck.film.taken_in import of_film, of_folder


def test_a_folder(tmp_path):
    for name in ("front.jpg", "back.jpg"):
        shutil.copy(SAMPLES / "control" / name, tmp_path)
    taken = of_folder(tmp_path)(unheard)
    assert [photo.view for photo in taken.photos] == ["front", "back"]
    assert taken.paths == {"front": tmp_path / "front.jpg", "back": tmp_path / "back.jpg"}
    assert taken.says == ""


def test_a_folder_without_photos_is_known_before_anything_is_opened(tmp_path):
    with pytest.raises(PhotoError, match="holds no photo"):
        of_folder(tmp_path)


def test_a_film_whose_views_lie_beside_the_report(tmp_path, film):
    taken = of_film(film, {}, tmp_path)(unheard)
    assert [photo.view for photo in taken.photos] == ["front", "right", "back", "left"]
    assert taken.paths["back"] == tmp_path / "fitting_views" / "back.jpg"
    assert taken.paths["back"].is_file()
    assert taken.says.splitlines()[0].startswith("front: 0:0")


def test_a_view_that_is_not_there_is_said(tmp_path, monkeypatch):
    views = (FilmedView(view, np.full((1440, 1080, 3), 128, np.uint8), 0.3, None, "", 1.0, 3.0, 8) for view in ("front", "back", "left"))
    monkeypatch.setattr("fitcheck.film.read_film.read_film", lambda film, moments, tell: tuple(views))
    taken = of_film(tmp_path / "fitting.mp4", {}, tmp_path)(unheard)
    assert set(taken.paths) == {"front", "back", "left"}
    assert [line.partition(":")[0] for line in taken.says.splitlines()] == ["front", "back", "left", "right"]
    assert "say when, as --at right=0:12" in taken.says
