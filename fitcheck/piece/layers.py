"""The lines of a drawn piece by layers with plain names, as SVG and DXF hold them."""

import numpy as np

from fitcheck.core.drawing import PatternSheet
from fitcheck.core.records import Floats

LAYERS: dict[str, str] = {
    "cutting": "cutting line",
    "seam": "seam line",
    "dart": "darts",
    "balance": "notches",
    "notch": "notches",
    "grain": "grain line",
    "fold": "fold",
    "before": "before",
    "cut": "cut the old paper",
    "hinge": "hinges",
    "gap": "paper put in",
    "lap": "paper taken out",
    "arrow": "amounts",
    "head": "amounts",
    "tape": "eased to a tape",
}
WORDS = "words"
HIDDEN = ("gap_hatch", "lap_hatch", "leader")  # for the eye on paper only


def layered(sheet: PatternSheet) -> dict[str, list[Floats]]:
    """Lines by layer, mm, in the order of `LAYERS`; empty layers are left out."""
    found: dict[str, list[Floats]] = {name: [] for name in LAYERS.values()}
    for stroke in sheet.strokes:
        if stroke.kind not in HIDDEN:
            found[LAYERS[stroke.kind]].append(np.asarray(stroke.points, float))
    return {name: lines for name, lines in found.items() if lines}
