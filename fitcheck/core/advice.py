"""What is said of a fitting: findings, what explains them, and the round of alterations."""

from dataclasses import dataclass
from typing import Literal

from fitcheck.core.drawing import SewnSeam
from fitcheck.core.records import Side, Verdict


@dataclass(frozen=True, slots=True)
class Finding:
    """What does not fit, in the wearer's words.

    Attributes
    ----------
    fact : str
        `says` without what is added about its doubt.
    decidable : bool
        False where the doubt is so large against the tolerance that it could hardly ever be called in order.
    sds : tuple of float
        Standard uncertainty of each of `measurements`, with what the number itself may mislead.
    """

    id: str
    side: Side | Literal["both"] | None
    says: str
    verdict: Verdict
    measurements: tuple[str, ...]
    flags: tuple[str, ...] = ()
    fact: str = ""
    decidable: bool = True
    sds: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Amount:
    """One alteration with its amount.

    Attributes
    ----------
    side : both | wearer_left | wearer_right
    probability : float
        That this alteration is needed at all.
    name : str
        Plain name of the alteration in this direction: "small bust".
    """

    id: str
    side: str
    amount_mm: float
    sd_mm: float
    probability: float = 1.0
    name: str = ""


@dataclass(frozen=True, slots=True)
class Explanation:
    """One set of alterations that together explain the measurements.

    Attributes
    ----------
    weight : float
        Posterior probability of just this set.
    unexplained : tuple of str
        Keys of measurements it leaves outside their tolerance.
    """

    weight: float
    alterations: tuple[Amount, ...]
    unexplained: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Expectation:
    """What one measurement should read in the next photos."""

    measurement: str
    before: float
    after: float


@dataclass(frozen=True, slots=True)
class RoundStep:
    """One alteration of this round, ready to be carried out.

    Attributes
    ----------
    name : str
        Plain name, "forward shoulder".
    where : str
        On which sides, in words; "" for what is always made on the whole width.
    steps, matching : tuple of str
        Instructions with lengths left as `{amount}`, `{half_amount}`, `{cut:<number>}` or `{mm:<number>}` fields for `report.words.units`.
    evidence_for, evidence_against : tuple of str
        Measurement keys.
    caution : str
        "" or why an experienced eye should look first.
    cut_mm : float
        What to cut: the amount rounded as dressmakers do, and no more than is sensible at once; signed as the amount. 0: as measured.
    rounding : str
        How it was rounded, with `{mm:<number>}` fields; "" where it was not.
    diagram_svg : str
        The pieces concerned before and after, to scale, lengths as `{mm:<number>}` fields; "" where there is no drawing.
    diagram_note : str
        What the drawing leaves to be said.
    seams : tuple of SewnSeam
        Of the pieces drawn.
    """

    amount: Amount
    name: str
    group: int
    why: str
    steps: tuple[str, ...]
    matching: tuple[str, ...]
    expect: tuple[Expectation, ...]
    evidence_for: tuple[str, ...] = ()
    evidence_against: tuple[str, ...] = ()
    caution: str = ""
    cut_mm: float = 0.0
    rounding: str = ""
    diagram_svg: str = ""
    diagram_note: str = ""
    seams: tuple[SewnSeam, ...] = ()
    where: str = ""


@dataclass(frozen=True, slots=True)
class Round:
    """This round: one to three alterations of the first group that needs any.

    Attributes
    ----------
    summary : str
        Plain sentences; lengths as `{mm:<number>}` fields.
    look_again : tuple of str
        What to look at after altering.
    would_help : tuple of str
        Photos, marks or tape measures that would change the answer most.
    undecided : str
        One quiet line about what these photos could hardly ever decide, and what would; "" where there is nothing of the kind.
    last_round : tuple of str
        What came of each alteration of the last round; nothing in a first fitting.
    """

    steps: tuple[RoundStep, ...]
    summary: str
    look_again: tuple[str, ...] = ()
    would_help: tuple[str, ...] = ()
    later: tuple[Amount, ...] = ()
    undecided: str = ""
    last_round: tuple[str, ...] = ()
