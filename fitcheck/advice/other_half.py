"""What one half tissue says of her other side: her body is measured on both, the garment on one, so where they differ it says so."""

from collections.abc import Sequence

from fitcheck.advice.findings import verdict
from fitcheck.advice.rows import Knowledge
from fitcheck.core.check import PostureValue
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.records import OTHER_SIDE, Measurement, Side

HEIGHTS = {"shoulder_height_difference": "shoulder", "hip_height_difference": "hip"}  # + = her right one lies lower
_SIDE: dict[Side, str] = {"wearer_left": "left", "wearer_right": "right"}


def of_the_other_half(
    measurements: Sequence[Measurement], posture: Sequence[PostureValue], table: Knowledge, fitting: FittingFacts
) -> tuple[str, ...]:
    """One sentence for each height in which her sides plainly differ; none where a whole garment was worn.

    Returns
    -------
    tuple of str
        Lengths as `{mm:<number>}` and `{mm_sd:<number>}` fields.
    """
    side = fitting.worn_told.side
    if fitting.tissue != "half" or side is None:
        return ()
    tolerance = table.observables["shoulder_height_difference"].tolerance.amount
    told = {value.id: (value.value, value.sd) for value in posture if value.id in HEIGHTS}
    told |= {m.id: (m.value, m.sd) for m in measurements if m.id in HEIGHTS}
    return tuple(_lower(HEIGHTS[id], *found, side) for id, found in told.items() if verdict(*found, tolerance) == "present")


def _lower(part: str, difference: float, sd: float, side: Side) -> str:
    low: Side = "wearer_right" if difference > 0 else "wearer_left"
    return (
        f"Your {_SIDE[low]} {part} is {{mm:{abs(difference):.1f}}} lower than your {_SIDE[OTHER_SIDE[low]]} one, known to "
        f"{{mm_sd:{sd:.2f}}} either way: fit the {_SIDE[OTHER_SIDE[side]]} half too, for what the {_SIDE[side]} half shows cannot hold "
        "for both."
    )
