"""The edge of the program, each time in a process of its own: what arrives at the terminal, whatever the terminal is."""

import codecs
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from fitcheck.__main__ import _written_out

SAMPLES = Path(__file__).parents[1] / "sample_images"
ROOT = Path(__file__).parents[1]


def fitcheck(*words: str, stdout=subprocess.PIPE, **env: str) -> subprocess.CompletedProcess[bytes]:
    path = {"PYTHONPATH": os.pathsep.join([str(ROOT), os.environ.get("PYTHONPATH", "")])}
    command = [sys.executable, "-m", "fitcheck", *words]
    return subprocess.run(command, stdout=stdout, stderr=subprocess.PIPE, check=False, env=os.environ | path | env, timeout=300)


@pytest.fixture
def folder(tmp_path) -> Path:
    (tmp_path / "fitting").mkdir()
    shutil.copy(SAMPLES / "forward_shoulder" / "front.jpg", tmp_path / "fitting" / "front.jpg")
    return tmp_path / "fitting"


def test_a_check_says_nothing_but_its_answer(folder):
    """The libraries beneath log to the terminal past Python; a stop of their process would be seen as well."""
    done = fitcheck("check", str(folder))
    assert done.returncode == 0
    assert done.stderr == b""
    assert b"Report:" in done.stdout


def test_errors_still_reach_the_terminal(tmp_path):
    done = fitcheck("check", str(tmp_path / "absent"))
    assert done.returncode == 3
    assert b"no folder" in done.stderr


@pytest.mark.parametrize("encoding", ["cp1252", "ascii", "utf-8"])
@pytest.mark.parametrize(
    "words", [("rules",), ("explain", "forward_shoulder", "--units", "in"), ("--help",), ("sheet", "−x", "--amount", "1")]
)
def test_any_terminal_can_show_it(words, encoding, tmp_path):
    done = fitcheck(*words, PYTHONIOENCODING=encoding, PYTHONUTF8="0", LC_ALL="C", PYTHONCOERCECLOCALE="0")
    assert b"Traceback" not in done.stderr
    assert done.returncode == (2 if words[0] == "sheet" else 0)


def test_signs_a_terminal_lacks_are_written_out():
    codecs.register_error("written_out", _written_out)
    assert "1.2 ± 0.3 cm, −4°, ⅛".encode("ascii", "written_out") == b"1.2 +/- 0.3 cm, -4 deg, ?"
    assert "1.2 ± 0.3".encode("cp1252", "written_out") == "1.2 ± 0.3".encode("cp1252")


def test_a_file_name_in_no_encoding_is_one_sentence(tmp_path):
    done = fitcheck("check", os.fsdecode(bytes(tmp_path) + b"/\xff\xfe"))
    assert done.returncode == 3
    assert b"Traceback" not in done.stderr


def test_closed_and_full_outputs_leave_no_traceback(folder):
    with open("/dev/full", "wb") as full:
        done = fitcheck("rules", stdout=full)
    assert b"Traceback" not in done.stderr
    assert done.returncode not in (0, 1) or b"space" in done.stderr
    shell = f"{sys.executable} -m fitcheck rules >&- 2>&-"
    assert subprocess.run(["bash", "-c", shell], cwd=ROOT, capture_output=True, check=False).stderr == b""


def test_what_nobody_foresaw_is_one_sentence_and_a_file(tmp_path):
    code = "import fitcheck.advice.explain as e; e.explain = lambda *a: 1 / 0\nfrom fitcheck.__main__ import main\nmain()"

    def broken(**env: str) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-c", code, "explain", "toile"]
        path = {"PYTHONPATH": str(ROOT), "COLUMNS": "200"}
        return subprocess.run(command, capture_output=True, text=True, check=False, env=os.environ | path | env)

    done = broken(HOME=str(tmp_path), XDG_STATE_HOME=str(tmp_path / "state"))
    assert done.returncode == 70
    assert "Traceback" not in done.stderr
    assert len(done.stderr.strip().splitlines()) == 1
    (file,) = tmp_path.rglob("*.txt")
    assert str(file) in done.stderr
    assert "ZeroDivisionError" in file.read_text()
    assert file.stat().st_mode & 0o077 == 0
    (tmp_path / "taken").write_text("")
    done = broken(HOME=str(tmp_path / "taken"), XDG_STATE_HOME=str(tmp_path / "taken"))
    assert done.returncode == 70
    assert "ZeroDivisionError" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_home_that_cannot_be_written_is_fine(folder, tmp_path):
    (tmp_path / "taken").write_text("")
    home = {name: str(tmp_path / "taken") for name in ("HOME", "XDG_CONFIG_HOME", "XDG_CACHE_HOME", "XDG_DATA_HOME", "XDG_STATE_HOME")}
    done = fitcheck("check", str(folder), **home)
    assert (done.returncode, done.stderr) == (0, b"")
