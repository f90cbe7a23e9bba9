from pathlib import Path

import pytest

from fitcheck.core.errors import UsageError
from fitcheck.film.which_moments import clock, read_moments

FILM = Path("a.mp4")


def test_moments_as_typed():
    assert read_moments(["front=12.4", "Back = 1:02"], FILM) == {"front": 12.4, "back": 62.0}
    for wrong in (["front"], ["top=3"], ["front=x"], ["front=1", "front=2"], ["front=-3"], ["front=1e9"]):
        with pytest.raises(UsageError, match="--at"):
            read_moments(wrong, FILM)


def test_moments_without_a_film():
    with pytest.raises(UsageError, match="for a film"):
        read_moments(["front=2"], None)
    assert read_moments([], None) == {}


def test_minutes_and_seconds():
    assert [clock(seconds) for seconds in (3.2, 62.04, 600)] == ["0:03.2", "1:02.0", "10:00.0"]
