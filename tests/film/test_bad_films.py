"""Films of which no fitting can be made, or only in part: one sentence each, and what to do."""

import cv2
import numpy as np
import pytest
from film.conftest import SAMPLE
from film.drawn_film import Shot, write_film

from fitcheck.core.errors import FitcheckError, PhotoError
from fitcheck.film.read_film import as_photos, read_film, save_views
from fitcheck.pipeline import check_fit

ONE_STAND = Shot(rate=6, stand_s=5.5, order=("front",))
CARD = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_100))


def filmed(tmp_path, picture, shot=ONE_STAND):
    """A film of one stand, drawn from one picture."""
    cv2.imwrite(str(tmp_path / "front.jpg"), picture)
    return write_film(tmp_path, tmp_path / "fitting.mp4", shot)


def front():
    return cv2.imread(str(SAMPLE / "front.jpg"))


def said(film):
    with pytest.raises(PhotoError) as refused:
        read_film(film)
    return refused.value


def test_upside_down(tmp_path):
    error = said(filmed(tmp_path, front(), Shot(rate=6, stand_s=5.5, order=("front",), turned=180)))
    assert error.problem == "fitting.mp4 seems to lie on its side or upside down."
    assert "Turn the film upright" in error.next_step


def test_half_turned_all_the_time(tmp_path, monkeypatch):
    monkeypatch.setattr("fitcheck.film.which_view.looks_like", lambda pose, stickers: None)
    assert "you stand half turned" in said(filmed(tmp_path, front())).problem


def test_no_card_and_no_floor_sheets(tmp_path):
    """Where the card's squares are, there is grey paper."""
    picture = front()
    corners, ids, _ = CARD.detectMarkers(picture)
    for quad, number in zip(corners, ids.ravel(), strict=True):
        if number < 12:
            cv2.fillConvexPoly(picture, cv2.convexHull(quad.reshape(4, 2)).astype(np.int32), (160, 160, 160))
    views = read_film(filmed(tmp_path, picture))
    with pytest.raises(FitcheckError) as refused:
        check_fit(as_photos(views, save_views(views, tmp_path / "views")))
    assert "card" in refused.value.problem + refused.value.next_step


def test_two_people(tmp_path):
    """The larger one is measured, and it is said."""
    one = front()
    half = one[:, one.shape[1] // 8 : -one.shape[1] // 8]
    smaller = cv2.resize(half, None, fx=0.9, fy=0.9, interpolation=cv2.INTER_AREA)
    picture = np.concatenate([smaller, half[: smaller.shape[0]]], axis=1)
    views = read_film(filmed(tmp_path, picture, Shot(rate=6, stand_s=5.5, order=("front",), sides=(1440, 1080))))
    result = check_fit(as_photos(views, save_views(views, tmp_path / "views")))
    assert "several_people" in result.photos[0].flags


def test_an_empty_room(tmp_path):
    pictures = np.random.default_rng(1).integers(90, 160, (36, 48, 3), dtype=np.uint8)
    wall = cv2.resize(pictures, (1080, 1440), interpolation=cv2.INTER_NEAREST)
    assert "Nobody is seen in empty.mp4" in said(_still(tmp_path / "empty.mp4", wall, 6, 6.0)).problem


def test_never_still(tmp_path):
    wall = cv2.resize(np.random.default_rng(1).integers(0, 255, (72, 96, 3), dtype=np.uint8), (1080, 1440), interpolation=cv2.INTER_NEAREST)
    assert "no moment in which you stand still" in said(_still(tmp_path / "shaken.mp4", wall, 8, 6.0, step_px=40)).problem


def _still(path, picture, rate, seconds, step_px=0):
    import av

    with av.open(str(path), "w") as film:
        stream = film.add_stream("libx264", rate=rate, options={"preset": "ultrafast"})
        stream.width, stream.height, stream.pix_fmt = picture.shape[1], picture.shape[0], "yuv420p"
        for i in range(round(rate * seconds)):
            film.mux(stream.encode(av.VideoFrame.from_ndarray(np.roll(picture, i * step_px, axis=1), format="rgb24")))
        film.mux(stream.encode(None))
    return path
