"""Points and seams that the user puts right herself: they win over anything found in the same photo."""

import itertools
import json
import math
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, Literal, Self

import numpy as np
from pydantic import BaseModel, ConfigDict, Field, StrictBool, model_validator

from fitcheck.body.placed_doubt import SURE
from fitcheck.body.point_table import body_points
from fitcheck.core.errors import UsageError
from fitcheck.core.fitting import SeamName
from fitcheck.core.polyline import arc_length, resampled
from fitcheck.core.records import SIDES, VIEWS, Floats, SeamLine, Side, Sighting, View
from fitcheck.core.toml_file import is_there, meant, read_toml

PLACED_SD_PX = 2.0  # how well a point is hit with a finger or mouse on an enlarged photo; estimate
LINE_SD_PX = PLACED_SD_PX / 2  # of a line drawn through several
STEP_PX = 2.0  # between the points of a line drawn through a few: finer than any bend of a seam
LONGEST_SEAM_PX = 20_000  # a line drawn along a body is a few thousand pixels long; one that zigzags without end would fill the memory
_NUMBER = r"\d{1,6}(?:\.\d{1,9})?"
_PLACE = rf"(?P<view>{'|'.join(VIEWS)})=(?P<x>{_NUMBER}),(?P<y>{_NUMBER})"
_TEXT = re.compile(rf"(?P<name>\w+)(?::(?P<side>{'|'.join(SIDES)}))?:{_PLACE}(?P<sure>,sure)?")
MOST_PX = 100_000  # a place beyond is in no picture
Number = Annotated[float, Field(ge=0, le=MOST_PX, allow_inf_nan=False)]  # pixels


class _PlacedPoint(BaseModel):
    model_config = ConfigDict(extra="forbid")
    name: str
    side: Side | None = None
    view: View
    xy: tuple[Number, Number]
    sure: StrictBool = False

    @model_validator(mode="after")
    def _known(self) -> Self:
        if wrong := _unknown(self.name, self.side):
            raise ValueError(wrong)
        return self


class _PlacedSeam(BaseModel):
    model_config = ConfigDict(extra="forbid")
    name: SeamName
    side: Side | None = None
    view: View
    points: Annotated[list[tuple[Number, Number]], Field(max_length=1000)]

    @model_validator(mode="after")
    def _one_line(self) -> Self:
        if len(self.points) == 1:
            raise ValueError(f"the seam {self.name} has one point; give two or more, or none where the photo shows no such seam")
        if sum(math.dist(a, b) for a, b in itertools.pairwise(self.points)) > LONGEST_SEAM_PX:
            raise ValueError(f"the seam {self.name} runs to and fro over more than {LONGEST_SEAM_PX} pixels; give it as one line")
        return self


class PlacedFile(BaseModel):
    """What a `placed.toml` says. A seam without points says that what was taken for it in that photo is none."""

    model_config = ConfigDict(extra="forbid")
    version: Literal[1] = 1
    point: Annotated[list[_PlacedPoint], Field(max_length=1000)] = []
    seam: Annotated[list[_PlacedSeam], Field(max_length=200)] = []


def read_placed(path: Path, texts: Sequence[str] = ()) -> tuple[tuple[Sighting, ...], tuple[SeamLine, ...]]:
    """Placed points and seams of a `placed.toml` (missing: none), and points of the command line, which come after and win.

    Parameters
    ----------
    path : Path
    texts : sequence of str
        Each `name[:side]:view=x,y`, pixels of the upright photo; with `,sure` it is believed wherever it lies.

    Raises
    ------
    UsageError
        A file or text that cannot be read, an unknown point, a side too many or missing; all faults are told.
    """
    placed = read_toml(path, PlacedFile, "Give name, side, view and xy (points for a seam).") if is_there(path) else PlacedFile()
    points, seams = as_placed(placed)
    return _each_once([*points, *(_parse(text) for text in texts)]), seams


def as_placed(file: PlacedFile) -> tuple[tuple[Sighting, ...], tuple[SeamLine, ...]]:
    """What a file says, as points and seams."""
    points = [_sighting(p.name, p.side, p.view, p.xy, p.sure) for p in file.point]
    seams = [SeamLine(s.name, s.side, s.view, _dense(np.array(s.points, float).reshape(-1, 2)), LINE_SD_PX, "placed") for s in file.seam]
    return _each_once(points), tuple(seams)


def written(file: PlacedFile) -> str:
    """The text of a `placed.toml` that says this."""
    lines = []
    for kind, rows in (("point", file.point), ("seam", file.seam)):
        for row in rows:
            said = row.model_dump(exclude_none=True, exclude_defaults=True)
            lines += [f"[[{kind}]]", *(f"{key} = {json.dumps(value)}" for key, value in said.items()), ""]
    return "\n".join(lines)


def _each_once(points: Sequence[Sighting]) -> tuple[Sighting, ...]:
    """Each point of a photo as it was put last."""
    return tuple({(p.name, p.side, p.view): p for p in points}.values())


def put_right(found: Sequence[Sighting], placed: Sequence[Sighting], view: View) -> tuple[Sighting, ...]:
    """The sightings of one view with the placed ones in place of those of the same point."""
    own = [p for p in placed if p.view == view]
    replaced = {(p.name, p.side) for p in own}
    return (*(s for s in found if (s.name, s.side) not in replaced), *own)


def put_seams_right(found: Sequence[SeamLine], placed: Sequence[SeamLine], view: View) -> tuple[SeamLine, ...]:
    """The seams of one view with the placed ones in place of those of the same name and side; one placed without points is none."""
    own = [s for s in placed if s.view == view]
    replaced = {(s.name, s.side) for s in own}
    return (*(s for s in found if (s.name, s.side) not in replaced), *(s for s in own if len(s.points_px)))


def _parse(text: str) -> Sighting:
    match = _TEXT.fullmatch(text.strip())
    wrong = "cannot be read" if match is None else _unknown(match["name"], match["side"])
    if match is None or wrong:
        raise UsageError(
            f"--point '{text[:80]}': {wrong}{'' if wrong.endswith('?') else '.'}",
            "Write name:side:view=x,y, for example shoulder_point:wearer_right:right=612,498.",
        )
    side: Side | None = next((s for s in SIDES if s == match["side"]), None)
    view: View = next(v for v in VIEWS if v == match["view"])
    return _sighting(match["name"], side, view, (float(match["x"]), float(match["y"])), match["sure"] is not None)


def _unknown(name: str, side: str | None) -> str:
    """What is wrong with a point's name and side; nothing if they are right."""
    if (name, side) in body_points():
        return ""
    known = sorted({n for n, _ in body_points()})
    if name not in known:
        return f'there is no body point "{name[:60]}"; {meant(name, known)}'
    return f"{name} needs {'a side, wearer_left or wearer_right' if side is None else 'no side: it lies on the middle'}"


def _sighting(name: str, side: Side | None, view: View, xy: tuple[float, float], sure: bool) -> Sighting:
    return Sighting(name, side, view, "placed", np.array(xy), PLACED_SD_PX, kind=SURE if sure else "placed")


def _dense(points: Floats) -> Floats:
    """The polyline with a point about every STEP_PX, as found seams have; none as it is."""
    if not len(points):
        return points
    return resampled(points, max(2, int(arc_length(points)[-1] / STEP_PX) + 1))
