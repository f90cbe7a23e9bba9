"""Opening photos: what is read from them, and which files are refused with one clear sentence."""

import hashlib
import io
import os
import struct
import subprocess
import sys
import zlib
from pathlib import Path

import numpy as np
import pillow_heif
import pytest
from PIL import Image
from PIL.TiffImagePlugin import IFDRational

from fitcheck.core.errors import PhotoError
from fitcheck.photo.load import find_views, load_photo

pillow_heif.register_heif_opener()  # to write the pictures tried here

SAMPLE = Path(__file__).parents[2] / "sample_images" / "control" / "front.jpg"
EXIF_IFD, ORIENTATION, MAKE, MODEL = 0x8769, 274, 271, 272
FOCAL_LENGTH, FOCAL_35MM, PLANE_X, PLANE_UNIT, WIDTH, HEIGHT = 37386, 41989, 41486, 41488, 40962, 40963


def quarters(width: int = 600, height: int = 800, mode: str = "RGB") -> Image.Image:
    """Red top left, green top right, blue bottom left, grey bottom right."""
    picture = np.full((height, width, 3), 128, np.uint8)
    picture[: height // 2, : width // 2] = [200, 30, 30]
    picture[: height // 2, width // 2 :] = [30, 200, 30]
    picture[height // 2 :, : width // 2] = [30, 30, 200]
    return Image.fromarray(picture).convert(mode)


def exif(image: Image.Image, base: dict[int, object], camera: dict[int, object]) -> Image.Exif:
    tags = image.getexif()
    tags.update(base)
    tags.get_ifd(EXIF_IFD).update(camera)
    return tags


def corner_colours(rgb: np.ndarray) -> list[str]:
    height, width = rgb.shape[:2]
    spots = [rgb[y, x].astype(int) for y in (height // 8, -height // 8) for x in (width // 8, -width // 8)]
    return ["RGB"[int(s.argmax())] if np.ptp(s) > 60 else "-" for s in spots]


def test_scene_photo_reads_lens_camera_and_digest():
    photo = load_photo(SAMPLE, "front")
    assert photo.rgb.shape == (2000, 1500, 3)
    assert photo.rgb.dtype == np.uint8
    assert photo.focal_px == pytest.approx(52 * 2500 / 43.2666, rel=1e-5)  # 52 mm equivalent; the diagonal of 1500 x 2000 is 2500
    assert photo.camera_model == "Scene Maker"
    assert photo.sha256 == hashlib.sha256(SAMPLE.read_bytes()).hexdigest()
    assert photo.flags == ()


@pytest.mark.parametrize("orientation", range(1, 9))
def test_every_exif_orientation_is_undone(tmp_path, orientation):
    """The camera stores the upright picture turned; whatever the tag, the result is upright (EXIF 2.32, tag 274)."""
    undo = {
        2: Image.Transpose.FLIP_LEFT_RIGHT, 3: Image.Transpose.ROTATE_180, 4: Image.Transpose.FLIP_TOP_BOTTOM, 5: Image.Transpose.TRANSPOSE,
        6: Image.Transpose.ROTATE_90, 7: Image.Transpose.TRANSVERSE, 8: Image.Transpose.ROTATE_270,
    }  # fmt: skip
    upright = quarters()
    stored = upright if orientation == 1 else upright.transpose(undo[orientation])
    stored.save(tmp_path / "front.jpg", exif=exif(stored, {ORIENTATION: orientation}, {FOCAL_35MM: 26}), quality=95)
    photo = load_photo(tmp_path / "front.jpg", "front")
    assert photo.rgb.shape == (800, 600, 3)
    assert corner_colours(photo.rgb) == ["R", "G", "B", "-"]
    assert photo.focal_px == pytest.approx(26 * 1000 / 43.2666, rel=1e-5)


def test_heic_round_trip_keeps_picture_lens_and_turn(tmp_path):
    stored = quarters().transpose(Image.Transpose.ROTATE_90)
    tags = exif(stored, {ORIENTATION: 6, MAKE: "Maker", MODEL: "Maker One"}, {FOCAL_35MM: 26})
    stored.save(tmp_path / "Front.HEIC", exif=tags.tobytes(), quality=90)  # as bytes: the writer then stores the turn as phones do
    photo = load_photo(tmp_path / "Front.HEIC", "front")
    assert photo.rgb.shape == (800, 600, 3)
    assert corner_colours(photo.rgb) == ["R", "G", "B", "-"]
    assert photo.focal_px == pytest.approx(26 * 1000 / 43.2666, rel=1e-5)
    assert photo.camera_model == "Maker One"


def test_focal_length_from_the_focal_plane(tmp_path):
    # 5.7 mm at 2000 pixels a centimetre (5 um pixels): 1140 px.
    image = quarters()
    tags = {FOCAL_LENGTH: IFDRational(57, 10), PLANE_X: IFDRational(2000, 1), PLANE_UNIT: 3}
    image.save(tmp_path / "front.jpg", exif=exif(image, {}, tags))
    assert load_photo(tmp_path / "front.jpg", "front").focal_px == pytest.approx(1140.0, rel=1e-3)
    # the same picture taken at twice the size and reduced since
    image.save(tmp_path / "back.jpg", exif=exif(image, {}, {**tags, WIDTH: 1200, HEIGHT: 1600}))
    assert load_photo(tmp_path / "back.jpg", "back").focal_px == pytest.approx(570.0, rel=1e-3)


@pytest.mark.parametrize(
    "tags",
    [
        {},
        {FOCAL_35MM: 0},
        {FOCAL_35MM: 26, WIDTH: 800, HEIGHT: 800},  # cropped since: the middle and the angle of view are lost
        {FOCAL_LENGTH: IFDRational(5, 0), PLANE_X: IFDRational(2000, 1)},
        {FOCAL_LENGTH: IFDRational(5, 1)},
    ],
)
def test_focal_length_is_none_where_the_file_does_not_say(tmp_path, tags):
    image = quarters()
    image.save(tmp_path / "front.jpg", exif=exif(image, {}, tags))
    assert load_photo(tmp_path / "front.jpg", "front").focal_px is None


@pytest.mark.parametrize("width", [3000, 4200, 6000])
def test_large_photos_are_reduced_with_their_focal_length(tmp_path, width):
    image = quarters(width, width * 4 // 3)
    image.save(tmp_path / "front.jpg", exif=exif(image, {}, {FOCAL_35MM: 26}), quality=80)
    photo = load_photo(tmp_path / "front.jpg", "front")
    height_now, width_now = photo.rgb.shape[:2]
    assert width_now * height_now <= 16_100_000
    assert width_now * height_now > 10_000_000
    assert photo.focal_px == pytest.approx(26 * np.hypot(width_now, height_now) / 43.2666, rel=1e-3)
    assert corner_colours(photo.rgb) == ["R", "G", "B", "-"]


@pytest.mark.parametrize(
    ("mode", "suffix"), [("L", "jpg"), ("CMYK", "jpg"), ("RGBA", "png"), ("P", "png"), ("LA", "png"), ("RGBA", "webp")]
)
def test_every_colour_mode_becomes_rgb(tmp_path, mode, suffix):
    path = tmp_path / f"front.{suffix}"
    quarters(mode=mode).save(path)
    rgb = load_photo(path, "front").rgb
    assert rgb.shape == (800, 600, 3)
    if mode in ("L", "LA"):
        expected = quarters(mode="L").getpixel((10, 10))
        assert rgb[10, 10] == pytest.approx([expected] * 3, abs=2)
    else:
        assert corner_colours(rgb) == ["R", "G", "B", "-"]


def test_transparent_places_become_white_and_16_bits_are_kept_in_range(tmp_path):
    clear = np.zeros((500, 500, 4), np.uint8)
    Image.fromarray(clear).save(tmp_path / "front.png")
    assert (load_photo(tmp_path / "front.png", "front").rgb == 255).all()
    Image.fromarray(np.full((500, 500), 0x8000, np.uint16)).save(tmp_path / "back.png")
    assert (load_photo(tmp_path / "back.png", "back").rgb == 128).all()


def test_small_photos_are_flagged(tmp_path):
    quarters(700, 900).save(tmp_path / "front.jpg")
    assert load_photo(tmp_path / "front.jpg", "front").flags == ("low_resolution",)


def claimed_png(width: int, height: int) -> bytes:
    """A png of a few bytes that claims any size."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    header = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + header + chunk(b"IDAT", zlib.compress(b"\0" * 100)) + chunk(b"IEND", b"")


def half(data: bytes) -> bytes:
    return data[: len(data) // 2]


def encoded(image: Image.Image, form: str) -> bytes:
    out = io.BytesIO()
    image.save(out, form)
    return out.getvalue()


def without_palette() -> bytes:
    """A png of palette colours whose palette is lost."""
    data = encoded(quarters().convert("P"), "PNG")
    start = data.index(b"PLTE") - 4
    return data[:start] + data[start + 12 + int.from_bytes(data[start : start + 4], "big") :]


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"dear diary, today I sewed\n" * 50, "not a photo"),
        (b"", "not a photo"),
        (half(SAMPLE.read_bytes()), "damaged or incomplete"),
        (SAMPLE.read_bytes()[:300], "(not a photo|damaged)"),
        (encoded(Image.new("RGB", (1, 1)), "JPEG"), "1 x 1 pixels"),
        (encoded(Image.new("RGB", (3000, 399)), "JPEG"), "3000 x 399 pixels"),
        (claimed_png(30000, 30000), "more than 80 megapixels"),
        (claimed_png(9100, 9100), "more than 80 megapixels"),
        (claimed_png(2000, 2000), "damaged or incomplete"),
        (half(encoded(quarters(), "HEIF")), "damaged or incomplete"),
        (encoded(quarters(), "GIF"), "not a photo"),
        (without_palette(), "damaged or incomplete"),
    ],
)
def test_unusable_files_are_refused_in_one_sentence(tmp_path, data, says):
    path = tmp_path / "front.jpg"
    path.write_bytes(data)
    with pytest.raises(PhotoError, match=says) as caught:
        load_photo(path, "front")
    assert "front.jpg" in caught.value.problem
    assert caught.value.problem.count(".") <= 2  # the file name's and the sentence's own
    assert caught.value.next_step
    assert caught.value.exit_code == 3


def test_missing_file_and_folder_are_refused(tmp_path):
    with pytest.raises(PhotoError, match="cannot be read"):
        load_photo(tmp_path / "front.jpg", "front")
    with pytest.raises(PhotoError, match="cannot be read"):
        load_photo(tmp_path, "front")


def test_views_are_found_by_name_in_any_case(tmp_path):
    for name in ("LEFT.JPG", "Front.heic", "back.png", "notes.txt", "right.txt", "front_old.jpg"):
        (tmp_path / name).write_bytes(b"")
    (tmp_path / "right.jpg").mkdir()
    assert {view: path.name for view, path in find_views(tmp_path).items()} == {
        "front": "Front.heic",
        "back": "back.png",
        "left": "LEFT.JPG",
    }
    assert list(find_views(tmp_path)) == ["front", "back", "left"]


def test_unusable_folders_are_refused(tmp_path):
    with pytest.raises(PhotoError, match="no folder"):
        find_views(tmp_path / "missing")
    with pytest.raises(PhotoError, match="holds no photo"):
        find_views(tmp_path)
    for name in ("front.jpg", "FRONT.png"):
        (tmp_path / name).write_bytes(b"")
    with pytest.raises(PhotoError, match="front view twice"):
        find_views(tmp_path)


@pytest.mark.parametrize("kind", [1, 2, 3, 4, 5, 7, 9, 10, 11, 12])
@pytest.mark.parametrize("tag", [MAKE, ORIENTATION, EXIF_IFD, FOCAL_35MM, FOCAL_LENGTH, WIDTH])
def test_tags_of_a_wrong_type_do_not_stop_a_photo(tmp_path, tag, kind):
    """Each tag written as each type of EXIF, with a count that does not fit either."""
    base = tag in (MAKE, ORIENTATION, EXIF_IFD)
    entry = struct.pack("<HHI4s", tag, kind, 1, b"\xff\x00\x01\x7f")
    pointer = b"" if base else struct.pack("<HHII", EXIF_IFD, 4, 1, 26)
    block = struct.pack("<H", 1) + (entry if base else pointer) + struct.pack("<I", 0)
    block += b"" if base else struct.pack("<H", 1) + entry + struct.pack("<I", 0)
    Image.new("L", (500, 600), "white").save(tmp_path / "front.jpg", exif=b"Exif\0\0II*\0\x08\0\0\0" + block)
    photo = load_photo(tmp_path / "front.jpg", "front")
    assert min(photo.rgb.shape[:2]) == 500


def test_a_folder_that_cannot_be_is_one_sentence(tmp_path):
    for name in ("x" * 300, "absent", "a\0b"):
        with pytest.raises(PhotoError, match="folder"):
            find_views(tmp_path / name)


def test_a_named_pipe_is_refused_and_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "front.jpg")
    path = find_views(tmp_path)["front"]
    with pytest.raises(PhotoError, match="no plain file"):
        load_photo(path, "front")


def test_a_folder_behind_a_closed_one_is_one_sentence():
    """In a process of its own that gives up being root, whom nothing is closed to."""
    code = """if True:
        import os, tempfile
        from pathlib import Path
        from fitcheck.core.errors import PhotoError
        from fitcheck.photo.load import find_views
        closed = Path(tempfile.mkdtemp())
        (closed / "inside").mkdir()
        closed.chmod(0)
        if os.getuid() == 0:
            os.setuid(65534)
        try:
            find_views(closed / "inside")
        except PhotoError as error:
            assert "cannot be read" in str(error)
        else:
            raise AssertionError"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False, cwd=Path(__file__).parents[2])
    assert done.returncode == 0, done.stderr
