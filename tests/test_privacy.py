"""Photos of a body never leave the machine: the main job is traced, with no network to use. It opens no internet socket, runs no other
program, and makes no file but its own."""

import base64
import io
import os
import re
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from benchmarks.hostile_diary import made
from benchmarks.hostile_words import every_command
from PIL import Image

from fitcheck.diary.archive import export_wearer
from fitcheck.diary.store import Diary

CHANGES = re.compile(r"O_CREAT|\bcreat\(|\bmkdir|\brename|\bunlink")
SAMPLES = Path(__file__).parents[1] / "sample_images"


@pytest.fixture(scope="module")
def traced(tmp_path_factory) -> tuple[subprocess.CompletedProcess[str], str, Path]:
    """One check of two photos under strace, in a network namespace of its own where the system allows one."""
    out = tmp_path_factory.mktemp("traced")
    folder = out / "fitting"
    folder.mkdir()
    for view in ("front", "right"):
        photo = Image.open(SAMPLES / "forward_shoulder" / f"{view}.jpg")
        exif = photo.getexif()
        exif.get_ifd(0x8825).update({1: "N", 2: (52.0, 31.0, 12.0), 3: "E", 4: (13.0, 24.0, 18.0)})
        exif[315] = "Secret Photographer"
        photo.save(folder / f"{view}.jpg", exif=exif, quality=92)
    (out / "home").mkdir()
    done = subprocess.run(
        traced_command(out, "check", str(folder)), capture_output=True, text=True, check=False, timeout=300, env=environment(out)
    )
    return done, (out / "trace").read_text(), folder


def traced_command(out: Path, *words: str) -> list[str]:
    """`fitcheck` with these words under strace, which writes `out/trace`."""
    strace = shutil.which("strace")
    assert strace, "strace is needed (Debian package strace)"
    calls = "trace=%network,execve,execveat,openat,open,creat,mkdir,mkdirat,rename,renameat,renameat2,unlink,unlinkat"
    alone = ["unshare", "--net"] if subprocess.run(["unshare", "--net", "true"], capture_output=True, check=False).returncode == 0 else []
    return [*alone, strace, "-f", "-y", "-e", calls, "-o", str(out / "trace"), sys.executable, "-m", "fitcheck", *words]


def environment(out: Path) -> dict[str, str]:
    """A proxy to go through, were anything sent, and an empty home."""
    env = os.environ | {"http_proxy": "http://127.0.0.1:9", "HOME": str(out / "home"), "PYTHONDONTWRITEBYTECODE": "1"}
    return {name: value for name, value in env.items() if not name.startswith(("XDG_", "MPL"))}


# Every other command but `open`: its words and exit code. Each runs in a folder with a diary, an archive, a size table and one photo.
OTHERS: dict[str, tuple[tuple[str, ...], int]] = {
    "card": ((), 0),
    "piece": (("photos/front.jpg", "--diary", "diary", "--wearer", "Anna", "--garment", "bodice"), 3),  # a standing woman
    "calibrate": (("photos", "--profile", "lenses.json"), 3),  # too few photos
    "rules": ((), 0),
    "size": (("--chart", "sizes.toml", "--full-bust", "89", "--high-bust", "84", "--json"), 0),
    "explain": (("forward_shoulder",), 0),
    "sheet": (("forward_shoulder", "--amount", "1", "--full-size"), 0),
    "compare": (("1", "2", "--diary", "diary"), 0),
    "profile": (("Anna", "--diary", "diary"), 0),
    "posture": (("Anna", "--diary", "diary"), 0),
    "diary list": (("--diary", "diary"), 0),
    "diary note": (("hem crooked", "--fitting", "1", "--diary", "diary"), 0),
    "diary tape": (("Anna", "waist", "70", "--diary", "diary"), 0),
    "diary export": (("Anna", "--diary", "diary"), 0),
    "diary import": (("hers.zip", "--as", "Clara", "--diary", "diary"), 0),
    "diary delete": (("Anna", "--yes", "--diary", "diary"), 0),
    "diary rescue": (("--diary", "diary"), 0),
}


def test_every_command_is_traced():
    assert {name for name, _ in every_command()} == {"check", "open", *OTHERS}


@pytest.fixture(scope="module")
def furnished(tmp_path_factory) -> Path:
    """What the commands are about."""
    folder = tmp_path_factory.mktemp("furnished")
    with Diary(made(folder / "diary", 4)) as diary:
        export_wearer(diary, "Anna", folder / "hers.zip")
    shutil.copy(SAMPLES / "sizes.toml", folder)
    (folder / "photos").mkdir()
    shutil.copy(SAMPLES / "control" / "front.jpg", folder / "photos")
    return folder


