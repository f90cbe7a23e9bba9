"""What she chose for all pages: units, and how fine amounts are told. Kept in her own settings folder."""

import os
from pathlib import Path
from typing import Literal

from pydantic import BaseModel, ConfigDict

from fitcheck.core.errors import OutputError, UsageError
from fitcheck.core.own_files import owner_only
from fitcheck.core.toml_file import is_there, read_toml
from fitcheck.report.words.units import Units


class Choices(BaseModel):
    """The choices."""

    model_config = ConfigDict(extra="ignore", frozen=True)

    units: Literal["cm", "in"] = "cm"
    finest: Literal["usual", "fine"] = "usual"
    paper: Literal["a4", "letter"] = "a4"

    @property
    def told_in(self) -> Units:
        """The units in which lengths are told."""
        return "in/16" if self.units == "in" and self.finest == "fine" else self.units


def choices_path() -> Path:
    """The file they are kept in."""
    from platformdirs import user_config_path

    return user_config_path("fitcheck", appauthor=False) / "page.toml"


def read_choices(path: Path) -> Choices:
    """The choices kept; the usual ones where there are none or they cannot be read."""
    try:
        return read_toml(path, Choices) if is_there(path) else Choices()
    except UsageError:
        return Choices()


def keep_choices(path: Path, choices: Choices) -> None:
    """Keep them.

    Raises
    ------
    OutputError
    """
    waiting = path.with_suffix(".part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with open(waiting, "w", encoding="utf-8", opener=owner_only) as file:
            file.writelines(f'{key} = "{value}"\n' for key, value in choices)
        os.replace(waiting, path)
    except OSError as error:
        raise OutputError(f"Your settings cannot be kept in {path.parent} ({error.strerror}).", "Make room or free the folder.") from None
