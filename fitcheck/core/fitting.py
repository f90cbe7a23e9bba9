"""What the wearer tells about a fitting: the optional `fitting.toml` beside the photos, checked."""

import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from fitcheck.core.errors import UsageError

SeamName = Literal[
    "centre_front",
    "centre_back",
    "shoulder",
    "side",
    "waist",
    "princess",
    "princess_back",
    "bust_tick",
    "dart",
    "front_edge",
    "neckline",
    "armhole",
    "hem",
]
Front = Literal["dart", "waist_dart", "french_dart", "shoulder_dart", "princess", "shoulder_princess", "none"]
Shaping = Literal["dart", "princess", "none"]
SHAPING: dict[Front, Shaping] = {  # what a front is altered and read like
    "dart": "dart",
    "waist_dart": "dart",
    "french_dart": "dart",
    "shoulder_dart": "dart",
    "princess": "princess",
    "shoulder_princess": "princess",
    "none": "none",
}
Colour = Annotated[str, Field(pattern=r"^[a-z][a-z ]*$", max_length=30)]
_HINTS = {
    "extra_forbidden": "is not a key of fitting.toml",
    "greater_than_equal": "is too small to be meant (lengths are in millimetres)",
    "less_than_equal": "is too large to be meant (lengths are in millimetres)",
}


_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4}


class TapeFacts(BaseModel):
    """The wearer's own tape measurements, table `[tape]` (each optional).

    Attributes
    ----------
    unit : mm | cm | in
        Of the numbers as written; once read, they are millimetres and this says so.
    shoulder_length
        Side neck to shoulder point.
    back_waist_length
        The vertebra that stands out at the neck (C7) to the back waist, along the back.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    unit: Literal["mm", "cm", "in"] = "mm"
    bust: Annotated[float | None, Field(ge=500, le=2200, allow_inf_nan=False)] = None
    high_bust: Annotated[float | None, Field(ge=500, le=2200, allow_inf_nan=False)] = None
    waist: Annotated[float | None, Field(ge=400, le=2200, allow_inf_nan=False)] = None
    hip: Annotated[float | None, Field(ge=500, le=2400, allow_inf_nan=False)] = None
    shoulder_length: Annotated[float | None, Field(ge=60, le=250, allow_inf_nan=False)] = None
    back_waist_length: Annotated[float | None, Field(ge=200, le=700, allow_inf_nan=False)] = None
    bust_span: Annotated[float | None, Field(ge=80, le=450, allow_inf_nan=False)] = None
    height: Annotated[float | None, Field(ge=800, le=2500, allow_inf_nan=False)] = None

    @model_validator(mode="before")
    @classmethod
    def _to_mm(cls, facts: Any) -> Any:
        factor = _MM.get(facts.get("unit", "mm")) if isinstance(facts, dict) else None
        if factor is None:
            return facts
        return {k: v * factor if type(v) in (int, float) else v for k, v in facts.items()} | {"unit": "mm"}

    def given_mm(self) -> dict[str, float]:
        """What was measured, in mm."""
        return {name: value for name, value in self if isinstance(value, float)}


class FittingFacts(BaseModel):
    """The facts of one fitting (every key optional; lengths in millimetres).

    Attributes
    ----------
    maker, date : str
        Whose pattern it is, and the day of the photos (2026-04-02), both for the diary.
    tissue : full | half
        A half tissue covers the wearer's right side only.
    front : dart | waist_dart | french_dart | shoulder_dart | princess | shoulder_princess | none
        How the pattern shapes the bust: a dart from the side, the waist, low on the side or the shoulder, or a princess seam from the
        armhole or the shoulder.
    stage : tissue | toile | garment
    seam_allowance_mm : float
        As drafted: 15 for 5/8 in (common practice).
    drafted_cup_difference_mm : float
        Full bust minus high bust the pattern is drafted for; 50 is the usual "B" (common practice).
    seam_colours : dict of str to str
        Colour each seam line was drawn in: {"shoulder": "blue"}.
    card_bar_mm : float
        Measured length of the card's 100 mm bar.
    card_height_mm : float or None
        Measured from the floor straight up to the lower edge of the card's lowest squares.
    neckline : at_neck | style
        Only a neckline drafted to lie at the neck can be compared with the neck.
    sleeve : set_in | none
        How low the armhole should lie depends on it.
    height_mm : float or None
        Stature of the wearer.
    tape : TapeFacts
        The wearer's own tape measurements.
    kind : top | dress | jacket | coat | skirt | trousers
        What is being fitted.
    cloth : plain | thick | quilted
        Of the garment to be.
    beneath : nothing | light | thick
        What is worn under it.
    observed : dict of str to float
        What was measured by hand at the fitting, in mm or degrees: {"sleeve_tight_R": 12}; the names are those of `fitcheck rules`.
    camera : str
        Name of the camera as `fitcheck calibrate` told it, for photos whose files no longer say it.
    """

    model_config = ConfigDict(extra="forbid", frozen=True, str_strip_whitespace=True)

    wearer: Annotated[str, Field(max_length=200)] = ""
    garment: Annotated[str, Field(max_length=200)] = ""
    maker: Annotated[str, Field(max_length=200)] = ""
    date: Annotated[str, Field(pattern=r"^(\d{4}-\d{2}-\d{2})?$")] = ""
    size_bought: Annotated[str, Field(max_length=200)] = ""
    seam_allowance_mm: Annotated[float, Field(ge=0, le=60, allow_inf_nan=False)] = 15.0
    tissue: Literal["half", "full"] = "full"
    front: Front = "princess"
    stage: Literal["tissue", "toile", "garment"] = "tissue"
    drafted_cup_difference_mm: Annotated[float, Field(ge=0, le=300, allow_inf_nan=False)] = 50.0
    units: Literal["cm", "in"] = "cm"
    seam_colours: dict[SeamName, Colour] = {}
    card_bar_mm: Annotated[float, Field(ge=50, le=150, allow_inf_nan=False)] = 100.0
    card_height_mm: Annotated[float | None, Field(ge=100, le=2200, allow_inf_nan=False)] = None
    neckline: Literal["at_neck", "style"] = "at_neck"
    sleeve: Literal["set_in", "none"] = "set_in"
    height_mm: Annotated[float | None, Field(ge=800, le=2500, allow_inf_nan=False)] = None
    kind: Literal["top", "dress", "jacket", "coat", "skirt", "trousers"] = "dress"
    cloth: Literal["plain", "thick", "quilted"] = "plain"
    beneath: Literal["nothing", "light", "thick"] = "nothing"
    observed: dict[Annotated[str, Field(pattern=r"^[a-z_]+(_[LR])?$")], Annotated[float, Field(ge=-500, le=500, allow_inf_nan=False)]] = {}
    camera: Annotated[str, Field(max_length=200)] = ""
    tape: TapeFacts = TapeFacts()


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
