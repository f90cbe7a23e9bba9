"""What every alteration does to every observable when the cloth hangs on a body: finite differences of sewn drapes.

    python -m tests.benchmarks.sensitivities SKINS.npz OUT.json [--figures 5] [--fronts dart] [--device cpu]

Skins come from `python -m tests.scenes.sewn.figure`. Each figure has its own block, mended until it fits; each alteration is made by +-5
and +-10 mm on the half dress, the front open. What is written is what shows when the pattern LACKS 10 mm, as in alterations.toml.
sensitivities.toml holds the table of one run.
"""

import argparse
import json
from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np

from fitcheck.advice.table import knowledge
from fitcheck.pattern.recipes.upper import UPPER_BODY
from tests.scenes.sewn.altered import altered
from tests.scenes.sewn.cut import Worn
from tests.scenes.sewn.drapes import drape, readings
from tests.scenes.sewn.figure import Figure, figure, load
from tests.scenes.sewn.fitted import Own, own_blocks, worst
from tests.scenes.sewn.read import UNWANTED, off

Found = dict[str, dict[str, dict[str, list[float]]]]  # id, observable, amount: what each figure shows per 10 mm lacking
AMOUNTS_MM = (-10.0, -5.0, 5.0, 10.0)
LEAST_SHOWN = 0.3  # of a tolerance: less is not written
LEAST_SPREAD = 0.5  # mm: figures differ by more than these five do
NOT_SHOWN = ("centre_front_short", "centre_back_short")


def tries(own: Own, chosen: Sequence[int], front: str) -> list[tuple[int, str, float, Worn]]:
    """Every alteration and amount that can be drawn and changes something, on every chosen figure."""
    found = []
    for i in chosen:
        for id in UPPER_BODY:
            for amount in AMOUNTS_MM:
                try:
                    pieces = altered(own.bodies[i], front, [(id, amount)])
                    flat = own.cloth.on_paper(pieces)
                except ValueError:
                    continue
                eased = any(piece.taken != own.worn[i].pieces[name].taken for name, piece in pieces.items())
                if eased or np.abs(flat - own.worn[i].flat).max() > 0.05:
                    found.append((i, id, amount, Worn(pieces, flat, i)))
    return found


def measure(
    own: Own, chosen: Sequence[int], figures: Sequence[Figure], front: str, device: str
) -> dict[str, dict[str, dict[str, list[float]]]]:
    """id -> observable -> amount -> what each figure shows per 10 mm that are lacking."""
    trials = tries(own, chosen, front)
    worn = [one for *_, one in trials]
    start = np.stack([own.x[one.figure] for one in worn])
    draped = drape(own.cloth, worn, figures, True, start, device=device)
    print(f"{len(worn)} drapes, rest {draped.rests.mean():.3f}, strain {draped.strain.max():.4f}", flush=True)
    base = drape(own.cloth, own.worn, figures, True, own.x, device=device)
    before = readings(own.cloth, own.worn, figures, base.x, True)
    found: Found = {}
    for (i, id, amount, _), seen in zip(trials, readings(own.cloth, worn, figures, draped.x, True), strict=True):
        for key, value in seen.items():
            if key in before[i]:
                effect = -(value - before[i][key]) * 10 / amount
                found.setdefault(id, {}).setdefault(key, {}).setdefault(f"{amount:g}", []).append(effect)
    return found


def used(found: Found) -> dict[str, dict[str, float]]:
    """The effects of every row with the measured number where it strays from the trade's by more than its own spread.

    What no drape can show keeps the trade's number: gaps of a front or back that lacks width are eaten by the ease, a closed line has
    no side.
    """
    table = knowledge()
    replaced: dict[str, dict[str, float]] = {}
    for id, effects in found.items():
        row = dict(table.alterations[id].effects.per_10)
        for key, values in effects.items():
            if key.startswith(NOT_SHOWN):
                continue
            both = counted(id, key, values)
            middle, spread = float(np.median(both)), max(float(both.std()), LEAST_SPREAD)
            small = abs(middle) < LEAST_SHOWN * table.places[key][0].tolerance.amount
            strays = abs(middle - row[key]) > spread if key in row else not small and abs(middle) > 2 * spread
            if strays:
                row[key] = round(middle, 1)
            if strays and small:
                del row[key]
        if row:
            replaced[id] = row
    return replaced


