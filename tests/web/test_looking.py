"""A photo as soon as it is there."""

import io
import shutil

import pytest
from PIL import Image
from web.opened import SAMPLES

from fitcheck.core.errors import PhotoError
from fitcheck.web.case import CasePhoto
from fitcheck.web.looking import SHOWN_PX, look, opened


def test_a_photo_tells_its_view_and_is_shown_upright_and_without_metadata(tmp_path):
    """As a phone stores it, lying on its side; its camera is not handed on."""
    exif = Image.Exif()
    exif[274], exif[315] = 6, "Secret Photographer"
    lying = Image.open(SAMPLES / "forward_shoulder" / "right.jpg").transpose(Image.Transpose.ROTATE_90)
    lying.save(tmp_path / "a.jpg", exif=exif, quality=90)
    found = look(tmp_path / "a.jpg")
    assert found.seems == "right"
    shown = Image.open(io.BytesIO(found.small))
    assert shown.height == SHOWN_PX
    assert shown.width < shown.height
    assert b"Secret" not in found.small
    assert found.size_px == lying.size[::-1]


def test_nobody_in_it_is_said(tmp_path):
    Image.new("RGB", (900, 1200), "grey").save(tmp_path / "wall.jpg")
    found = look(tmp_path / "wall.jpg")
    assert found.seems is None
    assert found.trouble


def test_what_is_damaged_is_refused(tmp_path):
    (tmp_path / "a.jpg").write_bytes((SAMPLES / "control" / "front.jpg").read_bytes()[:4000])
    with pytest.raises(PhotoError):
        look(tmp_path / "a.jpg")


def test_photos_are_named_by_their_views_and_keep_the_doubt_of_a_film(tmp_path):
    shutil.copy(SAMPLES / "control" / "front.jpg", tmp_path / "x1.jpg")
    plain, filmed = (opened([CasePhoto("front", tmp_path / "x1.jpg", px)])[0] for px in (0.0, 0.4))
    assert plain.name == "front.jpg"
    assert filmed.coarse_px**2 - plain.coarse_px**2 == pytest.approx(0.16)
