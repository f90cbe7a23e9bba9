"""Run by the tests in a process of its own: record fittings one after the other, saying each number once it is recorded."""

import resource
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from diary.conftest import fit_check, new_fitting

from fitcheck.core.errors import DiaryError
from fitcheck.diary.recording import record
from fitcheck.diary.store import Diary


def main(folder: str, name: str, count: int, limit_bytes: int) -> int:
    if limit_bytes:
        resource.setrlimit(resource.RLIMIT_FSIZE, (limit_bytes, limit_bytes))
    try:
        with Diary(Path(folder), create=True) as diary:
            for k in range(count):
                number = record(diary, new_fitting(fit_check(f"{name}{k}"), f"wearer {k % 3}", f"{name} {k % 5}"))
                print(number, flush=True)
    except DiaryError as error:
        print(error, file=sys.stderr)
        return 8
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], sys.argv[2], int(sys.argv[3]), int(sys.argv[4]) if len(sys.argv) > 4 else 0))
