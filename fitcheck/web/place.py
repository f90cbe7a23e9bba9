"""The private folder for what is not recorded: the owner's alone, gone when the program ends, and after a sudden end at the next start."""

import os
import shutil
import sys
import tempfile
from pathlib import Path
from types import TracebackType

from fitcheck.core.own_files import owner_only

LOCK = "in_use"


def usual_place() -> Path:
    """Beside the diary, in the user's own data folder."""
    from platformdirs import user_data_path

    return user_data_path("fitcheck", appauthor=False) / "unrecorded"


class Place:
    """A folder of one running program, below `above`; use it as a context.

    What other runs left there is removed first. A run that is still alive holds a lock that the system takes back however it ends, so its
    folder stays.
    """

    def __init__(self, above: Path) -> None:
        above.mkdir(mode=0o700, parents=True, exist_ok=True)
        with open(above / "starting", "wb", opener=owner_only) as alone:
            _hold(alone.fileno())  # two programs that start together must not take each other's new folder for a left one
            for left in sorted(above.iterdir()):
                if left.is_dir() and not _alive(left):
                    shutil.rmtree(left, ignore_errors=True)
            self.folder = Path(tempfile.mkdtemp(prefix="run-", dir=above))  # readable by its owner only
            self._lock = os.open(self.folder / LOCK, os.O_WRONLY | os.O_CREAT, 0o600)
            _hold(self._lock)

    def __enter__(self) -> "Place":
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        os.close(self._lock)
        shutil.rmtree(self.folder, ignore_errors=True)

    def new_folder(self) -> Path:
        """A new folder in it."""
        return Path(tempfile.mkdtemp(dir=self.folder))


if sys.platform == "win32":

    def _hold(lock: int) -> None:
        """An open file cannot be removed there."""

    def _alive(folder: Path) -> bool:
        try:
            (folder / LOCK).unlink(missing_ok=True)
        except OSError:
            return True
        return False

else:
    import fcntl

    def _hold(lock: int) -> None:
        fcntl.flock(lock, fcntl.LOCK_EX)

    def _alive(folder: Path) -> bool:
        try:
            with open(folder / LOCK, "rb") as lock:
                fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return True
        except OSError:
            return False
        return False
