"""The printed things and their ids: the scale card's drawing and the point markers, in one place for printing and for finding.

Everything is ArUco `DICT_4X4_100`. The sizes are this project's own contract: a card printed once must stay readable.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from fitcheck.core.records import Floats, Side

MarkerKind = Literal["centred", "pointer"]

CARD_COLUMNS, CARD_ROWS = 3, 4
CARD_MARKER_MM = 45.0
CARD_GAP_MM = 15.0
CARD_IDS = range(CARD_COLUMNS * CARD_ROWS)
CARD_BAR_MM = 100.0
CARD_PRINT_SD = 0.003  # how far a print at 100 % may be off, as a share; estimate

POINT_MARKER_MM = 25.0
POINT_BORDER_MM = 3.0
# Along the surface, from a pointer marker's centre straight up through the middle of its top edge to the arrow's tip.
POINTER_REACH_MM = 40.0
POINTER_ID_STEP = 40

# Sheets that may stand in for the card, (width, height) as held upright: ISO 216 A4, ANSI/ASME Y14.1 A ("Letter"), ISO/IEC 7810 ID-1.
SHEETS_MM = {"a4": (210.0, 297.0), "letter": (215.9, 279.4), "id1": (85.60, 53.98)}


@dataclass(frozen=True, slots=True)
class MarkedPoint:
    """What one point marker says.

    Attributes
    ----------
    name : str
        Landmark name.
    side : Side or None
        None on the midline.
    kind : str
        `centred`: the marker's centre lies on the point; `pointer`: its arrow's tip does.
    """

    name: str
    side: Side | None
    kind: MarkerKind

    @property
    def title(self) -> str:
        """The name in plain words, without the side: `shoulder point`."""
        return self.name.replace("_", " ")


_MIDLINE = {20: "back_neck_point", 21: "front_neck_point", 28: "waist_front", 29: "waist_back", 34: "seat"}
# First id of a pair is the wearer's left, the next her right.
_PAIRS = {
    22: "side_neck_point",
    24: "shoulder_point",
    26: "bust_point",
    30: "waist_side",
    32: "hip_side",
    35: "underarm_point",
    37: "shoulder_blade",
    40: "garment_bust_mark",
}


def _all_points() -> dict[int, MarkedPoint]:
    centred = {number: MarkedPoint(name, None, "centred") for number, name in _MIDLINE.items()}
    for number, name in _PAIRS.items():
        centred[number] = MarkedPoint(name, "wearer_left", "centred")
        centred[number + 1] = MarkedPoint(name, "wearer_right", "centred")
    pointers = {number + POINTER_ID_STEP: MarkedPoint(point.name, point.side, "pointer") for number, point in centred.items()}
    return dict(sorted((centred | pointers).items()))


MARKED_POINTS: dict[int, MarkedPoint] = _all_points()


def card_corners_mm() -> Floats:
    """Corners of the card's markers in the card frame.

    Returns
    -------
    ndarray, shape (12, 4, 3)
        By marker id; ArUco's corner order (clockwise from the marker's top left); x right, y up, z 0, origin at the card's middle.
    """
    pitch = CARD_MARKER_MM + CARD_GAP_MM
    left = -(CARD_COLUMNS * pitch - CARD_GAP_MM) / 2
    top = (CARD_ROWS * pitch - CARD_GAP_MM) / 2
    square = np.array([[0, 0, 0], [1, 0, 0], [1, -1, 0], [0, -1, 0]]) * CARD_MARKER_MM
    corner = np.array([[left + pitch * (k % CARD_COLUMNS), top - pitch * (k // CARD_COLUMNS), 0.0] for k in CARD_IDS])
    return corner[:, None] + square
