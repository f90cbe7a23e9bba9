"""Does the advised alteration cure the fit? Sewn, draped, read, advised, altered, draped again.

    python -m tests.benchmarks.loop SKINS.npz OUT.json [--women 10] [--device cpu] [--seed 7]

(a) The block of a figure lacks one alteration; which one is known. (b) Women who differ in posture, shape or size from the one whose block
they wear; a block's hem is levelled on the figure that it is drafted for. Readings are those of the drape with noise of a share of each
tolerance; up to four rounds, each knowing the one before it as from the diary. Beside the program stand the program with what is certain
alone, and a simple rule: each reading that is off is answered by the alteration that it tells first, in the usual order.

A fitting is good enough when every observable of the true drape lies within its tolerance or twice its doubt. An edge gapes where it
stands off more than a taut one would, and more than it does on blocks that fit; how far those blocks differ among themselves is doubt, and
the share that is good but for those edges is told beside. Drapes that have not come to rest are no fittings: they are counted and left out.
"""

import argparse
import json
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from fitcheck.advice.rows import Knowledge
from fitcheck.advice.table import knowledge
from fitcheck.core.last_round import LastRound
from tests.benchmarks.loop_advice import ADVICES, DOUBT, Answer, Asked, Readings, advised
from tests.scenes.sewn.altered import altered
from tests.scenes.sewn.cut import Worn
from tests.scenes.sewn.drapes import drape, readings
from tests.scenes.sewn.figure import Figure, figure, load
from tests.scenes.sewn.fitted import Own, own_blocks
from tests.scenes.sewn.read import UNWANTED

ROUNDS = 4
WORSE = 1.05  # a round that leaves so much more
LACKING_ON = 2  # figures
LONGER, AGAIN = 9000, 3000  # rounds that drapes which are slow to rest are given besides, where they begin anew and where they go on
Advise = Callable[[Asked], Answer]
Together = Callable[[Advise, Sequence[Asked]], Iterable[Answer]]


@dataclass
class Fitting:
    """One garment on one figure and what happened to it.

    Attributes
    ----------
    made : dict of str to float
        All alterations so far, mm; `lacking` is what was left out of the block on purpose, or put into it beforehand (below zero).
    away : list of dict of str to float
        All deviations after each round, the first before any.
    off : list of float
        Root mean square of all deviations after each round, in tolerances; the first before any.
    good, aside : list of bool
        Good enough after each round; good enough but for edges that stand off.
    back : list of bool
        Whether a round took the one before it back.
    fault : str
        Why it ended before its time.
    """

    name: str
    block: int
    figure: int
    advice: str
    lacking: dict[str, float] = field(default_factory=dict)
    made: dict[str, float] = field(default_factory=dict)
    rounds: list[dict[str, float]] = field(default_factory=list)
    off: list[float] = field(default_factory=list)
    away: list[dict[str, float]] = field(default_factory=list)
    good: list[bool] = field(default_factory=list)
    aside: list[bool] = field(default_factory=list)
    back: list[bool] = field(default_factory=list)
    over: bool = False
    fault: str = ""
    last: LastRound | None = None
    x: np.ndarray | None = None

    @property
    def total(self) -> dict[str, float]:
        """What the paper differs by from the block."""
        return {id: self.made.get(id, 0.0) - self.lacking.get(id, 0.0) for id in sorted({*self.made, *self.lacking})}


@dataclass(frozen=True)
class Trial:
    """What all fittings of a run share: blocks, figures, what edges usually show and how far that differs between figures, mm."""

    own: Own
    figures: Sequence[Figure]
    usual: Readings
    spread: Readings
    device: str
    from_own: bool  # begin with, and compare with, the block on its own figure

    @classmethod
    def of(cls, own: Own, figures: Sequence[Figure], device: str, from_own: bool) -> "Trial":
        """Edges that bridge a hollow as they do on the women's own blocks."""
        each = {key: [seen[key] for seen in own.seen if key in seen] for key in UNWANTED}
        usual = {key: float(np.mean(values)) for key, values in each.items()}
        spread = {} if from_own else {key: float(np.std(values, ddof=1)) for key, values in each.items()}
        return cls(own, figures, usual, spread, device, from_own)

    def deviations(self, seen: Readings) -> dict[str, float]:
        """From what fits; an edge is compared with what is usual of blocks that fit, and one that lies closer fits as well."""
        places = knowledge().places
        return {
            key: max(0.0, value - self.usual[key]) if key in UNWANTED else value - places[key][0].wanted.get("set_in", 0.0)
            for key, value in seen.items()
        }

    def good(self, away: Readings) -> bool:
        """Every observable within tolerance, or twice its doubt."""
        places = knowledge().places
        for key, value in away.items():
            tolerance = places[key][0].tolerance
            doubt = max(float(np.hypot(DOUBT * tolerance.amount, tolerance.doubt)), self.spread.get(key, 0.0))
            if abs(value) > max(tolerance.amount, 2 * doubt):
                return False
        return True


