"""Lenses calibrated once (`fitcheck calibrate`) and kept in the user's own settings folder: one file, any number of cameras."""

import math
import os
import tempfile
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Annotated, Literal

import platformdirs
from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError

from fitcheck.core.camera import FULL_FRAME_DIAGONAL_MM, LensProfile, Photo
from fitcheck.core.errors import OutputError, UsageError
from fitcheck.core.plain_file import MOST_LETTERS, read_plain
from fitcheck.core.toml_file import is_there, meant

FILE_NAME = "lenses.json"
SAME_SHAPE = 0.005  # crops differ by more
MOST_LENSES, LONGEST_NAME = 1000, 200  # in a file; letters
# What a lens can be like; wider than any that photographs people (estimates).
LIMITS = {
    "shape": (1.0, 10.0),
    "focal": (0.15, 15.0),
    "focal_sd": (1e-6, 0.5),
    **dict.fromkeys(("k1", "k2", "k3"), (-2.0, 2.0)),
    **dict.fromkeys(("k1_sd", "k2_sd"), (1e-9, 2.0)),
    **dict.fromkeys(("p1", "p2"), (-0.1, 0.1)),
}
SAME_ZOOM = 0.02  # the 35 mm equivalent is written in whole millimetres


def _possible(lens: LensProfile) -> LensProfile:
    within = all(least <= getattr(lens, name) <= most for name, (least, most) in LIMITS.items())
    if not within or len(lens.camera_model) > LONGEST_NAME or not (lens.equivalent_mm is None or lens.equivalent_mm > 0):
        raise ValueError("no lens is like this")
    return lens


class _File(BaseModel):
    """The profile file."""

    model_config = ConfigDict(extra="forbid", allow_inf_nan=False)

    version: Literal[1] = 1
    cameras: Annotated[tuple[Annotated[LensProfile, AfterValidator(_possible)], ...], Field(max_length=MOST_LENSES)] = ()


def profile_path() -> Path:
    """Where the profile lies unless the user says otherwise."""
    return Path(platformdirs.user_config_path("fitcheck", appauthor=False)) / FILE_NAME


def read_lenses(path: Path) -> tuple[LensProfile, ...]:
    """The calibrated lenses in a profile file; none where there is no file.

    Raises
    ------
    UsageError
        The file cannot be read or is not a profile.
    """
    if not is_there(path):
        return ()
    data = read_plain(path, "Name another lens profile with --profile.")
    try:
        return _File.model_validate_json(data).cameras
    except ValidationError as error:
        raise UsageError(f"{path} is not a lens profile.", "Delete it and calibrate again with 'fitcheck calibrate'.") from error


def known_camera(name: str, lenses: Iterable[LensProfile]) -> None:
    """Nothing where a camera named by hand is none or calibrated, or where none is calibrated yet.

    Raises
    ------
    UsageError
        There are calibrated cameras, but not this one; the nearest is named.
    """
    known = sorted({lens.camera_model for lens in lenses})
    if name and known and name not in known:
        raise UsageError(
            f'In fitting.toml, `camera` is "{name[:MOST_LETTERS]}", which was not calibrated; {meant(name, known)}',
            "Write it as 'fitcheck calibrate' told it, or leave it out.",
        )


def keep_lens(path: Path, lens: LensProfile) -> None:
    """Add a lens to a profile file, in place of an earlier calibration of the same one; written whole or not at all.

    Raises
    ------
    UsageError
        There is a file that is not a profile.
    OutputError
        The file cannot be written.
    """
    others = [old for old in read_lenses(path) if not _same_lens(old, lens)]
    text = _File(cameras=(*others, lens)).model_dump_json(indent=1)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, waiting = tempfile.mkstemp(prefix=".lenses-", suffix=".part", dir=path.parent)
        try:
            with os.fdopen(handle, "w", encoding="utf-8") as file:
                file.write(text + "\n")
            os.replace(waiting, path)
        finally:
            Path(waiting).unlink(missing_ok=True)
    except OSError as error:
        raise OutputError(
            f"The lens profile cannot be written to {path} ({error.strerror}).", "Name another file with --profile."
        ) from error


def lens_for(photo: Photo, lenses: Iterable[LensProfile], camera: str = "") -> LensProfile | None:
    """The calibrated lens that took a photo, or None.

    Camera model and picture shape must agree, and the 35 mm equivalent where both know it: a zoom or a second lens of the same phone
    is another lens.

    Parameters
    ----------
    photo : Photo
    lenses : iterable of LensProfile
    camera : str
        The camera's name where the file no longer says it.
    """
    model, shape, equivalent = photo.camera_model or camera, picture_shape(photo), equivalent_mm(photo)
    if not model:
        return None
    alike = [
        lens
        for lens in lenses
        if lens.camera_model == model and _near(lens.shape, shape, SAME_SHAPE) and _same_zoom(lens.equivalent_mm, equivalent)
    ]
    if equivalent is None and len(alike) > 1:  # nothing tells which of its lenses it was
        return None
    return min(alike, key=lambda lens: abs((lens.equivalent_mm or 0.0) - (equivalent or 0.0)), default=None)


def picture_shape(photo: Photo) -> float:
    """Long over short side."""
    return float(max(photo.rgb.shape[:2]) / min(photo.rgb.shape[:2]))


def diagonal_px(photo: Photo) -> float:
    """Diagonal of the picture."""
    return math.hypot(*photo.rgb.shape[:2])


def equivalent_mm(photo: Photo) -> float | None:
    """The focal length that the file says, as 35 mm equivalent (by the diagonal)."""
    return None if photo.focal_px is None else photo.focal_px / diagonal_px(photo) * FULL_FRAME_DIAGONAL_MM


def same_camera(photos: Sequence[Photo]) -> bool:
    """Whether all photos are of one camera, shape and zoom, as far as the files say."""
    first = photos[0]
    return all(
        photo.camera_model == first.camera_model
        and _near(picture_shape(photo), picture_shape(first), SAME_SHAPE)
        and _same_zoom(equivalent_mm(photo), equivalent_mm(first))
        for photo in photos
    )


def _same_lens(a: LensProfile, b: LensProfile) -> bool:
    return (
        a.camera_model == b.camera_model
        and _near(a.shape, b.shape, SAME_SHAPE)
        and (a.equivalent_mm is None) == (b.equivalent_mm is None)
        and _same_zoom(a.equivalent_mm, b.equivalent_mm)
    )


def _same_zoom(a: float | None, b: float | None) -> bool:
    return a is None or b is None or _near(a, b, SAME_ZOOM)


def _near(a: float, b: float, share: float) -> bool:
    return abs(a / b - 1) <= share
