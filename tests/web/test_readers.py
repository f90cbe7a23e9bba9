"""The two processes that read: one of them is always free, and there are never more."""

import signal
import threading
import time
from collections.abc import Iterator
from contextlib import suppress

import pytest
from web import crash

from fitcheck.core.progress import unheard
from fitcheck.web.reader import GoneError
from fitcheck.web.readers import NO_FITTING, Readers

SOON_S = 20  # to start a process on a busy machine


@pytest.fixture
def readers() -> Iterator[Readers]:
    made = Readers()
    yield made
    made.close()


def which(readers: Readers, fitting: str) -> int:
    """The process that answers about a fitting."""
    return readers.ask(fitting, crash.number).result(SOON_S)


def begun(readers: Readers, fitting: str, seconds: float) -> threading.Thread:
    """Something long about a fitting, which is going on when this returns."""
    going = threading.Event()
    thread = threading.Thread(target=_long, args=(readers, fitting, seconds, lambda *told: going.set()))
    thread.start()
    assert going.wait(SOON_S)
    return thread


def _long(readers: Readers, fitting: str, seconds: float, tell) -> None:
    with suppress(GoneError):
        readers.at_length(fitting, tell, crash.tell_and_wait, seconds)


def test_a_fitting_lives_in_one_of_two(readers):
    lives = {name: which(readers, name) for name in ("a", "b", "c", "d", "e")}
    assert len(set(lives.values())) == 2
    assert lives["a"] != lives["b"]
    assert {name: which(readers, name) for name in lives} == lives


def test_one_fitting_needs_one_process(readers):
    assert which(readers, NO_FITTING) == which(readers, "a") == which(readers, NO_FITTING)


@pytest.mark.parametrize("long", ["a", "b", "new"])
def test_whatever_is_read_everything_else_is_answered(readers, long):
    """By another process than the one that reads; afterwards each answers from where it lives again."""
    lives = {name: which(readers, name) for name in ("a", "b", NO_FITTING)}
    reading = begun(readers, long, 3.0)
    before = time.monotonic()
    answers = {which(readers, name) for name in lives}
    assert time.monotonic() - before < 3.0
    assert reading.is_alive()
    assert len(answers) == 1
    assert answers <= set(lives.values())
    reading.join()
    assert {name: which(readers, name) for name in lives} == lives


def test_what_is_told_on_the_way_is_heard(readers):
    heard = []
    readers.at_length("a", lambda *told: heard.append(told), crash.tell_and_wait, 0.0)
    assert heard == [("waiting", 0.5, None)]


def test_a_fitting_that_is_forgotten_stops_what_is_read_of_it_and_nothing_else(readers):
    lives = {name: which(readers, name) for name in ("a", "b")}
    reading = begun(readers, "a", 60.0)
    readers.forget("c")
    reading.join(1.0)
    assert reading.is_alive()
    waiting = readers.forget("a")
    reading.join(SOON_S)
    assert not reading.is_alive()
    for done in waiting:
        done.result(SOON_S)
    assert which(readers, "b") == lives["b"]


def test_the_other_one_outlives_a_crash(readers):
    lives = {name: which(readers, name) for name in ("a", "b")}
    with pytest.raises(GoneError, match="SIGSEGV"):
        readers.ask("a", crash.die, signal.SIGSEGV).result(SOON_S)
    with pytest.raises(GoneError, match="SIGSEGV"):
        readers.at_length("a", unheard, crash.die, signal.SIGSEGV)
    assert which(readers, "b") == lives["b"]
    assert which(readers, "a") not in lives.values()
