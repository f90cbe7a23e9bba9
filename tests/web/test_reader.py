"""The process that reads photos: apart from the page, started anew after it has died, gone with the program."""

import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from web import crash

from fitcheck.core.errors import FitcheckError
from fitcheck.web.reader import GoneError, Reader

BEGIN = "import sys; sys.path[:] = sys.argv[1:]; from web import crash; from fitcheck.web.reader import Reader; reader = Reader(); "


@pytest.fixture
def reader() -> Iterator[Reader]:
    made = Reader()
    yield made
    made.close()


def runs(number: int) -> bool:
    """Whether a process is there and not a dead one that nobody asked after."""
    stat = Path(f"/proc/{number}/stat")
    return stat.exists() and stat.read_text().rsplit(")", 1)[1].split()[0] != "Z"


def gone(number: int, within_s: float = 10.0) -> bool:
    until = time.monotonic() + within_s
    while runs(number) and time.monotonic() < until:
        time.sleep(0.02)
    return not runs(number)


def test_it_is_another_process_and_stays_the_same_one(reader):
    import os

    first = reader.ask(crash.number)
    assert first != os.getpid()
    assert reader.ask(crash.number) == first


@pytest.mark.parametrize(("how", "says"), [(signal.SIGSEGV, "fault"), (signal.SIGKILL, "memory")])
def test_a_crash_is_told_and_the_next_question_answered_by_another(reader, how, says):
    first = reader.ask(crash.number)
    with pytest.raises(GoneError) as told:
        reader.ask(crash.die, how)
    assert says in told.value.problem
    assert told.value.next_step
    second = reader.ask(crash.number)
    assert second != first
    assert gone(first)


def test_errors_come_back_as_their_sentences(reader):
    with pytest.raises(FitcheckError) as told:
        reader.ask(crash.refuse)
    assert (told.value.problem, told.value.next_step) == ("It is dark.", "Add light.")


def test_a_fault_of_our_own_says_kind_and_line_only(reader):
    with pytest.raises(FitcheckError, match=r"ZeroDivisionError in crash.py") as told:
        reader.ask(crash.stumble)
    assert "her name" not in str(told.value)


def test_what_libraries_print_is_no_answer(reader):
    assert reader.ask(crash.chatter) == "said"


def test_closed_in_the_middle_of_something(reader):
    number = reader.ask(crash.number)
    threading.Timer(0.3, reader.close).start()
    begun = time.monotonic()
    with pytest.raises(GoneError):
        reader.ask(crash.wait, 60)
    assert time.monotonic() - begun < 10
    assert gone(number)
    with pytest.raises(GoneError):
        reader.ask(crash.number)


@pytest.mark.parametrize("busy", [False, True])
def test_it_goes_with_the_program_however_that_ends(busy):
    """Killed outright, while the reader waits and while it is at work."""
    code = BEGIN + "print(reader.ask(crash.number), flush=True); "
    code += "reader.ask(crash.wait, 60)" if busy else "import time; time.sleep(60)"
    with subprocess.Popen([sys.executable, "-c", code, *sys.path], stdout=subprocess.PIPE, text=True) as program:
        number = int(program.stdout.readline())
        assert runs(number)
        time.sleep(0.2)
        program.kill()
        program.wait()
        assert gone(number)


def test_it_looks_for_its_parts_where_the_program_does(tmp_path, monkeypatch):
    """A file of hers that is called like a module of Python's is not taken for it."""
    (tmp_path / "queue.py").write_text("raise SystemExit(3)")
    monkeypatch.chdir(tmp_path)
    reader = Reader()
    assert reader.ask(crash.chatter) == "said"
    reader.close()
