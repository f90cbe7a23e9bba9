"""Programs that record and delete fittings and are stopped with SIGKILL at a random moment; used by the test and by the benchmark."""

import multiprocessing
import random
import time
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from pathlib import Path

from diary.conftest import fit_check, new_fitting
from diary.whole import check_whole

from fitcheck.diary.forgetting import delete_fitting, delete_wearer
from fitcheck.diary.recording import record
from fitcheck.diary.store import Diary

MOST_DEEDS = 4  # heard of before the stop; then a part of one more
OF_A_DEED_S = 0.03  # about as long as one takes
PATIENCE_S = 60.0


@dataclass
class Told:
    """What the stopped programs had said, and what was found after each stop."""

    recorded: set[int] = field(default_factory=set)
    deleted: set[int] = field(default_factory=set)
    unfinished: list[set[int]] = field(default_factory=list)  # deletions that were begun and not said to be done
    found: set[int] = field(default_factory=set)
    half_deleted: int = 0
    stopped_deleting: int = 0

    def hear(self, word: str, numbers: set[int]) -> None:
        if word == "recorded":
            self.recorded |= numbers
        elif word == "deleting":
            self.unfinished.append(numbers)
        else:
            self.deleted |= numbers
            self.unfinished.remove(numbers)

    def check(self, found: set[int]) -> None:
        """Nothing that was said to be recorded is lost unless its deletion was asked for; nothing deleted comes back."""
        for numbers in self.unfinished:
            self.stopped_deleting += 1
            self.half_deleted += bool(numbers & found) and not numbers <= found
            self.deleted |= numbers - found
        self.unfinished.clear()
        self.found = found
        assert not self.lost, f"lost: {self.lost}"
        assert not self.deleted & found, f"came back: {self.deleted & found}"
        assert not self.half_deleted

    @property
    def lost(self) -> set[int]:
        return self.recorded - self.deleted - self.found


def _work_on(folder: Path, name: str, pipe: Connection, seed: int) -> None:
    luck = random.Random(seed)
    with Diary(folder, create=True) as diary:
        for k in range(10_000):
            held = diary.entries()
            deed = luck.random()
            if deed < 0.25 and held:
                number = luck.choice(held).number
                pipe.send(("deleting", {number}))
                delete_fitting(diary, number)
                pipe.send(("deleted", {number}))
            elif deed < 0.33 and held:
                wearer = luck.choice(held).wearer
                hers = {entry.number for entry in held if entry.wearer == wearer}
                pipe.send(("deleting", hers))
                delete_wearer(diary, wearer)
                pipe.send(("deleted", hers))
            else:
                new = new_fitting(fit_check(f"{name}{k}"), f"wearer {luck.randrange(6)}", f"garment {luck.randrange(5)}")
                pipe.send(("recorded", {record(diary, new)}))


def killing(folder: Path, kills: int, seed: int) -> Told:
    """What was said and what was found; every fitting was found whole after every stop."""
    luck = random.Random(seed)
    context = multiprocessing.get_context("fork")
    told = Told()
    for k in range(kills):
        hear, speak = context.Pipe(duplex=False)
        process = context.Process(target=_work_on, args=(folder, f"run{k}-", speak, luck.randrange(2**32)))
        process.start()
        speak.close()
        for _ in range(luck.randrange(MOST_DEEDS)):
            assert hear.poll(PATIENCE_S)
            told.hear(*hear.recv())
        time.sleep(luck.uniform(0.0, 1.5 * OF_A_DEED_S))
        process.kill()
        process.join()
        try:
            while True:
                told.hear(*hear.recv())
        except EOFError:
            hear.close()
        with Diary(folder, create=True) as diary:
            told.check(check_whole(diary, told.found))
    with Diary(folder) as diary:
        check_whole(diary)
    return told
