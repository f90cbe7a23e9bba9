"""Whether one photo contradicts the others: it shows another fitting, the card hung elsewhere in it, or something in it was read wrong.

All photos of a fitting show one woman in one garment beside one card. Each photo is left out in turn: by how much the squared residuals of
the joint adjustment fall is how ill it agrees with the others (a log likelihood ratio, doubled). To that comes what each photo tells by
itself and all should tell alike: how high the card is above the floor, how tall her figure, what colour her clothes. A photo that
contradicts is left out; where only two are left nothing tells which of them is wrong.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from fitcheck.body.adjust import foretold_misfit, misfit
from fitcheck.core.errors import NothingMeasuredError
from fitcheck.core.evidence import Evidence
from fitcheck.core.records import Floats, View
from fitcheck.core.solution import Solution

# Squared standard deviations that speak against a photo. Set on 20 rendered fittings and on every exchange of one photo among six of them
# (120): no photo of a true fitting reaches 14, all but two odd ones of mixed fittings 15 to thousands.
CONTRADICTS = 15.0
AGAIN = 30.0  # against a second photo, once one is left out
MISFIT, MISFIT_SD = 18.0, 14.0  # by how much the misfit falls when one photo of a true fitting is left out: mean, sd; 80 photos
AGREE_EACH = 18.0  # misfit a photo up to which none need be left out to see that all agree
# How much further the misfit may fall than was foretold. In 6 true fittings at most 16; mixed ones fall up to 62 further, but there at
# least 50 was foretold for one photo.
SPARE = 30.0
DIFFERS = 4.0  # squared standard deviations of a single number up to which it agrees; true fittings reach 3


@dataclass(frozen=True, slots=True)
class Told:
    """Something of which every photo should tell the same.

    Attributes
    ----------
    values : mapping of view to ndarray, shape (K,)
        Photos that do not tell it are left out.
    sd : float
        Standard deviation of one photo's value about the others', each of the K numbers.
    most : float
        Squared standard deviations that it may count: a stand can be moved, a wig put on.
    """

    values: Mapping[View, Floats]
    sd: float
    most: float

    def disagreement(self) -> dict[View, float]:
        """Squared standard deviations of each photo's value from the middle of the others', at most `most`."""
        found = {}
        for view, value in self.values.items():
            others = [other for v, other in self.values.items() if v != view]
            if others:
                away = value - np.median(others, axis=0)
                found[view] = min(self.most, float(away @ away) / (self.sd**2 * (1 + 1 / len(others))))
        return found


def contradiction(evidence: Evidence, body: Solution, told: Sequence[Told] = (), again: bool = False) -> View | None:
    """The photo that contradicts the others most, if one does so beyond doubt.

    Parameters
    ----------
    evidence : Evidence
    body : Solution
        Of it.
    told : sequence of Told
        What single photos say by themselves.
    again : bool
        Whether one was left out already.

    Raises
    ------
    NothingMeasuredError
        Two photos are left and contradict each other.
    """
    alone = [said.disagreement() for said in told]
    beside = {view: [found.get(view, 0.0) for found in alone] for view in body.views}
    agree = body.misfit < AGREE_EACH * len(body.views) and max(max(of_view, default=0.0) for of_view in beside.values()) < DIFFERS
    if len(body.views) < 2 or agree:
        return None
    limit = AGAIN if again else CONTRADICTS
    most = {view: sum(beside[view]) + _ill_fitting(evidence.without(view), body, foretold_misfit, SPARE) for view in body.views}
    against = {view: sum(beside[view]) + _ill_fitting(evidence.without(view), body, misfit) for view in most if most[view] >= limit}
    odd = max(against, key=lambda view: against[view], default=None)
    if odd is None or against[odd] < limit:
        return None
    if len(body.views) == 2:
        first, second = body.views
        raise NothingMeasuredError(
            f"The {first} and the {second} photo contradict each other: they show two fittings, or the card was moved between them.",
            "Use photos of one fitting, with card and camera left where they are, and add the other views.",
        )
    return odd


def _ill_fitting(others: Evidence, body: Solution, misfit_of: Callable[[Evidence, Solution], float], spare: float = 0.0) -> float:
    """Squared standard deviations by which the misfit falls more without one photo than it does in true fittings.

    `others` is the evidence without it; to the fall, as `misfit_of` has it, comes `spare`. Where the others agree badly among themselves
    (hair and furniture on the outlines), each of them fits as badly as it, and the fall is measured against that.
    """
    try:
        rest = misfit_of(others, body)
    except NothingMeasuredError:  # the others alone place no body: nothing speaks against this photo
        return 0.0
    level = max(1.0, rest / (AGREE_EACH * max(1, len(others.scales))))
    return max(0.0, (body.misfit - rest + spare - MISFIT * level) / (MISFIT_SD * level)) ** 2
