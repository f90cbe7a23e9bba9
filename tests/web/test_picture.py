"""Photos as the browser gets them."""

import io

import numpy as np
from PIL import Image

from fitcheck.web.picture import jpeg_of, small


def test_small_in_its_shape():
    shown = Image.open(io.BytesIO(small(np.full((1200, 900, 3), 200, np.uint8), 400)))
    assert shown.size == (300, 400)
    assert not shown.getexif()


def test_pixels_as_they_are():
    rgb = np.zeros((40, 30, 3), np.uint8)
    rgb[:, 15:] = 255
    shown = np.asarray(Image.open(io.BytesIO(jpeg_of(rgb))))
    assert shown.shape == (40, 30, 3)
    assert shown[20, 5].max() < 20
    assert shown[20, 25].min() > 235
