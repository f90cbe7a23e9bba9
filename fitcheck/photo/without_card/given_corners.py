"""Reads the corners of a sheet that the user gives in place of the scale card."""

import re
from collections.abc import Sequence

import numpy as np

from fitcheck.core.errors import UsageError
from fitcheck.core.points import SHEETS_MM
from fitcheck.core.records import VIEWS, View
from fitcheck.core.settings import GivenSheet

_NUMBER = r"-?\d{1,6}(?:\.\d{1,9})?"
_PATTERN = re.compile(rf"(?P<view>\w+):(?P<size>\w+):(?P<corners>\s*{_NUMBER},{_NUMBER}(?:\s+{_NUMBER},{_NUMBER}){{3}}\s*)")


def read_sheets(texts: Sequence[str]) -> dict[View, GivenSheet]:
    """Parse `view:size:x,y x,y x,y x,y`, one text a view.

    Raises
    ------
    UsageError
        A text that is not of this form, an unknown view or size, or one view given twice.
    """
    found: dict[View, GivenSheet] = {}
    for text in texts:
        match = _PATTERN.fullmatch(text.strip())
        view = next((v for v in VIEWS if match and match["view"] == v), None)
        if match is None or view is None or match["size"] not in SHEETS_MM:
            raise UsageError(
                f"--scale-corners '{text[:80]}' cannot be read.",
                f"Write view ({', '.join(VIEWS)}), size ({', '.join(SHEETS_MM)}), corners: 'front:a4:120,80 640,85 634,815 118,811'.",
            )
        if view in found:
            raise UsageError(f"--scale-corners gives the {view} view twice.", "Give each view once.")
        corners = [[float(n) for n in pair.split(",")] for pair in match["corners"].split()]
        found[view] = GivenSheet(match["size"], np.array(corners))
    return found
