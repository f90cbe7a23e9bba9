"""Open a photo file as an upright RGB array, or say in one sentence why it cannot be used."""

import hashlib
import io
import math
import stat
import struct
from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from pathlib import Path
from typing import SupportsFloat

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, UnidentifiedImageError

from fitcheck.core.camera import FULL_FRAME_DIAGONAL_MM, Photo
from fitcheck.core.errors import PhotoError
from fitcheck.core.heif import read_heif
from fitcheck.core.lengths import MM_PER_INCH
from fitcheck.core.records import VIEWS, View
from fitcheck.photo.compression import coarse_px, steps, too_hard

SUFFIXES = (".jpg", ".jpeg", ".png", ".webp", ".heic", ".heif")
_FORMATS = ("JPEG", "PNG", "WEBP")  # beside heic

THREADS = 2  # photos opened at a time; decoding leaves Python's lock alone
MAX_FILE_BYTES = 200_000_000  # several times the largest photo of a camera
REFUSED_ABOVE_PIXELS = 80_000_000  # no phone photo of a fitting needs more; a crafted file may claim any size
REDUCED_ABOVE_PIXELS = 16_000_000  # what is measured gains nothing from more, and all takes longer (estimate)
REFUSED_BELOW_SIDE_PX = 400  # a whole person is then some 350 px high, and a sticker 5 px (estimate)
LOW_RESOLUTION_SIDE_PX = 1000  # below, a millimetre at 3 m is about half a pixel through a phone's main lens

# EXIF 2.32 tags.
_MAKE, _MODEL, _ORIENTATION, _EXIF_IFD = 271, 272, 274, 0x8769
_FOCAL_LENGTH, _FOCAL_35MM = 37386, 41989
_WIDTH, _HEIGHT = 40962, 40963
_PLANE_X_RESOLUTION, _PLANE_UNIT = 41486, 41488
SAME_SHAPE = 0.02  # of long over short side, as taken and now: a picture whose shape differs by more was cropped (estimate)
SHORTEST_EQUIVALENT_MM, LONGEST_EQUIVALENT_MM = 8, 500  # of a lens that photographs people; what lies beyond is a wrong tag (estimate)
_PLANE_UNIT_MM = {2: MM_PER_INCH, 3: 10.0, 4: 1.0, 5: 0.001}

_TURNS = {  # what brings a picture of each orientation upright
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}

# what decoders raise on damaged files, and on tags of another type than theirs
_BROKEN = (
    *(OSError, SyntaxError, ValueError, TypeError, LookupError, ArithmeticError),
    *(AttributeError, AssertionError, EOFError, struct.error, RuntimeError),
)


def find_views(folder: Path) -> dict[View, Path]:
    """Find the photos of one fitting: files named front, right, back or left, in capitals or not.

    Returns
    -------
    dict
        In the order front, right, back, left; only those that exist.

    Raises
    ------
    PhotoError
        If the folder is missing, holds none of the four photos, or holds one view twice.
    """
    found: dict[View, Path] = {}
    photos = _photos(folder, "Give the folder that holds front.jpg, right.jpg, back.jpg and left.jpg.")
    for view in VIEWS:
        files = [path for path in photos if path.stem.lower() == view]
        if len(files) > 1:
            names = " and ".join(p.name for p in files)
            raise PhotoError(f'The folder "{folder}" holds the {view} view twice: {names}.', "Leave only one of them there.")
        if files:
            found[view] = files[0]
    if not found:
        raise PhotoError(
            f'The folder "{folder}" holds no photo named front, right, back or left.',
            "Name your photos front.jpg, right.jpg, back.jpg and left.jpg (right: your right side faces the camera), or png, webp, heic.",
        )
    return found


def load_folder(folder: Path) -> list[Photo]:
    """Open every photo of a folder, whatever its name (as the view `front`, which says nothing).

    Raises
    ------
    PhotoError
        If there is no such folder, or as `load_photo`.
    """
    return [load_photo(path, "front") for path in _photos(folder, "Give the folder that holds the photos.")]


def _photos(folder: Path, advice: str) -> list[Path]:
    """What a folder holds under the name of a photo, sorted."""
    try:
        return sorted(path for path in folder.iterdir() if path.suffix.lower() in SUFFIXES and not path.is_dir())
    except (FileNotFoundError, NotADirectoryError):
        raise PhotoError(f'There is no folder "{folder}".', advice) from None
    except (OSError, ValueError) as error:  # closed to this user, or no possible name
        raise PhotoError(f'The folder "{str(folder)[:200]}" cannot be read ({getattr(error, "strerror", error)}).', advice) from None


