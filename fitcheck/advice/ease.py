"""Ease, layers beneath and the cloth itself: how much wider than the body a garment should be."""

import tomllib
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Annotated, Literal

from pydantic import Field, ValidationError

from fitcheck.advice.rows import Garment, Row, Words
from fitcheck.core.errors import KnowledgeError
from fitcheck.core.fitting import FittingFacts

Girth = Literal["bust", "waist", "hip"]
GIRTHS: tuple[Girth, ...] = ("bust", "waist", "hip")
Millimetres = Annotated[float, Field(ge=0, le=400, allow_inf_nan=False)]


class EaseRow(Row):
    """What is usual for one kind of garment at one girth."""

    garment: Garment
    at: Girth
    least: Annotated[Millimetres, Field(alias="from")]
    most: Annotated[Millimetres, Field(alias="to")]
    source: Words


class LayerRow(Row):
    """What is worn beneath."""

    beneath: Literal["nothing", "light", "thick"]
    takes: Millimetres
    source: Words


class ClothRow(Row):
    """What the garment's cloth does."""

    cloth: Literal["plain", "thick", "quilted"]
    takes: Millimetres
    says: tuple[Words, ...]
    source: Words


class StageRow(Row):
    """How the next stage will hang."""

    stage: Literal["tissue", "toile", "garment"]
    says: tuple[Words, ...]
    source: Words


class EaseTables(Row):
    """ease.toml as a whole."""

    ease: tuple[EaseRow, ...]
    layer: tuple[LayerRow, ...]
    cloth: tuple[ClothRow, ...]
    stage: tuple[StageRow, ...]

    def wanted(self, fitting: FittingFacts) -> dict[Girth, tuple[float, float]]:
        """Usual ease on the body's girths (least, most; mm), with what layers and cloth take added."""
        takes = sum(row.takes for row in self.layer if row.beneath == fitting.beneath)
        takes += sum(row.takes for row in self.cloth if row.cloth == fitting.cloth)
        return {row.at: (row.least + takes, row.most + takes) for row in self.ease if row.garment == fitting.kind}

    def says(self, fitting: FittingFacts) -> tuple[str, ...]:
        """What cloth and stage ask for, in words."""
        cloth = [text for row in self.cloth if row.cloth == fitting.cloth for text in row.says]
        stage = [text for row in self.stage if row.stage == fitting.stage for text in row.says]
        return (*cloth, *stage)


@cache
def ease_tables() -> EaseTables:
    """The tables that come with fitcheck, loaded once."""
    return load_ease(files("fitcheck.advice") / "knowledge" / "ease.toml")


def load_ease(file: Traversable) -> EaseTables:
    """Load and check ease.toml.

    Raises
    ------
    KnowledgeError
        A row lacks its source or has an impossible number.
    """
    try:
        return EaseTables.model_validate(tomllib.loads(file.read_text("utf-8")))
    except (OSError, UnicodeDecodeError, ValidationError, tomllib.TOMLDecodeError) as error:
        raise KnowledgeError(f"ease.toml does not hold together: {error}.", "Correct it; its head explains every key.") from error
