"""One fitting on the table: its photos, what was told about it, what was put right, and how far its check is.

The records in it are frozen and replaced whole; only this holder changes. Photos as pixels and results are the reading process's own.
"""

import os
import secrets
import shutil
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Literal

from fitcheck.body.placed import written
from fitcheck.core.errors import PhotoError
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.last_round import LastRound
from fitcheck.core.own_files import owner_only
from fitcheck.core.progress import AtPhoto
from fitcheck.core.records import VIEWS, View
from fitcheck.report.words.units import Units
from fitcheck.web.case import Case, CasePhoto, FilmMoment, FilmView, Look
from fitcheck.web.choices import Choices
from fitcheck.web.corrections import Corrections

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
    left_px : float
        Further standard uncertainty of where things are in it; of a view out of a film.
    says : str
        When it was, and of how many pictures; of a view out of a film.
    """

    id: str
    path: Path
    look: Look
    view: View | None = None
    left_px: float = 0.0
    says: str = ""


@dataclass
class Work:
    """One fitting on the table.

    Attributes
    ----------
    fields : dict of str to str
        The form about it as it is typed so far.
    film, moments : Path or None, tuple of FilmMoment
        The film that views came out of, and pictures of it to choose other moments by.
    checked : tuple of CasePhoto
        The photos of its answer; none where there is no answer yet. Those of a draft may be others by now.
    filming : bool
        Whether it is its film that is read, or waits for it.
    version : int
        Grows with every result, so that it is known whether the diary has the latest.
    last_round : LastRound or None
        Of the same garment, where the diary had one when it was checked.
    recorded : int
        Its number in the diary; 0 where it is not there.
    shown : tuple of (Case or None, str, str)
        The page of an answer, in which units, as it was written last.
    stage, share, at : str, float, AtPhoto or None
        What the check is at, the share done, and the photo that is being read.
    """

    id: str
    folder: Path
    photos: tuple[Held, ...] = ()
    facts: FittingFacts = field(default_factory=FittingFacts)
    fields: dict[str, str] = field(default_factory=dict)
    state: State = "draft"
    stage: str = ""
    share: float = 0.0
    at: AtPhoto | None = None
    trouble: tuple[str, str] = ("", "")
    corrections: Corrections = field(default_factory=Corrections)
    film: Path | None = None
    moments: tuple[FilmMoment, ...] = ()
    filming: bool = False
    checked: tuple[CasePhoto, ...] = ()
    views: tuple[View, ...] = ()
    shown: tuple[Case | None, Units, str] = (None, "cm", "")
    last_round: LastRound | None = None
    version: int = 0
    recorded: int = 0
    recorded_version: int = 0

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

    def add_filmed(self, one: FilmView) -> Held:
        """Take a view of its film in, in place of an earlier one of that view."""
        for photo in self.photos:
            if photo.view == one.photo.view:
                self.remove(photo.id)
        held = Held(secrets.token_hex(8), one.photo.path, one.look, one.photo.view, one.photo.left_px, one.says)
        self.add(held)
        return held

    def say_view(self, id: str, view: View | None) -> None:
        """Which view a photo is, as she says."""
        self.photos = tuple(replace(photo, view=view) if photo.id == id else photo for photo in self.photos)

    def told(self, stage: str, share: float, photo: AtPhoto | None = None, /) -> None:
        """How far the check is."""
        self.stage, self.share, self.at = stage, share, photo

    def in_order(self) -> tuple[CasePhoto, ...]:
        """Its photos in the order of the views."""
        return tuple(CasePhoto(view, photo.path, photo.left_px) for view in VIEWS for photo in self.photos if photo.view == view)

    def case(self, photos: tuple[CasePhoto, ...], choices: Choices, corrections: Corrections | None = None) -> Case:
        """What a check of photos goes by, told as she chose; with other corrections than those that hold, if given."""
        facts = self.facts.model_copy(update={"units": choices.units, "finest": choices.finest})
        return Case(self.id, photos, facts, (corrections or self.corrections).now, self.last_round)

    def answered(self, photos: tuple[CasePhoto, ...], views: tuple[View, ...]) -> None:
        """There is an answer, of these photos."""
        self.checked, self.views, self.state = photos, views, "done"
        self.version += 1

    def put_right(self, corrections: Corrections) -> None:
        """Other corrections hold, and the answer is theirs."""
        self.corrections = corrections
        self.version += 1
        path, waiting = self.folder / "placed.toml", self.folder / "placed.part"
        with open(waiting, "w", encoding="utf-8", opener=owner_only) as file:
            file.write(written(corrections.now))
        os.replace(waiting, path)

    def clear(self) -> None:
        """Remove everything of it from the disk."""
        shutil.rmtree(self.folder, ignore_errors=True)
