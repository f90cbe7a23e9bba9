"""One short drawn film for all tests here."""

from pathlib import Path

import pytest
from film.drawn_film import Shot, write_film

SAMPLE = Path(__file__).parents[2] / "sample_images" / "forward_shoulder"
SHORT = Shot(rate=10, stand_s=2.0, turn_s=1.0)


@pytest.fixture(scope="session")
def film(tmp_path_factory) -> Path:
    return write_film(SAMPLE, tmp_path_factory.mktemp("film") / "fitting.mp4", SHORT)
