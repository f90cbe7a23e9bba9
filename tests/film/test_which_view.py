import numpy as np

from fitcheck.core.records import Pose
from fitcheck.film.stillness import Stand
from fitcheck.film.which_view import Placed, off_square_deg, views_of


def placed(view, start, lasts=3.0, off=2.0):
    return Placed(Stand(start, start + lasts, ()), view, None, off)


def named(*found):
    return {view: one.stand.start_s for view, one in views_of(found).items()}


def test_four_views_in_any_order():
    found = named(placed("left", 0), placed("back", 5), placed("right", 10), placed("front", 15))
    assert found == {"front": 15, "right": 10, "back": 5, "left": 0}
    assert list(found) == ["front", "right", "back", "left"]


def test_the_squarer_of_two_stands_and_the_longer():
    assert named(placed("right", 0, off=20), placed("right", 5, off=3)) == {"right": 5}
    assert named(placed("right", 0, lasts=1.3), placed("right", 5)) == {"right": 5}


def test_half_a_turn_later_a_second_front_is_the_back():
    film = placed("front", 0), placed("right", 5), placed("front", 10), placed("left", 15)
    assert named(*film) == {"front": 0, "right": 5, "back": 10, "left": 15}
    told_by = {view: one.why for view, one in views_of(film).items()}
    assert told_by == {"front": "", "right": "", "back": "it looks like the front too, but half a turn lies between", "left": ""}


def test_two_fronts_one_after_the_other_are_fronts():
    assert set(named(placed("front", 0), placed("front", 5), placed("right", 10))) == {"front", "right"}


def test_askew_stands_are_passed_over():
    assert named(placed("front", 0), placed(None, 5), placed("right", 9)) == {"front": 0, "right": 9}


def test_off_square_by_the_depths_of_the_shoulders():
    points = np.zeros((33, 3))
    points[11], points[12] = (200, 0, 0), (-200, 0, 0)
    pose = Pose(np.zeros((33, 2)), points, np.ones(33), np.zeros((2, 2), bool))
    assert off_square_deg(pose, "front") == 0
    assert off_square_deg(pose, "right") == 90
    points[11, 2] = 400  # her left shoulder as far behind as it is aside
    assert abs(off_square_deg(pose, "front") - 45) < 1e-6
