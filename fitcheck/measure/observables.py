"""The observables of a fitting (how the garment lies against the body), computed from the solved geometry.

Signs and definitions: each function says which. Every value is in the body frame, so that perspective, the turn and the lean of the
wearer are taken out; its uncertainty and its sources come from the joint adjustment.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from fitcheck.core.records import OUTWARDS, SIDE_VIEW, SIDES, Floats, Measurement, Side, Sighting, Unmeasured, View, X, Y, Z
from fitcheck.core.solution import Derived, PointKey, Solution
from fitcheck.measure.garment_points import SIDE_SAMPLES
from fitcheck.measure.likeness import with_likeness

LEVELS = ("bust", "waist", "hip")
ARMPIT_SD_MM = 2.0  # the lowest point of the fold under the arm is hidden; estimate
# The outer end of the shoulder's bone is round: where nobody felt for it, it may be meant so far before or behind. Two spots that one rule
# picks on two drawn women lie 7 mm apart; with 2.5 the doubts of 38 drawn readings are right.
BONE_SD_MM = 2.5
HIDDEN_DEG_PER_MM = 0.002  # the lean of a seam of which so much is hidden, by an arm say: seams bend; measured on 38 draped fittings
TOO_UNSURE = {"mm": 10.0, "deg": 4.0}  # a number worse than this is no measurement
Formula = Callable[..., float]


@dataclass(frozen=True, slots=True)
class _Observable:
    """How one observable is computed: `formula(*positions)` of the points named, best shown in `view` between two of them.

    `vague` is the doubt of what a named point means, where nobody can mark it; `unfelt` the same where nobody has marked the body's point.
    """

    id: str
    at: str
    side: Side | None
    view: View
    keys: tuple[PointKey, ...]
    formula: Formula
    unit: str = "mm"
    needs: str = ""
    vague: float = 0.0
    unfelt: float = 0.0


def measure(body: Solution, seen: Sequence[Sighting], half: Side | None = None) -> tuple[tuple[Measurement, ...], tuple[Unmeasured, ...]]:
    """All observables that the visible seams and points allow.

    Parameters
    ----------
    body : Solution
        Of body and garment points.
    seen : sequence of Sighting
        All sightings that went into it; their flags are handed on.
    half : Side, optional
        The side that a half tissue is on: nothing of the garment is asked of the other.

    Returns
    -------
    measurements, unmeasured
        What could not be measured is listed with the reason.
    """
    measurements: list[Measurement] = []
    derived: list[Derived] = []
    unmeasured: list[Unmeasured] = []
    by_key: dict[PointKey, list[Sighting]] = {}
    for s in seen:
        by_key.setdefault((s.name, s.side), []).append(s)
    for o in _observables(body, half):
        missing = [key for key in o.keys if key not in body]
        if missing:
            unmeasured.append(Unmeasured(o.id, o.at, o.side, o.needs))
            continue
        felt = all(any(s.grade != "detected" for s in by_key.get(key, [])) for key in o.keys[1:])
        result = _with_definition(body.derive(o.formula, o.keys), float(np.hypot(o.vague, 0.0 if felt else o.unfelt)))
        if result.sd > TOO_UNSURE[o.unit]:
            largest = max(result.sources, key=lambda name: result.sources[name])
            unmeasured.append(
                Unmeasured(
                    o.id, o.at, o.side, f"It could only be had to within {result.sd:.0f} {o.unit}, mostly for want of {_WANT[largest]}."
                )
            )
            continue
        derived.append(result)
        flags = {flag for key in o.keys for s in by_key.get(key, []) for flag in s.flags}
        if any(not by_key.get(key) for key in o.keys if key in body):
            flags.add("point_hidden")
        ends = body.views[o.view].project(_gap(o, body)) if o.view in body.views else None
        measurements.append(
            Measurement(
                o.id,
                o.at,
                o.side,
                o.view if ends is not None else None,
                result.value,
                o.unit,
                result.sd,
                result.sources,
                tuple(sorted(flags)),
                None if ends is None else ends[0],
                None if ends is None else ends[1],
            )
        )
    edges = [
        Unmeasured(name, "", None, f"It needs {what}, which is found in the photo but not yet measured with.")
        for name, what in _EDGES.items()
    ]
    return with_likeness(measurements, derived), (*unmeasured, *edges)


def _with_definition(result: Derived, sd: float) -> Derived:
    """The doubt of a definition added."""
    own = float(np.hypot(result.sources.get("definition", 0.0), sd))
    return replace(result, sd=float(np.hypot(result.sd, sd)), sources=result.sources | ({"definition": own} if own else {}))


# Observables of the trade that only the garment's own edges can show.
_EDGES = {
    "back_neck_below": "the edge of the neckline",
    "neck_stand_off": "the edge of the neckline",
    "armhole_stand_off": "the edge of the armhole",
    "underarm_gap": "the lowest point of the armhole",
    "hem_front_rise": "the edge of the hem",
}


def _gap(o: _Observable, body: Solution) -> Floats:
    """Both ends of the gap to be drawn, shape (2, 3): on the body, on the garment. A line alone is compared with the midline."""
    garment = body.position(*o.keys[0])
    on_body = body.position(*o.keys[1]) if len(o.keys) > 1 else garment * [0.0, 1.0, 1.0]
    return np.stack([on_body, garment])


_WANT = {
    "pixel": "a sharper or larger picture of the point",
    "definition": "a sticker exactly on the point",
    "depth": "a second view of the same point",
    "symmetry": "a second view of the same point",
    "turn": "a photo taken more squarely",
    "plumb": "a card that hangs plumb",
    "floor": "the card's height above the floor",
    "scale": "the scale card in the picture",
    "focal": "the camera's lens data",
    "frame": "both shoulder points",
    "outline": "a clear outline of the body",
}


def _observables(body: Solution, half: Side | None) -> list[_Observable]:
    rows: list[_Observable] = []
    for side in SIDES if half is None else (half,):
        rows += _shoulder(side) + _bust_mark(side) + _side_seam(body, side)
    rows.append(
        _Observable(
            "shoulder_height_difference",
            "",
            None,
            "front",
            (("shoulder_point", "wearer_left"), ("shoulder_point", "wearer_right")),
            lambda left, right: float(left[Y] - right[Y]),
        )
    )
    return rows + _waist(half) + (_centres(body) if half is None else _half_centres(half))


def _shoulder(side: Side) -> list[_Observable]:
    view = SIDE_VIEW[side]
    tip, neck = ("shoulder_seam_tip", side), ("shoulder_seam_neck", side)
    point, side_neck = ("shoulder_point", side), ("side_neck_point", side)
    needs = f"The shoulder seam was not found in the {view} photo."

    def behind_at_tip(tip: Floats, point: Floats) -> float:
        return float(point[Z] - tip[Z])

    def behind_at_neck(neck: Floats, side_neck: Floats, point: Floats) -> float:
        """Behind the straight body line side neck - shoulder point, at the seam's own distance from the midline."""
        share = (neck[X] - side_neck[X]) / (point[X] - side_neck[X])
        return float(side_neck[Z] + share * (point[Z] - side_neck[Z]) - neck[Z])

    def beyond(tip: Floats, point: Floats, side_neck: Floats) -> float:
        """Along side neck -> shoulder point in the frontal plane; + = the seam's end lies outside."""
        along = (point - side_neck)[:2]
        return float((tip - point)[:2] @ along / np.linalg.norm(along))

    def slope(inner: Floats, outer: Floats) -> float:
        return float(np.degrees(np.arctan2(inner[Y] - outer[Y], abs(outer[X] - inner[X]))))

    return [
        _Observable("shoulder_seam_behind", "tip", side, view, (tip, point), behind_at_tip, needs=needs, unfelt=BONE_SD_MM),
        _Observable("shoulder_seam_behind", "neck", side, view, (neck, side_neck, point), behind_at_neck, needs=needs),
        _Observable("shoulder_tip_beyond", "", side, "front", (tip, point, side_neck), beyond, needs=needs),
        _Observable(
            "shoulder_slope_excess",
            "",
            side,
            "front",
            (tip, point, neck, side_neck),
            lambda tip, point, neck, side_neck: slope(neck, tip) - slope(side_neck, point),
            unit="deg",
            needs=needs,
        ),
    ]


