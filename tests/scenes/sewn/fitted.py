"""A block drafted for one figure: first by her measures, then, as a sloper is, by trying it on and mending the draft."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from fitcheck.advice.table import knowledge
from fitcheck.pattern.drafts.block import Body
from fitcheck.pattern.drafts.bodice import bodice
from fitcheck.pattern.piece import Piece

from ..mesh import Floats
from .cut import Cloth, cut
from .drapes import drape, readings
from .figure import Figure
from .garment import Worn

BELOW_MM = 260.0
UNDERARM_MM, OVER_THE_BACK_MM, BACK_NECK_MM, NECK_MM = 25.0, 8.0, 8.0, 6.0  # the paper is longer than the height it covers (estimates)
ENTRIES = {  # of the draft: how far it may be expected to be mended, mm
    "neck_more": 8.0,
    "back_neck": 8.0,
    "front_neck": 12.0,
    "shoulder": 8.0,
    "slope_deg": 3.0,
    "seam_forward_neck": 10.0,
    "seam_forward_tip": 12.0,
    "back_waist": 20.0,
    "armhole_more": 15.0,
    "bust_more": 20.0,
    "bust_span": 15.0,
    "front_longer": 20.0,
    "side_waist_up": 10.0,
    "side_forward_bust": 15.0,
    "side_forward_waist": 15.0,
    "side_forward_hip": 15.0,
}
STEP = 5.0
SLOPE_STEP = 2.0
MENDS = 4
HELD = 0.15  # weight of what was drafted
UNWANTED = ("armhole_stand_off_front", "armhole_stand_off_back", "neck_stand_off_side")  # bridge a hollow on every figure


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
        back_neck=float(nape[2] + BACK_NECK_MM),
        front_neck=float(np.hypot(pit[1], pit[2])),
    )
    return replace(
        first,
        neck_more=float(neck[0] - first.bust / 20 + NECK_MM),
        armhole_more=depth - first.bust / 6,
        bust_more=float(np.hypot(*(neck - bust)[1:]) - depth),
    )


def pieces(body: Body, front: str = "dart") -> dict[str, Piece]:
    """Back and front of a dress to below the hip."""
    block = bodice(body, front, BELOW_MM)
    return {name: piece for name, piece in block.pieces.items() if "neck" in piece.edges or "front" in name}


def off(seen: Mapping[str, float]) -> dict[str, float]:
    """How far each observable lies from what fits, in tolerances."""
    found = {}
    for key, value in seen.items():
        observable = knowledge().places[key][0]
        wanted = observable.wanted.get("set_in", 0.0)
        found[key] = (value - wanted) / observable.tolerance.amount
    return found


def shared_cloth(bodies: Sequence[Body], front: str = "dart") -> Cloth:
    """One mesh for the blocks of all, cut on the middle of their entries."""
    middle = Body(**{name: float(np.median([getattr(body, name) for body in bodies])) for name in Body.__dataclass_fields__})
    block = bodice(middle, front, BELOW_MM)
    return cut(pieces(middle, front), block.sewn)


def own_blocks(figures: Sequence[Figure], opened: bool = True, front: str = "dart", device: str = "cpu", mends: int = MENDS) -> Own:
    """Draft a block for every figure and mend it until it fits (Gauss-Newton on the entries; what was drafted holds them a little)."""
    drafted = bodies = [measured(one) for one in figures]
    for mend in range(mends + 1):
        cloth = shared_cloth(bodies, front)
        worn = [_worn(cloth, body, front, i) for i, body in enumerate(bodies)]
        draped = drape(cloth, worn, figures, opened, device=device)
        seen = readings(cloth, worn, figures, draped.x, opened)
        print(f"mended {mend} times: " + " ".join(f"{worst(one):.2f}" for one in seen), flush=True)
        if mend < mends:
            bodies = _mended(bodies, drafted, cloth, worn, draped.x, seen, figures, opened, front, device)
    return Own(tuple(bodies), cloth, tuple(worn), draped.x, tuple(seen), draped.strain, draped.moves)


def worst(seen: Mapping[str, float]) -> float:
    """The largest deviation, in tolerances."""
    return max(abs(value) for key, value in off(seen).items() if key not in UNWANTED)


def _mended(bodies, drafted, cloth, worn, x, seen, figures, opened, front, device) -> list[Body]:
    names, spread = list(ENTRIES), np.array(list(ENTRIES.values()))
    steps = np.array([SLOPE_STEP if name == "slope_deg" else STEP for name in names])
    tried = [_changed(cloth, body, name, step, front, i) for i, body in enumerate(bodies) for name, step in zip(names, steps, strict=True)]
    moves = np.array([step for _, step in tried]).reshape(len(bodies), -1)
    more = drape(cloth, [one for one, _ in tried], figures, opened, np.repeat(x, len(names), axis=0), 700, device)
    moved = readings(cloth, [one for one, _ in tried], figures, more.x, opened)
    found = []
    for i, body in enumerate(bodies):
        now = off(seen[i])
        trials = [off(one) for one in moved[i * len(names) : (i + 1) * len(names)]]
        keys = [key for key in now if key not in UNWANTED and all(key in trial for trial in trials)]
        y = np.array([now[key] for key in keys])
        slopes = (np.array([[trial[key] for key in keys] for trial in trials]).T - y[:, None]) / moves[i]
        away = np.array([getattr(body, name) - getattr(drafted[i], name) for name in names]) / spread
        rows, right = np.vstack([slopes, HELD * np.diag(1 / spread)]), np.r_[-y, -HELD * away]
        by = np.clip(np.linalg.lstsq(rows, right, rcond=None)[0], -1.5 * spread, 1.5 * spread)
        found.append(replace(body, **{name: float(getattr(body, name) + b) for name, b in zip(names, by, strict=True)}))
    return found


def _changed(cloth: Cloth, body: Body, name: str, step: float, front: str, figure: int) -> tuple[Worn, float]:
    """One entry moved, the other way where the mesh does not allow it."""
    try:
        return _worn(cloth, replace(body, **{name: getattr(body, name) + step}), front, figure), step
    except ValueError:
        return _worn(cloth, replace(body, **{name: getattr(body, name) - step}), front, figure), -step


def _worn(cloth: Cloth, body: Body, front: str, figure: int) -> Worn:
    own = pieces(body, front)
    return Worn(own, cloth.on_paper(own), figure)
