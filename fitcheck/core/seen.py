"""What is seen in the photos of a fitting, stage by stage: each stage hands on a fuller copy and changes nothing it was given."""

import math
from dataclasses import dataclass, replace

from fitcheck.core.camera import Photo, Scale
from fitcheck.core.folds import Fold
from fitcheck.core.outline import Outline
from fitcheck.core.records import Pose, SeamLine, Side, Sighting, View
from fitcheck.core.solution import Solution

OF_BLUR = 0.5  # of the blur of a blurred photo, by which whatever is seen in it is less sure; estimate


@dataclass(frozen=True, slots=True)
class Garment:
    """What the cloth of one photo shows: seam lines and edges, folds, doubts about those, and which points of the body lie beneath (the
    bust by its shading, the top of the shoulder by the armhole).

    `half` is the side that a half tissue is on, `beyond_mm` how far it ends beyond the centre line that is drawn on it, where one is.
    """

    lines: tuple[SeamLine, ...] = ()
    folds: tuple[Fold, ...] = ()
    flags: tuple[str, ...] = ()
    beneath: tuple[Sighting, ...] = ()
    half: Side | None = None
    beyond_mm: float | None = None


@dataclass(frozen=True, slots=True)
class SeenPhoto:
    """What is seen in one photo.

    Attributes
    ----------
    pose : Pose or None
        None where nobody was found.
    flags : tuple of str
        Doubts about the photo, in the order in which they came up.
    stickers, dots : tuple of Sighting
        Printed stickers, and plain coloured dots.
    soles : tuple of Sighting
    scale : Scale or None
    usable : bool
        Whether it shows wearer and scale, the view that its name says and the woman of the other photos, so that it is measured.
    garment : Garment
    outline : Outline or None
        None where the body could not be placed.
    blur_px : float
        Standard deviation of the blur of a blurred photo, else 0.
    """

    photo: Photo
    pose: Pose | None
    flags: tuple[str, ...] = ()
    stickers: tuple[Sighting, ...] = ()
    dots: tuple[Sighting, ...] = ()
    soles: tuple[Sighting, ...] = ()
    scale: Scale | None = None
    usable: bool = False
    garment: Garment = Garment()
    outline: Outline | None = None
    blur_px: float = 0.0

    @property
    def view(self) -> View:
        """The photo's."""
        return self.photo.view

    @property
    def coarse_px(self) -> float:
        """Further standard uncertainty, per axis, of whatever is seen in the photo, for its compression and its blur."""
        return math.hypot(self.photo.coarse_px, OF_BLUR * self.blur_px)

    @property
    def marks(self) -> tuple[Sighting, ...]:
        """Everything that was stuck on a point."""
        return (*self.stickers, *self.dots)

    def doubted(self, *codes: str) -> "SeenPhoto":
        """A copy with these flags besides its own."""
        return replace(self, flags=tuple(dict.fromkeys((*self.flags, *codes))))

    def with_garment(self, garment: Garment) -> "SeenPhoto":
        """A copy with the garment read, and what there is to doubt about it."""
        return replace(self.doubted(*garment.flags), garment=garment)


@dataclass(frozen=True, slots=True)
class SeenFitting:
    """All photos of a fitting, read to the end.

    Attributes
    ----------
    photos : tuple of SeenPhoto
        In the order given.
    body : Solution or None
        As points and outlines place it, before anything was put right by hand; None where it could not be placed.
    half : Side or None
        The side that a half tissue is on.
    flags : tuple of str
        Doubts about that.
    """

    photos: tuple[SeenPhoto, ...]
    body: Solution | None = None
    half: Side | None = None
    flags: tuple[str, ...] = ()
