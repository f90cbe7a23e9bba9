"""How hard a JPEG was compressed, and what that costs."""

from pathlib import Path

import pytest
from PIL import Image

from fitcheck.core.errors import PhotoError
from fitcheck.photo.compression import coarse_px, steps, too_hard
from fitcheck.photo.load import load_photo

SAMPLE = Path(__file__).parents[2] / "sample_images" / "control" / "front.jpg"


@pytest.mark.parametrize(("quality", "expected"), [(50, 1.0), (75, 0.5), (25, 2.0), (90, 0.2)])
def test_steps_against_quality_50_as_encoders_scale_them(tmp_path, quality, expected):
    """Usual encoders scale the tables by 50 / quality below 50, and by 2 - quality / 50 above."""
    Image.new("RGB", (500, 500)).save(tmp_path / "front.jpg", quality=quality)
    assert steps(Image.open(tmp_path / "front.jpg")) == pytest.approx(expected, rel=0.03)


def test_what_is_no_jpeg_has_no_steps(tmp_path):
    Image.new("RGB", (500, 500)).save(tmp_path / "front.png")
    assert steps(Image.open(tmp_path / "front.png")) == 0
    assert coarse_px(0) == coarse_px(0.5) == 0
    assert coarse_px(2) > coarse_px(1) > 0.3


def test_a_photo_compressed_hard_says_so_and_beyond_a_floor_is_refused(tmp_path):
    image = Image.open(SAMPLE)
    for quality in (92, 40, 15):
        image.save(tmp_path / f"{quality}.jpg", quality=quality)
    assert load_photo(tmp_path / "92.jpg", "front").flags == ()
    hard = load_photo(tmp_path / "40.jpg", "front")
    assert hard.flags == ("compressed",)
    assert hard.coarse_px > 0.5
    with pytest.raises(PhotoError, match="compressed so hard that thin seam lines are lost"):
        load_photo(tmp_path / "15.jpg", "front")


def test_a_small_picture_bears_less():
    assert not too_hard(1.25, 1500)
    assert too_hard(1.25, 900)
    assert not too_hard(0.8, 900)
