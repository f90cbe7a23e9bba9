"""The table of named body points (`landmarks.toml`): conventions and usual places."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np

from fitcheck.core.errors import KnowledgeError
from fitcheck.core.records import SIDES, Floats, Side
from fitcheck.core.solution import PointKey


@dataclass(frozen=True, slots=True)
class BodyPoint:
    """One named point of one side as the table gives it (mm, body frame, stature 1650 mm)."""

    name: str
    side: Side | None
    convention: str
    position_mm: Floats
    spread_mm: Floats
    normal: Floats
    stand_off_mm: tuple[float, float]


@cache
def body_points() -> dict[PointKey, BodyPoint]:
    """Every named point of both sides.

    Returns
    -------
    dict of (name, side) to BodyPoint

    Raises
    ------
    KnowledgeError
        A row without source or with numbers missing.
    """
    table = tomllib.loads(files("fitcheck.body").joinpath("landmarks.toml").read_text("utf-8"))
    points: dict[PointKey, BodyPoint] = {}
    for name, row in table.items():
        missing = {"convention", "sided", "position_mm", "spread_mm", "normal", "stand_off_mm", "source"} - row.keys()
        if missing or not row["source"]:
            raise KnowledgeError(
                f"The body point '{name}' lacks {', '.join(sorted(missing)) or 'a source'}.", "Complete its row in landmarks.toml."
            )
        normal = np.array(row["normal"], float)
        for side in SIDES if row["sided"] else (None,):
            mirror = np.array([-1.0 if side == "wearer_right" else 1.0, 1.0, 1.0])
            points[name, side] = BodyPoint(
                name,
                side,
                row["convention"],
                np.array(row["position_mm"], float) * mirror,
                np.array(row["spread_mm"], float),
                normal / np.linalg.norm(normal) * mirror,
                (float(row["stand_off_mm"][0]), float(row["stand_off_mm"][1])),
            )
    return points
