"""Pieces that are one line are joined; pieces of two lines are not."""

import numpy as np

from fitcheck.vision.trace.curves import Curve, join_curves

RED, BLUE = (-0.7, 1.0, 0.5), (-0.8, -0.5, -1.0)


def piece(first: tuple[float, float], last: tuple[float, float], change: tuple[float, float, float] = RED) -> Curve:
    points = np.linspace(first, last, int(np.hypot(last[0] - first[0], last[1] - first[1]) / 2) + 1)
    return Curve(points, np.ones(len(points), bool), 0.3, np.array(change), 0.0)


FREE = np.ones((300, 300), np.uint8)
HIDDEN = FREE.copy()
HIDDEN[110:150, 80:120] = 0  # a sticker


def test_a_short_gap_is_bridged_whichever_way_the_pieces_run() -> None:
    for second in (piece((100, 110), (100, 200)), piece((100, 200), (100, 110))):
        joined = join_curves([piece((100, 20), (100, 100)), second], FREE, 1.0)
        assert len(joined) == 1
        assert np.allclose(joined[0].points_px[:, 0], 100)
        assert abs(joined[0].length_px - 180) < 0.1
        assert np.ptp(joined[0].points_px[~joined[0].seen][:, 1]) < 10


def test_a_long_gap_is_bridged_under_a_sticker_only() -> None:
    pieces = [piece((100, 20), (100, 108)), piece((100, 152), (100, 240))]
    assert len(join_curves(pieces, HIDDEN, 1.0)) == 1
    assert len(join_curves(pieces, FREE, 1.0)) == 2


def test_another_colour_or_direction_is_another_line() -> None:
    assert len(join_curves([piece((100, 20), (100, 100)), piece((100, 108), (100, 200), BLUE)], FREE, 1.0)) == 2
    assert len(join_curves([piece((100, 20), (100, 100)), piece((104, 104), (190, 104))], FREE, 1.0)) == 2


def test_parallel_lines_are_not_swapped_under_a_sticker() -> None:
    joined = join_curves([piece((x, y), (x, y + 90)) for x in (96.0, 104.0) for y in (18.0, 152.0)], HIDDEN, 1.0)
    assert len(joined) == 2
    assert all(np.ptp(line.points_px[:, 0]) < 0.01 for line in joined)


def test_a_ring_is_not_closed() -> None:
    t = np.linspace(0.1, 2 * np.pi - 0.1, 120)
    ring = Curve(150 + 60 * np.stack([np.cos(t), np.sin(t)], 1), np.ones(120, bool), 0.3, np.array(RED), 0.0)
    assert len(join_curves([ring], FREE, 1.0)) == 1
