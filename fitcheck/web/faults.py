"""A fault of fitcheck itself, as the page tells it."""

import traceback
from pathlib import Path

from fitcheck.core.errors import UnforeseenError


def as_unforeseen(error: Exception) -> UnforeseenError:
    """What and where, and nothing that could be hers. No file is written of it."""
    last = traceback.extract_tb(error.__traceback__)[-1]
    place = f"{type(error).__name__} in {Path(last.filename).name}, line {last.lineno}"
    return UnforeseenError(
        f"Something went wrong that fitcheck did not foresee ({place}).", "Please report these words. Everything else goes on working."
    )
