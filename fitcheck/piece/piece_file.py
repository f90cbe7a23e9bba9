"""`piece.toml`: a piece as it was read, for her to put right, and read back."""

from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import numpy as np
from pydantic import BaseModel, ConfigDict, Field, model_validator
from shapely import LineString, Polygon

from fitcheck.core.records import Floats
from fitcheck.core.toml_file import read_toml
from fitcheck.piece.own_piece import OwnPiece
from fitcheck.report.on_disk import in_place

PLAIN_MM = 0.04  # points that lie so near the line without them are left out
JOINED_MM = 1.0  # by which ends of neighbouring edges may miss each other
MOST_POINTS = 4000
_HEAD = """# A pattern piece, cutting line in millimetres, x to the right, y downwards; its centre line (or grain) is upright.
# Move points, rename edges, add or remove darts and notches; then give this file to `fitcheck piece` in place of the photos.
# Edges stand in order, clockwise as seen; each begins where the one before ends. Edges named mouth_1 ... lie between the legs of a dart.
"""
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


def write_piece(path: Path, piece: OwnPiece) -> None:
    """Write a piece.

    Raises
    ------
    OutputError
        The file cannot be written.
    """
    lines = [_HEAD, f"name = {_quoted(piece.name)}", f"allowance_mm = {piece.allowance_mm:g}", f"fold = {_quoted(piece.fold)}"]
    lines += [f"mirrored = {str(piece.mirrored).lower()}"]
    lines += [] if piece.grain is None else [f"grain = {_points(piece.grain)}"]
    lines += [f"notches = {_points(piece.notches)}"] if piece.notches else []
    lines += [f"notes = [{', '.join(_quoted(note) for note in piece.notes)}]"] if piece.notes else []
    for name, points in piece.edges.items():
        plain = np.array(LineString(points).simplify(PLAIN_MM).coords)
        lines += ["", "[[edge]]", f"name = {_quoted(name)}", f"points = {_points(plain)}"]
    for dart in piece.darts:
        lines += ["", "[[dart]]", f"points = {_points(dart)}"]
    for alteration, amount in piece.done:
        lines += ["", "[[done]]", f"alteration = {_quoted(alteration)}", f"amount_mm = {amount:g}"]
    with in_place(path) as waiting:
        waiting.write_text("\n".join(lines) + "\n", encoding="utf-8")


def read_own(path: Path) -> OwnPiece:
    """Read a piece that was written, perhaps put right by hand.

    Raises
    ------
    UsageError
        It does not hold together; all faults are told.
    """
    facts = read_toml(path, PieceFacts)
    edges = {edge.name: np.array(edge.points, float) for edge in facts.edge}
    names = list(edges)
    for one, two in zip(names, [*names[1:], names[0]], strict=True):
        edges[one][-1] = edges[two][0]
    darts = tuple(np.array(dart.points, float) for dart in facts.dart)
    notches = tuple(np.array(notch, float) for notch in facts.notches)
    grain = None if facts.grain is None else np.array(facts.grain, float)
    done = tuple((one.alteration, one.amount_mm) for one in facts.done)
    return OwnPiece(facts.name, edges, facts.allowance_mm, facts.fold, darts, notches, grain, facts.mirrored, done, facts.notes)


def _points(points: Floats | Sequence[Floats]) -> str:
    return "[" + ", ".join(f"[{x:.2f}, {y:.2f}]" for x, y in points) + "]"


def _quoted(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", " ")
    return f'"{escaped}"'