def rms(away: Readings) -> float:
    """Root mean square in tolerances."""
    places = knowledge().places
    return float(np.sqrt(np.mean([(value / places[key][0].tolerance.amount) ** 2 for key, value in away.items()])))


def run(fittings: Sequence[Fitting], trial: Trial, seed: int, rounds: int, together: Together, advise: Advise = advised) -> None:
    """All fittings side by side, round after round."""
    rng = np.random.default_rng(seed)
    for number in range(rounds + 1):
        live = _hung([one for one in fittings if not one.over], trial, number)
        asked = []
        for one in live:
            away = one.away[-1]
            one.off.append(rms(away))
            one.good.append(trial.good(away))
            one.aside.append(trial.good({key: value for key, value in away.items() if key not in UNWANTED}))
            asked.append(Asked(one.advice, away, trial.spread, int(rng.integers(2**31)), one.last))
        if number == rounds:
            break
        for one, answer in zip(live, together(advise, asked), strict=True):
            one.rounds.append(answer.made)
            one.back.append(answer.back)
            one.last, one.over = answer.last, not answer.made
            for alteration, mm in answer.made.items():
                one.made[alteration] = one.made.get(alteration, 0.0) + mm


def _hung(live: Sequence[Fitting], trial: Trial, number: int) -> list[Fitting]:
    """Drape all, what is alike once; returns those that rest, their deviations added. The others are over."""
    own = trial.own
    worn: dict[tuple[object, ...], Worn] = {}
    start: dict[tuple[object, ...], np.ndarray | None] = {}
    keys: dict[int, tuple[object, ...]] = {}
    for one in live:
        key = (one.block, one.figure, *one.total.items())
        try:
            if key not in worn:
                pieces = altered(own.bodies[one.block], "dart", list(one.total.items()))
                worn[key] = Worn(pieces, own.cloth.on_paper(pieces), one.figure)
                start[key] = one.x if one.x is not None else own.x[one.block] if trial.from_own else None
            keys[id(one)] = key
        except ValueError as fault:
            one.fault, one.over = f"could not be drawn: {fault}", True
    if not worn:
        return []
    all_worn = list(worn.values())
    begun = [x for x in start.values() if x is not None]
    begin = np.stack(begun) if len(begun) == len(start) else None
    draped = drape(own.cloth, all_worn, trial.figures, True, begin, device=trial.device)
    x, rests = draped.x.copy(), draped.rests.copy()
    slow = np.flatnonzero(~rests)
    if len(slow):
        again = drape(
            own.cloth, [all_worn[i] for i in slow], trial.figures, True, x[slow], LONGER if begin is None else AGAIN, trial.device
        )
        x[slow], rests[slow] = again.x, again.rests
    print(f"round {number}: {len(all_worn)} drapes, rest {draped.rests.mean():.3f}, then {rests.mean():.3f}", flush=True)
    seen = dict(zip(worn, zip(x, rests, readings(own.cloth, all_worn, trial.figures, x, True), strict=True), strict=True))
    found = []
    for one in live:
        if id(one) not in keys:
            continue
        one.x, rest, read = seen[keys[id(one)]]
        if not rest:
            one.fault, one.over = "did not come to rest", True
            continue
        away = trial.deviations(read)
        if trial.from_own:  # what is known to lack is told by the difference from the block as it hung before
            before = trial.deviations(own.seen[one.block])
            away = {key: value - before[key] for key, value in away.items() if key in before}
        one.away.append(away)
        found.append(one)
    return found


