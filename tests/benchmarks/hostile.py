"""What nobody should ever hand to fitcheck, handed to it: python -m tests.benchmarks.hostile [FAMILY ...] [--count N] [--seed N].

A family is a function that makes trials one after the other: a command line, and perhaps a question asked after it has ended. Every
trial runs in a process of its own. Tracebacks, hangs, complaints and anything beyond the memory must be 0. To add a family, write such
a function and name it in FAMILIES.
"""

import argparse
import multiprocessing
import os
import random
import resource
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # a process that is forked had better have no threads
sys.path.insert(0, str(Path(__file__).parents[1]))

from benchmarks import hostile_archives, hostile_databases, hostile_photos, hostile_toml

LONGEST_S = 30.0
MOST_BYTES = 2_000_000_000
UNFORESEEN = 70  # what is no sentence of ours leaves with this code


@dataclass(frozen=True, slots=True)
class Trial:
    """One command.

    Attributes
    ----------
    name : str
        Of what was done to its input.
    words : tuple of str
        After `fitcheck`.
    folder : Path
        Where it runs.
    complaint : function, optional
        Asked with the exit code after the command has ended: "" when all is as it should be.
    """

    name: str
    words: tuple[str, ...]
    folder: Path
    complaint: Callable[[int], str] | None = None


Family = Callable[[Path, int, random.Random], Iterator[Trial]]
FAMILIES: dict[str, Family] = {
    "archives": lambda *told: (Trial(*one) for one in hostile_archives.archives(*told)),
    "databases": lambda *told: (Trial(*one) for one in hostile_databases.databases(*told)),
    "photos": lambda *told: (Trial(*one) for one in hostile_photos.photos(*told)),
    "toml": lambda *told: (Trial(*one) for one in hostile_toml.tomls(*told)),
}


def attempt(trial: Trial, log: Path) -> tuple[str, float, int]:
    """Run one trial: what came of it, seconds, and the most memory it held (bytes)."""
    begun = time.monotonic()
    child = multiprocessing.get_context("fork").Process(target=_run, args=(trial, log))
    child.start()
    child.join(LONGEST_S)
    if child.is_alive():
        child.kill()
        child.join()
        return "hang", time.monotonic() - begun, 0
    said = log.read_text("utf-8", "replace")
    peak = int(log.with_suffix(".peak").read_text() or 0) if log.with_suffix(".peak").exists() else 0
    code = child.exitcode if child.exitcode is not None else -1
    if "Traceback" in said or code == UNFORESEEN or code < 0:
        return "traceback", time.monotonic() - begun, peak
    if code and not said.strip():
        return "silent", time.monotonic() - begun, peak
    if trial.complaint is not None and (wrong := trial.complaint(code)):
        log.write_text(f"{said}\n{wrong}", "utf-8")
        return "complaint", time.monotonic() - begun, peak
    return ("done" if code == 0 else f"sentence, exit {code}"), time.monotonic() - begun, peak


def _run(trial: Trial, log: Path) -> None:
    from fitcheck.cli import app

    os.chdir(trial.folder)
    with open(log, "w", encoding="utf-8") as stream:
        os.dup2(stream.fileno(), 1)
        os.dup2(stream.fileno(), 2)
        sys.stdout = sys.stderr = stream
        sys.argv = ["fitcheck", *trial.words]
        try:
            app()
        except Exception:
            traceback.print_exc(file=stream)
        finally:
            log.with_suffix(".peak").write_text(str(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024))


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("families", nargs="*", default=list(FAMILIES), metavar="FAMILY")
    parser.add_argument("--count", type=int, default=300, help="mutated files a family")
    parser.add_argument("--seed", type=int, default=2026)
    told = parser.parse_args()
    sys.stdout.reconfigure(line_buffering=True)
    bad = 0
    for name in told.families:
        found: Counter[str] = Counter()
        slowest, largest = 0.0, 0
        with tempfile.TemporaryDirectory() as folder:
            log = Path(folder) / "said"
            for trial in FAMILIES[name](Path(folder) / "work", told.count, random.Random(told.seed)):
                outcome, seconds, peak = attempt(trial, log)
                found[outcome] += 1
                slowest, largest = max(slowest, seconds), max(largest, peak)
                if outcome in ("traceback", "hang", "silent", "complaint") or peak > MOST_BYTES:
                    bad += 1
                    print(f"{name}: {outcome}: {trial.name}: {' '.join(trial.words)[:200]}\n{log.read_text('utf-8', 'replace')[-600:]}")
        print(f"{name}: {told.count} files, {sum(found.values())} commands: {', '.join(f'{n} {what}' for what, n in found.most_common())}")
        print(f"{name}: slowest {slowest:.1f} s, most memory {largest / 1e6:.0f} MB")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
