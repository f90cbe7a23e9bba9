"""A film that came in: its views as photos, and small pictures of it all, by which she can choose other moments."""

from pathlib import Path

from fitcheck.core.progress import Progress
from fitcheck.core.records import View
from fitcheck.film.open_film import Look as Seen
from fitcheck.film.read_film import FilmedView, read_film, read_moment, save_views
from fitcheck.web.case import CasePhoto, Film, FilmMoment, FilmView
from fitcheck.web.looking import look
from fitcheck.web.picture import small

EVERY_S = 1.0  # a stand lasts three
MOST_MOMENTS = 90  # of a longer film every second one goes, again and again
STRIP_PX = 160
LOOKED_AT = 0.9  # of the share done, when that begins


class Strip:
    """The small pictures, collected while a film is read."""

    def __init__(self) -> None:
        self.moments: list[FilmMoment] = []
        self._every_s = EVERY_S

    def see(self, one: Seen) -> None:
        """The next picture of the film."""
        if self.moments and one.time_s < self.moments[-1].time_s + self._every_s:
            return
        self.moments.append(FilmMoment(one.time_s, small(one.rgb, STRIP_PX)))
        if len(self.moments) > MOST_MOMENTS:
            self.moments, self._every_s = self.moments[::2], 2 * self._every_s


def filmed(path: Path, folder: Path, tell: Progress) -> Film:
    """Take the views out of a film.

    Parameters
    ----------
    path : Path
    folder : Path
        Made for the views.

    Raises
    ------
    PhotoError
        As `read_film`.
    """
    strip = Strip()
    views = read_film(path, tell=tell, seen=strip.see)
    tell("looking at the views", LOOKED_AT)
    return Film(tuple(_taken(one, folder) for one in views), tuple(strip.moments))


def at_moment(path: Path, view: View, moment_s: float, folder: Path) -> FilmView:
    """One view at another moment.

    Raises
    ------
    PhotoError
        As `read_moment`.
    """
    return _taken(read_moment(path, view, moment_s), folder)


def _taken(one: FilmedView, folder: Path) -> FilmView:
    path = save_views([one], folder)[one.view]
    return FilmView(CasePhoto(one.view, path, one.sd_px), look(path), one.says.split(": ", 1)[1])