def counted(id: str, key: str, values: Mapping[str, Sequence[float]]) -> np.ndarray:
    """The drapes that tell what an alteration does: of the amounts that can be made; an edge that lies close comes no closer, so of an edge
    those of the sign that shows more."""
    row = knowledge().alterations[id]
    by_sign = [np.concatenate([one for mm, one in values.items() if float(mm) * sign > 0] or [np.zeros(0)]) for sign in (1, -1)]
    if key in UNWANTED and (row.minus or key in row.effects.per_10):
        return max((one for one in by_sign if len(one)), key=lambda one: abs(float(np.median(one))))
    return by_sign[0] if row.minus is None else np.concatenate(by_sign)


def trade_of(id: str) -> dict[str, float]:
    """The trade's own effects, also where another number is used."""
    effects = knowledge().alterations[id].effects
    return {**effects.per_10, **effects.trade_per_10}


def rows(found: Found) -> list[str]:
    """trade / lacking, spread / too much, spread, one line an effect."""
    table = knowledge()
    lines = []
    for id, effects in found.items():
        trade = trade_of(id)
        for key, values in effects.items():
            lacking, over = (np.concatenate([values.get(f"{sign * a:g}", []) for a in (5, 10)]) for sign in (-1, 1))
            both = np.r_[lacking, over]
            tolerance = table.places[key][0].tolerance.amount
            if key in trade or abs(np.median(both)) > LEAST_SHOWN * tolerance:
                parts = [f"{np.median(one):7.2f} ({one.std():.2f})" if len(one) else "      -       " for one in (lacking, over)]
                lines.append(f"{id:26s} {key:28s} {trade.get(key, 0.0):7.2f}  {'  '.join(parts)}")
    return lines


def as_toml(found: Found) -> str:
    """The same as a table to keep: `trade`, and for too little and too much `measured` and `spread` over the figures."""
    table = knowledge()
    lines = ["# What shows when the pattern lacks 10 mm: the trade's number, and what sewn drapes show (median and spread over figures)."]
    for id, effects in found.items():
        trade = trade_of(id)
        lines += ["", f"[{id}]"]
        for key, values in effects.items():
            both = [np.concatenate([values.get(f"{sign * a:g}", []) for a in (5, 10)]) for sign in (-1, 1)]
            if key not in trade and abs(np.median(np.concatenate(both))) <= LEAST_SHOWN * table.places[key][0].tolerance.amount:
                continue
            parts = [f"trade = {trade.get(key, 0.0):g}"]
            for name, one in zip(("lacking", "too_much"), both, strict=True):
                if len(one):
                    parts.append(f"{name} = {{ measured = {np.median(one):.1f}, spread = {one.std():.1f} }}")
            lines.append(f"{key} = {{ {', '.join(parts)} }}")
    return "\n".join(lines) + "\n"


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("skins", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--women", type=int, default=10)
    parser.add_argument("--figures", type=int, default=5)
    parser.add_argument("--front", default="dart")
    parser.add_argument("--device", default="cpu")
    options = parser.parse_args()
    figures = [figure(one, workers=-1) for one in load(options.skins)[: options.women]]
    own = own_blocks(figures, front=options.front, device=options.device)
    for i, seen in enumerate(own.seen):
        outside = {key: round(value, 2) for key, value in off(seen).items() if abs(value) > 1}
        print(f"figure {i}: worst {worst(seen):.2f} tolerances; outside {outside}")
    chosen = np.argsort([worst(seen) for seen in own.seen])[: options.figures]
    found = measure(own, [int(i) for i in chosen], figures, options.front, options.device)
    options.out.write_text(json.dumps({"figures": chosen.tolist(), "effects": found}))
    options.out.with_suffix(".toml").write_text(as_toml(found))
    print("\n".join(rows(found)))


if __name__ == "__main__":
    main()