@pytest.mark.parametrize("name", OTHERS)
def test_no_command_opens_a_socket_runs_a_program_or_writes_elsewhere(furnished, tmp_path, name):
    words, code = OTHERS[name]
    own = tmp_path / "own"
    shutil.copytree(furnished, own)
    (tmp_path / "home").mkdir()
    command, env = traced_command(tmp_path, *name.split(), *words), environment(tmp_path)
    env["PYTHONPATH"] = os.pathsep.join(filter(None, (str(SAMPLES.parent), os.environ.get("PYTHONPATH"))))
    done = subprocess.run(command, cwd=own, capture_output=True, text=True, check=False, timeout=300, env=env)
    assert done.returncode == code, done.stderr
    trace = (tmp_path / "trace").read_text()
    assert f"exited with {code}" in trace
    assert "AF_INET" not in trace
    assert len(re.findall(r"execve(?:at)?\(.*\) = 0", trace)) == 1
    changed = [line for line in trace.splitlines() if CHANGES.search(line) and " = -1 " not in line]
    assert [line for line in changed if str(own) not in line and not _here(line)] == []
    assert not list((tmp_path / "home").iterdir())


def _here(call: str) -> bool:
    """Whether every path of a traced call is one below the folder the command runs in."""
    return all(path[0] != "/" and ".." not in path for path in re.findall(r'"([^"]+)"', call))


def test_the_page_listens_on_this_computer_only_and_leaves_nothing(furnished, tmp_path):
    (tmp_path / "home").mkdir()
    env = environment(tmp_path) | {"TMPDIR": str(tmp_path / "home"), "PYTHONPATH": str(SAMPLES.parent)}
    # in the network of the machine, as a namespace of its own has no address to listen on
    command = traced_command(tmp_path, "open", "--no-browser", "--diary", str(tmp_path / "diary"))
    command = command[command.index(shutil.which("strace") or "strace") :]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, env=env) as page:
        assert page.stdout is not None
        assert page.stdout.readline().startswith("fitcheck is open at")
        running = int((tmp_path / "trace").read_text().split(maxsplit=1)[0])
        os.kill(running, signal.SIGINT)
        page.stdout.read()
    trace = (tmp_path / "trace").read_text()
    assert set(re.findall(r'inet_addr\("([^"]*)"\)', trace)) == {"127.0.0.1"}
    assert "connect(" not in trace
    assert len(re.findall(r"execve(?:at)?\(.*\) = 0", trace)) == 1
    # the second is the empty file that two programs which start together wait for
    assert [path for path in tmp_path.rglob("*") if path.is_file() and path.name not in ("trace", "starting")] == []


def test_it_works_without_a_network(traced):
    done, _, folder = traced
    assert done.returncode == 0, done.stderr
    assert (folder / "report.html").exists()


def test_no_internet_socket_is_opened(traced):
    _, trace, _ = traced
    assert "exited with 0" in trace  # the trace is whole
    assert "AF_INET" not in trace  # covers AF_INET6


def test_no_other_program_is_run(traced):
    """No compiler, no loader: some libraries look for others that way."""
    _, trace, _ = traced
    assert len(re.findall(r"execve(?:at)?\(.*\) = 0", trace)) == 1


def test_files_are_made_nowhere_but_in_its_own_folder(traced):
    """No temporary files, no caches; what is only read is no matter."""
    _, trace, folder = traced
    changed = [line for line in trace.splitlines() if CHANGES.search(line)]
    assert any("report.html" in line for line in changed)
    assert [line for line in changed if str(folder) not in line] == []
    assert not list((folder.parent / "home").iterdir())


def test_the_trace_would_show_a_socket(tmp_path):
    """The check above can fail."""
    code = "import socket; socket.socket(socket.AF_INET, socket.SOCK_DGRAM)"
    subprocess.run(["strace", "-f", "-e", "trace=%network", "-o", str(tmp_path / "trace"), sys.executable, "-c", code], check=True)
    assert "AF_INET" in (tmp_path / "trace").read_text()


def test_place_and_photographer_are_not_handed_on(traced):
    _, _, folder = traced
    page = (folder / "report.html").read_text()
    pictures = re.findall(r"data:image/jpeg;base64,([A-Za-z0-9+/=]+)", page)
    assert len(pictures) >= 2
    for picture in pictures:
        assert not Image.open(io.BytesIO(base64.b64decode(picture))).getexif()
    for text in (re.sub(r"data:image/jpeg;base64,[A-Za-z0-9+/=]+", "", page), (folder / "fitcheck.json").read_text()):
        assert "Secret" not in text
        assert "GPS" not in text


def test_what_can_listen_and_where():
    """Two places in the whole program open something to listen on: the page, at this computer's own address; and the door for her phone,
    which is made only when she asks for it (`tests/web/phone` shows when it opens and closes, between two machines)."""
    package = SAMPLES.parent / "fitcheck"
    listens = {str(path.relative_to(package)) for path in package.rglob("*.py") if re.search(r"\.(listen|bind)\(", path.read_text("utf-8"))}
    assert listens == {"web/serve.py", "web/phone/listener.py"}
    makes = {str(path.relative_to(package)) for path in package.rglob("*.py") if re.search(r"\bListener\(", path.read_text("utf-8"))}
    assert makes == {"web/phone/door.py"}
    asks = {str(path.relative_to(package)) for path in package.rglob("*.py") if re.search(r"door\.open\b", path.read_text("utf-8"))}
    assert asks == {"web/phone_page.py"}  # when the button is pressed
