"""What a piece's words may hold."""

import pytest

from fitcheck.core.piece_facts import piece_facts

SQUARE = """
name = "pocket"
allowance_mm = 10
fold = "top"
[[edge]]
name = "top"
points = [[0, 0], [120, 0]]
[[edge]]
name = "round"
points = [[120, 0], [120, 140], [0, 140], [0, 0]]
"""


def test_a_square_pocket():
    found = piece_facts(SQUARE)
    assert [edge.name for edge in found.edge] == ["top", "round"]
    assert found.edge[1].points[1] == (120.0, 140.0)


@pytest.mark.parametrize(
    "wrong",
    [
        "",
        "name = ",
        "[" * 5000,
        SQUARE.replace('fold = "top"', 'fold = "side"'),
        SQUARE.replace('name = "round"', 'name = "top"'),
        SQUARE.replace("[[120, 0], [120, 140]", "[[118, 0], [120, 140]"),
        SQUARE.replace("[120, 140], [0, 140]", "[0, 140], [120, 140]"),
        SQUARE.replace("140", "nan"),
        SQUARE.replace("140", "9000"),
        SQUARE + "colour = 3\n",
    ],
    ids=["empty", "no TOML", "deep", "fold", "twice", "gap", "crossed", "nan", "far", "stranger"],
)
def test_what_is_no_piece(wrong):
    with pytest.raises(ValueError, match="is none that fitcheck writes"):
        piece_facts(wrong)
