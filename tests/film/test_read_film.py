import stat
from dataclasses import replace

import cv2
import numpy as np
import pytest
from film.conftest import SAMPLE

from fitcheck.core.errors import PhotoError
from fitcheck.film.read_film import READ, FilmedView, as_photos, read_film, save_views
from fitcheck.photo.load import load_photo


@pytest.fixture(scope="module")
def told():
    return []


@pytest.fixture(scope="module")
def views(film, told):
    return read_film(film, tell=lambda stage, share, *more: told.append((stage, share)))


def test_the_four_views_are_found_where_she_stands(views):
    assert [filmed.view for filmed in views] == ["front", "right", "back", "left"]
    for k, filmed in enumerate(views):  # two seconds of standing, one of turning
        assert filmed.start_s >= 3 * k - 0.5
        assert filmed.end_s <= 3 * k + 2.4
        assert filmed.pictures >= 4


def test_each_view_shows_what_the_photo_showed(views):
    for filmed in views:
        still = cv2.resize(
            load_photo(SAMPLE / f"{filmed.view}.jpg", filmed.view).rgb, filmed.rgb.shape[1::-1], interpolation=cv2.INTER_AREA
        )
        assert np.abs(filmed.rgb.astype(float) - still).mean() < 4.0  # grey levels, sway and compression in it


def test_how_far_it_is_follows_the_film(views, told, film):
    shares = [share for stage, share in told if stage == "reading the film"]
    assert shares == sorted(shares)
    assert shares[0] == 0.0
    assert np.diff(shares).max() < 0.03  # it lasts eleven seconds, and is looked at eight times in each
    assert READ - 0.03 < shares[-1] <= READ
    assert told[-1] == ("taking the sharpest pictures", READ)


def test_written_for_her_eyes_and_opened_with_the_doubt(views, tmp_path):
    paths = save_views(views, tmp_path / "views")
    assert all(stat.S_IMODE(path.stat().st_mode) == 0o600 for path in paths.values())
    photos = as_photos(views, paths)
    assert [photo.view for photo in photos] == ["front", "right", "back", "left"]
    assert all(photo.coarse_px >= filmed.sd_px for photo, filmed in zip(photos, views, strict=True))


def test_focal_length_and_phone_go_with_the_files(tmp_path):
    view = FilmedView("front", np.full((1440, 1080, 3), 128, np.uint8), 0.3, 26.0, "Invented Phone 3", 1.0, 3.0, 8)
    photo = as_photos([view], save_views([view], tmp_path))[0]
    assert photo.camera_model == "Invented Phone 3"
    assert abs(photo.focal_px - 26 * np.hypot(1440, 1080) / np.hypot(36, 24)) < 0.1
    assert photo.coarse_px >= 0.3


def test_another_moment(film):
    chosen = {filmed.view: filmed for filmed in read_film(film, {"right": 4.0})}
    assert chosen["right"].start_s >= 3.3
    assert chosen["right"].end_s <= 4.7


def test_a_moment_beyond_the_end(film):
    with pytest.raises(PhotoError, match="no picture at 1:40"):
        read_film(film, {"right": 100.0})


def test_says_when_she_stood():
    view = FilmedView("back", np.zeros((4, 4, 3), np.uint8), 0.0, None, "", 62.04, 65.0, 8)
    assert view.says == "back: 1:02.0 to 1:05.0, mean of 8 pictures"
    assert replace(view, why="half a turn later").says == "back: 1:02.0 to 1:05.0, mean of 8 pictures (half a turn later)"
