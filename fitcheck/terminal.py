"""What all commands share: where they print, and how they say what went wrong."""

import functools
from collections.abc import Callable
from enum import StrEnum
from typing import Any

import typer
from rich.console import Console
from rich.markup import escape
from typer.core import TyperCommand

from fitcheck.core.errors import FitcheckError

out = Console(highlight=False)
err = Console(stderr=True, highlight=False)


class Units(StrEnum):
    """Units of a page."""

    cm = "cm"
    inches = "in"


class Paper(StrEnum):
    """Paper sizes of the printables."""

    a4 = "a4"
    letter = "letter"


class BareDiary(TyperCommand):
    """A command whose `--diary` may stand without a folder, which then means the usual one; Typer knows no such options."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Fill in an empty folder before Typer reads the arguments."""
        bare = [i for i, word in enumerate(args) if word == "--diary" and (i + 1 == len(args) or args[i + 1].startswith("-"))]
        return super().parse_args(ctx, ["--diary=" if i in bare else word for i, word in enumerate(args)])


def speaks_plainly(command: Callable[..., None]) -> Callable[..., None]:
    """Turn our own errors into one sentence with the next step, and their exit code."""

    @functools.wraps(command)
    def run(*args: Any, **options: Any) -> None:
        try:
            command(*args, **options)
        except FitcheckError as error:
            err.print(f"[bold]{escape(error.problem)}[/] {escape(error.next_step)}", soft_wrap=True)
            raise typer.Exit(error.exit_code) from None

    return run
