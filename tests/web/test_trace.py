"""What the page's program does on the network and the disk, by a trace of its system calls through a whole fitting."""

import http.client
import json
import re
import shutil
import sys
import time
from urllib.parse import urlencode

import pytest
from web.opened import CHECKED_MS, SAMPLES, Opened

CALLS = "trace=%network,execve,execveat,openat,open,creat,mkdir,mkdirat,rename,renameat,renameat2"


@pytest.fixture(scope="module")
def traced(tmp_path_factory) -> tuple[str, Opened]:
    """One photo taken in, checked and recorded, asked for over a plain connection; then ended."""
    strace = shutil.which("strace")
    assert strace, "strace is needed (Debian package strace)"
    trace = tmp_path_factory.mktemp("trace") / "trace"
    server = Opened(tmp_path_factory.mktemp("home"), before=[strace, "-f", "--seccomp-bpf", "-e", CALLS, "-o", str(trace)])
    headers = {"Origin": server.base}

    def ask(method: str, path: str, body: bytes | str = b"") -> tuple[int, dict[str, str], bytes]:
        line = http.client.HTTPConnection("127.0.0.1", server.port, timeout=300)
        line.request(method, path, body, headers)
        answer = line.getresponse()
        said = answer.status, dict(answer.headers), answer.read()
        line.close()
        return said

    _, found, _ = ask("GET", server.start.removeprefix(server.base))
    headers["Cookie"] = found["set-cookie"].split(";")[0]
    ask("GET", "/")
    _, found, _ = ask("POST", "/fittings")
    fitting = found["location"]
    status, _, said = ask("POST", f"{fitting}/photo?named=right", (SAMPLES / "forward_shoulder" / "right.jpg").read_bytes())
    assert (status, json.loads(said)["view"]) == (200, "right")
    ask("POST", f"{fitting}/check", urlencode({"wearer": "Anna", "garment": "blouse"}))
    while b"Record in the diary" not in ask("GET", fitting)[2]:
        time.sleep(0.5)
    assert ask("POST", f"{fitting}/record")[0] == 303
    ask("GET", "/print/card-a4.pdf")
    ask("GET", "/wearer/1/export.zip")
    ask("POST", "/stop")  # a signal would reach the tracer, not the program
    server.process.wait(CHECKED_MS / 1000)
    return trace.read_text(), server


def test_it_listens_at_the_loopback_address_only(traced):
    trace, _ = traced
    assert "exited with 0" in trace
    bound = re.findall(r"bind\(\d+, (\{[^}]*\})", trace)
    assert bound == ['{sa_family=AF_INET, sin_port=htons(0), sin_addr=inet_addr("127.0.0.1")}']  # at any port that is free
    assert "AF_INET6" not in trace


def test_it_connects_to_nothing(traced):
    trace, _ = traced
    assert not [line for line in trace.splitlines() if re.search(r"\b(connect|sendto|sendmsg)\(", line) and "AF_INET" in line]
    assert len(re.findall(r"socket\(AF_INET", trace)) == 1  # the one it listens with


def test_it_runs_no_other_program_but_its_own_reader(traced):
    """Both by the same Python; the reader is told where the program's parts lie and nothing of hers."""
    trace, server = traced
    ran = re.findall(r'\bexecve(?:at)?\("([^"]*)", (\[.*?\])', trace)  # begun, whether the line ends there or another comes between
    assert [program for program, _ in ran] == [sys.executable] * 2
    assert '"-P", "-c", "import sys; sys.path' in ran[1][1]
    assert str(server.home) not in ran[1][1]


def test_files_are_made_in_the_users_own_data_folder_only(traced):
    trace, server = traced
    made = [line for line in trace.splitlines() if re.search(r"O_CREAT|\bcreat\(|\bmkdir|\brename", line) and "resumed>" not in line]
    assert any("unrecorded" in line for line in made)
    assert any("diary.sqlite" in line for line in made)
    assert [line for line in made if str(server.home / ".local") not in line and "/dev/null" not in line] == []


def test_nothing_of_her_is_left_but_the_diary(traced):
    _, server = traced
    left = [path for path in server.home.rglob("*") if path.is_file() and path.name != "starting"]
    assert left
    assert [path for path in left if (server.data / "diary") not in path.parents] == []
