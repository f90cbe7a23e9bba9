"""What went wrong, as the page tells it."""

from fitcheck.core.errors import FitcheckError, UnforeseenError, what_escaped
from fitcheck.web.own_words import in_own_words


def as_unforeseen(error: Exception) -> UnforeseenError:
    """A fault of fitcheck itself; no file is written of it."""
    return UnforeseenError(what_escaped(error), "Please report these words. Everything else goes on working.")


def as_told(error: Exception) -> FitcheckError:
    """Our own errors in the page's words, anything else as a fault of fitcheck itself."""
    if not isinstance(error, FitcheckError):
        return as_unforeseen(error)
    return FitcheckError(in_own_words(error.problem), in_own_words(error.next_step))
