"""One fitting on the table: its photos, what was told about it, what was put right, and what came of it.

The records in it are frozen and replaced whole; only this holder changes. The worker's thread checks, the pages read.
"""

import os
import shutil
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from fitcheck.core.errors import PhotoError
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.own_files import owner_only
from fitcheck.core.records import VIEWS, View
from fitcheck.core.settings import Settings
from fitcheck.web.corrections import Corrections

if TYPE_CHECKING:  # what measures is loaded when the first photo comes
    from fitcheck.body.placed import PlacedFile
    from fitcheck.core.camera import Photo
    from fitcheck.core.check import FitCheck
    from fitcheck.stages.kept import Kept

State = Literal["draft", "waiting", "checking", "done", "failed"]
MOST_PHOTOS = len(VIEWS)


@dataclass(frozen=True, slots=True)
class Held:
    """A photo that was taken in.

    Attributes
    ----------
    id : str
        Its name in addresses.
    view : View or None
        As she says, or as it seems.
    seems : View or None
        None where nothing tells.
    trouble : str
        Why it cannot be used as it is; "" where it can.
    """

    id: str
    path: Path
    size_px: tuple[int, int]
    view: View | None
    seems: View | None = None
    trouble: str = ""


@dataclass
class Work:
    """One fitting on the table.

    Attributes
    ----------
    fields : dict of str to str
        The form about it as it is typed so far.
    version : int
        Grows with every result, so that a page knows whether it shows the latest.
    recorded : int
        Its number in the diary; 0 where it is not there.
    shown : tuple of (FitCheck or None, str, str)
        The page of a result, in which units, as it was written last.
    stage, share : str, float
        What the check is at, and the share done.
    """

    id: str
    folder: Path
    photos: tuple[Held, ...] = ()
    facts: FittingFacts = field(default_factory=FittingFacts)
    fields: dict[str, str] = field(default_factory=dict)
    state: State = "draft"
    stage: str = ""
    share: float = 0.0
    trouble: tuple[str, str] = ("", "")
    corrections: Corrections = field(default_factory=Corrections)
    result: "FitCheck | None" = None
    drawn: bool = False
    shown: "tuple[FitCheck | None, str, str]" = (None, "", "")
    version: int = 0
    recorded: int = 0
    recorded_version: int = 0
    kept: "Kept | None" = None
    opened: "tuple[Photo, ...]" = ()
    opened_from: dict[View, Path] = field(default_factory=dict)

    def photo(self, id: str) -> Held | None:
        """A photo by its name in addresses."""
        return next((photo for photo in self.photos if photo.id == id), None)

    def add(self, photo: Held) -> None:
        """Take a photo in.

        Raises
        ------
        PhotoError
            There are as many as there are views.
        """
        if len(self.photos) >= MOST_PHOTOS:
            photo.path.unlink(missing_ok=True)
            raise PhotoError(f"A fitting has {MOST_PHOTOS} photos at most, one a view.", "Take one away first.")
        self.photos = (*self.photos, photo)

    def remove(self, id: str) -> None:
        """Take a photo away for good."""
        for photo in self.photos:
            if photo.id == id:
                photo.path.unlink(missing_ok=True)
        self.photos = tuple(photo for photo in self.photos if photo.id != id)

    def say_view(self, id: str, view: View | None) -> None:
        """Which view a photo is, as she says."""
        self.photos = tuple(replace(photo, view=view) if photo.id == id else photo for photo in self.photos)

    def check(self, tell: Callable[[str, float], None]) -> None:
        """Check it, or only what has to be done anew; all drawings come with it.

        Raises
        ------
        FitcheckError
            As `check_fit`.
        """
        self._solve(tell, drawn=True)

    def put_right(self, corrections: Corrections) -> None:
        """Check it with other corrections, without drawings: those are made when the whole answer is next asked for.

        Raises
        ------
        FitcheckError
            As `check_fit`; what held before then still holds.
        """
        before, self.corrections = self.corrections, corrections
        try:
            self._solve(lambda stage, share: None, drawn=False)
        except BaseException:
            self.corrections = before
            raise
        self._write_placed()

    def ready_photos(self) -> "tuple[Photo, ...]":
        """Its photos, opened, in the order of the views."""
        from fitcheck.photo.load import load_views

        paths = {view: photo.path for view in VIEWS for photo in self.photos if photo.view == view}
        if self.opened_from != paths:
            found = load_views(paths)
            self.opened = tuple(replace(photo, name=f"{photo.view}{paths[photo.view].suffix}") for photo in found)
            self.opened_from = paths
        return self.opened

    def settings(self, placed: "PlacedFile | None" = None) -> Settings:
        """What a check goes by; with other corrections than those that hold, if given."""
        from fitcheck.body.placed import as_placed
        from fitcheck.photo.camera.lens_profiles import profile_path, read_lenses

        points, seams = as_placed(placed or self.corrections.now)
        return Settings(self.facts, {}, tuple(read_lenses(profile_path())), points, seams)

    def cool(self) -> None:
        """Let go of what takes much memory and can be had again."""
        self.kept, self.opened, self.opened_from = None, (), {}

    def clear(self) -> None:
        """Remove everything of it from the disk."""
        shutil.rmtree(self.folder, ignore_errors=True)

    def _solve(self, tell: Callable[[str, float], None], drawn: bool) -> None:
        from fitcheck.pipeline import check_fit
        from fitcheck.stages.kept import Kept
        from fitcheck.vision.person.pose import get_ready

        photos = self.ready_photos()
        get_ready()
        self.kept = self.kept or Kept()
        self.result = check_fit(photos, self.settings(), tell, self.kept, drawn)
        self.drawn = drawn
        self.version += 1

    def _write_placed(self) -> None:
        from fitcheck.body.placed import written

        path, waiting = self.folder / "placed.toml", self.folder / "placed.part"
        with open(waiting, "w", encoding="utf-8", opener=owner_only) as file:
            file.write(written(self.corrections.now))
        os.replace(waiting, path)
