"""Seam lines drawn anew beside the old ones, on a half piece whose numbers are round."""

import numpy as np
import pytest

from fitcheck.pattern.lines import line, path_length
from fitcheck.pattern.moves.move_line import (
    beside_the_dart,
    displaced,
    moved_armhole,
    moved_dart,
    moved_dart_point,
    moved_neck,
    moved_princess,
    notches_moved,
    raised_cap,
    raised_hip,
    raised_underarm,
    raised_waist,
    rounded,
    sideways,
    taper,
    widened_shoulder,
)
from fitcheck.pattern.piece import Piece

HALF = Piece(
    "back",
    {
        "neck": line((0, 20), (25, 15), (50, 0)),
        "shoulder": line((50, 0), (130, 60)),  # 80 across, 60 down: 100 long
        "armhole": line((130, 60), (130, 130), (180, 200)),
        "side": line((180, 200), (180, 400)),
        "waist": line((180, 400), (0, 400)),
        "centre": line((0, 400), (0, 20)),
    },
)
DARTED = Piece(
    "front",
    {
        "neck": line((0, 70), (50, 0)),
        "shoulder": line((50, 0), (130, 60)),
        "armhole": line((130, 60), (200, 200)),
        "side_upper": line((200, 200), (200, 250)),
        "dart_upper": line((200, 250), (100, 265)),
        "dart_lower": line((100, 265), (200, 280)),
        "side_lower": line((200, 280), (200, 400)),
        "waist": line((200, 400), (0, 400)),
        "centre": line((0, 400), (0, 70)),
    },
    {"bust point": line((100, 265))},
)
SKIRT = Piece(
    "back",
    {
        "waist": line((0, 0), (200, 0)),
        "side": line((200, 0), (250, 200), (250, 600)),
        "hem": line((250, 600), (0, 600)),
        "centre": line((0, 600), (0, 0)),
    },
)
SLEEVE = Piece(
    "sleeve",
    {
        "cap_back": line((-150, 120), (0, 0)),
        "cap_front": line((0, 0), (150, 120)),
        "seam_front": line((150, 120), (150, 520)),
        "hem": line((150, 520), (-150, 520)),
        "seam_back": line((-150, 520), (-150, 120)),
    },
)


def closed(piece: Piece) -> bool:
    edges = list(piece.edges.values())
    return all(np.allclose(one[-1], following[0]) for one, following in zip(edges, [*edges[1:], edges[0]], strict=True))


def test_a_taper_is_all_nothing_and_half_way_half():
    share = taper((100, 0), (200, 1), (400, 0))
    assert share(np.array([0.0, 100, 150, 200, 300, 400, 900])) == pytest.approx([0, 0, 0.5, 1, 0.5, 0, 0])


def test_a_side_seam_let_out_at_one_level():
    wider = displaced(SKIRT, ["side"], sideways(10.0, taper((0, 0), (200, 1), (600, 1))))
    assert wider.edges["side"][0].tolist() == [200, 0]
    assert wider.edges["side"][-1].tolist() == [260, 600]
    assert wider.edges["hem"][0].tolist() == [260, 600]
    assert closed(wider)


def test_the_neck_seam_takes_its_seams_along():
    moved = moved_neck(HALF, np.array([0.0, -10.0]), np.array([4.0, 3.0]))
    assert moved.edges["neck"][[0, -1]].tolist() == [[0, 10], [54, 3]]
    assert moved.edges["shoulder"].tolist() == [[54, 3], [130, 60]]
    assert moved.edges["centre"].tolist() == [[0, 400], [0, 10]]


def test_an_armhole_moved_at_its_base_takes_the_side_seam_along():
    moved = moved_armhole({"back": HALF}, ["back"], lambda share, _: np.outer(share, [8.0, 0.0]))["back"]
    assert moved.edges["armhole"][[0, -1]].tolist() == [[130, 60], [188, 200]]
    assert moved.edges["side"].tolist() == [[188, 200], [180, 400]]
    assert closed(moved)


@pytest.mark.parametrize("amount", [10.0, -10.0])
def test_a_shoulder_is_lengthened_along_itself(amount):
    wider = widened_shoulder({"back": HALF}, ["back"], amount)["back"]
    assert wider.edges["shoulder"][1] == pytest.approx([130 + 0.8 * amount, 60 + 0.6 * amount])
    assert wider.length("shoulder") == pytest.approx(100 + amount)
    assert wider.edges["armhole"][-1].tolist() == [180, 200]
    assert closed(wider)


def test_a_dart_moves_up_whole():
    moved = moved_dart(DARTED, 15.0)
    assert moved.edges["dart_upper"].tolist() == [[200, 235], [100, 250]]
    assert moved.edges["side_lower"].tolist() == [[200, 265], [200, 400]]
    assert moved.inner["bust point"].tolist() == [[100, 250]]
    assert closed(moved)


@pytest.mark.parametrize("out", [12.0, -12.0])
def test_a_dart_point_moves_out_and_its_legs_stay_alike(out):
    moved = moved_dart_point(DARTED, out)
    assert moved.edges["dart_upper"][1].tolist() == [100 + out, 265]
    assert moved.length("dart_upper") == pytest.approx(moved.length("dart_lower"))
    assert moved.inner["bust point"].tolist() == [[100 + out, 265]]


