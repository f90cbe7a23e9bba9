"""Photos that the diary keeps, decoded apart from the page: a damaged or hostile one can end a decoder, and so its process, outright."""

from typing import TYPE_CHECKING

from fitcheck.core.diary import DiaryPhoto
from fitcheck.web.desk import Desk
from fitcheck.web.reader import GoneError
from fitcheck.web.readers import NO_FITTING, Readers

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


class KeptPhotos:
    """Reads them through the readers; one that a reader died over is not opened again while the program runs."""

    def __init__(self, readers: Readers) -> None:
        self._readers = readers
        self._deadly: set[str] = set()

    def read(self, photo: DiaryPhoto, least_height_px: int) -> "NDArray[np.uint8] | None":
        """The upright picture as `read_photo`; None also where a reader dies over it."""
        if photo.file in self._deadly:
            return None
        try:
            return self._readers.ask(NO_FITTING, _read, photo, least_height_px).result()
        except GoneError:
            self._deadly.add(photo.file)
            return None


def _read(desk: Desk, photo: DiaryPhoto, least_height_px: int) -> "NDArray[np.uint8] | None":
    from fitcheck.diary.photos import read_photo

    return read_photo(photo, least_height_px)
