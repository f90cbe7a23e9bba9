import struct

import pytest

from fitcheck.film.track_facts import TrackFacts, track_facts


def box(kind, inside):
    return struct.pack(">I4s", 8 + len(inside), kind) + inside


def metadata(items, versioned=False):
    """A `meta` box as phones write it: keys, and values by number."""
    keys = b"".join(box(b"mdta", name.encode()) for name, _, _ in items)
    values = b"".join(
        box(struct.pack(">I", i), box(b"data", struct.pack(">II", kind, 0) + payload)) for i, (_, kind, payload) in enumerate(items, 1)
    )
    inside = box(b"hdlr", b"\0" * 20) + box(b"keys", struct.pack(">II", 0, len(items)) + keys) + box(b"ilst", values)
    return box(b"meta", (b"\0\0\0\0" if versioned else b"") + inside)


FOCAL = ("com.apple.quicktime.camera.focal_length.35mm_equivalent", 21, struct.pack(">i", 26))
MAKE = ("com.apple.quicktime.make", 1, b"Invented")
MODEL = ("com.apple.quicktime.model", 1, b"Phone 3")


def written(tmp_path, moov):
    path = tmp_path / "a.mov"
    path.write_bytes(box(b"ftyp", b"qt  ") + box(b"mdat", b"\1" * 5000) + box(b"moov", moov))
    return path


def test_focal_length_from_the_track_and_phone_from_the_film(tmp_path):
    moov = box(b"mvhd", b"\0" * 100) + box(b"trak", metadata([FOCAL])) + metadata([MAKE, MODEL])
    assert track_facts(written(tmp_path, moov)) == TrackFacts(26.0, "Invented Phone 3")


def test_with_a_version_before_the_boxes(tmp_path):
    assert track_facts(written(tmp_path, metadata([FOCAL], versioned=True))).equivalent_mm == 26.0


def test_a_number_written_as_text(tmp_path):
    assert track_facts(written(tmp_path, metadata([(FOCAL[0], 1, b"24.5")]))).equivalent_mm == 24.5


@pytest.mark.parametrize("payload", [struct.pack(">i", 0), struct.pack(">i", 26000), b"", b"abc"])
def test_nonsense_says_nothing(tmp_path, payload):
    assert track_facts(written(tmp_path, metadata([(FOCAL[0], 21, payload)]))).equivalent_mm is None


def test_files_that_say_nothing(tmp_path):
    path = tmp_path / "b.mp4"
    for data in (b"", b"nothing", box(b"moov", b""), struct.pack(">I4s", 0, b"moov"), struct.pack(">I4sQ", 1, b"free", 2**62)):
        path.write_bytes(data)
        assert track_facts(path) == TrackFacts()
    whole = written(tmp_path, metadata([FOCAL])).read_bytes()
    for cut in range(0, len(whole), 97):
        path.write_bytes(whole[:cut])
        track_facts(path)
