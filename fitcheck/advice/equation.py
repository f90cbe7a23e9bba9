"""The fit equation y = A x + noise of one fitting: what was measured, what each alteration would show, and how far both may stray."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fitcheck.advice.noise import LEAST_SD, measuring_noise, straying_noise
from fitcheck.advice.rows import Alteration, Knowledge, Observable
from fitcheck.core.advice import Amount
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.records import SIDES, Floats, Measurement, Side, measurement_key

# How a needed alteration that may be one-sided is spread over its variants (estimate).
SHARE_BOTH, SHARE_ONE, SHARE_TWO_AMOUNTS = 0.64, 0.12, 0.12
FULLY = 0.7  # readings that show so much of what the clearest one shows tell how much is asked for
PROBABILITY_WILD = 0.015  # that a given measurement is plainly wrong (estimate)
Mask = NDArray[np.bool_]
Place = tuple[Observable, str, Side | None]  # at which level and on which side an observable is taken


@dataclass(frozen=True, slots=True)
class Column:
    """One variant of one alteration: `both`, or one side."""

    alteration: Alteration
    side: str

    @property
    def one_sided(self) -> bool:
        """Made on one side only."""
        return self.side != "both"


@dataclass(frozen=True, slots=True)
class Equation:
    """y = A x + noise for the measurements that can be used.

    Attributes
    ----------
    measured : tuple of Measurement, length n
    y : ndarray, shape (n,)
        Deviations from what fits, mm or degrees.
    tolerance : ndarray, shape (n,)
    straying : ndarray, shape (n,)
        How far cloth strays from the table (standard deviation).
    measuring : ndarray, shape (n, n)
        Covariance of the errors of measuring.
    noise : ndarray, shape (n, n)
        The same with cloth that strays from the table.
    columns : tuple of Column, length m
    effects : ndarray, shape (n, m)
        A: units of y per mm, as a figure shows it when the pattern lacks so much for her.
    does : ndarray, shape (n, m)
        The same as paper does it: what a millimetre that is altered takes away while she stands as she stood.
    doubt : ndarray, shape (n, m)
        Standard deviations of A.
    prior_sd : ndarray, shape (m,)
        Of the amounts about zero, mm.
    smallest : ndarray, shape (m,)
        Amount below which nothing is needed, mm.
    positive : ndarray of bool, shape (m,)
        Amounts below zero make no sense.
    log_odds : ndarray, shape (m,)
        Prior log odds that the variant is needed.
    pair_log_odds : ndarray, shape (m, m)
        Added for two variants together; minus infinity where they exclude each other.
    asked : ndarray, shape (m,)
        The largest amount that one of its clearest readings asks for, mm.
    alone : ndarray, shape (n, m)
        The effects where all of it shows in its clearest readings and nothing elsewhere.
    """

    measured: tuple[Measurement, ...]
    y: Floats
    tolerance: Floats
    straying: Floats
    measuring: Floats
    noise: Floats
    columns: tuple[Column, ...]
    effects: Floats
    does: Floats
    doubt: Floats
    prior_sd: Floats
    positive: Mask
    log_odds: Floats
    pair_log_odds: Floats
    smallest: Floats
    asked: Floats
    alone: Floats

    def doubted(self, squares: Floats) -> "Equation":
        """With the doubt of A as noise of y (effective variance, Orear 1982).

        What A is wrong by grows with the amount, alike on both sides. For usual amounts straying cloth holds it already; only what is more
        is added.

        Parameters
        ----------
        squares : ndarray, shape (m,)
            Expected squares of the amounts, mm2.
        """
        places = np.array([measurement_key(m.id, m.at, None) for m in self.measured])
        wrong = np.where(places[:, None] == places[None, :], (self.doubt * squares) @ self.doubt.T, 0.0)
        beyond = np.sqrt(np.maximum(0.0, 1 - self.straying**2 / np.maximum(np.diag(wrong), LEAST_SD**2)))
        return replace(self, noise=self.noise + wrong * np.outer(beyond, beyond))

    @property
    def keys(self) -> tuple[str, ...]:
        """Of the measurements."""
        return tuple(m.key for m in self.measured)

    def shown(self, amounts: Sequence[Amount]) -> Floats:
        """Shape (n,): what the photos show when the pattern lacks these alterations, A x."""
        total: Floats = self.effects @ self._as_column(amounts)
        return total

    def taken_away(self, amounts: Sequence[Amount]) -> Floats:
        """Shape (n,): by how much the readings fall when these alterations are made."""
        total: Floats = self.does @ self._as_column(amounts)
        return total

    def _as_column(self, amounts: Sequence[Amount]) -> Floats:
        column = {(c.alteration.id, c.side): j for j, c in enumerate(self.columns)}
        x = np.zeros(len(self.columns))
        for a in amounts:
            if (a.id, a.side) in column:
                x[column[a.id, a.side]] += a.amount_mm
        return x

    @property
    def signal(self) -> Floats:
        """Shape (m,): how clearly a usual amount of each variant would show in its best measurement, in standard deviations."""
        sd = np.sqrt(np.diag(self.noise))[:, None]
        clear: Floats = np.abs(self.effects * self.prior_sd / sd).max(axis=0, initial=0.0)
        return clear


def equation(
    measurements: Sequence[Measurement], table: Knowledge, fitting: FittingFacts, leans: Mapping[str, float] | None = None
) -> Equation:
    """Set the fit equation up.

    Measurements the tables do not know, neck measurements on a style neckline and values that are no numbers are left out. Where
    something is measured on either side and also for both together, the sides count. `leans` are nats added to the prior log odds of
    alterations (`prior.leaning`).
    """
    used = _usable(measurements, table, fitting)
    observables = [table.observables[m.id] for m in used]
    columns = tuple(c for c in _columns(table, fitting) if _told(c.alteration, used))
    y = np.array([o.deviation(m, fitting) for o, m in zip(observables, used, strict=True)])
    tolerance = np.array([o.tolerance.amount for o in observables])
    places = [(o, m.at, m.side) for o, m in zip(observables, used, strict=True)]
    effects = effects_at(places, columns)
    told = _clearest(effects, tolerance, columns, table)
    amounts = [c.alteration.amounts for c in columns]
    lean = np.array([(leans or {}).get(c.alteration.id, 0.0) for c in columns])
    measuring = measuring_noise(observables, used)
    prior = np.array([a.probability for a in amounts])
    needed = 1 / (1 + (1 - prior) / prior * np.exp(-lean))
    return Equation(
        used,
        y,
        tolerance,
        np.array([o.straying(m.at) for o, m in zip(observables, used, strict=True)]),
        measuring,
        measuring + straying_noise(observables, used),
        columns,
        effects,
        done_at(places, columns),
        _doubts_at(places, columns),
        np.array([a.spread for a in amounts]),
        np.array([c.alteration.minus is None for c in columns]),
        np.log(needed / (1 - needed) * [_share(c) for c in columns]),
        _pairs(columns, needed),
        np.array([a.smallest for a in amounts]),
        _asked(y, effects, told),
        _alone(effects, told, np.array([o.unit == "mm" for o in observables], dtype=bool)),
    )


def effects_at(places: Sequence[Place], columns: Sequence[Column]) -> Floats:
    """What each place shows per mm that the pattern lacks of each variant, shape (places, columns)."""
    return _at(places, columns, [c.alteration.effects.per_10 for c in columns])


def done_at(places: Sequence[Place], columns: Sequence[Column]) -> Floats:
    """What a millimetre of each variant takes away at each place when it is made, shape (places, columns)."""
    return _at(places, columns, [c.alteration.effects.does_per_10 for c in columns])


def spread_at(places: Sequence[Place], columns: Sequence[Column]) -> Floats:
    """How far figures differ in that, shape (places, columns)."""
    return np.asarray(_share_seen(places, columns) * _per_mm(places, [c.alteration.effects.sewn_spread_per_10 for c in columns]))


def _at(places: Sequence[Place], columns: Sequence[Column], tables: Sequence[Mapping[str, float]]) -> Floats:
    shown = _per_mm(places, tables)
    leaning = _per_mm(places, [c.alteration.effects.one_side_per_10 for c in columns])
    sign = np.array([{"both": 0.0, "wearer_right": 1.0, "wearer_left": -1.0}[c.side] for c in columns])
    midline = np.array([side is None for _, _, side in places], dtype=bool)
    return np.asarray(_share_seen(places, columns) * shown + midline[:, None] * sign * leaning)


def _doubts_at(places: Sequence[Place], columns: Sequence[Column]) -> Floats:
    """Standard deviations of `effects_at`: figures differ, and the table may be wrong."""
    return np.asarray(_share_seen(places, columns) * _per_mm(places, [c.alteration.effects.doubt_per_10 for c in columns]))


def _per_mm(places: Sequence[Place], tables: Sequence[Mapping[str, float]]) -> Floats:
    rows: dict[str, list[int]] = {}
    for row, (observable, at, _) in enumerate(places):
        rows.setdefault(measurement_key(observable.id, at, None), []).append(row)
    found = np.zeros((len(places), len(tables)))
    for column, per_10 in enumerate(tables):
        for key, shown in per_10.items():
            found[rows.get(key, []), column] = shown
    return found / 10


def _share_seen(places: Sequence[Place], columns: Sequence[Column]) -> Floats:
    """How much of an alteration each place sees: on a side what is done there, on the midline half of what is done on one side."""
    place = np.array([str(side) for _, _, side in places])[:, None]
    column = np.array([c.side for c in columns])
    both = column == "both"
    return np.where(place == "None", np.where(both, 1.0, 0.5), (both | (place == column)).astype(float))


def _usable(measurements: Sequence[Measurement], table: Knowledge, fitting: FittingFacts) -> tuple[Measurement, ...]:
    by_key: dict[str, Measurement] = {}
    for m in measurements:
        observable = table.observables.get(m.id)
        known = observable is not None and m.at in observable.levels and observable.applies(m.at, fitting)
        if known and np.isfinite([m.value, m.sd]).all():
            by_key.setdefault(m.key, m)
    sided = {(m.id, m.at) for m in by_key.values() if m.side}
    return tuple(m for m in by_key.values() if m.side or (m.id, m.at) not in sided)


def _columns(table: Knowledge, fitting: FittingFacts) -> list[Column]:
    variants: dict[str, tuple[str, ...]] = {"both": ("both",), "one": SIDES, "either": ("both", *SIDES)}
    return [Column(a, side) for a in table.alterations.values() if a.applies(fitting) for side in variants[a.sides]]


def _told(alteration: Alteration, used: Sequence[Measurement]) -> bool:
    """Some alterations are never claimed from what they merely pull on: one of their own readings has to be there."""
    return not alteration.told_by or any(measurement_key(m.id, m.at, None) in alteration.told_by for m in used)


def _clearest(effects: Floats, tolerance: Floats, columns: Sequence[Column], table: Knowledge) -> Mask:
    """Shape (n, m): the readings in which each alteration shows about as clearly as it can, measured or not."""
    clear = np.abs(effects) / tolerance[:, None]
    everywhere = [(observable, at, side) for observable, at in table.places.values() for side in observable.sides(at)]
    tolerances = np.array([observable.tolerance.amount for observable, _, _ in everywhere])
    best = (np.abs(effects_at(everywhere, columns)) / tolerances[:, None]).max(axis=0)
    told: Mask = (clear > 0) & (clear >= FULLY * best)
    return told


def _asked(y: Floats, effects: Floats, told: Mask) -> Floats:
    asked: Floats = np.where(told, np.abs(y[:, None]) / np.maximum(np.abs(effects), 1e-9), 0.0).max(axis=0, initial=0.0)
    return asked


def _alone(effects: Floats, told: Mask, in_mm: Mask) -> Floats:
    """A width that is lacking shows as a gap here and as a pull there, in a ratio that is hardly known; together they are the width. So
    where all of it shows in the clearest readings, 10 that are lacking show as 10 there."""
    whole = np.where(in_mm[:, None], np.sign(effects) * np.maximum(np.abs(effects), 1.0), effects)
    alone: Floats = np.where(told, whole, 0.0)
    return np.where(told.any(axis=0), alone, effects)


def _share(column: Column) -> float:
    return {"both": 1.0, "one": 0.5, "either": SHARE_ONE if column.one_sided else SHARE_BOTH}[column.alteration.sides]


def _pairs(columns: tuple[Column, ...], needed: Floats) -> Floats:
    """Both and one side of the same alteration exclude each other; left and right with two amounts are one need, not two."""
    pairs = np.zeros((len(columns), len(columns)))
    for i, a in enumerate(columns):
        for j, b in enumerate(columns):
            if i != j and a.alteration.id == b.alteration.id:
                two_amounts = a.one_sided and b.one_sided and a.alteration.sides == "either"
                together = np.log(SHARE_TWO_AMOUNTS / SHARE_ONE**2) - np.log(needed[i] / (1 - needed[i]))
                pairs[i, j] = together if two_amounts else -np.inf
    return pairs
