"""A rectangle to cut, and the marks on a piece of one kind."""

from collections.abc import Callable

import pytest

from fitcheck.pattern.lines import line
from fitcheck.pattern.piece import Mark, Piece


@pytest.fixture
def sheet() -> Piece:
    """100 mm wide and 200 high."""
    return Piece(
        "sheet",
        {
            "top": line((0, 0), (100, 0)),
            "side": line((100, 0), (100, 200)),
            "hem": line((100, 200), (0, 200)),
            "centre": line((0, 200), (0, 0)),
        },
    )


@pytest.fixture
def marks() -> Callable[[Piece, str], list[Mark]]:
    def of_kind(piece: Piece, kind: str) -> list[Mark]:
        return [mark for mark in piece.marks if mark.kind == kind]

    return of_kind
