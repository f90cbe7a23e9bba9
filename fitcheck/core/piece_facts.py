"""What a pattern piece's text (`piece.toml`) may hold: the file she edits, and the rows that the diary keeps, are checked alike."""

import tomllib
from typing import Annotated

import numpy as np
from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator
from shapely import Polygon

JOINED_MM = 1.0  # by which ends of neighbouring edges may miss each other
MOST_POINTS = 4000
Millimetres = Annotated[float, Field(ge=-5000, le=5000, allow_inf_nan=False)]
Place = tuple[Millimetres, Millimetres]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, str_strip_whitespace=True)


class EdgeFacts(_Strict):
    """One edge."""

    name: Annotated[str, Field(min_length=1, max_length=40, pattern=r"^[a-z][a-z0-9_]*$")]
    points: Annotated[tuple[Place, ...], Field(min_length=2, max_length=MOST_POINTS)]


class DartFacts(_Strict):
    """One dart: end of a leg, point, end of the other leg."""

    points: tuple[Place, Place, Place]


class DoneFacts(_Strict):
    """An alteration that is in the piece."""

    alteration: Annotated[str, Field(max_length=60)]
    amount_mm: Annotated[float, Field(ge=-500, le=500, allow_inf_nan=False)]


class PieceFacts(_Strict):
    """piece.toml as a whole."""

    name: Annotated[str, Field(min_length=1, max_length=60)]
    allowance_mm: Annotated[float, Field(ge=0, le=60, allow_inf_nan=False)]
    fold: Annotated[str, Field(max_length=40)] = ""
    mirrored: bool = False
    grain: tuple[Place, Place] | None = None
    notches: tuple[Place, ...] = ()
    notes: tuple[Annotated[str, Field(max_length=400)], ...] = ()
    edge: Annotated[tuple[EdgeFacts, ...], Field(min_length=1, max_length=40)]
    dart: Annotated[tuple[DartFacts, ...], Field(max_length=20)] = ()
    done: Annotated[tuple[DoneFacts, ...], Field(max_length=100)] = ()

    @model_validator(mode="after")
    def _hangs_together(self) -> "PieceFacts":
        names = [edge.name for edge in self.edge]
        twice = sorted({name for name in names if names.count(name) > 1})
        if twice:
            raise ValueError(f"two edges are named {twice[0]}; each needs a name of its own")
        if self.fold and self.fold not in names:
            raise ValueError(f'the fold is on "{self.fold}", which is none of the edges {", ".join(names)}')
        for one, two in zip(self.edge, (*self.edge[1:], self.edge[0]), strict=True):
            if float(np.hypot(*(np.array(one.points[-1]) - two.points[0]))) > JOINED_MM:
                raise ValueError(f"edge {one.name} ends elsewhere than {two.name} begins; give both the same point")
        outline = Polygon(np.vstack([edge.points[:-1] for edge in self.edge]))
        if not outline.is_valid or outline.area < 100.0:
            raise ValueError("the outline crosses itself; put its points in order round the piece")
        return self


def piece_facts(text: str) -> PieceFacts:
    """A piece that fitcheck wrote and kept.

    Raises
    ------
    ValueError
        It is none.
    """
    try:
        return PieceFacts.model_validate(tomllib.loads(text))
    except (ValidationError, ValueError, RecursionError):
        raise ValueError("is none that fitcheck writes") from None
