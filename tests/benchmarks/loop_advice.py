"""How a fitting of the loop is advised: by the program, with or without what it would only have tried, or by a simple rule."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from fitcheck.advice.findings import find
from fitcheck.advice.last_round import given_up_leans, heeding, lessons, taken_back
from fitcheck.advice.plan import plan_round
from fitcheck.advice.rows import Knowledge
from fitcheck.advice.solve import solve
from fitcheck.advice.table import knowledge
from fitcheck.core.diary import Advised
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.last_round import LastRound
from fitcheck.core.records import Measurement

FACTS = FittingFacts(front="dart")
DOUBT = 0.4  # of a tolerance: what photos with stickers leave (tests/benchmarks/accuracy.py)
LEAST_MM = 0.5  # less is no alteration
ADVICES = ("program", "certain", "rule")
Readings = Mapping[str, float]


@dataclass(frozen=True)
class Asked:
    """A fitting that wants advice.

    Attributes
    ----------
    advice : str
        One of ADVICES.
    away : dict of str to float
        True deviations.
    spread : dict of str to float
        How far what is usual differs between figures, where a deviation is from what is usual.
    last : LastRound or None
        As the diary hands it on.
    """

    advice: str
    away: Readings
    spread: Readings
    seed: int
    last: LastRound | None = None


@dataclass(frozen=True)
class Answer:
    """Alterations of this round, mm, and what the diary keeps of it; what was taken back."""

    made: dict[str, float]
    last: LastRound | None = None
    back: bool = field(default=False)


def advised(asked: Asked) -> Answer:
    """Alterations of this round."""
    read = measured(asked)
    if asked.advice == "rule":
        made = by_rule(read, knowledge())
        return Answer({id: mm for id, mm in made.items() if abs(mm) > LEAST_MM})
    return by_program(asked, read, knowledge())


def measured(asked: Asked) -> list[Measurement]:
    """What is read, both sides, with noise."""
    rng = np.random.default_rng(asked.seed)
    found = []
    for key, value in asked.away.items():
        observable, at = knowledge().places[key]
        noise = DOUBT * observable.tolerance.amount
        sd = float(np.hypot(noise, asked.spread.get(key, 0.0)))
        wanted = observable.wanted.get("set_in", 0.0)
        found += [
            Measurement(observable.id, at, side, None, value + wanted + float(rng.normal(0, noise)), observable.unit, sd, {})
            for side in observable.sides(at)
        ]
    return found


def by_program(asked: Asked, read: list[Measurement], table: Knowledge) -> Answer:
    """This round as the program advises it, which knows the last one."""
    last = asked.last
    learnt = lessons(last, read, table, FACTS)
    solution = heeding(solve(read, table, FACTS, leans=given_up_leans(last)), learnt)
    if asked.advice == "certain":
        solution = replace(solution, to_try=())
    undone = taken_back(last, learnt, read, table, FACTS)
    plan = undone or plan_round(solution, find(read, table, FACTS), read, table, FACTS)
    made: dict[str, float] = {}
    for step in plan.steps:
        share = 1.0 if step.amount.side == "both" or table.alterations[step.amount.id].sides == "both" else 0.5
        made[step.amount.id] = made.get(step.amount.id, 0.0) + share * (step.cut_mm or step.amount.amount_mm)
    given_up = (*(last.given_up if last else ()), *(made if undone else ()))
    kept = LastRound(0, tuple(read), tuple(Advised(step.amount, step.expect) for step in plan.steps), tuple(dict.fromkeys(given_up)))
    return Answer({id: mm for id, mm in made.items() if abs(mm) > LEAST_MM}, kept, undone is not None)


def by_rule(read: list[Measurement], table: Knowledge) -> dict[str, float]:
    """Each reading that is off answered by the first alteration that it tells most of all; one group a round, three at most."""
    total: dict[str, list[float]] = {}
    for one in read:
        key = f"{one.id}_{one.at}" if one.at else one.id
        total.setdefault(key, []).append(one.value - table.places[key][0].wanted.get("set_in", 0.0))
    mean = {key: float(np.mean(values)) for key, values in total.items()}
    found: dict[str, float] = {}
    told: set[str] = set()
    group = 0
    for row in table.alterations.values():
        effects = {key: effect for key, effect in row.effects.per_10.items() if key in table.places}
        if not row.applies(FACTS) or row.sides == "one" or not effects or (group and row.group != group):
            continue
        main = max(effects, key=lambda key: abs(effects[key]) / table.places[key][0].tolerance.amount)
        if main in told or abs(mean.get(main, 0.0)) <= table.places[main][0].tolerance.amount:
            continue
        amount = mean[main] * 10 / effects[main]
        if abs(amount) < row.amounts.smallest or (amount < 0 and row.minus is None):
            continue
        found[row.id] = float(np.clip(amount, -row.amounts.largest, row.amounts.largest))
        told.add(main)
        group = row.group
        if len(found) == 3:
            break
    return found
