"""Every option and argument of every command with values that nobody should give it; a family of hostile.py."""

import random
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import typer
from benchmarks.hostile_diary import HERS, furnish
from benchmarks.hostile_trial import Trial

from fitcheck.cli import app

ENDLESS = {"open"}  # it serves until it is stopped
ALL_NEEDED: dict[str, tuple[str, ...]] = {  # what a command cannot do without
    "check": ("fitting", "--out", "out"),
    "calibrate": ("fitting", "--profile", "lenses.json"),
    "size": ("--chart", "sizes.toml", "--full-bust", "89", "--high-bust", "84"),
    "explain": ("forward_shoulder",),
    "sheet": ("forward_shoulder", "--amount", "1"),
    "profile": (HERS,),
    "posture": (HERS,),
    "diary note": ("seen", "--fitting", "2"),
    "diary tape": (HERS, "hip", "99"),
    "diary export": (HERS,),
    "diary import": ("good.zip", "--as", "Clara"),
    "diary delete": (HERS, "--yes"),
}
VALUES = (
    *(
        "",
        " ",
        "nan",
        "inf",
        "-inf",
        "-1",
        "0",
        "1e308",
        "-1e308",
        "9" * 400,
        "0x10",
        "1,5",
        "1_0",
        "\u0663",
        "\u00bd",
        "x" * 5000,
        "é" * 300,
    ),
    *(
        "Zoe\u0308",
        "\U0001f9f5",
        "../x",
        "/",
        "/dev/null/x",
        "/proc/self/mem",
        ".",
        "..",
        "~",
        "-",
        "--",
        "a/b",
        "a\\b",
        "con",
        "%s{0}{mm:x}",
    ),
    *(
        "\udcff\udcfe",
        "\x1b[2J",
        "a\nb",
        "\u202eabc",
        "x:y:z=1.2.3,4",
        "shoulder_point:wearer_right:right=612,498",
        "front:a4:1,1 2,2 3,3 4,4",
    ),
    *(
        "shoulder_point:wearer_right:right=" + "9" * 500 + ",1",
        "front:a4:0,0 0,0 0,0 0,0",
        "front:id1:1e9,0 1,1 nan,2 3,3",
        "cm",
        "in",
        "Anna",
    ),
    *(
        "fitting",
        "fitting/right.jpg",
        "sizes.toml",
        "good.zip",
        "diary",
        "diary/diary.sqlite",
        "nowhere/at/all.pdf",
        "x" * 300 + ".pdf",
        "2",
    ),
)


def words(work: Path, count: int, luck: random.Random) -> Iterator[Trial]:
    """Commands with one to three of their options or arguments spoilt; photos are opened only."""
    work.mkdir()
    (work / "canary").write_text("whole")
    commands = {name: command for name, command in every_command() if name not in ENDLESS}
    for k in range(count):
        place = work / "run"
        shutil.rmtree(place, ignore_errors=True)
        furnish(place)
        name, command = luck.choice(list(commands.items()))
        line = [*name.split(), *ALL_NEEDED.get(name, ())]
        options = [param.opts[0] for param in command.params if param.param_type_name == "option"]
        for _ in range(luck.choice((1, 1, 2, 3))):
            if luck.random() < 0.3 and len(line) > len(name.split()):
                line[luck.randrange(len(name.split()), len(line))] = luck.choice(VALUES)
            elif options:
                line += [luck.choice(options), luck.choice(VALUES)]
        if "--diary" not in line and "--diary" in options:
            line += ["--diary", "diary"]
        plain = tuple(word for word in line if "\x00" not in word)
        yield Trial(
            f"{k} {name}", plain, place, lambda _: "" if (work / "canary").read_text() == "whole" else "changed elsewhere", whole=False
        )


def every_command() -> Iterator[tuple[str, Any]]:
    """Name and command, those of groups with the group's name before them."""

    def below(group: Any, before: str) -> Iterator[tuple[str, Any]]:
        for name, command in group.commands.items():
            if hasattr(command, "commands"):
                yield from below(command, f"{before}{name} ")
            else:
                yield f"{before}{name}", command

    return below(typer.main.get_command(app), "")
