"""Programs that record fittings and are stopped with SIGKILL at a random moment; used by the test and by the benchmark."""

import multiprocessing
import random
import time
from multiprocessing.connection import Connection
from pathlib import Path

from diary.conftest import fit_check, new_fitting
from diary.whole import check_whole

from fitcheck.diary.recording import record
from fitcheck.diary.store import Diary

LONGEST_S = 0.25  # some ten recordings


def _record_on(folder: Path, name: str, pipe: Connection) -> None:
    with Diary(folder, create=True) as diary:
        for k in range(10_000):
            pipe.send(record(diary, new_fitting(fit_check(f"{name}{k}"), f"wearer {k % 3}", f"garment {k % 5}")))


def killing(folder: Path, kills: int, seed: int) -> tuple[set[int], set[int]]:
    """Numbers that were said to be recorded, and numbers that are in the diary, each found whole after every stop."""
    luck = random.Random(seed)
    context = multiprocessing.get_context("fork")
    said: set[int] = set()
    recorded: set[int] = set()
    for k in range(kills):
        hear, speak = context.Pipe(duplex=False)
        process = context.Process(target=_record_on, args=(folder, f"run{k}-", speak))
        process.start()
        time.sleep(luck.uniform(0.0, LONGEST_S))
        process.kill()
        process.join()
        speak.close()
        try:
            while True:
                said.add(hear.recv())
        except EOFError:
            hear.close()
        with Diary(folder, create=True) as diary:
            recorded = check_whole(diary, recorded)
        assert said <= recorded, f"lost after stop {k}: {said - recorded}"
    return said, recorded
