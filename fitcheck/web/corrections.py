"""What she put right in one fitting, step by step, to go back and forth in."""

from dataclasses import dataclass, field, replace

from fitcheck.body.placed import PlacedFile

MOST_STEPS = 200  # more are not gone back


@dataclass(frozen=True, slots=True)
class Corrections:
    """All that was put right, after each step.

    Attributes
    ----------
    steps : tuple of PlacedFile
        Each is everything that is put right then; the first is what the fitting began with.
    at : int
        The step that holds.
    """

    steps: tuple[PlacedFile, ...] = field(default_factory=lambda: (PlacedFile(),))
    at: int = 0

    @property
    def now(self) -> PlacedFile:
        """What holds."""
        return self.steps[self.at]

    def then(self, placed: PlacedFile) -> "Corrections":
        """One step further; steps that were taken back are forgotten."""
        steps = (*self.steps[: self.at + 1], placed)[-MOST_STEPS:]
        return Corrections(steps, len(steps) - 1)

    def moved(self, by: int) -> "Corrections":
        """Back (-1) or forth (+1), as far as there are steps."""
        return replace(self, at=min(max(self.at + by, 0), len(self.steps) - 1))
