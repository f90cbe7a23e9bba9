"""What can go wrong, in one family: every error says what is wrong and what to do next, and carries an exit code."""

from pathlib import Path

LINE = "\n"


class FitcheckError(Exception):
    """Base of everything fitcheck raises on purpose.

    Parameters
    ----------
    problem : str
        What is wrong: one clear sentence, or a line for each of several faults.
    next_step : str
        What to do about it, as an instruction.
    """

    exit_code = 1

    def __init__(self, problem: str, next_step: str) -> None:
        super().__init__(f"{problem}{LINE if LINE in problem else ' '}{next_step}")
        self.problem = problem
        self.next_step = next_step


class UsageError(FitcheckError):
    """A wrong option or an impossible combination of options."""

    exit_code = 2


class PhotoError(FitcheckError):
    """A file that cannot be used as a photo."""

    exit_code = 3


class NothingMeasuredError(FitcheckError):
    """Photos were read, but nothing in them can be measured (no scale, nobody in the picture)."""

    exit_code = 4


class OutputError(FitcheckError):
    """A result cannot be written."""

    exit_code = 5


class KnowledgeError(FitcheckError):
    """A knowledge table is malformed: a missing source, an unknown id, an effect on nothing."""

    exit_code = 6


class ModelError(FitcheckError):
    """Model weights are missing or are not the ones they should be."""

    exit_code = 7


class DiaryError(FitcheckError):
    """The diary cannot be used: damaged, from a newer version, busy, full, or it does not hold what was asked for."""

    exit_code = 8


class UnforeseenError(FitcheckError):
    """A fault of fitcheck itself, kept in a file that can be reported."""

    exit_code = 70  # EX_SOFTWARE of sysexits.h


def what_escaped(error: Exception) -> str:
    """A sentence about a fault that nobody foresaw: what and where, and nothing that could be hers."""
    import traceback  # a command that goes well needs none of it

    last = traceback.extract_tb(error.__traceback__)[-1]
    place = f"{type(error).__name__} in {Path(last.filename).name}, line {last.lineno}"
    return f"Something went wrong that fitcheck did not foresee ({place})."
