"""The `fitcheck` command, also `python -m fitcheck`: what has to be settled with the terminal before anything else runs."""

import codecs
import io
import os
import sys
import warnings

from fitcheck.cli import app

WRITTEN_OUT = {"±": "+/-", "−": "-", "–": "-", "…": "...", "°": " deg", "×": "x", "→": "->", "’": "'", "\u00a0": " ", "\u202f": " "}


def main() -> None:
    """Run the command line."""
    codecs.register_error("written_out", _written_out)
    _keep_native_lines_away()
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):  # nothing where the terminal was closed
            stream.reconfigure(errors="written_out")
    if not sys.warnoptions:
        warnings.simplefilter("ignore")  # of libraries about files and themselves, for developers
    app()


def _written_out(error: UnicodeError) -> tuple[str, int]:
    """Signs that the terminal has no code for, in plain letters."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return "".join(WRITTEN_OUT.get(sign, "?") for sign in error.object[error.start : error.end]), error.end


def _keep_native_lines_away() -> None:
    """Give Python's stderr a descriptor of its own, and let what libraries log to descriptor 2, past every setting, go nowhere.

    It is done once, before any thread runs: turning the descriptor away only while such a library works would swallow what other
    threads say meanwhile.
    """
    try:
        own = os.dup(sys.stderr.fileno())
    except (AttributeError, OSError, ValueError):  # closed
        return
    sys.stderr.flush()
    sys.stderr = os.fdopen(own, "w", buffering=1, encoding=sys.stderr.encoding)
    nothing = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nothing, 2)
    os.close(nothing)


if __name__ == "__main__":
    main()
