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


def two():
    """The same woman twice, once smaller."""
    one = front()
    half = one[:, one.shape[1] // 8 : -one.shape[1] // 8]
    smaller = cv2.resize(half, None, fx=0.9, fy=0.9, interpolation=cv2.INTER_AREA)
    return np.concatenate([smaller, half[: smaller.shape[0]]], axis=1)


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
    views = read_film(filmed(tmp_path, two(), Shot(rate=6, stand_s=5.5, order=("front",), sides=(1440, 1080))))
    result = check_fit(as_photos(views, save_views(views, tmp_path / "views")))
    assert "several_people" in result.photos[0].flags


def test_two_people_of_whom_one_moves(tmp_path):
    """The second walks behind her all the time."""
    pair = two()
    half = pair.shape[1] // 2
    steps = [np.concatenate([np.roll(pair[:, :half], 30 * (-1) ** i * (i % 8), axis=1), pair[:, half:]], axis=1) for i in range(8)]
    rgb = [cv2.cvtColor(cv2.resize(step, (1440, 1080), interpolation=cv2.INTER_AREA), cv2.COLOR_BGR2RGB) for step in steps]
    error = said(_written(tmp_path / "pair.mp4", [rgb[i % 8] for i in range(48)], 8))
    assert error.problem == "Two people are in pair.mp4, and never are both still."


def test_an_empty_room(tmp_path):
    pictures = np.random.default_rng(1).integers(90, 160, (36, 48, 3), dtype=np.uint8)
    wall = cv2.resize(pictures, (1080, 1440), interpolation=cv2.INTER_NEAREST)
    assert "Nobody is seen in empty.mp4" in said(_still(tmp_path / "empty.mp4", wall, 6, 6.0)).problem


def test_never_still(tmp_path):
    wall = cv2.resize(np.random.default_rng(1).integers(0, 255, (72, 96, 3), dtype=np.uint8), (1080, 1440), interpolation=cv2.INTER_NEAREST)
    assert "no moment in which you stand still" in said(_still(tmp_path / "shaken.mp4", wall, 8, 6.0, step_px=40)).problem


def _still(path, picture, rate, seconds, step_px=0):
    return _written(path, [np.roll(picture, i * step_px, axis=1) for i in range(round(rate * seconds))], rate)


def _written(path, pictures, rate):
    import av

    with av.open(str(path), "w") as film:
        stream = film.add_stream("libx264", rate=rate, options={"preset": "ultrafast"})
        stream.height, stream.width, stream.pix_fmt = *pictures[0].shape[:2], "yuv420p"
        for picture in pictures:
            film.mux(stream.encode(av.VideoFrame.from_ndarray(picture, format="rgb24")))
        film.mux(stream.encode(None))
    return path