def _bust_mark(side: Side) -> list[_Observable]:
    keys = (("bust_mark", side), ("bust_point", side))
    out = OUTWARDS[side]
    needs = "The bust mark (cross bar or upper end of the princess line) was not found in the front photo."
    return [
        _Observable("bust_mark_above", "", side, "front", keys, lambda mark, point: float(mark[Y] - point[Y]), needs=needs),
        _Observable("bust_mark_outside", "", side, "front", keys, lambda mark, point: float(out * (mark[X] - point[X])), needs=needs),
    ]


def _side_seam(body: Solution, side: Side) -> list[_Observable]:
    view = SIDE_VIEW[side]
    needs = f"The side seam was not found in the {view} photo at this height."
    underarm = ("underarm_point", side)
    rows = [
        _Observable(
            "side_seam_forward",
            level,
            side,
            view,
            ((f"side_seam_{level}", side), underarm),
            lambda seam, under: float(seam[Z] - under[Z]),
            needs=needs,
            vague=ARMPIT_SD_MM,
        )
        for level in LEVELS
    ]
    samples = tuple((f"side_seam_{i}", side) for i in range(SIDE_SAMPLES) if (f"side_seam_{i}", side) in body)

    def tilt(*seam: Floats) -> float:
        """Least-squares lean from plumb; + = the lower end lies forward."""
        points = np.stack(seam)
        y, z = points[:, Y] - points[:, Y].mean(), points[:, Z] - points[:, Z].mean()
        return float(np.degrees(np.arctan(-(y @ z) / (y @ y))))

    keys = samples if len(samples) > 2 else (("side_seam_0", side), (f"side_seam_{SIDE_SAMPLES - 1}", side))
    return [*rows, _Observable("side_seam_tilt", "", side, view, keys, tilt, unit="deg", needs=needs, vague=_hidden_deg(body, side, keys))]


