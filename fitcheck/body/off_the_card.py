"""How far off the scale card, or the line of the floor sheets, she stood, and what to move: said where it is far and sure."""

from collections.abc import Mapping, Sequence

import numpy as np

from fitcheck.body.prior_rows import AT_CARD, STANDS_SD_MM
from fitcheck.core.camera import Scale
from fitcheck.core.records import View
from fitcheck.core.solution import Solution

FAR_MM = 150.0  # a step; nearer, it is allowed for without harm (estimate)
SURE_SDS = 3.0  # of how far off she stood, so that chance says nothing
MOST_HELD = 0.8  # of the prior's sd: where the photos say hardly more, they are not made to say more
MOST_MISPRINTED = 0.1  # no printer is off by more: fitting a page of one paper to another takes 3 to 7 % (estimate)
TAPE_IT = "tape it level with your side seam, or lay the floor sheets beside your feet"
DEPTH = 5  # of a view's six parameters: how far before the card


def off_the_card(body: Solution, scales: Mapping[View, Scale]) -> tuple[str, ...]:
    """One sentence of advice with a `{mm:...}` field, or none.

    Parameters
    ----------
    body : Solution
    scales : mapping of view to Scale
    """
    off = {view: farther_mm(body, view, scales[view]) for view in body.views if view in scales and scales[view].source in ("card", "floor")}
    sd = {view: float(np.sqrt(body.covariance[k, k])) for view in off for k in [body.turn_columns[view] + DEPTH]}
    # the adjustment held her back to the card; what the photos themselves say is that much more (both are normal distributions)
    believed = {view: 1 - min(sd[view] / np.hypot(STANDS_SD_MM, scales[view].depth_sd_mm), MOST_HELD) ** 2 for view in off}
    sure = [mm / believed[view] for view, mm in off.items() if abs(mm) > max(FAR_MM, SURE_SDS * sd[view])]
    if 2 * len(sure) <= len(off) or not sure:
        return ()
    middle = float(np.median(sure))
    far = f"{{mm:{abs(middle):.0f}}}"
    if any(scale.floor is not None for scale in scales.values()):
        way = "behind" if middle > 0 else "before"
        return (f"You stood {far} {way} the line of the floor sheets: lay them level with your feet, so that it is the floor under you.",)
    if middle > 0:
        return (f"You stood {far} behind the scale card: hang it level with your side seam, or lay the floor sheets beside your feet.",)
    return (f"The scale card hangs {far} behind you: {TAPE_IT}.",)


def off_or_misprinted(ratio: float | None, scales: Sequence[Scale]) -> tuple[str, ...]:
    """The same where the stickers look larger or smaller than the card allows: it may have been printed to another size as well.

    Parameters
    ----------
    ratio : float or None
        Measured over printed size of the stickers.
    scales : sequence of Scale
    """
    if ratio is None or any(scale.source != "card" or scale.floor is not None for scale in scales):
        return ()
    off_mm = float(np.median([scale.distance_mm for scale in scales])) * abs(1 - 1 / ratio)
    way, size = ("behind", "larger") if ratio > 1 else ("before", "smaller")
    if abs(ratio - 1) > MOST_MISPRINTED:
        return (f"The scale card hangs {{mm:{off_mm:.0f}}} {way} you: {TAPE_IT}.",)
    return (
        f"The stickers look {100 * abs(ratio - 1):.0f} % {size} than the scale card allows: it is of another size than you told, or it "
        f"hangs {{mm:{off_mm:.0f}}} {way} you. Measure its bar, and {TAPE_IT}.",
    )


def farther_mm(body: Solution, view: View, scale: Scale) -> float:
    """How much farther from the camera than the card the side seam (from the side the nearer one) is."""
    seam, _ = AT_CARD[view]
    placed = body.views[view]
    points = np.array([body.position(name, side) for (name, side), _ in seam])
    depth = float((points @ placed.rotation[2] + placed.translation_mm[2]).mean())
    return depth - float(scale.camera.translation_mm[2] * placed.matrix[0, 0] / scale.camera.matrix[0, 0])
