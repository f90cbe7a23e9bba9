"""The command that opens the page: parse, call, print."""

from pathlib import Path
from typing import Annotated

import typer

from fitcheck.terminal import say, speaks_plainly

page_app = typer.Typer()


@page_app.command("open")
@speaks_plainly
def open_page(
    browser: Annotated[bool, typer.Option("--browser/--no-browser", help="Open your usual browser, or only say the address.")] = True,
    port: Annotated[int, typer.Option(min=0, max=65535, help="The port to listen on; usually any that is free.")] = 0,
    diary: Annotated[
        Path | None, typer.Option(envvar="FITCHECK_DIARY", help="The diary's folder, if not the usual one in your own data folder.")
    ] = None,
) -> None:
    """Open the page: a whole fitting in your browser, without a terminal. It can be reached from this computer only."""
    from fitcheck.diary_commands import diary_folder
    from fitcheck.web.serve import serve

    def told(address: str) -> None:
        say(f"fitcheck is open at\n{address}\n(this address works once). Press Ctrl+C here to close it.")

    serve(diary_folder(diary), port, browser, told)
