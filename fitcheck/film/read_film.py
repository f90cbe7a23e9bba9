"""A film of one fitting in, its four views as photos out."""

import math
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from fitcheck.body.agreement import lying
from fitcheck.core.camera import Photo
from fitcheck.core.errors import OutputError, PhotoError
from fitcheck.core.own_files import owner_only
from fitcheck.core.progress import Progress, unheard
from fitcheck.core.records import VIEWS, View
from fitcheck.film.colours import sharp_colours
from fitcheck.film.mean_picture import Mean, mean_picture
from fitcheck.film.open_film import Look, lasts_s, looks
from fitcheck.film.stillness import Stand, around, stands
from fitcheck.film.track_facts import TrackFacts, track_facts
from fitcheck.film.which_moments import clock
from fitcheck.film.which_view import Placed, looked_at, views_of
from fitcheck.photo.load import load_views

READ = 0.8  # of the share done, when all has been read
QUALITY = 97  # of the jpg files of the views, so that no measurement is lost in them
_FOCAL_35MM, _EXIF_IFD, _MODEL = 41989, 0x8769, 272  # EXIF 2.32


@dataclass(frozen=True, slots=True)
class FilmedView:
    """One view out of a film.

    Attributes
    ----------
    rgb : ndarray of uint8, shape (H, W, 3)
        Mean of several pictures of one stand, its colours as sharp as its greys.
    sd_px : float
        Further standard uncertainty, per axis, of where things on her are in it.
    equivalent_mm : float or None
        Focal length as 35 mm equivalent, where the film says it.
    start_s, end_s : float
        When she stood so.
    pictures : int
        How many the mean is of.
    why : str
        What the view was told by, where its look alone did not tell; in words.
    """

    view: View
    rgb: NDArray[np.uint8]
    sd_px: float
    equivalent_mm: float | None
    camera_model: str
    start_s: float
    end_s: float
    pictures: int
    why: str = ""

    @property
    def says(self) -> str:
        """In words, as 'front: 0:03 to 0:07, mean of 8 pictures'."""
        because = f" ({self.why})" if self.why else ""
        return f"{self.view}: {clock(self.start_s)} to {clock(self.end_s)}, mean of {self.pictures} pictures{because}"


def read_film(
    path: Path, moments: Mapping[View, float] | None = None, tell: Progress = unheard, seen: Callable[[Look], None] | None = None
) -> tuple[FilmedView, ...]:
    """The views of a fitting out of one film in which she turns before a phone that stands still.

    Parameters
    ----------
    path : Path
    moments : mapping of view to float
        Seconds at which a view is to be taken, where she wants another moment than the program's.
    tell : callable
        Told what is being done and the share done.
    seen : callable, optional
        Shown every picture that is looked at, in order of time.

    Raises
    ------
    PhotoError
        The film cannot be used, or shows no stretch in which she stands still and square to the camera.
    """
    facts, seems = track_facts(path), Counter[str]()
    found = views_of(_counted(stands(_shown(path, tell, seen)), seems))
    for view, moment in (moments or {}).items():
        found[view] = _chosen(path, view, moment)
    if not found:
        raise _nothing(path, seems)
    tell("taking the sharpest pictures", READ)
    return tuple(_filmed(view, found[view], facts) for view in VIEWS if view in found)


def read_moment(path: Path, view: View, moment_s: float) -> FilmedView:
    """One view at a moment that she chose.

    Raises
    ------
    PhotoError
        The film does not reach so far, or nobody is seen then.
    """
    return _filmed(view, _chosen(path, view, moment_s), track_facts(path))


def save_views(views: Sequence[FilmedView], folder: Path) -> dict[View, Path]:
    """Write the views as jpg files, front.jpg and so on, so that she can look at them and the diary can keep them.

    Raises
    ------
    OutputError
        If they cannot be written.
    """
    paths = {filmed.view: folder / f"{filmed.view}.jpg" for filmed in views}
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for filmed in views:
            exif = Image.Exif()
            if filmed.equivalent_mm is not None:
                exif.get_ifd(_EXIF_IFD)[_FOCAL_35MM] = round(filmed.equivalent_mm)
            if filmed.camera_model:
                exif[_MODEL] = filmed.camera_model
            with open(paths[filmed.view], "wb", opener=owner_only) as file:
                Image.fromarray(filmed.rgb).save(file, "JPEG", quality=QUALITY, subsampling=0, exif=exif)
    except OSError as error:
        raise OutputError(
            f'The views of the film cannot be written to "{folder}" ({error.strerror}).', "Choose another folder with --out."
        ) from None
    return paths


