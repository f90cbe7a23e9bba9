"""What all commands share: where they print, and how they say what went wrong."""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterable, Sequence
from enum import StrEnum
from typing import TYPE_CHECKING, Any

import typer
from typer.core import TyperCommand

from fitcheck.core.errors import FitcheckError

if TYPE_CHECKING:
    from rich.console import Console


@functools.cache
def console(stderr: bool = False) -> Console:
    """For tables, progress and bold type; made when first needed, as plain sentences need no more than `say`."""
    from rich.console import Console

    return Console(stderr=stderr, highlight=False)


def say(line: str) -> None:
    """One line, as it is."""
    typer.echo(line)


def show(headings: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    """A table of plain text; with more than two columns only the last may take several lines."""
    from rich.table import Table
    from rich.text import Text

    table = Table(*headings, box=None, pad_edge=False)
    for column in table.columns[:-1]:
        column.no_wrap = len(headings) > 2
    for row in rows:
        table.add_row(*map(Text, row))
    console().print(table)


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
            typer.echo(f"{typer.style(error.problem, bold=True)} {error.next_step}", err=True)
            raise typer.Exit(error.exit_code) from None

    return run
