"""Recorded photos read back for a page: upright, reduced, or known to be gone."""

import hashlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from fitcheck.core.diary import DiaryPhoto
from fitcheck.diary.photos import read_photo

UPRIGHT = (600, 800)  # width, height


def picture() -> Image.Image:
    """Dark above, light below, red at the left edge."""
    rgb = np.full((UPRIGHT[1], UPRIGHT[0], 3), 40, np.uint8)
    rgb[UPRIGHT[1] // 2 :] = 200
    rgb[:, :100] = (220, 30, 30)
    return Image.fromarray(rgb)


def recorded(path: Path, kept: str = "reference") -> DiaryPhoto:
    return DiaryPhoto("front", str(path), kept, hashlib.sha256(path.read_bytes()).hexdigest(), UPRIGHT)


@pytest.mark.parametrize(("least", "height"), [(800, 800), (500, 800), (400, 400), (150, 200)])
@pytest.mark.parametrize("sideways", [False, True])
def test_jpegs_are_upright_and_reduced_while_high_enough(tmp_path, least, height, sideways):
    exif = Image.Exif()
    image = picture()
    if sideways:  # as a phone stores it: turned, with the way back in the file
        image, exif[0x0112] = image.transpose(Image.Transpose.ROTATE_90), 6
    image.save(tmp_path / "a.jpg", quality=95, exif=exif)
    rgb = read_photo(recorded(tmp_path / "a.jpg"), least)
    assert rgb.shape == (height, height * 3 // 4, 3)
    assert rgb[height // 4, -20].mean() < 60 < 180 < rgb[-20, -20].mean()
    assert rgb[20, 5, 0] > 180 > 80 > rgb[20, 5, 1]


@pytest.mark.parametrize(("least", "height"), [(800, 800), (400, 400), (250, 267)])
def test_other_kinds_are_reduced_too(tmp_path, least, height):
    picture().convert("RGBA").save(tmp_path / "a.png")
    rgb = read_photo(recorded(tmp_path / "a.png"), least)
    assert rgb.shape[0] == height
    assert rgb.shape[2] == 3


def test_gone_changed_or_cut_short(tmp_path):
    path = tmp_path / "a.jpg"
    picture().save(path)
    photo = recorded(path)
    whole = path.read_bytes()
    picture().rotate(180).save(path)
    assert read_photo(photo, 100) is None
    path.write_bytes(whole[: len(whole) // 2])
    assert read_photo(recorded(path, "copy"), 100) is None
    path.unlink()
    assert read_photo(photo, 100) is None
