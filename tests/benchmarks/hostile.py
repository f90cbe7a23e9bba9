"""What nobody should ever hand to fitcheck, handed to it: python -m tests.benchmarks.hostile [FAMILY ...] [--count N] [--seed N].

A family is a function that makes trials one after the other: a command line, and perhaps a question asked after it has ended. Every
trial runs in a process of its own. Tracebacks, hangs, complaints and anything beyond the memory must be 0. To add a family, write such
a function and name it in FAMILIES with its share of the files.
"""

import argparse
import os
import random
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # a process that is forked had better have no threads
sys.path.insert(0, str(Path(__file__).parents[1]))

from benchmarks import hostile_archives, hostile_databases, hostile_folders, hostile_photos, hostile_toml, hostile_words
from benchmarks.hostile_trial import Trial, attempt, get_ready

Family = Callable[[Path, int, random.Random], Iterator[Trial]]
FAMILIES: dict[str, tuple[Family, float]] = {
    "photos": (hostile_photos.photos, 0.4),
    "toml": (hostile_toml.tomls, 0.2),
    "archives": (hostile_archives.archives, 0.15),
    "databases": (hostile_databases.databases, 0.1),
    "words": (hostile_words.words, 0.1),
    "folders": (hostile_folders.folders, 0.05),
}


def tried(name: str, count: int, seed: int) -> int:
    """Try a family; returns the number of trials that went wrong, which are printed, and then its figures."""
    found: Counter[str] = Counter()
    slowest, largest, bad, begun = 0.0, 0, 0, time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        for trial in FAMILIES[name][0](Path(folder) / "work", count, random.Random(seed)):
            outcome = attempt(trial, Path(folder) / "said")
            found[outcome.what] += 1
            slowest, largest = max(slowest, outcome.seconds), max(largest, outcome.peak)
            if outcome.bad:
                bad += 1
                print(f"{name}: {outcome.what}: {trial.name}: {' '.join(trial.words)[:200]!r}\n{outcome.said[-600:]}", flush=True)
    print(f"{name}: {count} files, {found.total()} commands: {', '.join(f'{n} {what}' for what, n in found.most_common())}")
    print(
        f"{name}: most processor time {slowest:.1f} s, most memory {largest / 1e6:.0f} MB, {time.monotonic() - begun:.0f} s in all",
        flush=True,
    )
    return bad


def main() -> int:
    """Try the families named; 1 if anything went wrong."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("families", nargs="*", default=list(FAMILIES), metavar="FAMILY")
    parser.add_argument("--count", type=int, default=10_000, help="files in all, were every family named")
    parser.add_argument("--seed", type=int, default=2026)
    told = parser.parse_args()
    get_ready()
    return min(1, sum(tried(name, round(told.count * FAMILIES[name][1]), told.seed) for name in told.families))


if __name__ == "__main__":
    sys.exit(main())
