"""The fit equation turned round: which alterations explain all measurements together, how likely, and by how much."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from fitcheck.advice.equation import Equation, equation
from fitcheck.advice.information import Help, expected_information
from fitcheck.advice.mend import as_paper_cures, to_try
from fitcheck.advice.prior import leaning
from fitcheck.advice.problem import ALONE, BY_PAPER
from fitcheck.advice.rows import Knowledge
from fitcheck.advice.weigh import Hypotheses, weigh
from fitcheck.core.advice import Amount, Explanation
from fitcheck.core.check import PostureValue
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.records import Measurement

NEEDED = 0.5  # an alteration is proposed above this probability ...
SURE_SD = 2.0  # ... if its amount is further than this many sd from nothing ...
SURELY = 0.78  # ... and it is either as probable as this, or ...
RATHER = 0.6  # ... as this, and what it shows stands out of the noise further than anything would by chance ...
BY_CHANCE = 0.03  # ... in this share of fittings that need nothing: a wrong cut costs cloth
FURTHER = 1.2  # ... by so many times; where it was measured by hand, once is enough
# Where one reading of a photo alone shows it, which may be wild, what its odds lack of SURELY is made up by ...
LONE = 1.0  # so many nats for every time it stands out beyond chance, ...
FAR_OUT = 2.5  # ... up to so many times (all chosen with tests/benchmarks/solver.py)
CLEAR_SIGNAL = 1.0  # below this many sd a usual amount could not have been seen
WIDER = 1.1  # the doubt of the table counts where it widens a variance so much: weighing anew takes as long as weighing did
WEIGHED = 0.5  # nats by which a measurement must speak for or against an alteration to be named


@dataclass(frozen=True, slots=True)
class Evidence:
    """Keys of measurements that speak for and against one alteration, the strongest first."""

    speaks_for: tuple[str, ...]
    speaks_against: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Solution:
    """What the measurements say about every alteration.

    Attributes
    ----------
    fit : Equation
        The equation that was solved.
    probabilities : dict of str to float
        That each alteration is needed at all, on whichever side; its prior where nothing that it shows in was measured.
    needed : tuple of Amount
        The alterations to propose, in the order of making.
    considered : tuple of Amount
        Every alteration with more than 5 % probability, most probable first.
    explanations : tuple of Explanation
        Most probable first.
    evidence : dict of (id, side) to Evidence
        For the needed ones.
    unexplained : tuple of str
        Measurements outside their tolerance after the needed alterations.
    wild : dict of str to float
        Probability that a measurement is plainly wrong, where above 5 %.
    unseen : tuple of str
        Alterations that would not have shown in what was measured.
    would_help : tuple of Help
        What was not measured and would tell most about what is needed, the most telling first.
    to_make : tuple of Amount
        Of the needed ones those that do no harm, in the amounts by which paper betters the fit (`mend`), in the order of making.
    to_try : tuple of Amount
        What is not certain, but would better the fit (`mend`), the most helpful first.
    beside : bool
        Whether that is pinned beside what is certain, too: once a round has been made, what is left is rather redrawn than diagnosed.
    """

    fit: Equation
    probabilities: dict[str, float]
    needed: tuple[Amount, ...] = ()
    considered: tuple[Amount, ...] = ()
    explanations: tuple[Explanation, ...] = ()
    evidence: dict[tuple[str, str], Evidence] = field(default_factory=dict)
    unexplained: tuple[str, ...] = ()
    wild: dict[str, float] = field(default_factory=dict)
    unseen: tuple[str, ...] = ()
    would_help: tuple[Help, ...] = ()
    to_make: tuple[Amount, ...] = ()
    to_try: tuple[Amount, ...] = ()
    beside: bool = False


def solve(
    measurements: Sequence[Measurement],
    table: Knowledge,
    fitting: FittingFacts,
    posture: Sequence[PostureValue] = (),
    leans: Mapping[str, float] | None = None,
) -> Solution:
    """Explain all measurements together by the fewest alterations.

    Parameters
    ----------
    measurements : sequence of Measurement
        Any number, also none; signed as in observables.toml.
    posture : sequence of PostureValue, optional
        Leans the prior odds a little.
    leans : mapping of str to float, optional
        Nats by which anything else raises the prior log odds of alterations (`folds.fold_leans`).
    """
    stance, more = leaning(posture), leans or {}
    fit = equation(measurements, table, fitting, {id: stance.get(id, 0.0) + more.get(id, 0.0) for id in {*stance, *more}})
    possible = {c.alteration.id for c in fit.columns}
    not_asked = {a.id: a.amounts.probability for a in table.alterations.values() if a.applies(fitting) and a.id not in possible}
    unseen = (*_unseen(fit), *not_asked)
    found = weigh(fit)
    doubted = fit.doubted(found.weight @ (found.mean**2 + found.variance))
    if (np.diag(doubted.noise) > WIDER * np.diag(fit.noise)).any():
        fit, found = doubted, weigh(doubted)
    fit = _as_it_shows(fit, found)
    amounts, probabilities = _average(fit, found)
    probabilities |= not_asked
    by_hand = np.array([table.observables[m.id].by_hand for m in fit.measured], dtype=bool)
    needed = tuple(a for a in amounts if a.probability > NEEDED and _is_clear(a, fit, unseen, by_hand))
    wild = np.bincount(found.wild[found.wild >= 0], found.weight[found.wild >= 0], minlength=len(fit.y)).astype(np.float64)
    cure = as_paper_cures(fit, needed, wild, table)
    trial = to_try(fit, cure, wild, probabilities, {a.id for a in needed}, table)
    return Solution(
        fit,
        probabilities,
        tuple(sorted(needed, key=lambda a: table.order(a.id))),
        tuple(sorted((a for a in amounts if a.probability > 0.05), key=lambda a: -a.probability)),
        _explanations(fit, found),
        {(a.id, a.side): _evidence(fit, needed, a) for a in needed} | {(a.id, a.side): _evidence(fit, (*needed, *trial), a) for a in trial},
        _outside(fit, needed),
        {key: float(p) for key, p in zip(fit.keys, wild, strict=True) if p > 0.05},
        unseen,
        expected_information(fit, found, table, fitting),
        tuple(sorted(cure, key=lambda a: table.order(a.id))),
        trial,
    )


def _as_it_shows(fit: Equation, found: Hypotheses) -> Equation:
    """The equation with effects as they show in this fitting: as the table says, in the clearest readings alone, or as paper does.

    What shows in its clearest readings alone goes there alone, too, as far as no drape has told otherwise.
    """
    needed = found.weight @ found.member
    alone, paper = (
        np.divide(found.weight @ (found.way == way), needed, out=np.zeros(len(needed)), where=needed > 0) for way in (ALONE, BY_PAPER)
    )
    rest = (fit.alone - fit.effects) * alone
    return replace(
        fit,
        effects=fit.effects + rest + (fit.does - fit.effects) * paper,
        does=fit.does + np.where(fit.does == fit.effects, rest, 0.0),
    )


def _average(fit: Equation, found: Hypotheses) -> tuple[list[Amount], dict[str, float]]:
    """Amounts of each alteration on its most probable sides, averaged over the sets that have it there."""
    amounts: list[Amount] = []
    signal = fit.signal
    probabilities: dict[str, float] = {}
    for id in dict.fromkeys(c.alteration.id for c in fit.columns):
        columns = np.flatnonzero([c.alteration.id == id for c in fit.columns])
        prior = fit.columns[columns[0]].alteration.amounts.probability
        bits = 2 ** np.arange(len(columns))
        variant = found.member[:, columns] @ bits  # which of its columns each set has, as one number
        mass = np.bincount(variant, found.weight, minlength=2 ** len(columns))[1:]
        probabilities[id] = min(1.0, float(mass.sum())) if signal[columns].any() else prior
        if not mass.any():
            continue
        chosen = int(mass.argmax()) + 1
        rows = variant == chosen
        share = found.weight[rows] / mass[chosen - 1]
        for column in columns[(chosen & bits) > 0]:
            means, variances = found.mean[rows, column], found.variance[rows, column]
            mean = float(share @ means)
            sd = float(np.sqrt(share @ (variances + (means - mean) ** 2)))
            name = fit.columns[column].alteration.direction(mean).name
            amounts.append(Amount(id, fit.columns[column].side, mean, sd, probabilities[id], name))
    return amounts, probabilities


def _is_clear(amount: Amount, fit: Equation, unseen: Sequence[str], by_hand: NDArray[np.bool_]) -> bool:
    """Large enough to be worth a cut, surely not nothing, seen in a measurement beyond its tolerance, and hardly a matter of chance.

    With as many alterations as could have shown, the largest of their signals in pure noise stays below `limit` sd in all but a share
    BY_CHANCE of fittings (Bonferroni).
    """
    shown = fit.shown([amount])
    smallest = next(c.alteration.amounts.smallest for c in fit.columns if c.alteration.id == amount.id)
    visible = (np.abs(shown) > fit.tolerance / 2) & (np.abs(fit.y) > fit.tolerance) & (shown * fit.y > 0)
    large = abs(amount.amount_mm) >= max(smallest, SURE_SD * amount.sd_mm)
    tried = max(1, len({c.alteration.id for c in fit.columns} - set(unseen)))
    limit = -NormalDist().inv_cdf(BY_CHANCE / (2 * tried))
    times = float(np.sqrt(shown @ np.linalg.solve(fit.noise, shown))) / limit if len(shown) else 0.0
    if by_hand[visible].any():  # nobody misreads a tape as a program may a photo
        sure = amount.probability > SURELY or (amount.probability > RATHER and times > 1)
    elif visible.sum() == 1:
        made_up = np.exp(LONE * max(min(times, FAR_OUT) - 1, 0.0))
        sure = bool(amount.probability * made_up * (1 - SURELY) > SURELY * (1 - amount.probability))
    else:
        sure = amount.probability > SURELY or (amount.probability > RATHER and times > FURTHER)
    return large and bool(visible.any()) and sure


def _outside(fit: Equation, amounts: Sequence[Amount]) -> tuple[str, ...]:
    left = np.abs(fit.y - fit.shown(amounts))
    unsure = np.array([SURE_SD * m.sd for m in fit.measured])
    return tuple(key for key, out in zip(fit.keys, left > np.maximum(fit.tolerance, unsure), strict=True) if out)


def _explanations(fit: Equation, found: Hypotheses, most: int = 5) -> tuple[Explanation, ...]:
    merged: dict[tuple[int, ...], list[int]] = {}
    for row, members in enumerate(found.sets):
        merged.setdefault(members, []).append(row)
    weights = {members: float(found.weight[in_rows].sum()) for members, in_rows in merged.items()}
    explanations = []
    for members in sorted(merged, key=lambda one: -weights[one])[:most]:
        in_rows = merged[members]
        share = found.weight[in_rows] / weights[members]
        mean = share @ found.mean[in_rows]
        sd = np.sqrt(share @ (found.variance[in_rows] + (found.mean[in_rows] - mean) ** 2))
        amounts = tuple(
            Amount(column.alteration.id, column.side, float(mean[j]), float(sd[j]), min(1.0, weights[members]), name)
            for j, column, name in ((j, fit.columns[j], fit.columns[j].alteration.direction(mean[j]).name) for j in members)
        )
        explanations.append(Explanation(weights[members], amounts, _outside(fit, amounts)))
    return tuple(explanations)


def _evidence(fit: Equation, needed: Sequence[Amount], amount: Amount) -> Evidence:
    """Half the growth of each squared standardised residual if the alteration were left out (nats)."""
    residual = fit.y - fit.shown(needed)
    speaks = ((residual + fit.shown([amount])) ** 2 - residual**2) / (2 * np.diag(fit.noise))
    order = np.argsort(-np.abs(speaks))
    return Evidence(
        tuple(fit.keys[k] for k in order if speaks[k] > WEIGHED),
        tuple(fit.keys[k] for k in order if speaks[k] < -WEIGHED),
    )


def _unseen(fit: Equation) -> tuple[str, ...]:
    clear = {c.alteration.id for c, signal in zip(fit.columns, fit.signal, strict=True) if signal >= CLEAR_SIGNAL}
    return tuple(dict.fromkeys(c.alteration.id for c in fit.columns if c.alteration.id not in clear))
