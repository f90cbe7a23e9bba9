"""How a fitting of the loop is advised: by the program with either table, or by a simple rule."""

import json
from collections.abc import Mapping
from functools import cache
from pathlib import Path

import numpy as np

from fitcheck.advice.plan import plan_round
from fitcheck.advice.rows import Knowledge
from fitcheck.advice.solve import solve
from fitcheck.advice.table import knowledge
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.records import Measurement
from tests.benchmarks.sensitivities import used

FACTS = FittingFacts(front="dart")
DOUBT = 0.4  # of a tolerance: what photos with stickers leave (tests/benchmarks/accuracy.py)
LEAST_MM = 0.5  # less is no alteration
ADVICES = ("table", "measured", "but stance", "rule")
STANCE = ("forward_shoulder", "rounded_erect_upper_back", "sway_back", "full_small_bust")  # what they show comes with her figure too
Readings = Mapping[str, float]
Asked = tuple[str, Readings, int]  # by which advice, deviations, seed of the noise


def advised(asked: Asked, sensitivities: Path | None) -> dict[str, float]:
    """Alterations of this round, mm."""
    name, away, seed = asked
    rng = np.random.default_rng(seed)
    if name == "rule":
        made = by_rule(away, rng, knowledge())
    else:
        made = by_equation(away, rng, with_table(sensitivities if name != "table" else None, STANCE if name == "but stance" else ()))
    return {id: mm for id, mm in made.items() if abs(mm) > LEAST_MM}


def measured(away: Readings, rng: np.random.Generator) -> list[Measurement]:
    """What is read, both sides, with noise."""
    found = []
    for key, value in away.items():
        observable, at = knowledge().places[key]
        sd = DOUBT * observable.tolerance.amount
        wanted = observable.wanted.get("set_in", 0.0)
        found += [
            Measurement(observable.id, at, side, None, value + wanted + float(rng.normal(0, sd)), observable.unit, sd, {})
            for side in observable.sides(at)
        ]
    return found


def by_equation(away: Readings, rng: np.random.Generator, table: Knowledge) -> dict[str, float]:
    """This round as the program advises it."""
    read = measured(away, rng)
    solution = solve(read, table, FACTS)
    steps = plan_round(solution, (), read, table, FACTS).steps
    made: dict[str, float] = {}
    for step in steps:
        share = 1.0 if step.amount.side == "both" or table.alterations[step.amount.id].sides == "both" else 0.5
        made[step.amount.id] = made.get(step.amount.id, 0.0) + share * (step.cut_mm or step.amount.amount_mm)
    return made


def by_rule(away: Readings, rng: np.random.Generator, table: Knowledge) -> dict[str, float]:
    """Each reading that is off answered by the first alteration that it tells most of all; one group a round, three at most."""
    total: dict[str, list[float]] = {}
    for one in measured(away, rng):
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


@cache
def with_table(sensitivities: Path | None, kept: tuple[str, ...]) -> Knowledge:
    """The table as it is; or with what was measured in place of what strays from it, but in the rows that are kept."""
    table = knowledge()
    if sensitivities is None:
        return table
    found = json.loads(sensitivities.read_text())["effects"]
    replaced = used(found)
    rows = {}
    for id, row in table.alterations.items():
        now = row.effects.per_10 if id in kept else replaced.get(id, row.effects.per_10)
        rows[id] = row.model_copy(update={"effects": row.effects.model_copy(update={"per_10": now})})
    return table.model_copy(update={"alterations": rows})
