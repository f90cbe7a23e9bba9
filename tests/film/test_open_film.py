import re
import struct
from fractions import Fraction

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
    """Where the file says so, before anything is read."""
    monkeypatch.setattr(open_film, "LONGEST_S", 4.0)
    film = plain(tmp_path / "a.mp4")
    with pytest.raises(PhotoError, match="is longer than"):
        next(looks(film))


def test_too_long_though_the_file_does_not_say(tmp_path, monkeypatch):
    monkeypatch.setattr(open_film, "LONGEST_S", 4.0)
    monkeypatch.setattr(open_film, "_said_s", lambda film: 0.0)
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


def test_cut_off_where_what_is_there_can_be_read(tmp_path):
    """Its description stands first, and says how long the whole was."""
    whole = plain(tmp_path / "a.mkv", seconds=12.0).read_bytes()
    (tmp_path / "b.mkv").write_bytes(whole[: len(whole) // 2])
    assert re.search(r"b\.mkv was cut off .*: of its 12 seconds only the first [4-8] are there", said(tmp_path / "b.mkv"))


def test_missing(tmp_path):
    assert "There is no film" in said(tmp_path / "none.mp4")


def turned_by_a_quarter(film):
    """The same file with a track that says: turn it clockwise by a quarter (the matrix of `tkhd`; ISO base media file format)."""
    data = bytearray(film.read_bytes())
    at = data.index(b"tkhd") + 4 + 40
    data[at : at + 36] = struct.pack(">9i", 0, 1 << 16, 0, -(1 << 16), 0, 0, 0, 0, 1 << 30)
    film.write_bytes(data)
    return film


def test_turned_upright_as_the_track_says(tmp_path):
    """What lies at the upper left in the file is at the upper right when it is turned clockwise."""
    film = turned_by_a_quarter(film_of(tmp_path / "a.mp4", lambda i: corner_black(1440, 1080)))
    picture = next(looks(film)).rgb
    assert picture.shape == (1440, 1080, 3)
    assert picture[:100, -100:].mean() < 40
    assert picture[:100, :100].mean() > 180


def corner_black(width, height):
    picture = np.full((height, width, 3), 220, np.uint8)
    picture[:200, :200] = 0
    return picture


def film_of(path, picture, times=tuple(i / 5 for i in range(30))):
    """A film of pictures at some times, seconds."""
    with av.open(str(path), "w") as film:
        stream = film.add_stream("libx264", rate=5, options={"preset": "ultrafast"})
        stream.height, stream.width = picture(0).shape[:2]
        stream.pix_fmt = "yuv420p"
        stream.time_base = stream.codec_context.time_base = Fraction(1, 600)
        for i, time_s in enumerate(times):
            frame = av.VideoFrame.from_ndarray(picture(i), format="rgb24")
            frame.pts, frame.time_base = round(600 * time_s), Fraction(1, 600)
            film.mux(stream.encode(frame))
        film.mux(stream.encode(None))
    return path


def test_a_variable_frame_rate_keeps_its_own_times(tmp_path):
    """Grey levels tell which picture it is: ten a second at first, then two."""
    times = [*(i / 10 for i in range(20)), *(2 + i / 2 for i in range(10))]
    film = film_of(tmp_path / "a.mp4", lambda i: np.full((1440, 1080, 3), 20 + 6 * i, np.uint8), times)
    seen = [(look.time_s, round((look.rgb.mean() - 20) / 6)) for look in looks(film, often=4.0)]
    assert len(seen) >= 15
    assert all(abs(time_s - times[i]) < 0.02 for time_s, i in seen)


@pytest.mark.parametrize(("transfer", "white", "grey"), [("hlg", 0.75, 0.38), ("pq", 0.58, 0.38)])
def test_hdr_looks_as_it_would_without(tmp_path, transfer, white, grey):
    """A sheet of paper is white, a grey card is grey, black is black: signals of 203, 26 and 0 cd/m2 (ITU-R BT.2408, from memory)."""
    seen = next(looks(in_hdr(tmp_path / "a.mp4", transfer, (0.0, grey, white)))).rgb
    black, middle, bright = (float(part.mean()) for part in np.array_split(seen, 3, axis=1))
    assert black < 12
    assert 85 < middle < 145  # 118 in a picture without
    assert bright > 225


def in_hdr(path, transfer, signals):
    """Three upright stripes of those signals, 0..1, in ten bits."""
    with av.open(str(path), "w") as film:
        options = {"preset": "ultrafast", "x265-params": "log-level=error"}
        stream = film.add_stream("libx265", rate=2, options=options)
        stream.width, stream.height, stream.pix_fmt = 1080, 1440, "yuv420p10le"
        marks = {"color_trc": {"hlg": 18, "pq": 16}[transfer], "color_primaries": 9, "colorspace": 9, "color_range": 1}
        levels = np.repeat([64 + round(876 * signal) for signal in signals], 360).astype(np.uint16)
        planes = [np.tile(levels, (1440, 1)), *(np.full((720, 540), 512, np.uint16) for _ in range(2))]
        for name, value in marks.items():
            setattr(stream.codec_context, name, value)
        for i in range(12):
            frame = av.VideoFrame(1080, 1440, "yuv420p10le")
            for plane, values in zip(frame.planes, planes, strict=True):
                wide = np.zeros((plane.height, plane.line_size // 2), np.uint16)
                wide[:, : plane.width] = values
                plane.update(wide)
            for name, value in marks.items():
                setattr(frame, name, value)
            frame.pts = i
            film.mux(stream.encode(frame))
        film.mux(stream.encode(None))
    return path
