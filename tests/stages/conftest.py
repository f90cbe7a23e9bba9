"""One sample fitting, taken through the stages one by one."""

from dataclasses import dataclass
from pathlib import Path

import pytest

from fitcheck.core.camera import Photo, Scale
from fitcheck.core.records import VIEWS, View
from fitcheck.core.seen import SeenFitting, SeenPhoto
from fitcheck.core.settings import Settings
from fitcheck.photo.load import load_photo
from fitcheck.stages.advise import Advised, advise
from fitcheck.stages.agree import agree, card_scales
from fitcheck.stages.measure import Measured, measure_fitting
from fitcheck.stages.people import find_everyone
from fitcheck.stages.read import read
from fitcheck.stages.see import see_photos
from fitcheck.stages.solve import Solved, solve

SAMPLE = Path(__file__).parents[2] / "sample_images" / "forward_shoulder"


@dataclass(frozen=True)
class Staged:
    photos: tuple[Photo, ...]
    cards: dict[View, Scale]
    seen: tuple[SeenPhoto, ...]
    agreed: tuple[SeenPhoto, ...]
    fitting: SeenFitting
    solved: Solved
    measured: Measured
    advised: Advised


@pytest.fixture(scope="session")
def staged() -> Staged:
    settings = Settings()
    photos = tuple(load_photo(SAMPLE / f"{view}.jpg", view) for view in VIEWS)
    cards, seen = card_scales(photos, settings), see_photos(photos, find_everyone(photos))
    agreed = agree(seen, cards, settings)
    fitting = read(agreed, settings)
    solved = solve(fitting, settings)
    measured = measure_fitting(fitting, solved)
    return Staged(photos, cards, seen, agreed, fitting, solved, measured, advise(measured, settings.facts))
