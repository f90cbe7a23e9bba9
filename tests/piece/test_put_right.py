"""What is put right by hand, on a rectangle of 300 by 200 mm that a ruler could check."""

import numpy as np
import pytest

from fitcheck.core.errors import UsageError
from fitcheck.piece.own_piece import OwnPiece
from fitcheck.piece.put_right import PutRight, put_right

CORNERS = np.array([[0.0, 0.0], [300.0, 0.0], [300.0, 200.0], [0.0, 200.0], [0.0, 0.0]])
NAMES = ("top", "side", "hem", "centre")
PIECE = OwnPiece(
    "yoke",
    {name: CORNERS[k : k + 2] for k, name in enumerate(NAMES)},
    15.0,
    "centre",
    (np.array([[300.0, 0.0], [200.0, 60.0], [300.0, 60.0]]),),
    (np.array([150.0, 200.0]),),
    np.array([[50.0, 40.0], [50.0, 160.0]]),
)


def right(**said) -> OwnPiece:
    return put_right(PIECE, PutRight(**said))


def test_a_corner_takes_both_edges_and_the_leg_of_a_dart_with_it():
    found = right(what="corner", index=1, to=(310.0, 10.0))
    np.testing.assert_allclose(found.edges["top"], [[0, 0], [310, 10]])
    np.testing.assert_allclose(found.edges["side"], [[310, 10], [300, 200]])
    np.testing.assert_allclose(found.darts[0], [[310, 10], [200, 60], [300, 60]])
    assert found.area_mm2() == pytest.approx(300 * 200 + 10 * 200 / 2 - 10 * 300 / 2)


def test_an_edge_is_led_elsewhere_and_its_notch_goes_with_it():
    found = right(what="edge", name="hem", points=[(300.0, 200.0), (150.0, 230.0), (0.0, 200.0)])
    assert found.area_mm2() == pytest.approx(300 * 200 + 300 * 30 / 2)
    np.testing.assert_allclose(found.notches[0], [150, 230])
    np.testing.assert_allclose(found.edges["centre"], PIECE.edges["centre"])


def test_a_dart_is_moved_by_its_point_and_by_a_leg():
    np.testing.assert_allclose(right(what="dart", part=1, to=(190.0, 50.0)).darts[0][1], [190, 50])
    found = right(what="dart", part=0, to=(305.0, 0.0))
    np.testing.assert_allclose(found.darts[0][0], [305, 0])
    np.testing.assert_allclose(found.edges["top"][-1], [305, 0])


def test_a_notch_lies_on_the_outline_and_can_go():
    np.testing.assert_allclose(right(what="notch", index=-1, to=(120.0, 7.0)).notches[1], [120, 0])
    np.testing.assert_allclose(right(what="notch", index=0, to=(120.0, 190.0)).notches, [[120, 200]])
    assert right(what="no_notch", index=0).notches == ()


def test_names_change_places_and_the_fold_goes_with_its_edge():
    assert list(right(what="rename", name="top", new="neck").edges) == ["neck", "side", "hem", "centre"]
    swapped = right(what="rename", name="centre", new="hem")
    assert list(swapped.edges) == ["top", "side", "centre", "hem"]
    assert swapped.fold == "hem"
    assert right(what="fold", name="").fold == ""
    assert right(what="allowance", mm=10.0).allowance_mm == 10.0
    np.testing.assert_allclose(right(what="grain", part=1, to=(55.0, 170.0)).grain, [[50, 40], [55, 170]])


def test_a_dart_is_put_in_and_taken_away_again():
    """On the hem, 20 mm wide; then the edge is one again and the outline as it was."""
    found = right(what="new_dart", points=[(160.0, 199.0), (150.0, 110.0), (140.0, 201.0)])
    assert list(found.edges) == ["top", "side", "hem_upper", "mouth_1", "hem_lower", "centre"]
    np.testing.assert_allclose(found.darts[1], [[160, 200], [150, 110], [140, 200]])
    np.testing.assert_allclose(found.edges["mouth_1"][[0, -1]], [[160, 200], [140, 200]])
    again = put_right(found, PutRight(what="no_dart", index=1))
    assert list(again.edges) == list(PIECE.edges)
    assert len(again.darts) == 1
    assert again.area_mm2() == pytest.approx(300 * 200)


@pytest.mark.parametrize(
    "said",
    [
        {"what": "corner", "index": 1, "to": (-50.0, 150.0)},
        {"what": "rename", "name": "top", "new": "No Name!"},
        {"what": "rename", "name": "nothing", "new": "neck"},
        {"what": "fold", "name": "nothing"},
        {"what": "dart", "index": 4, "part": 1},
        {"what": "edge", "name": "hem", "points": [(1.0, 1.0)]},
        {"what": "allowance", "mm": 200.0},
        {"what": "new_dart", "points": [(160.0, 200.0), (150.0, 110.0)]},
        {"what": "new_dart", "points": [(160.0, 200.0), (150.0, 110.0), (159.0, 200.0)]},
    ],
)
def test_what_cannot_be_is_told(said):
    with pytest.raises(UsageError, match="would not hold together"):
        right(**said)
