import numpy as np

from fitcheck.film.open_film import Look
from fitcheck.film.stillness import around, stands

RNG = np.random.default_rng(3)
ROOM = np.repeat(np.repeat(RNG.integers(60, 200, (90, 120), dtype=np.uint8), 8, 0), 8, 1)
HER = np.repeat(np.repeat(RNG.integers(60, 200, (60, 30), dtype=np.uint8), 8, 0), 8, 1)


def look(time_s, x):
    """A patterned figure at x before a patterned wall."""
    grey = ROOM.copy()
    grey[120:600, x : x + 240] = HER
    return Look(time_s, np.repeat(grey[:, :, None], 3, axis=2))


def film(positions, often=8.0):
    return [look(i / often, x) for i, x in enumerate(positions)]


def test_two_stands_with_a_walk_between():
    still, walk = [100] * 24, list(range(100, 500, 25))
    found = list(stands(film([*still, *walk, *[500] * 24])))
    assert len(found) == 2
    assert found[0].start_s == 0
    assert abs(found[0].end_s - 3.0) <= 0.5
    assert abs(found[1].start_s - 40 / 8) <= 0.6
    assert all(3 <= len(stand.looks) <= 8 for stand in found)


def test_swaying_by_a_millimetre_is_standing_still():
    positions = np.round(300 + 1.0 * np.sin(np.arange(32) / 3)).astype(int)
    assert len(list(stands(film(positions)))) == 1


def test_never_still():
    assert list(stands(film(range(100, 700, 15)))) == []


def test_a_pause_of_half_a_second_is_no_stand():
    walk = list(range(100, 400, 25))
    assert list(stands(film([*walk, *[400] * 4, *[x + 300 for x in walk]]))) == []


def test_few_pictures_are_held_of_a_long_stand():
    stand = next(stands(film([200] * 160)))
    assert stand.lasts_s > 19
    times = [one.time_s for one in stand.looks]
    assert len(times) == 8
    assert np.diff(times).min() >= 1.0  # spread over the whole stand


def test_a_moment_chosen_by_hand():
    stand = around(film([200] * 80), 5.0)
    assert all(abs(one.time_s - 5.0) <= 0.6 for one in stand.looks)
    assert around(film([200] * 8), 30.0) is None
