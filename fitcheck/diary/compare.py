"""Two rounds of one garment: what was solved, and whether each alteration did what it should have done."""

import math
from collections.abc import Mapping, Sequence

from fitcheck.core.diary import Advised, Change, Comparison, Fitting, Names, Outcome, Status, Target, name_of
from fitcheck.core.outcome import Z95, Readings, outcome_says, share_of
from fitcheck.core.records import Measurement

_IN_WORDS = {"unchanged": "unchanged or too close to tell"}


def compare(before: Fitting, after: Fitting, targets: Mapping[str, Target], names: Names) -> Comparison:
    """Compare two fittings.

    Parameters
    ----------
    before, after : Fitting
    targets : dict of measurement key to Target
        What each should read; a measurement without one is compared but not judged.
    names : dict of (alteration id, amount above zero) to str

    Returns
    -------
    Comparison
        Uncertainties of the two rounds are taken as independent: other photos, stickers put on anew.
    """
    then, now = ({m.key: m for m in fitting.measurements} for fitting in (before, after))
    predicted = _predicted(before.round)
    changes = tuple(_change(then[key], now[key], predicted.get(key), targets.get(key)) for key in then if key in now)
    outcomes = tuple(_outcome(step, then, now, targets, names) for step in before.round)
    return Comparison(
        before,
        after,
        changes,
        outcomes,
        _verdict(changes, outcomes),
        _cautions(before, after),
        tuple(m for key, m in then.items() if key not in now),
        tuple(m for key, m in now.items() if key not in then),
    )


def _predicted(steps: Sequence[Advised]) -> dict[str, float]:
    """What the whole round should lead to; every step already tells the reading after all of them."""
    return {one.measurement: one.after for step in steps for one in step.expect}


def _change(before: Measurement, after: Measurement, predicted: float | None, target: Target | None) -> Change:
    sd = math.hypot(before.sd, after.sd)
    changed = abs(after.value - before.value) > Z95 * sd
    # The prediction is the earlier reading less what the amount takes away, so its own doubt is the earlier reading's.
    straying = target.straying_sd if target else 0.0
    as_predicted = None if predicted is None else abs(after.value - predicted) <= Z95 * math.hypot(sd, straying)
    status = None if target is None or target.of_body else _status(before.value, after.value, sd, target)
    return Change(before, after, predicted, sd, changed, as_predicted, status)


def _status(before: float, after: float, sd: float, target: Target) -> Status:
    """Solved, improved, worse: only when the distance from what fits changed beyond its uncertainty."""
    then, now = abs(before - target.wanted), abs(after - target.wanted)
    gain = then - now
    if now <= target.tolerance:
        if then <= target.tolerance:
            return "in order"
        return "solved" if gain > Z95 * sd else "unchanged"
    if gain > Z95 * sd:
        return "improved"
    return "worse" if -gain > Z95 * sd else "unchanged"


def _outcome(step: Advised, then: Readings, now: Readings, targets: Mapping[str, Target], names: Names) -> Outcome:
    def straying(key: str) -> float:
        return targets[key].straying_sd if key in targets else 0.0

    found = share_of(step.expect, then, now, straying)
    says = outcome_says(name_of(step.amount, names), step.amount.amount_mm, found)
    return Outcome(step.amount, found and found.share, found and found.sd, says)


def _verdict(changes: Sequence[Change], outcomes: Sequence[Outcome]) -> str:
    count = {status: sum(c.status == status for c in changes) for status in ("solved", "improved", "unchanged", "worse")}
    faults = sum(count.values())
    sentences = []
    if not changes:
        return "Nothing was measured in both rounds, so they cannot be compared."
    if not faults:
        sentences.append("Everything that was measured in both rounds lies within its tolerance.")
    else:
        said = [f"{number} {_IN_WORDS.get(status, status)}" for status, number in count.items() if number]
        sentences.append(f"Of {faults} measurements that were or are out of place: {_listed(said)}.")
    sentences += [outcome.says for outcome in outcomes if outcome.share is not None]
    if count["worse"]:
        sentences.append("Look first at what became worse: it was in better order before this alteration.")
    return " ".join(sentences)


def _cautions(before: Fitting, after: Fitting) -> tuple[str, ...]:
    found = []
    a, b = before.entry, after.entry
    if a.wearer != b.wearer:
        found.append("These are fittings of two wearers; differences of body and of fit cannot be told apart.")
    elif a.garment != b.garment:
        found.append("These are two garments; what differs need not come from an alteration.")
    if b.day < a.day:
        found.append("The second fitting is older than the first.")
    if a.stage != b.stage and a.garment == b.garment:
        found.append(f"One was {a.stage}, the other {b.stage}: cloth hangs a little lower than tissue.")
    if b.retake:
        found.append("The second fitting is a repeat of the same day; differences show how well photos repeat.")
    return tuple(found)


def _listed(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
