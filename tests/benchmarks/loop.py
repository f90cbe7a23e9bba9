"""Does the advised alteration cure the fit? Sewn, draped, read, advised, altered, draped again.

    python -m tests.benchmarks.loop SKINS.npz OUT.json [--women 10] [--device cpu] [--table SENSITIVITIES.json] [--seed 7]

(a) The block of a figure lacks one alteration; which one is known. (b) Women who differ in posture, shape or size from the one whose block
they wear. Readings are those of the drape with noise of a share of each tolerance; up to four rounds. Beside the program stands a simple
rule: each reading that is off is answered by the alteration that it tells first, in the usual order. A fitting is good enough when every
observable of the true drape lies within its tolerance or twice its doubt.
"""

import argparse
import json
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

import numpy as np

from fitcheck.advice.rows import Knowledge
from fitcheck.advice.table import knowledge
from tests.benchmarks.loop_advice import ADVICES, DOUBT, Asked, Readings, advised
from tests.scenes.sewn.altered import altered
from tests.scenes.sewn.cut import Worn
from tests.scenes.sewn.drapes import drape, readings
from tests.scenes.sewn.figure import Figure, figure, load
from tests.scenes.sewn.fitted import Own, own_blocks
from tests.scenes.sewn.read import UNWANTED

ROUNDS = 4
WORSE = 1.05  # a round that leaves so much more
LACKING_ON = 2  # figures
Advise = Callable[[Asked], dict[str, float]]
Together = Callable[[Advise, Sequence[Asked]], Iterable[dict[str, float]]]


