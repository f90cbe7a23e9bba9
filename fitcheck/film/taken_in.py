"""A fitting as it is given to the command, a folder of photos or a film: found first, then opened the same way."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from fitcheck.core.camera import Photo
from fitcheck.core.progress import Progress
from fitcheck.core.records import VIEWS, View
from fitcheck.photo.load import find_views, load_views

NOT_FOUND = "you never stand still and square so for long enough; where you do all the same, say when, as --at {view}=0:12"


@dataclass(frozen=True, slots=True)
class TakenIn:
    """Photos, opened.

    Attributes
    ----------
    paths : dict of view to Path
        Where they lie.
    says : str
        What was taken out of a film, in lines; nothing for photos.
    """

    photos: tuple[Photo, ...]
    paths: Mapping[View, Path]
    says: str = ""


Opening = Callable[[Progress], TakenIn]


def of_folder(folder: Path) -> Opening:
    """How to open the photos of a folder.

    Raises
    ------
    PhotoError
        As `find_views`; as `load_views` when they are opened.
    """
    paths = find_views(folder)
    return lambda tell: TakenIn(tuple(load_views(paths)), paths)


def of_film(film: Path, moments: Mapping[View, float], out_dir: Path) -> Opening:
    """How to take the views out of a film; they are written to a folder beside the report.

    Raises
    ------
    PhotoError, OutputError
        When it is opened: as `read_film` and `save_views`.
    """

    def opened(tell: Progress) -> TakenIn:
        from fitcheck.film.read_film import as_photos, read_film, save_views

        views = read_film(film, moments, tell)
        paths = save_views(views, out_dir / f"{film.stem}_views")
        lacking = [f"{view}: {NOT_FOUND.format(view=view)}" for view in VIEWS if view not in paths]
        return TakenIn(tuple(as_photos(views, paths)), paths, "\n".join([*(view.says for view in views), *lacking]))

    return opened
