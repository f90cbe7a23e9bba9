"""Folders in which things are not what their names say: links in a ring, pipes, sockets, closed files; a family of hostile.py."""

import os
import random
import shutil
import socket
from collections.abc import Callable, Iterator
from pathlib import Path

from benchmarks.hostile_diary import HERS, furnish
from benchmarks.hostile_trial import Trial

COMMANDS = (
    ("check", "fitting", "--out", "out"),
    ("check", "fitting", "--out", "out", "--profile", "lenses.json", "--diary", "diary", "--wearer", HERS, "--garment", "bodice"),
    ("calibrate", "fitting", "--profile", "lenses.json"),
    ("size", "--chart", "sizes.toml", "--fitting", "fitting/fitting.toml"),
    ("sheet", "forward_shoulder", "--amount", "1", "--fitting", "fitting/fitting.toml", "--out", "out/sheet.pdf"),
    ("card", "--out", "out/card.pdf"),
    *(
        (*words, "--diary", "diary")
        for words in (("diary", "list"), ("compare",), ("profile", HERS), ("posture", HERS), ("diary", "rescue"))
    ),
    *((*words, "--diary", "diary") for words in (("diary", "import", "good.zip", "--as", "Clara"), ("diary", "delete", HERS, "--yes"))),
    ("diary", "export", HERS, "--out", "out/hers.zip", "--diary", "diary"),
)
PLACES = (
    *(
        "fitting",
        "fitting/right.jpg",
        "fitting/front.jpg",
        "fitting/fitting.toml",
        "fitting/placed.toml",
        "lenses.json",
        "sizes.toml",
        "good.zip",
    ),
    *("out", "out/report.html", "out/fitcheck.json", "out/card.pdf", "out/sheet.pdf", "out/hers.zip", "diary", "diary/diary.sqlite"),
    *("diary/diary.sqlite-wal", "diary/diary.sqlite-shm", "diary/photos", "compare.html", "posture.html", "profile.html"),
)


def folders(work: Path, count: int, luck: random.Random) -> Iterator[Trial]:
    """A command in a sound folder in which one or two things were exchanged; photos are opened only."""
    work.mkdir()
    for k in range(count):
        place = work / "run"
        shutil.rmtree(place, ignore_errors=True)
        furnish(place, "out")
        said = []
        for _ in range(luck.choice((1, 1, 2))):
            what, how = luck.choice(PLACES), luck.choice(DEEDS)
            if (place / what).parent.is_dir():
                _remove(place / what)
                how(place / what)
                said.append(f"{what} is {how.__name__.strip('_').replace('_', ' ')}")
        yield Trial(f"{k} {'; '.join(said)}", luck.choice(COMMANDS), place, whole=False)


def _remove(path: Path) -> None:
    if path.is_dir() and not path.is_symlink():
        shutil.rmtree(path)
    else:
        path.unlink(missing_ok=True)


def _a_folder(path: Path) -> None:
    path.mkdir()


def _a_full_folder(path: Path) -> None:
    path.mkdir()
    (path / "thing").write_bytes(b"x")


def _a_pipe(path: Path) -> None:
    os.mkfifo(path)


def _a_socket(path: Path) -> None:
    here = os.getcwd()
    os.chdir(path.parent)
    with socket.socket(socket.AF_UNIX) as made_socket:
        made_socket.bind(path.name)
    os.chdir(here)


def _a_link_to_itself(path: Path) -> None:
    path.symlink_to(path.name)


def _a_link_to_nothing(path: Path) -> None:
    path.symlink_to("nowhere at all")


def _a_link_to_its_folder(path: Path) -> None:
    path.symlink_to(path.parent, target_is_directory=True)


def _without_end(path: Path) -> None:
    path.symlink_to("/dev/zero")


def _full(path: Path) -> None:
    path.symlink_to("/dev/full")


def _nothing(path: Path) -> None:
    path.symlink_to("/dev/null")


def _memory(path: Path) -> None:
    path.symlink_to("/proc/self/mem")


def _empty(path: Path) -> None:
    path.touch()


def _noise(path: Path) -> None:
    path.write_bytes(os.urandom(3000))


def _huge(path: Path) -> None:
    with open(path, "wb") as file:
        file.truncate(5 * 10**9)  # a hole, no blocks


def _missing(path: Path) -> None:
    """Nothing is put in its place."""


DEEDS: tuple[Callable[[Path], None], ...] = (
    *(_a_folder, _a_full_folder, _a_pipe, _a_socket, _a_link_to_itself, _a_link_to_nothing, _a_link_to_its_folder, _without_end, _full),
    *(_nothing, _memory, _empty, _noise, _huge, _missing),
)
