"""Measurements by hand, from the samples' truth files, and from the solver benchmark's simulation."""

import json
import runpy
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from fitcheck.advice.rows import Knowledge
from fitcheck.advice.table import knowledge
from fitcheck.core.records import Measurement, Side, measurement_key

ROOT = Path(__file__).parents[2]
SIDES: dict[str, Side | None] = {"L": "wearer_left", "R": "wearer_right"}
Measure = Callable[..., Measurement]


def measured(key: str, value: float, sd: float = 1.0) -> Measurement:
    """One measurement by its key, `shoulder_seam_behind_tip_R`."""
    for observable, at in knowledge().places.values():
        for side in (None, *SIDES.values()):
            if measurement_key(observable.id, at, side) == key:
                return Measurement(observable.id, at, side, None, value, observable.unit, sd, {"pixel": sd})
    raise KeyError(key)


def table_key(name: str) -> str:
    """A name of the scene maker's truth as our key."""
    name = name.replace("shoulder_right_lower", "shoulder_height_difference").replace("side_seam_tilt_deg", "side_seam_tilt")
    return name.replace("_at_", "_")


@pytest.fixture(scope="session")
def table() -> Knowledge:
    return knowledge()


@pytest.fixture(scope="session")
def measure() -> Measure:
    return measured


@pytest.fixture(scope="session")
def sample() -> Callable[[str], list[Measurement]]:
    def read(name: str) -> list[Measurement]:
        truth = json.loads((ROOT / "sample_images" / name / "truth.json").read_text("utf-8"))["observables_mm"]
        bodily = ("shoulder_slope_deg", "shoulder_forward_of_C7", "craniovertebral", "bust_span", "stature")
        return [
            measured(table_key(key), value, 0.5 if "deg" in key else 1.5)
            for key, value in truth.items()
            if value is not None and not key.startswith(bodily)
        ]

    return read


@pytest.fixture(scope="session")
def simulation() -> dict[str, Any]:
    return runpy.run_path(str(ROOT / "tests" / "benchmarks" / "solver.py"))
