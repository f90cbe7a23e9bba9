"""Photos as the browser gets them."""

import io

import numpy as np
from PIL import Image

from fitcheck.web.picture import jpeg, jpeg_of


def test_upright_small_and_without_metadata(tmp_path):
    """A picture that lies on its side, as a phone stores it; its camera and its place are not handed on."""
    exif = Image.Exif()
    exif[274] = 6  # turn a quarter clockwise
    exif[315] = "Secret Photographer"
    Image.new("RGB", (1200, 900), "red").save(tmp_path / "a.jpg", exif=exif)
    data = jpeg(tmp_path / "a.jpg", 400)
    shown = Image.open(io.BytesIO(data))
    assert shown.size == (300, 400)
    assert not shown.getexif()
    assert b"Secret" not in data


def test_pixels_as_they_are():
    rgb = np.zeros((40, 30, 3), np.uint8)
    rgb[:, 15:] = 255
    shown = np.asarray(Image.open(io.BytesIO(jpeg_of(rgb))))
    assert shown.shape == (40, 30, 3)
    assert shown[20, 5].max() < 20
    assert shown[20, 25].min() > 235
