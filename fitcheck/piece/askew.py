"""Whether the card lay in the plane of the paper: grain line, fold and centre are parallel on paper, and no longer where it did not."""

import numpy as np

from fitcheck.core.errors import PhotoError
from fitcheck.core.records import Floats

MOST_DEG = 2.0  # between grain line and fold; drawn sheets read to 0.1
DOUBT_DEG = 1.0  # between grain line and a centre with a seam, which a draft may slant a little
ASKEW_DEG = 20.0  # no centre lies so far off the grain, even where the card leans: the piece is cut on the bias


def slant_deg(line: Floats, edge: Floats) -> float:
    """The angle between the chords of two lines, 0 to 90."""
    one, two = line[-1] - line[0], edge[-1] - edge[0]
    cross = abs(float(one[0] * two[1] - one[1] * two[0]))
    return float(np.degrees(np.arctan2(cross, abs(float(one @ two)))))


def told_askew(grain: Floats | None, centre: Floats | None, on_fold: bool) -> tuple[str, ...]:
    """A sentence where grain line and centre are not quite parallel.

    Parameters
    ----------
    grain : ndarray, shape (2, 2), or None
    centre : ndarray, shape (N, 2), or None
        The edge on the fold, or the centre with a seam; None where there is neither.

    Raises
    ------
    PhotoError
        Grain line and fold are not parallel: every length would be wrong.
    """
    slant = 0.0 if grain is None or centre is None else slant_deg(grain, centre)
    if not (MOST_DEG if on_fold else DOUBT_DEG) < slant < ASKEW_DEG:
        return ()
    if on_fold:
        raise PhotoError(
            f"Grain line and fold are {slant:.1f} degrees off parallel: the card does not lie in the plane of the paper.",
            "Lay card and paper flat on one table, on nothing else, and photograph both again.",
        )
    return (
        f"Grain line and centre are {slant:.1f} degrees off parallel. Unless it is drafted so, the card did not lie flat on the table.",
    )
