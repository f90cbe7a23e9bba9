"""One command that meets what nobody should hand to it, run in a process of its own; for hostile.py and its families."""

import gc
import importlib
import multiprocessing
import os
import pkgutil
import resource
import sys
import traceback
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from unittest.mock import patch

OWN_TIME_S = 60  # of the processor, by which a command must have ended; slow machines and busy ones make no difference
LONGEST_S = 180.0  # by the clock: whoever waits for something that never comes needs no processor
MOST_BYTES = 2_000_000_000
STOPPED_AT_BYTES = 6_000_000_000  # of address space, so that a trial that takes all memory does not take the machine with it
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
    whole : bool
        Whether photos that could be opened are measured as well, which takes seconds.
    """

    name: str
    words: tuple[str, ...]
    folder: Path
    complaint: Callable[[int], str] | None = None
    whole: bool = True


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of a trial; `seconds` of processor time and `peak` bytes of memory, at most."""

    what: str
    said: str
    seconds: float
    peak: int

    @property
    def bad(self) -> bool:
        return self.what in ("traceback", "hang", "silent", "complaint") or self.peak > MOST_BYTES


def get_ready() -> None:
    """Read the whole program and its tables once for all trials, which are forks of this process; it must have no threads."""
    import fitcheck

    for part in pkgutil.walk_packages(fitcheck.__path__, "fitcheck."):
        if not part.name.endswith("__main__"):
            importlib.import_module(part.name)
    importlib.import_module("fitcheck.advice.table").knowledge()
    gc.freeze()  # so that forks share what they do not change


def attempt(trial: Trial, log: Path) -> Outcome:
    """Run one trial."""
    child = multiprocessing.get_context("fork").Process(target=_run, args=(trial, log))
    child.start()
    child.join(LONGEST_S)
    late = child.is_alive()
    if late:
        child.kill()
        child.join()
    said, used = log.read_text("utf-8", "replace"), log.with_suffix(".used")
    seconds, peak = (float(word) for word in used.read_text().split()) if used.exists() else (0.0, 0.0)
    used.unlink(missing_ok=True)
    code = child.exitcode if child.exitcode is not None else -1
    return Outcome(*_judged(trial, code, said, late), seconds, int(peak))


def _judged(trial: Trial, code: int, said: str, late: bool) -> tuple[str, str]:
    if late or code in (-24, -9):  # out of time by the clock, or of the processor (SIGXCPU, then SIGKILL)
        return "hang", said
    if "Traceback" in said or code == UNFORESEEN or code < 0:
        return "traceback", said
    if code and not said.strip():
        return "silent", said
    if trial.complaint is not None and (wrong := trial.complaint(code)):
        return "complaint", f"{said}\n{wrong}"
    return ("done" if code == 0 else f"sentence, exit {code}"), said


def _run(trial: Trial, log: Path) -> None:
    from fitcheck.__main__ import main

    resource.setrlimit(resource.RLIMIT_CPU, (OWN_TIME_S, OWN_TIME_S + 5))
    resource.setrlimit(resource.RLIMIT_AS, (STOPPED_AT_BYTES, STOPPED_AT_BYTES))
    if not trial.whole:
        _measure_nothing()
    os.chdir(trial.folder)
    with open(log, "w", encoding="utf-8") as stream, open(os.devnull) as nothing:
        os.dup2(nothing.fileno(), 0)
        os.dup2(stream.fileno(), 1)
        os.dup2(stream.fileno(), 2)
        sys.stdout = sys.stderr = stream
        sys.argv = ["fitcheck", *trial.words]
        try:
            main()
        except Exception:
            traceback.print_exc(file=stream)
        finally:
            used = resource.getrusage(resource.RUSAGE_SELF)
            log.with_suffix(".used").write_text(f"{used.ru_utime + used.ru_stime} {used.ru_maxrss * 1024}")


def _measure_nothing() -> None:
    from fitcheck import pipeline
    from fitcheck.core.errors import NothingMeasuredError
    from fitcheck.vision.person import pose

    def stopped(*_: object) -> None:
        raise NothingMeasuredError("The photos could be opened.", "Here the trial ends.")

    patch.object(pose, "get_ready", lambda: None).start()
    patch.object(pipeline, "check_fit", stopped).start()
