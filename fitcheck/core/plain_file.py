"""A file that a user named: read within limits, or said in one sentence why not."""

import stat
from pathlib import Path

from fitcheck.core.errors import UsageError

MOST_BYTES = 1_000_000  # typed in by hand they have a few thousand
MOST_LETTERS = 60  # of what the user wrote, told back


def read_plain(path: Path, advice: str) -> bytes:
    """The bytes of a file of the kind that people and fitcheck write.

    Parameters
    ----------
    path : Path
    advice : str
        What to do where it is something else than a file.

    Raises
    ------
    UsageError
        It cannot be read, is no plain file, or larger than 1 MB.
    """
    name = path.name[:MOST_LETTERS]
    try:
        about = path.stat()
        if not stat.S_ISREG(about.st_mode):  # a pipe would be waited for without end, as would a device
            raise UsageError(f'"{name}" is no plain file.', advice)
        if about.st_size > MOST_BYTES:
            raise UsageError(f"{name} is larger than {MOST_BYTES // 1000} kB.", "Give the file that you typed in.")
        return path.read_bytes()
    except OSError as error:
        raise UsageError(f'"{name}" cannot be read ({error.strerror}).', "Check the name and that you may read the file.") from error
    except ValueError as error:
        raise UsageError(f'"{name}" cannot be read: it is no name of a file.', advice) from error
