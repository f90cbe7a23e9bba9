"""What the wearer tells about a fitting: the optional `fitting.toml` beside the photos, checked."""

from collections.abc import Collection
from pathlib import Path
from typing import Annotated, Any, Literal, Self

from pydantic import (
    AfterValidator,
    BaseModel,
    ConfigDict,
    Field,
    SerializerFunctionWrapHandler,
    ValidationError,
    ValidationInfo,
    model_serializer,
    model_validator,
)

from fitcheck.core.errors import UsageError
from fitcheck.core.lengths import MM_PER_INCH, MM_PER_UNIT
from fitcheck.core.records import Side
from fitcheck.core.toml_file import fault, is_there, meant, read_toml
from fitcheck.core.worn_told import HALF_SIDES, WornTold

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
PEN_COLOURS = ("black", "red", "orange", "yellow", "green", "teal", "blue", "purple", "pink", "white")
OPTIONS = {"card_bar_mm": "--card-bar", "card_height_mm": "--card-height", "bust": "--full-bust", "back_waist_length": "--back-waist"}


def _pen_colour(words: str) -> str:
    word = words.split()[-1].lower() if words.split() else ""
    if word not in PEN_COLOURS:
        raise ValueError(f'"{words[:30]}" is no colour that is known; {meant(word, PEN_COLOURS)}')
    return words.lower()


def _known_name(name: str, info: ValidationInfo) -> str:
    known = (info.context or {}).get("observed")
    if known and name not in known:
        raise ValueError(f'there is no measurement "{name[:60]}"; {meant(name, known)}')
    return name


Colour = Annotated[str, Field(max_length=30), AfterValidator(_pen_colour)]
ObservedName = Annotated[str, AfterValidator(_known_name)]


def in_mm(facts: dict[str, Any], unit: object) -> dict[str, Any]:
    """A table's lengths in millimetres, and its `unit`, if it has one, saying so; with an unknown unit the table as it is."""
    if not isinstance(unit, str) or unit not in MM_PER_UNIT:
        return facts
    return {k: float(v) * MM_PER_UNIT[unit] if _is_length(v) else "mm" if k == "unit" else v for k, v in facts.items()}


def _is_length(value: Any) -> bool:
    return isinstance(value, float) or (type(value) is int and abs(value) < 10**9)


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
        return in_mm(facts, facts.get("unit", "mm")) if isinstance(facts, dict) else facts

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
        A half tissue covers one of her sides only. What is not told here is seen in the photos.
    half : right | left | None
        Her side that a half tissue is on; None: as the photos show.
    edge : centre | cut
        Of a half tissue whose centre lines do not show: it ends at the centre, or so much beyond as the seam allowance.
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
        Measured length of the card's 100 mm bar, or of a floor sheet's bar of 254 mm, which tells the size of all prints better.
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
    finest : usual | fine
        How fine amounts are told: usual to 2.5 mm or 1/8 in, fine to 1 mm or 1/16 in.
    kind : top | dress | jacket | coat | skirt | trousers
        What is being fitted.
    cloth : plain | thick | quilted | knit
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
    half: Literal["right", "left"] | None = None
    edge: Literal["centre", "cut"] = "centre"
    front: Front = "princess"
    stage: Literal["tissue", "toile", "garment"] = "tissue"
    drafted_cup_difference_mm: Annotated[float, Field(ge=0, le=300, allow_inf_nan=False)] = 50.0
    units: Literal["cm", "in"] = "cm"
    seam_colours: dict[SeamName, Colour] = {}
    card_bar_mm: Annotated[float, Field(ge=50, le=381, allow_inf_nan=False)] = 100.0
    card_height_mm: Annotated[float | None, Field(ge=100, le=2200, allow_inf_nan=False)] = None
    neckline: Literal["at_neck", "style"] = "at_neck"
    sleeve: Literal["set_in", "none"] = "set_in"
    height_mm: Annotated[float | None, Field(ge=800, le=2500, allow_inf_nan=False)] = None
    kind: Literal["top", "dress", "jacket", "coat", "skirt", "trousers"] = "dress"
    cloth: Literal["plain", "thick", "quilted", "knit"] = "plain"
    finest: Literal["usual", "fine"] = "usual"
    beneath: Literal["nothing", "light", "thick"] = "nothing"
    observed: dict[ObservedName, Annotated[float, Field(ge=-500, le=500, allow_inf_nan=False)]] = {}
    camera: Annotated[str, Field(max_length=200)] = ""
    tape: TapeFacts = TapeFacts()

    @property
    def worn_told(self) -> WornTold:
        """What was said of how the tissue is worn and cut."""
        tissue = "half" if self.half is not None else self.tissue if "tissue" in self.model_fields_set else None
        cut_mm = (self.seam_allowance_mm if self.edge == "cut" else 0.0) if "edge" in self.model_fields_set else None
        return WornTold(tissue, None if self.half is None else HALF_SIDES[self.half], cut_mm)

    @model_serializer(mode="wrap")
    def _told_of_halves(self, as_usual: SerializerFunctionWrapHandler) -> dict[str, Any]:
        """What is for half tissues only is not written of whole garments."""
        written: dict[str, Any] = as_usual(self)
        return written if self.worn_told.tissue == "half" else {key: value for key, value in written.items() if key not in ("half", "edge")}

    def as_worn(self, half: Side | None) -> Self:
        """The facts with the tissue as it was seen to be worn."""
        if half is None:
            return self.model_copy(update={"tissue": "full", "half": None}) if self.tissue == "half" else self
        return self.model_copy(update={"tissue": "half", "half": next(word for word, side in HALF_SIDES.items() if side == half)})

    @property
    def step_mm(self) -> float:
        """To what amounts to cut are rounded: what a pencil line on paper is good for, or finer."""
        if self.units == "cm":
            return 1.0 if self.finest == "fine" else 2.5
        return MM_PER_INCH / (16 if self.finest == "fine" else 8)

    @property
    def told_in(self) -> Literal["cm", "in", "in/16"]:
        """The units in which amounts are told."""
        return "in/16" if self.units == "in" and self.finest == "fine" else self.units


