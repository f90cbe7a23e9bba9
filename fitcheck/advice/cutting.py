"""What is cut of an amount: rounded as dressmakers do, no more than is sensible at once, on cut cloth no more than its seams give."""

import numpy as np

from fitcheck.advice.cut_garment import possible_mm, row_for
from fitcheck.advice.rows import Alteration
from fitcheck.core.advice import Amount
from fitcheck.core.fitting import FittingFacts

WORTH_TELLING_MM = 1.0  # a smaller difference between what was measured, told to the millimetre, and what is cut is not spoken of


def cut_amount(amount: Amount, alteration: Alteration, fitting: FittingFacts) -> float:
    """What to cut, signed: to the nearest 2.5 mm or 1/8 in (or finer), at least one step, at most what is sensible at once."""
    step = fitting.step_mm
    most = np.floor(alteration.amounts.most(amount.amount_mm) / step + 1e-9)
    steps = np.clip(np.floor(abs(amount.amount_mm) / step + 0.5), 1, most)
    return float(np.copysign(steps * step, amount.amount_mm))


def made_mm(amount: Amount, alteration: Alteration, fitting: FittingFacts) -> float:
    """What will be made of it: all that is cut, but on cut cloth no more than the seams give, unless the piece is cut anew."""
    cut = cut_amount(amount, alteration, fitting)
    possible = possible_mm(row_for(alteration, cut), fitting) if fitting.stage == "garment" else 0.0
    return float(np.copysign(min(abs(cut), possible or abs(cut)), cut))


def rounding(amount: Amount, cut: float, alteration: Alteration, fitting: FittingFacts) -> str:
    """How the cut differs from what was measured, in words; "" where it hardly does."""
    measured = f"Measured {{mm:{abs(amount.amount_mm):.1f}}}"
    if abs(amount.amount_mm) > alteration.amounts.most(amount.amount_mm) + fitting.step_mm / 2:
        return f"{measured}; make {{cut:{abs(cut):.1f}}} of it now, photograph again, then the rest."
    if fitting.units == "in" or abs(np.floor(round(abs(amount.amount_mm), 1) + 0.5) - abs(cut)) < WORTH_TELLING_MM:
        return ""  # inches are told no finer than they are cut
    return f"{measured}, rounded to {{cut:{abs(cut):.1f}}}."
