"""Fold groups as observables of the fit equation, and in words: what each suggests and how strongly it counted.

A reading of folds.toml becomes an observable of its own, its value the cloth that the folds take up, only in the fitting that shows it:
folds that are not seen say little, for light from the wrong side hides them. Where the same fault could have been measured as a gap but
was not, the folds stand alone and count with more doubt.
"""

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable

import numpy as np
from pydantic import ValidationError

from fitcheck.advice.rows import Id, Knowledge, Observable, Positive, Sourced, Straying, Tolerance, Words
from fitcheck.advice.solve import Solution
from fitcheck.advice.table import knowledge
from fitcheck.core.errors import KnowledgeError
from fitcheck.core.folds import FoldGroup
from fitcheck.core.records import Measurement, Side, View, measurement_key

ALONE = 1.5  # doubt of folds without a measured gap, as a multiple (estimate)
LEAST_MM = 0.75  # folds that are plainly there take up at least this much per unit of strength; shading tends to flatten them (estimate)
DOUBT = 0.3  # relative: shading misjudges heights by a factor, which leaves nothing at nothing, so half of the take-up's own doubt counts
UNLIT = 2.0  # the same as a multiple where the light says nothing of heights
CLEARLY, LITTLE = 0.6, 0.2  # nats that a reading can tell of what it suggests
_SIDES: dict[Side | None, str] = {"wearer_left": "on your left", "wearer_right": "on your right", None: ""}


class FoldRow(Sourced):
    """One reading of folds; see the head of folds.toml."""

    id: Id
    at: Id
    name: Words
    says: Words
    views: tuple[View, ...]
    sided: bool
    per_10: dict[Id, float]
    gaps: tuple[Id, ...]
    tolerance: Positive
    straying: Positive

    @property
    def place(self) -> str:
        """`<id>_<at>`, as the key of an effect."""
        return measurement_key(self.id, self.at, None)


@cache
def fold_rows() -> Mapping[str, FoldRow]:
    """The readings that come with fitcheck, by place."""
    return load_folds(files("fitcheck.advice") / "knowledge" / "folds.toml", knowledge())


def load_folds(file: Traversable, table: Knowledge) -> dict[str, FoldRow]:
    """Load and check folds.toml.

    Raises
    ------
    KnowledgeError
        A block lacks its source or has an unknown key; a place is there twice; an alteration or a gap is unknown. All faults are listed.
    """
    faults: list[str] = []
    rows: list[FoldRow] = []
    try:
        blocks = tomllib.loads(file.read_text(encoding="utf-8")).get("fold", [])
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise KnowledgeError(f"folds.toml cannot be read: {error}.", "Correct it; its head explains every key.") from error
    for block in blocks:
        try:
            rows.append(FoldRow.model_validate(block))
        except ValidationError as error:
            label = f"{block.get('id')} {block.get('at')}"
            faults += [f"{label}: `{'.'.join(str(p) for p in e['loc'])}` {e['msg']}" for e in error.errors()]
    places = [row.place for row in rows]
    faults += [f"`{place}` stands there twice" for place in dict.fromkeys(places) if places.count(place) > 1]
    for row in rows:
        faults += [f"{row.place}: `{id}` is no alteration" for id in row.per_10 if id not in table.alterations]
        faults += [f"{row.place}: `{gap}` is no measurement" for gap in row.gaps if gap not in table.places]
    if faults:
        raise KnowledgeError(f"folds.toml does not hold together: {'; '.join(faults)}.", "Correct it; its head explains every key.")
    return {row.place: row for row in rows}


def fold_measurements(groups: Sequence[FoldGroup], measurements: Sequence[Measurement]) -> tuple[Measurement, ...]:
    """The significant groups that the table can read, as measurements of the cloth they take up.

    Parameters
    ----------
    groups : sequence of FoldGroup
    measurements : sequence of Measurement
        All others of the fitting.
    """
    measured = {measurement_key(m.id, m.at, None) for m in measurements}
    found = []
    for group in groups:
        row = fold_rows().get(measurement_key(group.id, group.at, None))
        if row is None or not group.significant:
            continue
        value = max(group.take_up_mm or 0.0, LEAST_MM * group.strength)
        sd = DOUBT * value * (UNLIT if group.take_up_mm is None else 1.0) * (1.0 if measured & set(row.gaps) else ALONE)
        found.append(Measurement(group.id, group.at, group.side, group.view, value, "mm", sd, {"light": sd}))
    return tuple(found)


