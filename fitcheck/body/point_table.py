"""The table of named body points (`landmarks.toml`): conventions, and how stickers and the pose model lie on them."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np

from fitcheck.core.errors import KnowledgeError
from fitcheck.core.pose_joints import JOINTS
from fitcheck.core.records import OUTWARDS, SIDES, Floats, Side
from fitcheck.core.solution import PointKey


@dataclass(frozen=True, slots=True)
class BodyPoint:
    """One named point of one side as the table gives it (body frame)."""

    name: str
    side: Side | None
    convention: str
    normal: Floats
    stand_off_mm: tuple[float, float]


@dataclass(frozen=True, slots=True)
class SeenPoint:
    """Something seen beside a landmark: a point of the pose model or a place on the outline.

    Attributes
    ----------
    views : tuple of str
        View names, or "near": the view that the point's own side faces.
    edge : str
        top or bottom of the outline, "" for the pose.
    pose_point : int or None
        Number of the joint in the pose model.
    anchor : PointKey
        The landmark it lies beside.
    swung_by : PointKey
        Another landmark.
    swing : ndarray, shape (3,)
        By how much of the way from the anchor to that landmark it lies further that way.
    alike : ndarray, shape (3,)
        How alike it strays on both sides (a correlation).
    """

    name: str
    side: Side | None
    views: tuple[str, ...]
    edge: str
    pose_point: int | None
    anchor: PointKey
    offset_mm: Floats
    sd_mm: Floats
    seen_sd_mm: float
    swung_by: PointKey
    swing: Floats
    alike: Floats


@cache
def _table() -> dict[str, dict[str, Any]]:
    return tomllib.loads(files("fitcheck.body").joinpath("landmarks.toml").read_text("utf-8"))


@cache
def seen_points() -> tuple[SeenPoint, ...]:
    """Every point of the table's `seen` part, for both sides where the landmark beside it has two."""
    rows: list[SeenPoint] = []
    for name, row in _table()["seen"].items():
        anchor = row["anchor"]
        sides: tuple[Side | None, ...] = SIDES if _table()[anchor]["sided"] else (None,)
        for i, side in enumerate(sides):
            mirror = np.array([OUTWARDS[side], 1.0, 1.0])
            rows.append(
                SeenPoint(
                    name,
                    side,
                    tuple(row["views"]),
                    row.get("edge", ""),
                    JOINTS[row["joint"]][i] if row["by"] == "pose" else None,
                    (anchor, side),
                    np.array(row["offset_mm"], float) * mirror,
                    np.array(row["sd_mm"], float),
                    float(row["seen_sd_mm"]),
                    (row.get("swung_by", "elbow"), side),
                    np.array(row.get("swing", (0, 0, 0)), float),
                    np.array(row.get("alike", (0, 0, 0)), float),
                )
            )
    return tuple(rows)


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
    points: dict[PointKey, BodyPoint] = {}
    for name, row in _table().items():
        if name == "seen" or not row.get("landmark", True):
            continue
        missing = {"convention", "sided", "normal", "stand_off_mm", "source"} - row.keys()
        if missing or not row["source"]:
            raise KnowledgeError(
                f"The body point '{name}' lacks {', '.join(sorted(missing)) or 'a source'}.", "Complete its row in landmarks.toml."
            )
        normal = np.array(row["normal"], float)
        for side in SIDES if row["sided"] else (None,):
            mirror = np.array([OUTWARDS[side], 1.0, 1.0])
            points[name, side] = BodyPoint(
                name,
                side,
                row["convention"],
                normal / np.linalg.norm(normal) * mirror,
                (float(row["stand_off_mm"][0]), float(row["stand_off_mm"][1])),
            )
    return points
