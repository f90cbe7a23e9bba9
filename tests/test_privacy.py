"""Photos of a body never leave the machine: the main job is traced, with no network to use. It opens no internet socket, runs no other
program, and makes no file but its own."""

import base64
import io
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from PIL import Image

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
    strace = shutil.which("strace")
    assert strace, "strace is needed (Debian package strace)"
    alone = ["unshare", "--net"] if subprocess.run(["unshare", "--net", "true"], capture_output=True, check=False).returncode == 0 else []
    command = [
        *alone,
        strace,
        "-f",
        "-e",
        "trace=%network,execve,execveat,openat,open,creat,mkdir,mkdirat,rename,renameat,renameat2,unlink,unlinkat",
        "-o",
        str(out / "trace"),
        sys.executable,
        "-m",
        "fitcheck",
        "check",
        str(folder),
    ]
    (out / "home").mkdir()
    env = os.environ | {"http_proxy": "http://127.0.0.1:9", "HOME": str(out / "home"), "PYTHONDONTWRITEBYTECODE": "1"}
    env = {name: value for name, value in env.items() if not name.startswith(("XDG_", "MPL"))}
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=300, env=env)
    return done, (out / "trace").read_text(), folder


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
    made = [line for line in trace.splitlines() if re.search(r"O_CREAT|\bcreat\(|\bmkdir|\brename|\bunlink", line)]
    assert any("report.html" in line for line in made)
    assert [line for line in made if str(folder) not in line] == []
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
