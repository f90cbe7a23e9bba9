"""Moments of a film, as she types them and as they are told."""

import re
from collections.abc import Sequence
from pathlib import Path

from fitcheck.core.errors import UsageError
from fitcheck.core.records import VIEWS, View


def read_moments(given: Sequence[str], film: Path | None) -> dict[View, float]:
    """Moments typed in as 'front=12.4' or 'front=0:12.4'.

    Raises
    ------
    UsageError
        One is written otherwise, names no view, or names one twice; or there is no film to take it from.
    """
    if given and film is None:
        raise UsageError(
            "Moments (--at) are for a film.", "Give the film's file (mp4, mov, webm) in place of the folder, or leave --at out."
        )
    moments: dict[View, float] = {}
    for text in given:
        name, _, when = text.partition("=")
        view = next((view for view in VIEWS if view == name.strip().lower()), None)
        match = re.fullmatch(r"(?:(\d{1,2}):)?(\d{1,3}(?:\.\d{1,3})?)", when.strip())
        if view is None or match is None or view in moments:
            raise UsageError(
                f'The moment "{text[:60]}" (--at) cannot be read.',
                "Write each view once, as front=12.4 or front=0:12.4, in seconds of the film.",
            )
        moments[view] = 60.0 * int(match[1] or 0) + float(match[2])
    return moments


def clock(seconds: float) -> str:
    """Minutes and seconds.

    >>> clock(62.04)
    '1:02.0'
    """
    return f"{int(seconds) // 60}:{seconds % 60:04.1f}"
