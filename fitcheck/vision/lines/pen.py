"""How likely each line on the cloth is drawn or taped, and no pleat, pocket, placket, stripe or print.

Two small models one after the other, learnt in models/pen. The first goes by the signs of a line alone (`pen_signs`). The second adds
what else in the photo is surely drawn, or surely not, in any colour and in the line's own: who draws one seam line draws several, and
where nothing is drawn one odd line stays alone.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from fitcheck.core.records import Floats
from fitcheck.core.weights import weights
from fitcheck.vision.cloth.log_colour import COLOUR_WEIGHTS
from fitcheck.vision.lines.pen_signs import SAME_TINT, pen_signs
from fitcheck.vision.trace.curves import Curve

FARTHEST_SD = 4.0  # signs farther from their middle say no more: nothing there was learnt
MOST_ODDS = 30.0  # log odds beyond which nothing is surer
LEAST_ODDS = 1e-4  # keeps the logarithm of odds in bounds
SURE_MM = 30.0  # added to the length of other sure lines, so that none has a logarithm (estimate)


def with_pen(curves: Sequence[Curve], colour: NDArray[np.float32], step_mm: float, cells: int) -> list[Curve]:
    """The lines of a photo, each with how likely it is drawn.

    Parameters
    ----------
    curves : sequence of Curve
        Points in pixels of `colour`.
    colour : ndarray of float32, shape (H, W, 3)
        Log colours.
    step_mm : float
        Size of a pixel.
    cells : int
        Pixels of cloth in the picture.
    """
    if not curves:
        return []
    first = likely("own", pen_signs(curves, colour, step_mm, cells))
    second = likely("among", among_others(curves, first, step_mm))
    return [replace(curve, pen=float(p)) for curve, p in zip(curves, second, strict=True)]


def among_others(curves: Sequence[Curve], first: Floats, step_mm: float) -> Floats:
    """What the second model goes by, shape (N, 5).

    Log odds of the first; log lengths of the other lines that it believes, in any colour and in the line's own, and of those that it does
    not: a printed cloth has many.
    """
    lengths = np.array([c.length_px * step_mm for c in curves])
    tint = np.array([c.change * COLOUR_WEIGHTS for c in curves])
    tint /= np.maximum(np.linalg.norm(tint, axis=1, keepdims=True), LEAST_ODDS)
    alike = tint @ tint.T > SAME_TINT
    odds = np.log((first + LEAST_ODDS) / (1 - first + LEAST_ODDS))
    shares = (first**2, (1 - first) ** 2)
    others = [np.maximum(of @ (lengths * share) - lengths * share, 0.0) for share in shares for of in (np.ones_like(alike), alike)]
    return np.stack([odds, *(np.log(SURE_MM + other) for other in others)], axis=1)


@dataclass(frozen=True, slots=True)
class Net:
    """A logistic model of K signs and their squares, with a few hidden units for how signs go together (none makes it plain logistic).

    Attributes
    ----------
    mean, sd : ndarray, shape (K,)
        Of the signs learnt from.
    direct : ndarray, shape (2 K,)
    hidden, hidden_at : ndarray, shape (2 K, H) and (H,)
    out : ndarray, shape (H,)
    at : ndarray, shape (1,)
    """

    mean: Floats
    sd: Floats
    direct: Floats
    hidden: Floats
    hidden_at: Floats
    out: Floats
    at: Floats

    def likely(self, signs: Floats) -> Floats:
        """Probabilities, shape (N,), of signs (N, K)."""
        of = terms(signs, self.mean, self.sd)
        odds = of @ self.direct + np.tanh(of @ self.hidden + self.hidden_at) @ self.out + self.at
        return np.asarray(1 / (1 + np.exp(-np.clip(odds, -MOST_ODDS, MOST_ODDS))))


def likely(model: str, signs: Floats) -> Floats:
    """Probabilities, shape (N,), that lines of these signs are drawn, by the model `own` or `among`."""
    return _net(model).likely(signs)


def terms(signs: Floats, mean: Floats, sd: Floats) -> Floats:
    """The signs in standard deviations, and their squares; (N, K) in, (N, 2 K) out."""
    z = np.clip((signs - mean) / sd, -FARTHEST_SD, FARTHEST_SD)
    return np.concatenate([z, z * z], axis=1)


@cache
def _net(name: str) -> Net:
    with np.load(weights("pen")) as file:
        return Net(*(file[f"{name}_{field.name}"] for field in fields(Net)))
