"""Photos as the browser gets them: upright, no larger than they are shown, without anything of the file's metadata."""

import io
from pathlib import Path
from typing import TYPE_CHECKING

from PIL import Image, ImageOps

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

QUALITY = 85


def jpeg(path: Path, height_px: int) -> bytes:
    """A photo that was taken in, small, as JPEG data."""
    if path.suffix == ".heic":
        import pillow_heif

        pillow_heif.register_heif_opener()
    with Image.open(path) as image:
        image.draft("RGB", (height_px, height_px))
        upright = ImageOps.exif_transpose(image).convert("RGB")
        upright.thumbnail((2 * height_px, height_px))
        return _data(upright)


def jpeg_of(rgb: "NDArray[np.uint8]") -> bytes:
    """Pixels, shape (H, W, 3), as JPEG data."""
    return _data(Image.fromarray(rgb))


def _data(image: Image.Image) -> bytes:
    encoded = io.BytesIO()
    image.save(encoded, "JPEG", quality=QUALITY, exif=b"", icc_profile=None)
    return encoded.getvalue()
