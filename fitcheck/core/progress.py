"""How far a long piece of work is, as it is told while it goes on."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

from fitcheck.core.records import View

Begins = Callable[[View], None]  # told of a photo as it is begun

_SAID: dict[View, str] = {"front": "the front", "right": "your right side", "back": "the back", "left": "your left side"}


@dataclass(frozen=True, slots=True)
class AtPhoto:
    """The photo that is being read.

    Attributes
    ----------
    number, of : int
        Its place among all photos, from 1.
    """

    view: View
    number: int
    of: int

    @property
    def says(self) -> str:
        """In words, as 'reading the back, 3 of 4'."""
        return f"reading {_SAID[self.view]}, {self.number} of {self.of}"


class Progress(Protocol):
    """Told the name of each stage, the share done (0 to 1) and, where a stage goes photo by photo, at which it is."""

    def __call__(self, stage: str, share: float, photo: AtPhoto | None = None, /) -> None:
        """Told once more."""


def unheard(stage: str, share: float, photo: AtPhoto | None = None) -> None:
    """Progress that nobody asked for."""


def unheard_of(view: View) -> None:
    """A photo is begun, and nobody asked."""