def _hidden_deg(body: Solution, side: Side, seam: Sequence[PointKey]) -> float:
    """What the lean of a side seam is unsure by, as only a part of the way from armpit to hip shows it."""
    heights = [float(body.position(*key)[Y]) for key in seam if key in body]
    if not heights:
        return 0.0
    above = float(body.position("underarm_point", side)[Y]) - max(heights)
    below = min(heights) - float(body.position("hip_side", side)[Y])
    return HIDDEN_DEG_PER_MM * (max(above, 0.0) + max(below, 0.0))


def _waist(half: Side | None) -> list[_Observable]:
    spots: list[tuple[str, Side | None, View]] = [("front", None, "front"), ("back", None, "back")]
    spots += [("side", side, SIDE_VIEW[side]) for side in SIDES if half in (None, side)]
    return [
        _Observable(
            "waist_mark_above",
            at,
            side,
            view,
            ((f"waist_seam_{at}", side), (f"waist_{at}", side)),
            lambda seam, waist: float(seam[Y] - waist[Y]),
            needs=f"No waist line was found across the waist point in the {view} photo.",
        )
        for at, side, view in spots
    ]


def _centres(body: Solution) -> list[_Observable]:
    rows: list[_Observable] = []
    lines: tuple[tuple[str, View], ...] = (("centre_front", "front"), ("centre_back", "back"))
    for name, view in lines:
        for level in LEVELS:
            key = f"{name}_{level}"
            if (key, "wearer_left") in body and (key, "wearer_right") in body:
                halves: tuple[PointKey, ...] = ((key, "wearer_left"), (key, "wearer_right"))
                rows.append(_Observable(f"{name}_short", level, None, view, halves, lambda left, right: float(left[X] - right[X]) / 2))
            else:
                needs = f"The {name.replace('_', ' ')} line was not found in the {view} photo at this height."
                rows.append(_Observable(f"{name}_left", level, None, view, ((key, None),), lambda line: float(line[X]), needs=needs))
    return rows


def _half_centres(half: Side) -> list[_Observable]:
    """How far the centre lines of a half tissue stay short of the midline; below 0 they lie beyond it."""
    outwards = OUTWARDS[half]

    def short(line: Floats) -> float:
        return float(outwards * line[X])

    rows: list[_Observable] = []
    centres: tuple[tuple[str, View, str], ...] = (("centre_front", "front", "chest"), ("centre_back", "back", "blade"))
    for name, view, upper in centres:
        needs = f"The edge of the half tissue at the {name.replace('_', ' ')} was not found in the {view} photo at this height."
        rows += [
            _Observable(f"{name}_short", level, half, view, ((f"{name}_{level}", half),), short, needs=needs) for level in (upper, *LEVELS)
        ]
    return rows
