"""What runs in the reading process, spoken to by its pipes as the program does."""

import pickle
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from web import crash

BEGIN = "import sys; sys.path[:] = sys.argv[1:]; from fitcheck.web.apart import main; main()"


@pytest.fixture
def process() -> Iterator[subprocess.Popen[bytes]]:
    command = [sys.executable, "-P", "-c", BEGIN, *sys.path]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as running:
        yield running
        running.kill()


def ask(process: subprocess.Popen[bytes], task, *given) -> None:
    pickle.dump((task, given, {}), process.stdin)
    process.stdin.flush()


def hear(process: subprocess.Popen[bytes]) -> tuple[str, object]:
    return pickle.load(process.stdout)


def test_questions_that_come_together_are_answered_in_order(process):
    for _ in range(2):
        ask(process, crash.number)
    ask(process, crash.chatter)
    assert [hear(process) for _ in range(3)] == [("made", process.pid), ("made", process.pid), ("made", "said")]


def test_what_is_told_on_the_way_comes_before_the_answer(process):
    ask(process, crash.tell_and_wait, 0.0)
    assert hear(process) == ("told", ("waiting", 0.5, None))
    assert hear(process) == ("made", None)


def test_a_refusal_is_two_sentences_and_it_goes_on(process):
    ask(process, crash.refuse)
    assert hear(process) == ("refused", ("It is dark.", "Add light."))
    ask(process, crash.stumble)
    kind, (problem, next_step) = hear(process)
    assert kind == "refused"
    assert "ZeroDivisionError" in problem
    assert "her name" not in problem + next_step
    ask(process, crash.number)
    assert hear(process) == ("made", process.pid)


def test_ctrl_c_is_meant_for_the_program(process):
    ask(process, crash.number)
    hear(process)
    for one in (signal.SIGINT, signal.SIGHUP):
        process.send_signal(one)
    ask(process, crash.chatter)
    assert hear(process) == ("made", "said")


def test_it_is_given_up_before_the_page_when_memory_is_short(process):
    ask(process, crash.number)
    hear(process)
    own, its = (int(Path(f"/proc/{number}/oom_score_adj").read_text()) for number in ("self", process.pid))
    assert its == 500
    assert its > own


@pytest.mark.parametrize("busy", [False, True])
def test_it_ends_with_the_pipe_it_is_asked_by(process, busy):
    ask(process, crash.number)
    hear(process)
    if busy:
        ask(process, crash.wait, 60)
    process.stdin.close()
    begun = time.monotonic()
    assert process.wait(10) == 0
    assert time.monotonic() - begun < 10