def as_photos(views: Sequence[FilmedView], paths: Mapping[View, Path]) -> list[Photo]:
    """The views as photos, opened from the files they were written to, with the doubt that the film left.

    Raises
    ------
    PhotoError
        As `fitcheck.photo.load.load_views`.
    """
    left_px = {filmed.view: filmed.sd_px for filmed in views}
    return [replace(photo, coarse_px=math.hypot(photo.coarse_px, left_px[photo.view])) for photo in load_views(paths)]


def _counted(film: Iterable[Stand], seems: Counter[str]) -> Iterator[Placed]:
    """What each stand looks like; how often nobody was in one, and how often she lay or stood askew, is counted."""
    for stand in film:
        placed = looked_at(stand)
        seems["nobody" if placed.pose is None else "lying" if lying(placed.pose) else "askew" if placed.view is None else placed.view] += 1
        yield placed if placed.view is None else _averaged(placed)


def _nothing(path: Path, seems: Counter[str]) -> PhotoError:
    """Why no view was found in a film."""
    name = path.name
    if seems["lying"]:
        return PhotoError(f"{name} seems to lie on its side or upside down.", "Turn the film upright on the phone, and give it again.")
    if seems["askew"]:
        return PhotoError(
            f"In {name} you stand half turned whenever you stand still.",
            "Stand on the toe strips, so that front, side or back squarely faces the camera, for three seconds each.",
        )
    if seems["nobody"]:
        return PhotoError(
            f"Nobody is seen in {name}, or not from head to feet.",
            "Step back until head and feet are in the picture, and have light on you.",
        )
    middle = around(looks(path), lasts_s(path) / 2)  # the film is read once more, as it is needed so seldom
    pose = looked_at(middle).pose if middle else None
    if pose is not None and pose.people > 1:
        return PhotoError(
            f"Two people are in {name}, and never are both still.",
            "Be alone in the picture: let the phone stand by itself, and film again.",
        )
    return PhotoError(
        f"{name} shows no moment in which you stand still.",
        "Let the phone stand by itself, and stand still for three seconds in each view.",
    )


def _shown(path: Path, tell: Progress, seen: Callable[[Look], None] | None) -> Iterator[Look]:
    """The pictures of a film, each told and shown as it comes."""
    tell("reading the film", 0.0)
    whole_s = lasts_s(path)
    for look in looks(path):
        tell("reading the film", READ * min(look.time_s / whole_s, 1.0) if whole_s else 0.0)
        if seen:
            seen(look)
        yield look


def _chosen(path: Path, view: View, moment_s: float) -> Placed:
    stand = around(looks(path), moment_s)
    if stand is None:
        raise PhotoError(
            f"{path.name} has no picture at {clock(moment_s)} for the {view} view.", "Give a moment within the film, in seconds."
        )
    placed = looked_at(stand)
    if placed.pose is None:
        raise PhotoError(f"Nobody is seen in {path.name} at {clock(moment_s)}, chosen for the {view} view.", "Choose another moment.")
    return _averaged(replace(placed, view=view))


def _averaged(placed: Placed) -> Placed:
    """A stand with its one picture in place of the several."""
    looks = _posed_first(placed)
    mask = np.zeros(looks[0].bgr.shape[:2], np.bool_) if placed.pose is None else placed.pose.mask
    bgr, sd_px = mean_picture([look.bgr for look in looks], mask)
    rgb = np.asarray(cv2.cvtColor(bgr, cv2.COLOR_BGR2RGB), np.uint8)
    one = Mean(sharp_colours(rgb, looks[0].reduced), sd_px, len(looks))
    return replace(placed, mean=one, stand=replace(placed.stand, looks=()))


def _posed_first(placed: Placed) -> tuple[Look, ...]:
    """Its pictures, with the one first in which she was found, whose mask is hers."""
    seen = placed.stand.looks
    middle = len(seen) // 2
    return seen[middle], *seen[:middle], *seen[middle + 1 :]


def _filmed(view: View, placed: Placed, facts: TrackFacts) -> FilmedView:
    one, stand = placed.mean, placed.stand
    assert one is not None  # each that has a view has been averaged
    told = facts.equivalent_mm, facts.camera_model
    return FilmedView(view, one.rgb, one.sd_px, *told, stand.start_s, stand.end_s, one.pictures, placed.why)