def test_a_princess_seam_moves_at_the_bust_alone():
    edges = {"princess_upper": line((90, 0), (100, 100), (110, 200)), "princess_lower": line((110, 200), (100, 400))}
    marked = Piece("side front", edges, {"bust point": line((110, 200))})
    moved = moved_princess({"side front": marked}, np.array([0.0, -10.0]))["side front"]
    assert moved.edges["princess_upper"][[0, -1]].tolist() == [[90, 0], [110, 190]]
    assert moved.edges["princess_lower"].tolist() == [[110, 190], [100, 400]]
    assert moved.inner["bust point"].tolist() == [[110, 190]]


def test_a_waist_seam_is_raised_straight_up_and_lowered_along_its_seams():
    raised, lowered = (raised_waist(SKIRT, "side", "centre", amount) for amount in (15.0, -15.0))
    assert raised.edges["waist"].tolist() == [[0, -15], [200, -15]]
    assert raised.edges["side"][:2].tolist() == [[200, -15], [200, 0]]
    assert lowered.edges["waist"][0].tolist() == [0, 15]
    assert path_length(lowered.edges["side"]) == pytest.approx(path_length(SKIRT.edges["side"]) - 15)
    assert closed(raised)
    assert closed(lowered)


def test_the_widest_place_of_the_hip_moves_up():
    higher = raised_hip(SKIRT, "side", 0.0, 200.0, 600.0, 20.0)
    assert [250, 180] in higher.edges["side"].tolist()
    assert higher.edges["side"][[0, -1]].tolist() == [[200, 0], [250, 600]]


def test_the_cap_is_raised_at_its_top_and_not_at_the_underarm():
    raised = raised_cap(SLEEVE, 12.0)
    assert raised.edges["cap_back"].tolist() == [[-150, 120], [0, -12]]
    assert raised.edges["cap_front"].tolist() == [[0, -12], [150, 120]]
    assert rounded(np.array([0.0, 0.5, 1.0])).tolist() == pytest.approx([0, 0.5, 1])


def test_the_underarm_of_a_sleeve_is_raised_along_its_seams():
    raised = raised_underarm(SLEEVE, 12.0)
    assert raised.edges["seam_back"].tolist() == [[-150, 520], [-150, 108]]
    assert raised.edges["seam_front"].tolist() == [[150, 108], [150, 520]]
    assert closed(raised)


def test_notches_move_towards_the_front():
    """Along the front half of the cap, 150 across and 120 down: 10 mm on is 7.8 across and 6.2 down."""
    moved = notches_moved(SLEEVE, 10.0)
    (way,) = (mark.points for mark in moved.marks if mark.kind == "arrow")
    assert way[1] - way[0] == pytest.approx([7.81, 6.25], abs=0.01)
    assert moved.edges == SLEEVE.edges


def test_an_armhole_in_two_pieces_is_one_from_shoulder_to_underarm():
    upper = Piece("front", {"shoulder": line((0, 0), (90, 0)), "armhole": line((90, 0), (90, 60)), "princess": line((90, 60), (0, 0))})
    lower = Piece(
        "side front", {"princess": line((0, 60), (90, 60)), "armhole": line((90, 60), (90, 100)), "side": line((90, 100), (0, 60))}
    )
    found = moved_armhole({"front": upper, "side front": lower}, ["front", "side front"], lambda share, _: np.outer(share, [10, 0]))
    assert found["front"].edges["armhole"] == pytest.approx(np.array([[90, 0], [96, 60]]))
    assert found["side front"].edges["armhole"] == pytest.approx(np.array([[96, 60], [100, 100]]))
    assert found["front"].edges["princess"][0] == pytest.approx(found["side front"].edges["princess"][-1])
    assert found["side front"].edges["side"][0] == pytest.approx([100, 100])


def test_a_strip_beside_a_dart_lengthens_both_legs_alike():
    wider = beside_the_dart(DARTED, 10, lambda y: np.ones_like(y))
    leg = np.hypot(100, 15)
    assert [wider.length("dart_upper"), wider.length("dart_lower")] == pytest.approx([leg + 10, leg + 10])
    before, after = (piece.edges["dart_upper"][0] - piece.edges["dart_upper"][1] for piece in (DARTED, wider))
    assert before[0] * after[1] == pytest.approx(before[1] * after[0])  # along the same line
    assert wider.edges["side_upper"][0].tolist() == [210, 200]
    assert wider.length("waist") == pytest.approx(210)
    assert closed(wider)


def test_the_point_of_a_slanting_dart_moves_along_its_slant():
    """Its middle line climbs 3 in 4 towards the point: 10 to the centre are 7.5 up."""
    slanting = DARTED.with_edges(dart_upper=line((200, 250), (120, 205)), dart_lower=line((120, 205), (200, 280)))
    assert moved_dart_point(slanting, -10).inner["bust point"][0] == pytest.approx([110, 197.5])


def test_a_longer_shoulder_changes_nothing_from_half_way_down_the_armhole():
    straight = HALF.with_edges(shoulder=line((50, 0), (150, 0)), armhole=line((150, 0), (150, 50), (150, 100), (150, 200)))
    wider = widened_shoulder({"back": straight}, ["back"], 8)["back"]
    assert wider.edges["armhole"].tolist() == [[158, 0], [152, 50], [150, 100], [150, 200]]
