"""What all commands share: where they print, and how they say what went wrong."""

from __future__ import annotations

import errno
import functools
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, Any, NoReturn, TypeVar

import typer
from click.exceptions import ClickException
from typer.core import TyperCommand

import fitcheck
from fitcheck.core.errors import FitcheckError, UnforeseenError, UsageError, what_escaped
from fitcheck.core.own_files import owner_only

if TYPE_CHECKING:
    from concurrent.futures import Future

    from rich.console import Console

    from fitcheck.core.progress import Progress


Result = TypeVar("Result")


@functools.cache
def console(stderr: bool = False) -> Console:
    """For tables, progress and bold type; made when first needed, as plain sentences need no more than `say`."""
    from rich.console import Console

    return Console(stderr=stderr, highlight=False)


def say(line: str, aside: bool = False) -> None:
    """One line, as it is; `aside` on stderr, where data stands on stdout."""
    typer.echo(line, err=aside)


def say_data(data: object) -> None:
    """Data for a script: JSON in plain letters, records as tables."""
    import json

    from pydantic_core import to_jsonable_python

    def plain(one: Any) -> object:
        return one.tolist() if hasattr(one, "tolist") else str(one)

    typer.echo(json.dumps(to_jsonable_python(data, fallback=plain), indent=1))


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


@contextmanager
def progress(first: str) -> Iterator[Progress]:
    """A bar on stderr to be told the name of each stage, the share done and the photo that is read; nothing where nobody looks."""
    if not sys.stderr or not sys.stderr.isatty():
        yield lambda stage, share, photo=None: None
        return
    from rich.progress import BarColumn, TextColumn
    from rich.progress import Progress as Bar

    with Bar(TextColumn("{task.description}"), BarColumn(), console=console(stderr=True), transient=True) as bar:
        task = bar.add_task(first, total=1.0)
        yield lambda stage, share, photo=None: bar.update(task, description=f"{stage}: {photo.says}" if photo else stage, completed=share)


JsonOption = Annotated[bool, typer.Option("--json", help="Print the data, for scripts; everything else goes to stderr.")]


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
    """Turn our own errors into one sentence with the next step and their exit code, and whatever else escapes into one as well."""

    @functools.wraps(command)
    def run(*args: Any, **options: Any) -> None:
        try:
            command(*args, **options)
        except FitcheckError as error:
            _stop(error)
        except (ClickException, typer.Exit, typer.Abort):
            raise
        except Exception as error:
            if isinstance(error, OSError) and error.errno == errno.EPIPE:  # whoever reads has had enough
                raise
            _stop(_too_long(error) if isinstance(error, OSError) and error.errno == errno.ENAMETOOLONG else _unforeseen(error))

    return run


def _stop(error: FitcheckError) -> NoReturn:
    between = "\n" if "\n" in error.problem else " "
    typer.echo(f"{typer.style(error.problem, bold=True)}{between}{error.next_step}", err=True)
    raise typer.Exit(error.exit_code) from None


def _too_long(error: OSError) -> UsageError:
    """Wherever a name was first looked at: any option that names a file or folder may bring one."""
    return UsageError(f"The name {str(error.filename)[:60]}... is too long for this machine.", "Give a shorter one.")


def _unforeseen(error: Exception) -> UnforeseenError:
    """A fault of fitcheck itself; how it came about is kept in a file in the user's own folder, if it can be."""
    import traceback

    from platformdirs import user_log_path

    problem = what_escaped(error)
    path = user_log_path("fitcheck", appauthor=False) / "error.txt"
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with open(path, "w", encoding="utf-8", errors="replace", opener=owner_only) as file:
            file.write(f"fitcheck {fitcheck.__version__}, Python {sys.version}, {sys.platform}\n")
            file.writelines(traceback.format_exception(error))
    except OSError:
        return UnforeseenError(problem, f"Please report these words: {str(error)[:200]}")
    return UnforeseenError(problem, f'Please report it with the file "{path}" (read it first: it may name files of yours).')


def begun(work: Callable[[], Result]) -> Future[Result]:
    """Work begun in a thread of its own."""
    from concurrent.futures import ThreadPoolExecutor

    pool = ThreadPoolExecutor(1)
    try:
        return pool.submit(work)
    finally:
        pool.shutdown(wait=False)
