"""Photos as the browser gets them: no larger than they are shown, without anything of the file's metadata."""

import io
from typing import TYPE_CHECKING

from PIL import Image

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

QUALITY = 85


def small(rgb: "NDArray[np.uint8]", height_px: int) -> bytes:
    """Pixels, shape (H, W, 3), at most so high, as JPEG data."""
    image = Image.fromarray(rgb)
    image.thumbnail((2 * height_px, height_px))
    return _data(image)


def jpeg_of(rgb: "NDArray[np.uint8]") -> bytes:
    """Pixels, shape (H, W, 3), as JPEG data."""
    return _data(Image.fromarray(rgb))


def _data(image: Image.Image) -> bytes:
    encoded = io.BytesIO()
    image.save(encoded, "JPEG", quality=QUALITY)
    return encoded.getvalue()