def load_views(paths: Mapping[View, Path]) -> list[Photo]:
    """Open the photos of one fitting, two at a time: decoders leave Python's lock alone.

    Raises
    ------
    PhotoError
        As `load_photo`, of the first photo that cannot be used.
    """
    with ThreadPoolExecutor(THREADS) as pool:
        return list(pool.map(load_photo, paths.values(), paths))


def load_photo(path: Path, view: View, max_pixels: int = REDUCED_ABOVE_PIXELS) -> Photo:
    """Open one photo, turn it upright and bring it to 8 bit RGB.

    Parameters
    ----------
    path : Path
    view : View
    max_pixels : int
        A larger photo is reduced to this many pixels; its focal length is scaled along.

    Returns
    -------
    Photo
        With the flag `low_resolution` where its short side is under 1000 px. Nothing of the file's metadata but lens and
        camera is kept.

    Raises
    ------
    PhotoError
        If the file is missing, no image, damaged, under 400 px on its short side, or over 80 megapixels.
    """
    data = _read(path)
    name = path.name
    try:
        image = _opened(data)
    except Image.DecompressionBombError:
        raise _too_many_pixels(name) from None
    except UnidentifiedImageError:
        raise PhotoError(f"{name} is not a photo.", "Give a jpg, png, webp or heic file.") from None
    except _BROKEN:
        raise _damaged(name) from None
    with image:
        if image.width * image.height > REFUSED_ABOVE_PIXELS:
            raise _too_many_pixels(name)
        if min(image.size) < REFUSED_BELOW_SIDE_PX:
            raise PhotoError(
                f"{name} is only {image.width} x {image.height} pixels, too few to measure anything.",
                f"Take it with at least {LOW_RESOLUTION_SIDE_PX} pixels on the short side and send the camera's original file.",
            )
        full_width, full_height = image.size
        compressed = steps(image)
        if too_hard(compressed, min(image.size)):
            raise PhotoError(
                f"{name} was compressed so hard that thin seam lines are lost in it.",
                "Send the camera's original file, not a copy from a messenger.",
            )
        try:  # reading a png's tags decodes all of it, so damage may show at any of these
            tags = _tags(image)
            focal_px, camera_model = _focal_px(image, tags), _camera_model(tags)
            rgb = _decode(image, tags, max_pixels)
        except _BROKEN:
            raise _damaged(name) from None
    if focal_px is not None:
        focal_px *= math.sqrt(rgb.shape[0] * rgb.shape[1] / (full_width * full_height))
    coarse = coarse_px(compressed)
    flags = (*(["low_resolution"] if min(rgb.shape[:2]) < LOW_RESOLUTION_SIDE_PX else []), *(["compressed"] if coarse > 0 else []))
    return Photo(view, name, hashlib.sha256(data).hexdigest(), rgb, focal_px, camera_model, flags, coarse)


def _opened(data: bytes) -> Image.Image:
    """A picture file, not decoded yet."""
    if data[4:8] != b"ftyp":
        return Image.open(io.BytesIO(data), formats=_FORMATS)
    read_heif()
    return Image.open(io.BytesIO(data), formats=("HEIF",))


def _read(path: Path) -> bytes:
    try:
        about = path.stat()
        if not stat.S_ISREG(about.st_mode):  # a pipe would be waited for without end
            raise PhotoError(f"{path.name} cannot be read: it is no plain file.", "Give the camera's own jpg or heic file.")
        if about.st_size > MAX_FILE_BYTES:
            raise PhotoError(f"{path.name} is larger than {MAX_FILE_BYTES // 10**6} megabytes.", "Give the camera's own jpg or heic file.")
        return path.read_bytes()
    except (OSError, ValueError) as error:
        raise PhotoError(
            f'The photo "{str(path)[:200]}" cannot be read ({getattr(error, "strerror", error)}).',
            "Check the file name and that you may read the file.",
        ) from None


def _too_many_pixels(name: str) -> PhotoError:
    return PhotoError(
        f"{name} claims more than {REFUSED_ABOVE_PIXELS // 10**6} megapixels.",
        "Give the camera's own file, or one reduced to 16 megapixels.",
    )


def _damaged(name: str) -> PhotoError:
    return PhotoError(f"{name} is damaged or incomplete.", "Copy it from the camera again.")


