"""What the wearer tells about a fitting: the optional `fitting.toml` beside the photos, checked."""

import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from fitcheck.core.errors import UsageError

SeamName = Literal[
    "centre_front", "centre_back", "shoulder", "side", "waist", "princess", "princess_back", "bust_tick", "dart", "front_edge"
]
Colour = Annotated[str, Field(pattern=r"^[a-z][a-z ]*$", max_length=30)]
_HINTS = {
    "extra_forbidden": "is not a key of fitting.toml",
    "greater_than_equal": "is too small to be meant (lengths are in millimetres)",
    "less_than_equal": "is too large to be meant (lengths are in millimetres)",
}


class FittingFacts(BaseModel):
    """The facts of one fitting (every key optional; lengths in millimetres).

    Attributes
    ----------
    tissue : full | half
        A half tissue covers the wearer's right side only.
    front : dart | princess | none
        How the pattern shapes the bust.
    stage : tissue | toile | garment
    seam_allowance_mm : float
        As drafted: 15 for 5/8 in (common practice).
    drafted_cup_difference_mm : float
        Full bust minus high bust the pattern is drafted for; 50 is the usual "B" (common practice).
    seam_colours : dict of str to str
        Colour each seam line was drawn in: {"shoulder": "blue"}.
    card_bar_mm : float
        Measured length of the card's 100 mm bar.
    neckline : at_neck | style
        Only a neckline drafted to lie at the neck can be compared with the neck.
    sleeve : set_in | none
        How low the armhole should lie depends on it.
    height_mm : float or None
        Stature of the wearer.
    camera : str
        Name of the camera as `fitcheck calibrate` told it, for photos whose files no longer say it.
    """

    model_config = ConfigDict(extra="forbid", frozen=True, str_strip_whitespace=True)

    wearer: Annotated[str, Field(max_length=200)] = ""
    garment: Annotated[str, Field(max_length=200)] = ""
    size_bought: Annotated[str, Field(max_length=200)] = ""
    seam_allowance_mm: Annotated[float, Field(ge=0, le=60, allow_inf_nan=False)] = 15.0
    tissue: Literal["half", "full"] = "full"
    front: Literal["dart", "princess", "none"] = "princess"
    stage: Literal["tissue", "toile", "garment"] = "tissue"
    drafted_cup_difference_mm: Annotated[float, Field(ge=0, le=300, allow_inf_nan=False)] = 50.0
    units: Literal["cm", "in"] = "cm"
    seam_colours: dict[SeamName, Colour] = {}
    card_bar_mm: Annotated[float, Field(ge=50, le=150, allow_inf_nan=False)] = 100.0
    neckline: Literal["at_neck", "style"] = "at_neck"
    sleeve: Literal["set_in", "none"] = "set_in"
    height_mm: Annotated[float | None, Field(ge=800, le=2500, allow_inf_nan=False)] = None
    camera: Annotated[str, Field(max_length=200)] = ""


def read_fitting(path: Path) -> FittingFacts:
    """Read a `fitting.toml`; a file that does not exist means that nothing was said, so defaults hold.

    Parameters
    ----------
    path : Path
        The file itself.

    Raises
    ------
    UsageError
        The file cannot be read, is not TOML, or a key is unknown or has an impossible value; the sentence names the key.
    """
    if not path.exists():
        return FittingFacts()
    try:
        facts = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except OSError as error:
        raise UsageError(f"{path.name} cannot be read ({error.strerror}).", "Check the file and its permissions.") from error
    except UnicodeDecodeError as error:
        raise UsageError(f"{path.name} is not plain text in UTF-8.", "Save it again as plain text.") from error
    except tomllib.TOMLDecodeError as error:
        raise UsageError(f"{path.name} is not valid TOML: {error}.", 'Write one `key = value` a line, words in "quotes".') from error
    return _validated(facts, path.name)


def with_options(facts: FittingFacts, **options: object) -> FittingFacts:
    """The facts with those options of the command line that were given (are not None) in place of the file's.

    Raises
    ------
    UsageError
        An option has an impossible value; the sentence names it.
    """
    return _validated(facts.model_dump() | {key: value for key, value in options.items() if value is not None}, "the command line")


def _validated(facts: Mapping[str, object], where: str) -> FittingFacts:
    try:
        return FittingFacts.model_validate(facts)
    except ValidationError as error:
        first = error.errors()[0]
        key = ".".join(str(part) for part in first["loc"] if part != "[key]")
        reason = _HINTS.get(first["type"], f"is wrong: {first['msg'][0].lower()}{first['msg'][1:]}")
        known = ", ".join(FittingFacts.model_fields)
        raise UsageError(f"In {where}, `{key}` {reason}.", f"Keys that can be given: {known}.") from error
