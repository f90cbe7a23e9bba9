"""Programs stopped at once while they record and delete: python -m tests.benchmarks.diary_kill [KILLS, 1000]. Lost and half must be 0."""

import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from diary.killing import killing


def main(kills: int = 1000) -> None:
    begun = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        told = killing(Path(folder) / "diary", kills, seed=2026)
    print(f"{kills} stops in {time.monotonic() - begun:.0f} s; after each every fitting was whole, photos included")
    print(f"{len(told.recorded)} fittings said to be recorded: {len(told.lost)} lost")
    print(f"{len(told.deleted)} deleted; {told.stopped_deleting} deletions were stopped in the middle: {told.half_deleted} done by half")
    print(f"{len(told.found - told.recorded)} of the {len(told.found)} now there were recorded whole but stopped before it could be said")


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:]))