@dataclass
class Fitting:
    """One garment on one figure and what happened to it.

    Attributes
    ----------
    made : dict of str to float
        All alterations so far, mm; `lacking` is what was left out of the block on purpose.
    away : list of dict of str to float
        All deviations after each round, the first before any.
    off : list of float
        Root mean square of all deviations after each round, in tolerances; the first before any.
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
    shape: int = -1
    over: bool = False


def deviations(seen: Readings, usual: Readings) -> dict[str, float]:
    """From what fits; an edge that stands off on every figure over a hollow is compared with what is usual."""
    table = knowledge()
    found = {}
    for key, value in seen.items():
        observable = table.places[key][0]
        found[key] = value - (usual[key] if key in UNWANTED else observable.wanted.get("set_in", 0.0))
    return found


def rms(away: Readings) -> float:
    """Root mean square in tolerances."""
    places = knowledge().places
    return float(np.sqrt(np.mean([(value / places[key][0].tolerance.amount) ** 2 for key, value in away.items()])))


def good_enough(away: Readings) -> bool:
    """Every observable within tolerance, or twice its doubt."""
    places = knowledge().places
    return all(abs(value) <= max(1.0, 2 * DOUBT) * places[key][0].tolerance.amount for key, value in away.items())


def run(
    fittings: Sequence[Fitting],
    own: Own,
    figures: Sequence[Figure],
    advise: Advise,
    usual: Readings,
    own_off: bool,
    seed: int,
    device: str,
    rounds: int,
    together: Together,
) -> None:
    """All fittings side by side, round after round."""
    rng = np.random.default_rng(seed)
    shapes: dict[int, np.ndarray] = {}
    for number in range(rounds + 1):
        live = [one for one in fittings if not one.over]
        worn: list[Worn] = []
        for one in list(live):
            total = {id: one.made.get(id, 0.0) - one.lacking.get(id, 0.0) for id in {*one.made, *one.lacking}}
            try:
                pieces = altered(own.bodies[one.block], "dart", list(total.items()))
                worn.append(Worn(pieces, own.cloth.on_paper(pieces), one.figure))
            except ValueError as fault:
                one.rounds.append({f"could not be drawn: {fault}": 0.0})
                one.over = True
                live.remove(one)
        if not live:
            break
        start = None
        if shapes:
            start = np.stack([shapes[id(one)] for one in live])
        elif own_off:
            start = np.stack([own.x[one.block] for one in live])
        draped = drape(own.cloth, worn, figures, True, start, device=device)
        print(
            f"round {number}: {len(live)} drapes, {draped.rounds} rounds, rest {draped.rests.mean():.3f}, strain {draped.strain.max():.4f}",
            flush=True,
        )
        asked: list[tuple[Fitting, dict[str, float], int]] = []
        for one, x, seen in zip(live, draped.x, readings(own.cloth, worn, figures, draped.x, True), strict=True):
            shapes[id(one)] = x
            away = deviations(seen, usual)
            if own_off:  # what is known to lack is told by the difference from the block as it hung before
                before = deviations(own.seen[one.block], usual)
                away = {key: value - before[key] for key, value in away.items() if key in before}
            one.off.append(rms(away))
            one.away.append(away)
            one.good.append(good_enough(away))
            if number == rounds:
                continue
            asked.append((one, away, int(rng.integers(2**31))))
        for (one, *_), now in zip(asked, together(advise, [(one.advice, away, seed) for one, away, seed in asked]), strict=True):
            one.rounds.append(now)
            one.over = not now
            for alteration, mm in now.items():
                one.made[alteration] = one.made.get(alteration, 0.0) + mm


def told(fittings: Sequence[Fitting], named: bool) -> list[str]:
    """Figures of each way to be advised."""
    lines = []
    for advice in dict.fromkeys(one.advice for one in fittings):
        own = [one for one in fittings if one.advice == advice and one.off]
        steps = [(a, b) for one in own for a, b in zip(one.off, one.off[1:], strict=False)]
        worse = np.mean([b > WORSE * a for a, b in steps]) if steps else 0.0
        paper = np.mean([sum(abs(mm) for mm in one.made.values()) for one in own])
        parts = [
            f"{advice:9s} {len(own)} fittings",
            f"off {np.mean([one.off[0] for one in own]):.2f} -> {np.mean([one.off[-1] for one in own]):.2f} tolerances rms",
            f"good enough {np.mean([one.good[0] for one in own]):.2f} before",
            f"{np.mean([any(one.good[:4]) for one in own]):.2f} within 3 rounds",
            f"{np.mean([len([done for done in one.rounds if done]) for one in own]):.2f} rounds",
            f"{worse:.3f} of the rounds worse",
            f"paper {paper:.1f} mm",
        ]
        if named:
            right = [
                any(one.rounds) and any(id in one.rounds[0] and one.rounds[0][id] * mm > 0 for id, mm in one.lacking.items()) for one in own
            ]
            parts += [f"named {np.mean(right):.2f}", f"residual {np.mean([one.off[-1] / one.off[0] for one in own]):.2f}"]
        lines.append("; ".join(parts))
    return lines


def lacking(own: Own, table: Knowledge, chosen: Sequence[int], advices: Sequence[str], shown: Sequence[str]) -> list[Fitting]:
    """(a): the middle of what is usual of every alteration that shows in a drape left out of the block."""
    found = []
    for i in chosen:
        for id in shown:
            row = table.alterations[id]
            amount = float(np.mean(row.amounts.usual))
            for sign in (1.0, -1.0) if row.minus else (1.0,):
                found += [Fitting(f"lacks {id} {sign * amount:g}", i, i, advice, {id: sign * amount}) for advice in advices]
    return found


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("skins", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--women", type=int, default=10)
    parser.add_argument("--table", type=Path)
    parser.add_argument("--seed", type=int, default=7)
    parser.add_argument("--device", default="cpu")
    options = parser.parse_args()
    skins = load(options.skins)
    figures = [figure(one, workers=-1) for one in skins]
    own = own_blocks(figures[: options.women], device=options.device)
    both(own, figures, [one.made_from for one in skins], options.table, options.out, options.seed, options.device)


def both(
    own: Own,
    figures: Sequence[Figure],
    made_from: Sequence[int],
    table: Path | None,
    out: Path,
    seed: int,
    device: str,
    together: Together = map,
) -> None:
    """(a) and (b), printed and written."""
    advise = partial(advised, sensitivities=table)
    usual = {key: float(np.mean([seen[key] for seen in own.seen if key in seen])) for key in own.seen[0]}
    some = lacking(own, knowledge(), range(LACKING_ON), ADVICES, shown_by(table))
    run(some, own, figures, advise, usual, True, seed, device, 2, together)
    print("(a) one thing lacking\n" + "\n".join(told(some, True)), flush=True)
    misfits = [Fitting(f"misfit {i}", made_from[i], i, advice) for i in range(len(own.bodies), len(figures)) for advice in ADVICES]
    run(misfits, own, figures, advise, usual, False, seed, device, ROUNDS, together)
    print("(b) misfit figures\n" + "\n".join(told(misfits, False)), flush=True)
    kept = ("name", "block", "figure", "advice", "lacking", "made", "rounds", "off", "away", "good")
    out.write_text(json.dumps([{name: getattr(one, name) for name in kept} for one in (*some, *misfits)]))


def shown_by(table: Path | None) -> list[str]:
    """Alterations that a drape shows beyond a tolerance at 10 mm."""
    if table is None:
        return [id for id in ("forward_shoulder", "whole_bodice_length", "bust_point_height", "square_sloping_shoulder")]
    effects = json.loads(table.read_text())["effects"]
    places = knowledge().places
    found = []
    for id, shows in effects.items():
        clearest = max(
            abs(float(np.median(np.concatenate(list(values.values()))))) / places[key][0].tolerance.amount for key, values in shows.items()
        )
        if clearest > 1 and knowledge().alterations[id].sides != "one":
            found.append(id)
    return found


if __name__ == "__main__":
    main()
