import numpy as np
import pytest

from tests.scenes.film_specs import LENS_TOLD, OUT_OF_SIGHT, SET_UPS, draw_film_spec, set_up
from tests.scenes.motion import BREATH_M, Motion, breathed, draw_motion

SPECS = [draw_film_spec("film", seed, SET_UPS[seed % 3]) for seed in range(6)]


@pytest.fixture(params=range(6))
def motion(request) -> Motion:
    return draw_motion(SPECS[request.param])


def middle(stand):
    return (stand.start_s + stand.end_s) / 2


def test_she_shows_each_view_by_the_side_that_faces_the_camera(motion):
    facing = {"front": (0, -1, 0), "right": (1, 0, 0), "back": (0, 1, 0), "left": (-1, 0, 0)}  # the camera is at -y; she faces -y
    for stand in motion.stands:
        turn, _ = motion.place(middle(stand), 0.0)
        assert turn @ [0, -1, 0] @ facing[stand.view] > 0.99


def test_a_stand_sways_by_millimetres_about_the_ankles(motion):
    for stand in motion.stands:
        moments = np.linspace(stand.start_s, stand.end_s, 60)
        placed = [motion.place(t, 0.0) for t in moments]
        head, ankle = (np.array([shift + turn @ np.array([0, 0, z]) for turn, shift in placed]) for z in (1.6, 0.08))
        assert 0.001 < np.ptp(head[:, :2], axis=0).max() < 0.02
        assert np.ptp(ankle, axis=0).max() < 1e-9


def test_nothing_leaps(motion):
    moments = np.arange(0, motion.ends_s, 0.005)
    hip = np.array([shift + turn @ np.array([0.2, 0, 1.0]) for turn, shift in (motion.place(t, 0.0) for t in moments)])
    assert np.linalg.norm(np.diff(hip, axis=0), axis=1).max() < 0.006  # of 1.2 m/s


def test_both_ends_of_a_stand_and_of_the_film_are_rendered(motion):
    times = [key.time_s for key in motion.moments()]
    assert times == sorted(times)
    for t in (0.0, motion.ends_s, *(t for stand in motion.stands for t in (stand.start_s, stand.end_s))):
        assert np.isclose(times, t).sum() == 1


def test_breath_moves_the_chest_and_not_the_back_or_the_feet():
    chest, back, foot = np.array([[0, -0.1, 1.2], [0, 0.12, 1.2], [0, -0.1, 0.1]])
    moved = breathed(np.array([chest, back, foot]), BREATH_M, 1.2, 0.0) - [chest, back, foot]
    assert moved[0, 1] == pytest.approx(-BREATH_M)
    assert moved[1, 1] == 0
    assert np.abs(moved[2]).max() < 1e-9


def test_set_ups():
    assert [set_up(spec) for spec in SPECS] == [*SET_UPS, *SET_UPS]
    assert [bool(spec.floor_sheets) for spec in SPECS[:3]] == [False, True, True]
    assert SPECS[1].card.pos_m == OUT_OF_SIGHT
    assert set_up(SPECS[0]) == LENS_TOLD
