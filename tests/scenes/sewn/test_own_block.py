"""Blocks drafted for six figures of different size and posture, draped on them (held.npz holds the drapes): each fits its own figure.

The hem is levelled last, on the figure, and edges stand off over hollows; both are left out here.
"""

from pathlib import Path

import numpy as np
import pytest

from fitcheck.core.records import Floats
from fitcheck.pattern.drafts.block import Body
from tests.scenes.drape import strain
from tests.scenes.sewn.altered import dress, shared_cloth
from tests.scenes.sewn.cut import Worn
from tests.scenes.sewn.figure import Figure
from tests.scenes.sewn.read import UNWANTED, off, read

with np.load(Path(__file__).parent / "held.npz") as held:
    HELD = dict(held)
BODIES = [Body(**dict(zip(HELD["names"].tolist(), row.tolist(), strict=True))) for row in HELD["bodies"]]
FIGURES = sorted({int(key.split("/")[0]) for key in HELD if "/" in key})
CLOTH = shared_cloth(BODIES)
ASIDE = (*UNWANTED, "hem_front_rise")


def worn(number: int) -> Worn:
    pieces = dress(BODIES[number])
    return Worn(pieces, CLOTH.on_paper(pieces), 0)


def shape(number: int) -> Floats:
    held: Floats = HELD[f"{number}/x"].astype(float)
    return held


@pytest.mark.parametrize("number", FIGURES)
def test_every_observable_lies_within_its_tolerance(number: int) -> None:
    points = {key.split("/")[2]: place.astype(float) for key, place in HELD.items() if key.startswith(f"{number}/at/")}
    figure = Figure(np.zeros((2, 2, 2)), np.zeros(3), points, {}, np.array([[0.0, 0.0, 1.0, 0.0]]))
    away = {key: value for key, value in off(read(shape(number), CLOTH, worn(number), figure, True)).items() if key not in ASIDE}
    assert len(away) == 21
    assert {key: round(value, 2) for key, value in away.items() if abs(value) > 1.05} == {}


@pytest.mark.parametrize("number", FIGURES)
def test_the_cloth_is_the_block_as_drafted_and_hardly_stretched(number: int) -> None:
    one = worn(number)
    corners = CLOTH.tris.reshape(-1)
    flat = np.column_stack([one.flat[corners], np.zeros(len(corners))])
    stretched, _ = strain(shape(number)[CLOTH.sewn_to[corners]], np.arange(len(corners)).reshape(-1, 3), flat)
    assert np.quantile(stretched, 0.99) < 0.02


@pytest.mark.parametrize("number", FIGURES)
def test_the_centre_back_lies_on_her_middle(number: int) -> None:
    assert abs(shape(number)[CLOTH.along("back", "centre"), 0]).max() < 0.01