def read_fitting(path: Path, observed: Collection[str] = ()) -> FittingFacts:
    """Read a `fitting.toml`; a file that does not exist means that nothing was said, so defaults hold.

    Parameters
    ----------
    path : Path
        The file itself.
    observed : collection of str, optional
        The names that its table `[observed]` may use; without, any.

    Raises
    ------
    UsageError
        The file cannot be read, is not TOML, or a key is unknown or has an impossible value; all faults are told.
    """
    return _woven(read_toml(path, FittingFacts, context={"observed": observed})) if is_there(path) else FittingFacts()


def with_options(facts: FittingFacts, **options: object) -> FittingFacts:
    """The facts with those options of the command line that were given (are not None) in place of the file's.

    Raises
    ------
    UsageError
        An option has an impossible value; the sentence names the option.
    """
    given = {key: value for key, value in options.items() if value is not None}
    return facts.model_copy(update=dict(_option(FittingFacts, key, value, {key: value}) for key, value in given.items()))


def with_tape_options(facts: FittingFacts, unit: str, **options: float | None) -> FittingFacts:
    """The facts with those tape measurements of the command line that were given, in cm or in, in place of the file's.

    Raises
    ------
    UsageError
        An option has an impossible value; the sentence names the option and speaks in the unit given.
    """
    given = {key: value for key, value in options.items() if value is not None}
    tape = facts.tape.model_copy(update=dict(_option(TapeFacts, key, value, {"unit": unit, key: value}) for key, value in given.items()))
    return facts.model_copy(update={"tape": tape})


def _option(model: type[BaseModel], key: str, value: object, facts: dict[str, object]) -> tuple[str, object]:
    """One option as the model has it once checked."""
    try:
        return key, getattr(model.model_validate(facts), key)
    except ValidationError as error:
        option = OPTIONS.get(key, f"--{key.replace('_', '-')}")
        said = fault(error.errors()[0], model, facts).replace(f"`{key}`", option, 1)
        raise UsageError(f"{said}{'' if said.endswith('?') else '.'}", f"Give {option} another value, or leave it out.") from error


def _woven(facts: FittingFacts) -> FittingFacts:
    if facts.cloth == "knit":
        raise UsageError(
            "Knits worn tighter than the body (ease below zero) stretch to fit, and fitcheck knows the rules of woven cloth only.",
            'Fit a woven toile of the pattern, or leave `cloth = "knit"` out if the knit is as loose as woven cloth would be.',
        )
    return facts
