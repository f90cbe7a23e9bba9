"""Words on a drawing, as boxes that can be drawn on squared paper."""

import numpy as np
import pytest

from fitcheck.pattern.drawing.label import Labels, written_wide
from fitcheck.pattern.lines import line


def boxes(labels, text=10.0):
    for says, x, y in labels.placed:
        yield x - written_wide(says, text) / 2, y - 0.55 * text, x + written_wide(says, text) / 2, y + 0.55 * text


def overlap(one, two):
    return min(one[2], two[2]) > max(one[0], two[0]) + 1e-9 and min(one[3], two[3]) > max(one[1], two[1]) + 1e-9


def test_words_are_as_wide_as_their_letters():
    assert written_wide("front", 20) == pytest.approx(2 * written_wide("front", 10))
    assert written_wide("side front", 10) == pytest.approx(2 * written_wide("front", 10))
    assert written_wide("front", 10, bold=True) > written_wide("front", 10)


def test_a_length_has_room_for_its_longest_form():
    assert written_wide("{mm:3}", 10) == pytest.approx(written_wide("1 3/8 in", 10))


def test_three_words_at_one_place_do_not_cover_each_other_and_stay_on_the_paper():
    labels = Labels(10, 300)
    for _ in range(3):
        labels.place("{mm:10}", np.array([2.0, 3.0]), 200)
    found = list(boxes(labels))
    assert not any(overlap(one, two) for i, one in enumerate(found) for two in found[:i])
    assert all(left >= 0 and top >= 0 and right <= 300 and low <= 200 for left, top, right, low in found)


def test_words_keep_off_a_name_and_a_line():
    labels = Labels(10, 300)
    labels.keep_off_text("side front", 110, 104)
    labels.keep_off_line(line((100, 0), (100, 90)), 1.0)
    labels.place("{mm:10}", np.array([100.0, 100.0]), 200)
    found = next(iter(boxes(labels)))
    assert not overlap(found, (110, 94, 110 + written_wide("side front", 10), 107))
    assert not (found[0] < 100 < found[2] and found[1] < 90)


def test_a_line_leads_to_words_that_stand_apart():
    crowded = Labels(10, 300)
    for y in range(60, 150, 10):
        crowded.keep_off_text("wide words all around here", 40, y)
    at = np.array([110.0, 100.0])
    leader = crowded.place("{mm:10}", at, 200)
    assert leader is not None
    assert leader[0] == pytest.approx(at)
    left, top, right, low = next(iter(boxes(crowded)))
    assert left - 1e-6 <= leader[1, 0] <= right + 1e-6
    assert top - 1e-6 <= leader[1, 1] <= low + 1e-6
    assert Labels(10, 300).place("{mm:10}", at, 200) is None


def test_words_beside_an_upright_line_stand_to_its_right_where_nothing_is_drawn():
    labels = Labels(10, 300)
    labels.keep_off_line(line((100, 150), (140, 150)), 1.0)
    labels.beside("fold", line((100, 20), (100, 160)), 200)
    ((left, top, right, low),) = boxes(labels)
    assert 100 < left < 115
    assert 20 <= top < low <= 165
    assert not top < 150 < low or right < 100