def with_folds(table: Knowledge, shown: Sequence[Measurement]) -> Knowledge:
    """The tables with the readings of the folds that this fitting shows."""
    places = dict.fromkeys(measurement_key(m.id, m.at, None) for m in shown)
    rows = [fold_rows()[place] for place in places]
    by_id: dict[str, list[FoldRow]] = {}
    for row in rows:
        by_id.setdefault(row.id, []).append(row)
    alterations = dict(table.alterations)
    for row in rows:
        for id, effect in row.per_10.items():
            effects = alterations[id].effects
            more = effects.model_copy(update={"per_10": {**effects.per_10, row.place: effect}})
            alterations[id] = alterations[id].model_copy(update={"effects": more})
    observables = table.observables | {id: _observable(id, found) for id, found in by_id.items()}
    return table.model_copy(update={"observables": observables, "alterations": alterations})


def _observable(id: str, rows: Sequence[FoldRow]) -> Observable:
    """Readings of one kind as the levels of one observable."""
    first = rows[0]
    return Observable(
        id=id,
        name=first.name,
        plus="cloth taken up in folds",
        unit="mm",
        views=tuple(dict.fromkeys(view for row in rows for view in row.views)),
        levels=tuple(row.at for row in rows),
        sided=True,
        midline_levels=tuple(row.at for row in rows if not row.sided),
        ask="Photograph the garment with the light from one side",
        tolerance=Tolerance(amount=first.tolerance, source=first.source),
        model=Straying(sd=first.straying, level_sd={row.at: row.straying for row in rows}, shared=0.0, source=first.source),
    )


def in_words(groups: Sequence[FoldGroup], shown: Sequence[Measurement], solution: Solution, table: Knowledge) -> tuple[FoldGroup, ...]:
    """The groups with what each suggests and how strongly it counted.

    Parameters
    ----------
    groups : sequence of FoldGroup
    shown : sequence of Measurement
        What `fold_measurements` made of them.
    solution : Solution
        Of the equation with the folds in it.
    table : Knowledge
        The one with the folds in it.
    """
    doubts = {m.key: m.sd for m in shown}
    return tuple(replace(group, says=_says(group, doubts.get(group.key), solution, table)) for group in groups)


def _says(group: FoldGroup, sd: float | None, solution: Solution, table: Knowledge) -> str:
    row = fold_rows().get(measurement_key(group.id, group.at, None))
    if row is None:
        return ""
    says = row.says.replace(" {side}", f" {_SIDES[group.side]}".rstrip())
    suggested = [table.alterations[id].direction(effect).name for id, effect in row.per_10.items()]
    sentences = [says, f"This usually means: {' or '.join(suggested)}."]
    if sd is None:
        return " ".join([*sentences, "They are too faint to count."])
    told = max(_nats(effect, table.alterations[id].amounts.spread, sd, row.straying) for id, effect in row.per_10.items())
    weight = "clearly" if told > CLEARLY else "a little" if told > LITTLE else "hardly at all"
    alone = "" if _gap_measured(row, solution) else ", for no gap that goes with it could be measured"
    sentences.append(f"It counted {weight}{alone}.")
    likely = max(row.per_10, key=lambda id: solution.probabilities.get(id, 0.0))
    share = 100 * solution.probabilities.get(likely, 0.0)
    sentences.append(f"All in all, an alteration for {table.alterations[likely].name} is needed with {share:.0f} % probability.")
    return " ".join(sentences)


def _nats(per_10: float, spread: float, sd: float, straying: float) -> float:
    """What one reading can tell of a usual amount: half the log of signal and noise over noise."""
    return float(0.5 * np.log1p((per_10 / 10 * spread) ** 2 / (sd**2 + straying**2)))


def _gap_measured(row: FoldRow, solution: Solution) -> bool:
    return bool({measurement_key(m.id, m.at, None) for m in solution.fit.measured} & set(row.gaps))
