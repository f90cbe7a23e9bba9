"""What went wrong, as the page tells it."""

from fitcheck.core.errors import FitcheckError, UnforeseenError, what_escaped


def as_unforeseen(error: Exception) -> UnforeseenError:
    """A fault of fitcheck itself; no file is written of it."""
    return UnforeseenError(what_escaped(error), "Please report these words. Everything else goes on working.")


def as_told(error: Exception) -> FitcheckError:
    """Our own errors as they are, anything else as a fault of fitcheck itself."""
    return error if isinstance(error, FitcheckError) else as_unforeseen(error)
