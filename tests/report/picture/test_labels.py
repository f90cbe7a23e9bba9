from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from fitcheck.report.picture.labels import Rect, Wish, place

FRAME = Rect(0, 0, 300, 400)
anchors = st.tuples(st.floats(0, 300), st.floats(0, 400), st.floats(10, 90), st.floats(8, 20))


def test_a_lone_label_stands_beside_its_anchor_away_from_the_middle() -> None:
    (right,) = place([Wish(200, 100, 40, 16, 5)], FRAME, [])
    (left,) = place([Wish(100, 100, 40, 16, 5)], FRAME, [])
    assert right == Rect(205, 92, 40, 16)
    assert left == Rect(55, 92, 40, 16)


@given(st.lists(anchors, max_size=25))
def test_labels_never_cover_each_other_and_stay_inside(places: list[tuple[float, float, float, float]]) -> None:
    taken = [Rect(140, 100, 20, 200)]
    spots = [spot for spot in place([Wish(*one, clear=6) for one in places], FRAME, taken) if spot is not None]
    assert all(spot.inside(FRAME) for spot in spots)
    assert not any(one.meets(other) for one, other in combinations([*spots, *taken], 2))


def test_what_finds_no_room_is_left_out() -> None:
    assert place([Wish(150, 200, 40, 16, 5)], FRAME, [FRAME]) == [None]
    assert place([Wish(150, 200, 400, 16, 5)], FRAME, []) == [None]


def test_the_same_wishes_give_the_same_places() -> None:
    wishes = [Wish(150 + k, 200 - k, 50, 16, 6) for k in range(10)]
    assert place(wishes, FRAME, []) == place(wishes, FRAME, [])
    assert None not in place(wishes, FRAME, [])
