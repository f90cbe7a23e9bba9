"""Files for the owner's eyes only."""

import os


def owner_only(path: str, flags: int) -> int:
    """An `opener` for `open`: a new file that nobody but its owner may read (where the system knows such rights)."""
    return os.open(path, flags, 0o600)
