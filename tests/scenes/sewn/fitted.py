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
    bone = at["shoulder_point_L"] - at["side_neck_L"]
    blade = at["back_neck"] + [0, 20.0, -120.0]
    return Body(
        bust=figure.girths["bust"],
        waist=figure.girths["waist"],
        hip=figure.girths["hip"],
        back_waist=float(np.linalg.norm(blade - at["back_neck"]) + np.linalg.norm(at["waist_back"] - blade)),
        shoulder=float(np.linalg.norm(bone)),
        slope_deg=math.degrees(math.atan2(-bone[2], bone[0])),
        bust_span=float(2 * at["bust_point_L"][0]),
    )


def pieces(body: Body, front: str = "dart") -> tuple[dict[str, Piece], Cloth | None]:
    """Back and front of a dress to below the hip."""
    block = bodice(body, front, BELOW_MM)
    return {name: piece for name, piece in block.pieces.items() if "neck" in piece.edges or "front" in name}, None


def off(seen: Mapping[str, float]) -> dict[str, float]:
    """How far each observable lies from what fits, in tolerances."""
    found = {}
    for key, value in seen.items():
        observable = knowledge().places[key][0]
        wanted = observable.wanted.get("set_in", 0.0)
        found[key] = (value - wanted) / observable.tolerance.amount
    return found


def own_blocks(figures: Sequence[Figure], opened: bool = True, front: str = "dart", device: str = "cpu", mends: int = MENDS) -> Own:
    """Draft a block for every figure and mend it until it fits."""
    bodies = [measured(one) for one in figures]
    first = pieces(bodies[0], front)[0]
    cloth = cut(first, bodice(bodies[0], front, BELOW_MM).sewn)
    x: Floats | None = None
    names = list(ENTRIES)
    steps = np.array([SLOPE_STEP if name == "slope_deg" else STEP for name in names])
    spread = np.array(list(ENTRIES.values()))
    drafted = list(bodies)
    for mend in range(mends + 1):
        worn = [_worn(cloth, body, front, i) for i, body in enumerate(bodies)]
        draped = drape(cloth, worn, figures, opened, x, device=device)
        x, seen = draped.x, readings(cloth, worn, figures, draped.x, opened)
        if mend == mends:
            break
        tried = [
            _worn(cloth, replace(body, **{name: getattr(body, name) + step}), front, i)
            for i, body in enumerate(bodies)
            for name, step in zip(names, steps, strict=True)
        ]
        more = drape(cloth, tried, figures, opened, np.repeat(x, len(names), axis=0), device=device)
        moved = readings(cloth, tried, figures, more.x, opened)
        for i, body in enumerate(bodies):
            now = off(seen[i])
            trials = [off(one) for one in moved[i * len(names) : (i + 1) * len(names)]]
            keys = [key for key in now if key not in UNWANTED and all(key in trial for trial in trials)]
            y = np.array([now[key] for key in keys])
            slopes = np.array([[trial[key] for key in keys] for trial in trials]).T - y[:, None]
            slopes /= steps
            away = np.array([getattr(body, name) - getattr(drafted[i], name) for name in names]) / spread
            rows, right = np.vstack([slopes, 0.15 * np.diag(1 / spread)]), np.r_[-y, -0.15 * away]
            by = np.clip(np.linalg.lstsq(rows, right, rcond=None)[0], -25, 25)
            bodies[i] = replace(body, **{name: float(getattr(body, name) + b) for name, b in zip(names, by, strict=True)})
    return Own(tuple(bodies), cloth, tuple(worn), x, tuple(seen), draped.strain, draped.moves)


def _worn(cloth: Cloth, body: Body, front: str, figure: int) -> Worn:
    own = pieces(body, front)[0]
    return Worn(own, cloth.on_paper(own), figure)
