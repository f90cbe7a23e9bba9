"""Room kept free beside the diary: forgetting has to write down what goes before it goes, and a full disk must not prevent that."""

import os
from pathlib import Path

_NAME = "reserve"
_BYTES = 1_000_000  # twice what forgetting one fitting of 200 kB of results takes


def keep_reserve(folder: Path) -> None:
    """Make sure of the room; where there is none, nothing is lost by that."""
    path = folder / _NAME
    if path.exists():
        return
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT, 0o600)
        try:
            os.write(handle, bytes(_BYTES))
        finally:
            os.close(handle)
    except OSError:
        spend_reserve(folder)


def spend_reserve(folder: Path) -> None:
    """Set the room free."""
    (folder / _NAME).unlink(missing_ok=True)
