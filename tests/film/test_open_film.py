import av
import numpy as np
import pytest

from fitcheck.core.errors import PhotoError
from fitcheck.film import open_film
from fitcheck.film.open_film import looks


def plain(path, sides=(1080, 1440), seconds=6.0, rate=10, codec="libx264"):
    with av.open(str(path), "w") as film:
        stream = film.add_stream(codec, rate=rate)
        stream.width, stream.height, stream.pix_fmt = *sides, "yuv420p"
        stream.options = {"preset": "ultrafast"}
        for i in range(round(seconds * rate)):
            frame = av.VideoFrame.from_ndarray(np.full((sides[1], sides[0], 3), 20 + i % 200, np.uint8), format="rgb24")
            frame.pts = i
            for packet in stream.encode(frame):
                film.mux(packet)
        for packet in stream.encode():
            film.mux(packet)
    return path


def said(path):
    with pytest.raises(PhotoError) as refused:
        list(looks(path))
    return str(refused.value)


@pytest.mark.parametrize("codec", ["libx264", "libx265"])
def test_pictures_come_upright_in_order_and_no_oftener_than_asked(tmp_path, codec):
    seen = list(looks(plain(tmp_path / "a.mp4", codec=codec), often=2.0))
    times = [look.time_s for look in seen]
    assert times == sorted(times)
    assert 11 <= len(seen) <= 13
    assert np.diff(times).min() >= 0.45
    assert all(look.rgb.shape == (1440, 1080, 3) for look in seen)


def test_webm_is_read(tmp_path):
    assert len(list(looks(plain(tmp_path / "a.webm", codec="libvpx"), often=1.0))) >= 5


def test_4k_is_brought_to_1440_rows(tmp_path):
    film = plain(tmp_path / "a.mp4", sides=(2160, 3840), rate=2)
    assert next(looks(film)).rgb.shape == (2560, 1440, 3)


def test_too_few_pixels(tmp_path):
    assert "720 x 1280 pixels" in said(plain(tmp_path / "a.mp4", sides=(720, 1280)))


def test_too_short(tmp_path):
    assert "only 3 seconds" in said(plain(tmp_path / "a.mp4", seconds=3.2))


def test_too_long(tmp_path, monkeypatch):
    monkeypatch.setattr(open_film, "LONGEST_S", 4.0)
    assert "is longer than" in said(plain(tmp_path / "a.mp4"))


def test_no_film(tmp_path):
    (tmp_path / "a.mp4").write_text("not a film")
    assert "no film that can be read" in said(tmp_path / "a.mp4")
    (tmp_path / "b.mp4").write_bytes(b"")
    assert "no film that can be read" in said(tmp_path / "b.mp4")


def test_cut_off(tmp_path):
    whole = plain(tmp_path / "a.mp4").read_bytes()
    (tmp_path / "b.mp4").write_bytes(whole[: len(whole) // 2])
    assert "cut off" in said(tmp_path / "b.mp4")


def test_missing(tmp_path):
    assert "There is no film" in said(tmp_path / "none.mp4")