def told(fittings: Sequence[Fitting], named: bool) -> list[str]:
    """Figures of each way to be advised."""
    lines = []
    for advice in dict.fromkeys(one.advice for one in fittings):
        all_of_it = [one for one in fittings if one.advice == advice]
        own = [one for one in all_of_it if one.off]
        steps = [(a, b) for one in own for a, b in zip(one.off, one.off[1:], strict=False)]
        worse = np.mean([b > WORSE * a for a, b in steps]) if steps else 0.0
        paper = np.mean([sum(abs(mm) for mm in one.made.values()) for one in own])
        parts = [
            f"{advice:9s} {len(own)} fittings, {sum(bool(one.fault) for one in all_of_it)} cut short",
            f"off {np.mean([one.off[0] for one in own]):.2f} -> {np.mean([one.off[-1] for one in own]):.2f} tolerances rms",
            f"good enough {np.mean([one.good[0] for one in own]):.2f} before",
            f"{np.mean([any(one.good[:4]) for one in own]):.2f} within 3 rounds",
            f"but for edges {np.mean([one.aside[0] for one in own]):.2f}, {np.mean([any(one.aside[:4]) for one in own]):.2f}",
            f"{np.mean([len([done for done in one.rounds if done]) for one in own]):.2f} rounds",
            f"{worse:.3f} of {len(steps)} rounds worse",
            f"{sum(sum(one.back) for one in own)} taken back",
            f"paper {paper:.1f} mm",
        ]
        if named:
            plain = [any(abs(value) > knowledge().places[key][0].tolerance.amount for key, value in one.away[0].items()) for one in own]
            right = [
                any(one.rounds) and any(id in one.rounds[0] and one.rounds[0][id] * mm > 0 for id, mm in one.lacking.items()) for one in own
            ]
            parts += [
                f"named {np.mean(right):.2f}",
                f"of {sum(plain)} that leave a tolerance {np.mean(np.array(right)[plain]):.2f}",
                f"residual {np.mean([one.off[-1] / one.off[0] for one in own]):.2f}",
            ]
        lines.append("; ".join(parts))
    return lines


def lacking(chosen: Sequence[int], advices: Sequence[str], table: Knowledge) -> list[Fitting]:
    """(a): the middle of what is usual of every alteration that shows in a drape left out of the block."""
    found = []
    for i in chosen:
        for id in shown(table):
            row = table.alterations[id]
            amount = float(np.mean(row.amounts.usual))
            for sign in (1.0, -1.0) if row.minus else (1.0,):
                found += [Fitting(f"lacks {id} {sign * amount:g}", i, i, advice, {id: sign * amount}) for advice in advices]
    return found


def misfits(own: Own, made_from: Sequence[int], advices: Sequence[str]) -> list[Fitting]:
    """(b): the block of the woman that each is made from, its hem levelled on that woman."""
    level = [{"hem_levelling": -seen["hem_front_rise"]} for seen in own.seen]
    return [
        Fitting(f"misfit {i}", made_from[i], i, advice, dict(level[made_from[i]]))
        for i in range(len(own.bodies), len(made_from))
        for advice in advices
    ]


def shown(table: Knowledge) -> list[str]:
    """Alterations of both sides that a drape shows beyond a tolerance at 10 mm."""
    return [
        row.id
        for row in table.alterations.values()
        if row.sides != "one"
        and any(abs(effect) > table.places[key][0].tolerance.amount for key, effect in row.effects.sewn_per_10.items())
    ]


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("skins", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--women", type=int, default=10)
    parser.add_argument("--seed", type=int, default=7)
    parser.add_argument("--device", default="cpu")
    options = parser.parse_args()
    skins = load(options.skins)
    figures = [figure(one, workers=-1) for one in skins]
    own = own_blocks(figures[: options.women], device=options.device)
    some = lacking(range(LACKING_ON), ADVICES, knowledge())
    run(some, Trial.of(own, figures, options.device, True), options.seed, 2, map)
    print("(a) one thing lacking\n" + "\n".join(told(some, True)), flush=True)
    others = misfits(own, [one.made_from for one in skins], ADVICES)
    run(others, Trial.of(own, figures, options.device, False), options.seed, ROUNDS, map)
    print("(b) misfit figures\n" + "\n".join(told(others, False)), flush=True)
    kept = ("name", "block", "figure", "advice", "lacking", "made", "rounds", "off", "away", "good", "aside", "back", "fault")
    options.out.write_text(json.dumps([{name: getattr(one, name) for name in kept} for one in (*some, *others)]))


if __name__ == "__main__":
    main()
