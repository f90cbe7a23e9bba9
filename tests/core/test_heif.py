"""Photos as some phones keep them."""

import io

from PIL import Image

from fitcheck.core.heif import read_heif


def test_a_heic_photo_is_opened_after_any_number_of_calls():
    for _ in range(2):
        read_heif()
    data = io.BytesIO()
    Image.new("RGB", (64, 48), "red").save(data, "HEIF")
    assert Image.open(data, formats=("HEIF",)).size == (64, 48)