def _tags(image: Image.Image) -> dict[int, object]:
    """The tags that are used here, as far as they can be read: a photo is no worse for wrong ones."""
    tags: dict[int, object] = {}
    with suppress(*_BROKEN):
        exif = image.getexif()
        _take(exif, (_MAKE, _MODEL, _ORIENTATION), tags)
        _take(exif.get_ifd(_EXIF_IFD), (_FOCAL_LENGTH, _FOCAL_35MM, _WIDTH, _HEIGHT, _PLANE_X_RESOLUTION, _PLANE_UNIT), tags)
    return tags


def _take(block: Mapping[int, object], wanted: Sequence[int], tags: dict[int, object]) -> None:
    for tag in wanted:
        with suppress(*_BROKEN):
            tags[tag] = block[tag]


def _decode(image: Image.Image, tags: Mapping[int, object], max_pixels: int) -> NDArray[np.uint8]:
    reduce_by = math.sqrt(max(1.0, image.width * image.height / max_pixels))
    target = (round(image.width / reduce_by), round(image.height / reduce_by))
    if reduce_by > 1:
        image.draft("RGB", target)  # jpeg only: the decoder itself halves the picture where that still leaves enough pixels
    flat, turn = _to_rgb(image), _TURNS.get(int(_number(tags.get(_ORIENTATION))))
    flat = flat if turn is None else flat.transpose(turn)
    rgb = np.asarray(flat)
    if rgb.shape[0] * rgb.shape[1] > max_pixels:
        upright = target if (flat.width > flat.height) == (target[0] > target[1]) else target[::-1]
        rgb = cv2.resize(rgb, upright, interpolation=cv2.INTER_AREA).astype(np.uint8, copy=False)
    return np.ascontiguousarray(rgb)


def _to_rgb(image: Image.Image) -> Image.Image:
    """Any mode as RGB: transparent places become white, 16 bit grey keeps its upper 8 bits."""
    if image.mode == "RGB":
        image.load()
        return image
    if image.mode.startswith("I"):
        return Image.fromarray(np.clip(np.asarray(image).astype(np.int64) >> 8, 0, 255).astype(np.uint8)).convert("RGB")
    if image.has_transparency_data:
        alpha = image.convert("RGBA")
        flat = Image.new("RGB", image.size, "white")
        flat.paste(alpha, mask=alpha.getchannel("A"))
        return flat
    return image.convert("RGB")


def _camera_model(tags: Mapping[int, object]) -> str:
    maker, model = (str(tags.get(tag, "")).replace("\0", "").strip() for tag in (_MAKE, _MODEL))
    return model if model.lower().startswith(maker.lower()) else f"{maker} {model}".strip()


def _focal_px(image: Image.Image, tags: Mapping[int, object]) -> float | None:
    """Focal length in pixels of the full-size picture, None when the file does not say or the picture was cropped since."""
    taken = sorted((_number(tags.get(_WIDTH)), _number(tags.get(_HEIGHT))))
    now = sorted(image.size)
    if taken[0] > 0 and abs(taken[1] / taken[0] / (now[1] / now[0]) - 1) > SAME_SHAPE:
        return None
    diagonal_px = math.hypot(*now)
    equivalent_mm = _number(tags.get(_FOCAL_35MM))
    if _believable(equivalent_mm):
        return equivalent_mm * diagonal_px / FULL_FRAME_DIAGONAL_MM
    focal_mm, per_unit = _number(tags.get(_FOCAL_LENGTH)), _number(tags.get(_PLANE_X_RESOLUTION))
    unit_mm = _PLANE_UNIT_MM.get(int(_number(tags.get(_PLANE_UNIT, 2))), 0.0)
    if focal_mm <= 0 or per_unit <= 0 or unit_mm <= 0:
        return None
    focal_px = focal_mm * per_unit / unit_mm
    if taken[0] > 0:  # the resolution belongs to the picture as taken
        focal_px *= diagonal_px / math.hypot(*taken)
    return focal_px if _believable(focal_px / diagonal_px * FULL_FRAME_DIAGONAL_MM) else None


def _believable(equivalent_mm: float) -> bool:
    """Whether a focal length, as 35 mm equivalent, can be that of a camera that photographs people."""
    return SHORTEST_EQUIVALENT_MM <= equivalent_mm <= LONGEST_EQUIVALENT_MM


def _number(value: object) -> float:
    """A tag's number; 0 where it is absent or nonsense (a rational with denominator 0 reads as nan)."""
    try:
        number = float(value) if isinstance(value, SupportsFloat) else 0.0
    except (ArithmeticError, ValueError):
        return 0.0
    return number if math.isfinite(number) else 0.0
