"""The round: of all that is needed, the one to three alterations to make now, and what the next photos should show."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from fitcheck.advice.cut_garment import possible_mm, row_for, steps_on_cloth
from fitcheck.advice.cutting import cut_amount, made_mm, rounding
from fitcheck.advice.ease import ease_tables
from fitcheck.advice.findings import verdict
from fitcheck.advice.rows import Alteration, Knowledge
from fitcheck.advice.solve import NEEDED, Solution
from fitcheck.advice.together import made_together
from fitcheck.core.advice import Amount, Expectation, Finding, Round, RoundStep
from fitcheck.core.fitting import SHAPING, FittingFacts
from fitcheck.core.records import OTHER_SIDE, Measurement, Side

WORTH_EXPECTING = 0.3  # changes smaller than this share of the tolerance are not announced
AS_MUCH = 6  # decimals of that share: what changes by as much stands in the equation's order, not as rounding has it
HELPS = 0.05  # bits
MOST_HELPS = 3
MOST_WHY = 2
MOST_TOLD = 3
LAST_JUDGED_GROUP = 3  # "not seen" is said of length, balance and bust; widths and edges often cannot be seen at all
PLAINLY_WRONG = 0.5

_SIDE_WORDS = {"both": "on both sides", "wearer_left": "on your left side only", "wearer_right": "on your right side only"}
_SEEN_ON = {"wearer_left": "your left", "wearer_right": "your right"}
_ONE_SIDE_OF_HALF = "Trace the half pattern off to a whole one and write left and right on it; this alteration is for one side only."
_TRY_FIRST = "That this is the cause is not certain. Pin it first, and cut only when the pinned fitting is the better one."
_ALLOWANCE = "All amounts are on the seam line: draw {mm:%g} of seam allowance again outside every seam line that has moved."


def plan_round(
    solution: Solution, findings: Sequence[Finding], measurements: Sequence[Measurement], table: Knowledge, fitting: FittingFacts
) -> Round:
    """Choose this round and put it in words.

    The first group with a needed alteration makes the round, in the order of the table; what belongs to later groups waits where a change
    before it moves what it goes by, and so does what is more than three. Where nothing is certain, what would better the fit is to be
    pinned.

    Returns
    -------
    Round
        Without steps when nothing is needed or nothing can be decided; `summary` says which.
    """
    advised = (*solution.to_make, *solution.to_try) if solution.beside or not solution.to_make else solution.to_make
    now = made_together(solution.fit, advised)
    steps = tuple(_step(a, now, solution, findings, measurements, table, fitting) for a in now)
    look_again = [text for a in now for text in table.alterations[a.id].direction(a.amount_mm).look_again_for(fitting)]
    look_again += ease_tables().says(fitting) if now else ()
    later = tuple(a for a in solution.to_make if a not in now)
    return Round(
        steps,
        _summary(now, later, solution, findings, table, fitting),
        tuple(dict.fromkeys(look_again)),
        _would_help(solution, table, fitting),
        later,
        _undecided(findings, table, fitting),
    )


def _step(
    amount: Amount,
    now: Sequence[Amount],
    solution: Solution,
    findings: Sequence[Finding],
    measurements: Sequence[Measurement],
    table: Knowledge,
    fitting: FittingFacts,
) -> RoundStep:
    alteration = table.alterations[amount.id]
    direction = alteration.direction(amount.amount_mm)
    cut = cut_amount(amount, alteration, fitting)
    evidence = solution.evidence[amount.id, amount.side]
    seen_on = _seen_on(amount, alteration, solution)
    steps, matching = _instructions(amount, cut, table, fitting)
    return RoundStep(
        amount,
        direction.name,
        alteration.group,
        _said(
            _why(evidence.speaks_for, findings),
            _doubled(amount, cut, alteration, fitting),
            _carried_over(amount, seen_on, solution, fitting),
        ),
        steps,
        matching,
        _expect(amount, now, solution, measurements, table, fitting),
        evidence.speaks_for,
        evidence.speaks_against,
        _caution(amount, cut, alteration, fitting, amount in solution.to_make),
        cut,
        rounding(amount, cut, alteration, fitting),
        where=_where(amount, alteration, seen_on),
    )


def _instructions(amount: Amount, cut: float, table: Knowledge, fitting: FittingFacts) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """What to do and what has to follow: on paper, or within the allowances of a cut garment."""
    alteration = table.alterations[amount.id]
    if fitting.stage == "garment":
        return steps_on_cloth(alteration, cut, SHAPING[fitting.front], fitting), row_for(alteration, cut).matching
    direction = alteration.direction(amount.amount_mm)
    steps = direction.steps_for(fitting)
    if amount.side != "both" and fitting.tissue == "half" and not direction.steps_half:
        steps = (_ONE_SIDE_OF_HALF, *steps)
    return (*steps, _ALLOWANCE % fitting.seam_allowance_mm), (*direction.matching_for(fitting), *table.follows)


def _seen_on(amount: Amount, alteration: Alteration, solution: Solution) -> Side | None:
    """The one side whose readings alone speak for it, where it is made on both sides but need not be."""
    if amount.side != "both" or alteration.sides != "either":
        return None
    sides = _sides_shown(amount, solution)
    return sides.pop() if len(sides) == 1 else None


def _sides_shown(amount: Amount, solution: Solution) -> set[Side]:
    """Her sides whose readings speak for it."""
    speaks_for = solution.evidence[amount.id, amount.side].speaks_for
    return {m.side for m in solution.fit.measured if m.key in speaks_for and m.side}


def _where(amount: Amount, alteration: Alteration, seen_on: Side | None) -> str:
    if alteration.sides == "both":
        return ""
    where = _SIDE_WORDS[amount.side].removeprefix("on ").removesuffix(" side only")
    return f"{where}, seen on {_SEEN_ON[seen_on]} only" if seen_on else where


def _said(*texts: str) -> str:
    return " ".join(text for text in texts if text)


def _doubled(amount: Amount, cut: float, alteration: Alteration, fitting: FittingFacts) -> str:
    """What a gap at the centre of a half tissue means for the whole width."""
    if fitting.tissue != "half" or not alteration.of_each_half or amount.side != "both":
        return ""
    change = "lacks" if cut > 0 else "has too much"
    return (
        f"What a half {change} counts twice: {{cut:{abs(cut):.1f}}} on this half's piece is {{cut:{2 * abs(cut):.1f}}} in the whole width."
    )


def _carried_over(amount: Amount, seen_on: Side | None, solution: Solution, fitting: FittingFacts) -> str:
    if fitting.tissue == "half":
        shown = _sides_shown(amount, solution) if amount.side == "both" else set()
        if len(shown) != 1:
            return ""
        side = shown.pop()
        return (
            f"The half tissue shows {_SEEN_ON[side]} only; this is carried over to {_SEEN_ON[OTHER_SIDE[side]]} half, which is cut alike."
        )
    if seen_on is None:
        return ""
    other = OTHER_SIDE[seen_on]
    return (
        f"This was seen on {_SEEN_ON[seen_on]} only and is carried over to {_SEEN_ON[other]}, where no reading shows it: look at that "
        "side before you cut it."
    )


def _why(speaks_for: Sequence[str], findings: Sequence[Finding]) -> str:
    """The findings that weigh most in the equation, as facts: `speaks_for` has the weightiest first."""
    told = {key: f.fact or f.says for f in findings if f.verdict != "absent" for key in f.measurements}
    return " ".join(list(dict.fromkeys(told[key] for key in speaks_for if key in told))[:MOST_WHY])


def _expect(
    amount: Amount,
    now: Sequence[Amount],
    solution: Solution,
    measurements: Sequence[Measurement],
    table: Knowledge,
    fitting: FittingFacts,
) -> tuple[Expectation, ...]:
    """What this step changes, and what it will read when the whole round is done as cut: y - A dx."""
    fit = solution.fit
    cut = [replace(a, amount_mm=made_mm(a, table.alterations[a.id], fitting)) for a in now]
    change, whole = fit.taken_away([amount]), fit.taken_away(cut)
    values = {m.key: m.value for m in measurements}
    worth = np.abs(change) > WORTH_EXPECTING * fit.tolerance
    worth &= [not table.observables[m.id].of_body for m in fit.measured]
    order = sorted(np.flatnonzero(worth), key=lambda k: -round(float(abs(change[k]) / fit.tolerance[k]), AS_MUCH))
    return tuple(Expectation(fit.keys[k], values[fit.keys[k]], float(values[fit.keys[k]] - whole[k])) for k in order)


def _caution(amount: Amount, cut: float, alteration: Alteration, fitting: FittingFacts, certain: bool) -> str:
    cautions = [] if certain else [_TRY_FIRST]
    most = alteration.amounts.most(amount.amount_mm)
    if abs(amount.amount_mm) > most:
        cautions.append(
            f"This is more than {{mm:{most:g}}}, the most that is sensible at once. Check that seam allowance, size "
            "and marks are right, and let an experienced fitter look first."
        )
    if fitting.stage == "garment" and abs(cut) > possible_mm(row_for(alteration, cut), fitting):
        cautions.append("The seams of the cut garment do not give all of this: the steps say how far they go.")
    return " ".join(cautions)


def _summary(
    now: Sequence[Amount],
    later: Sequence[Amount],
    solution: Solution,
    findings: Sequence[Finding],
    table: Knowledge,
    fitting: FittingFacts,
) -> str:
    if not solution.fit.measured:
        return "Nothing could be measured, so nothing can be said about the fit."
    sentences: list[str] = []
    present = [f for f in findings if f.verdict == "present"]
    unclear = sum(f.verdict == "unclear" and f.decidable for f in findings)
    possible = {c.alteration.id: c.alteration for c in solution.fit.columns}
    judged = [a for a in possible.values() if a.group <= LAST_JUDGED_GROUP]
    not_seen = [a.name for a in judged if a.id in solution.unseen]
    if now:
        tried = "No cause is certain. To be pinned before anything is cut, as it would better the fit"
        begins = "This round" if solution.to_make else tried
        sentences.append(f"{begins}: {'; '.join(_named(a, table, fitting, solution) for a in now)}.")
        if later:
            names = list(dict.fromkeys(table.alterations[a.id].direction(a.amount_mm).name for a in later))
            sentences.append(f"Afterwards, if the next photos still show it: {_listed(names)}.")
    elif present:
        sentences.append("No alteration is certain enough to be advised.")
        sentences.append("What lies outside its tolerance: " + " ".join(f.says for f in present[:MOST_TOLD]))
    elif len(not_seen) > len(judged) / 2:
        sentences.append("Too little was measured to say whether the garment fits; what was measured shows no certain fault.")
    elif unclear:
        sentences.append("Nothing to alter: no fault shows that is certain.")
        sentences.append(f"{unclear} of {len(findings)} findings {'is' if unclear == 1 else 'are'} too close to call.")
    else:
        sentences.append("Nothing to alter: everything that was measured lies within its tolerance.")
    if harmful := [a.name for a in solution.needed if a.id not in {made.id for made in solution.to_make}]:
        sentences.append(f"It also shows {_listed(harmful)}; but altering the paper for that would spoil what fits, so it is left out.")
    claimed = {a.id for a in (*solution.needed, *now)}
    likely = [a for a in solution.considered if a.probability > NEEDED and a.id not in claimed]
    if likely:
        names = list(dict.fromkeys(table.alterations[a.id].direction(a.amount_mm).name for a in likely))
        sentences.append(f"Likely, but not plain enough for a cut yet: {_listed(names)}.")
    if not_seen and not now:
        sentences.append(f"Not to be seen in what was measured: {_listed(not_seen)}.")
    wild = [f.says for f in findings if any(solution.wild.get(key, 0.0) > PLAINLY_WRONG for key in f.measurements)]
    sentences += [f"This does not agree with the rest and was given little weight: {says}" for says in wild]
    return " ".join(sentences)


def _named(amount: Amount, table: Knowledge, fitting: FittingFacts, solution: Solution) -> str:
    alteration = table.alterations[amount.id]
    where = "" if alteration.sides == "both" else f" {_SIDE_WORDS[amount.side]}"
    if seen_on := _seen_on(amount, alteration, solution):
        where += f" (seen on {_SEEN_ON[seen_on]} only)"
    return f"{alteration.direction(amount.amount_mm).name}, {{cut:{abs(cut_amount(amount, alteration, fitting)):.1f}}}{where}"


def _listed(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _would_help(solution: Solution, table: Knowledge, fitting: FittingFacts) -> tuple[str, ...]:
    """What to add next time, the most telling first."""
    asks = dict.fromkeys(table.observables[h.id].ask_for(fitting) for h in solution.would_help if h.bits > HELPS)
    return tuple(f"{ask}." for ask in list(asks)[:MOST_HELPS])


def _undecided(findings: Sequence[Finding], table: Knowledge, fitting: FittingFacts) -> str:
    """One line about what could hardly ever have been decided here: its doubt is too large against its tolerance."""
    ids = dict.fromkeys(table.places[f.id][0].id for f in findings if not f.decidable)
    if not ids:
        return ""
    rows = [table.observables[id] for id in ids]
    never = [row for row in rows if verdict(0.0, row.tolerance.doubt, row.tolerance.amount) == "unclear"]
    asks = dict.fromkeys(row.ask_for(fitting) for row in rows if row not in never and not row.unread)
    sentences = [f"Too unsure here to be told either way: {_listed([row.name for row in rows])}."]
    if asks:
        sentences.append(f"What would decide {'the rest' if never else 'it'}: {'; '.join(ask[0].lower() + ask[1:] for ask in asks)}.")
    if never:
        sentences.insert(1, f"No photo decides {_listed([row.name for row in never])}: judge it by eye.")
    return " ".join(sentences)
