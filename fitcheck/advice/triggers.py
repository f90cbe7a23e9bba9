"""How each alteration is known: claimed from what photos show, only leaned towards by them, or told by hand.

Computed from the tables by tests/benchmarks/triggers.py, which writes triggers.toml: a usual amount of each is what the pattern lacks,
everything it shows is measured (as surely as a good photo or a tape does, half the tolerance), and the fit equation is solved once with
what photos show and, where that claims nothing, with what can be measured by hand besides.
"""

import tomllib
from functools import cache
from importlib.resources import files
from typing import Literal

from fitcheck.advice.equation import Column, effects_at
from fitcheck.advice.rows import Alteration, Knowledge
from fitcheck.advice.solve import solve
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.records import Measurement

Known = Literal["by photos", "inferred", "by hand", "not yet"]
INFERRED = 2.0  # photos lean towards it if they raise its probability this many times


@cache
def triggers() -> dict[str, str]:
    """How each alteration is known, by its id, as computed last."""
    read: dict[str, str] = tomllib.loads((files("fitcheck.advice") / "knowledge" / "triggers.toml").read_text("utf-8"))
    return read


def known(row: Alteration, table: Knowledge) -> Known:
    """How one alteration is known.

    Returns
    -------
    str
        by photos: the larger of its usual amounts is claimed from them. inferred: they make it more probable, but do not suffice. by hand:
        claimed once what only a tape or a pin tells is written into fitting.toml. not yet: not even then.
    """
    fitting = FittingFacts(kind="dress" if "dress" in row.garments else row.garments[-1])
    side = "wearer_right" if row.sides == "one" else "both"
    seen = _shown(Column(row, side), row.amounts.usual[1], table, fitting, by_hand=False)
    by_photos = solve(seen, table, fitting)
    if row.id in {a.id for a in by_photos.needed}:
        return "by photos"
    if row.id not in by_photos.unseen and by_photos.probabilities.get(row.id, 0.0) > INFERRED * row.amounts.probability:
        return "inferred"
    told = _shown(Column(row, side), row.amounts.usual[1], table, fitting, by_hand=True)
    return "by hand" if row.id in {a.id for a in solve(told, table, fitting).needed} else "not yet"


def _shown(column: Column, amount_mm: float, table: Knowledge, fitting: FittingFacts, by_hand: bool) -> list[Measurement]:
    """What is measured when the pattern lacks so much; the places where it does not show read as they should."""
    found = []
    for observable in table.observables.values():
        for at in observable.levels:
            if not observable.applies(at, fitting) or ((observable.by_hand or observable.unread) and not by_hand):
                continue
            for side in observable.sides(at):
                shown = float(effects_at([(observable, at, side)], [column])[0, 0])
                value = observable.wanted.get(fitting.sleeve, 0.0) + shown * amount_mm
                sd = observable.tolerance.amount / 2
                found.append(Measurement(observable.id, at, side, None, value, observable.unit, sd, {"pixel": sd}))
    return found
