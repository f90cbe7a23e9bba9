"""A block drafted for one figure: first by her measures, then, as a sloper is, by trying it on and mending the draft."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from fitcheck.pattern.drafts.block import Body

from ..mesh import Floats
from .altered import dress, shared_cloth
from .cut import Cloth, Worn
from .drapes import drape, readings
from .figure import Figure
from .read import UNWANTED, off

UNDERARM_MM, OVER_THE_BACK_MM, NECK_MM = 25.0, 8.0, 6.0  # the paper is longer than the height it covers (estimates)
ENTRIES = {  # of the draft: how far it may be expected to be mended, mm or degrees
    "neck_more": 6.0,
    "back_neck": 10.0,
    "front_neck": 12.0,
    "shoulder": 6.0,
    "slope_deg": 4.0,
    "seam_forward_neck": 12.0,
    "seam_forward_tip": 12.0,
    "back_waist": 20.0,
    "armhole_more": 30.0,
    "bust_more": 25.0,
    "bust_span": 15.0,
    "front_longer": 25.0,
    "side_waist_up": 12.0,
    "front_waist_down": 15.0,
    "side_forward_bust": 25.0,
    "side_forward_waist": 25.0,
    "side_forward_hip": 15.0,
}
STEP = 5.0
SLOPE_STEP = 2.0
MENDS, NEW_SLOPES = 12, 3
HELD = 0.08  # weight of what was drafted


@dataclass(frozen=True)
class Own:
    """Blocks, their drapes on their own figures, what these show, and the cloth that all share."""

    bodies: tuple[Body, ...]
    cloth: Cloth
    worn: tuple[Worn, ...]
    x: Floats
    seen: tuple[Mapping[str, float], ...]
    strain: Floats
    moves: Floats


def measured(figure: Figure) -> Body:
    """What a tape takes of the figure."""
    at = figure.points
    neck, tip, under, bust = (at[f"{name}_L"] for name in ("side_neck", "shoulder_point", "underarm", "bust_point"))
    bone = tip - neck
    blade = at["back_neck"] + [0, 20.0, -120.0]
    pit, nape = neck - at["front_neck"], neck - at["back_neck"]
    depth = float(neck[2] - under[2] + UNDERARM_MM + OVER_THE_BACK_MM)
    first = Body(
        bust=figure.girths["bust"],
        waist=figure.girths["waist"],
        hip=figure.girths["hip"],
        back_waist=float(np.linalg.norm(blade - at["back_neck"]) + np.linalg.norm(at["waist_back"] - blade)),
        shoulder=float(np.linalg.norm(bone)),
        slope_deg=math.degrees(math.atan2(-bone[2], bone[0])),
        bust_span=float(2 * bust[0]),
        back_neck=float(np.hypot(nape[1], nape[2])),
        front_neck=float(np.hypot(pit[1], pit[2])),
    )
    return replace(
        first,
        neck_more=float(neck[0] - first.bust / 20 + NECK_MM),
        armhole_more=depth - first.bust / 6,
        bust_more=float(np.hypot(*(neck - bust)[1:]) - depth),
    )


def own_blocks(
    figures: Sequence[Figure],
    opened: bool = True,
    front: str = "dart",
    device: str = "cpu",
    mends: int = MENDS,
    first: Sequence[Body] | None = None,
) -> Own:
    """Draft a block for every figure and mend it until it fits, beginning with the drafts `first`, or by measures.

    Levenberg and Marquardt's steps on the entries of each draft; the slopes are the median of all figures, and what was drafted by
    measures holds every entry a little.
    """
    drafted = [measured(one) for one in figures]
    best, tried = list(first or drafted), list(first or drafted)
    least, damping = np.full(len(figures), np.inf), np.full(len(figures), 0.3)
    seen_best: list[Mapping[str, float]] = [{} for _ in figures]
    slopes: Floats | None = None
    keys: list[str] = []
    for mend in range(mends + 1):
        cloth = shared_cloth(best, front)
        worn = [_worn(cloth, body, front, i) for i, body in enumerate(tried)]
        draped = drape(cloth, worn, figures, opened, device=device)
        for i, one in enumerate(readings(cloth, worn, figures, draped.x, opened)):
            cost = _cost(one)
            damping[i] *= 0.4 if cost < least[i] else 4.0
            if cost < least[i]:
                least[i], best[i], seen_best[i] = cost, tried[i], one
        print(f"mended {mend} times: " + " ".join(f"{worst(one):.2f}" for one in seen_best), flush=True)
        if mend == mends:
            break
        if mend % NEW_SLOPES == 0:
            keys, slopes = _slopes(best, figures, opened, front, device)
        assert slopes is not None
        for i, body in enumerate(best):
            by = _step(seen_best[i], keys, slopes, body, drafted[i], damping[i])
            tried[i] = replace(body, **{name: float(getattr(body, name) + b) for name, b in zip(ENTRIES, by, strict=True)})
    cloth = shared_cloth(best, front)
    worn = [_worn(cloth, body, front, i) for i, body in enumerate(best)]
    draped = drape(cloth, worn, figures, opened, device=device)
    seen = readings(cloth, worn, figures, draped.x, opened)
    return Own(tuple(best), cloth, tuple(worn), draped.x, tuple(seen), draped.strain, draped.moves)


def _cost(seen: Mapping[str, float]) -> float:
    return float(sum(min(abs(value), 6.0) ** 2 for key, value in off(seen).items() if key not in UNWANTED))


def _step(seen: Mapping[str, float], keys: Sequence[str], slopes: Floats, body: Body, drafted: Body, damping: float) -> Floats:
    """How far each entry is mended, shape (entries,)."""
    spread = np.array(list(ENTRIES.values()))
    now = off(seen)
    there = [k for k, key in enumerate(keys) if key in now]
    y = np.array([now[keys[k]] for k in there])
    away = np.array([getattr(body, name) - getattr(drafted, name) for name in ENTRIES]) / spread
    rows = np.vstack([slopes[there], HELD * np.diag(1 / spread), np.sqrt(damping) * np.diag(1 / spread)])
    by = np.linalg.lstsq(rows, np.r_[-y, -HELD * away, np.zeros(len(spread))], rcond=None)[0]
    return np.asarray(np.clip(by, -spread, spread))


def worst(seen: Mapping[str, float]) -> float:
    """The largest deviation, in tolerances."""
    return max(abs(value) for key, value in off(seen).items() if key not in UNWANTED)


def _slopes(bodies: Sequence[Body], figures: Sequence[Figure], opened: bool, front: str, device: str) -> tuple[list[str], Floats]:
    """Observables, and tolerances that each moves by a millimetre of each entry: the median of all figures."""
    cloth = shared_cloth(bodies, front)
    worn = [_worn(cloth, body, front, i) for i, body in enumerate(bodies)]
    base = drape(cloth, worn, figures, opened, device=device)
    now = [off(one) for one in readings(cloth, worn, figures, base.x, opened)]
    tried = [
        _changed(cloth, body, name, SLOPE_STEP if name == "slope_deg" else STEP, front, i)
        for i, body in enumerate(bodies)
        for name in ENTRIES
    ]
    more = drape(cloth, [one for one, _ in tried], figures, opened, np.repeat(base.x, len(ENTRIES), axis=0), device=device)
    moved = [off(one) for one in readings(cloth, [one for one, _ in tried], figures, more.x, opened)]
    keys = [key for key in now[0] if key not in UNWANTED and all(key in one for one in (*now, *moved))]
    each = [[(moved[k][key] - now[k // len(ENTRIES)][key]) / tried[k][1] for key in keys] for k in range(len(tried))]
    return keys, np.asarray(np.median(np.array(each).reshape(len(bodies), len(ENTRIES), len(keys)), axis=0).T)


def _changed(cloth: Cloth, body: Body, name: str, step: float, front: str, figure: int) -> tuple[Worn, float]:
    """One entry moved, the other way where the mesh does not allow it."""
    try:
        return _worn(cloth, replace(body, **{name: getattr(body, name) + step}), front, figure), step
    except ValueError:
        return _worn(cloth, replace(body, **{name: getattr(body, name) - step}), front, figure), -step


def _worn(cloth: Cloth, body: Body, front: str, figure: int) -> Worn:
    own = dress(body, front)
    return Worn(own, cloth.on_paper(own), figure)
