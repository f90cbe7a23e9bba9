"""The body solved from ideal pictures of posed bodies, by stance: python -m tests.benchmarks.stances BODIES.npz [--stickers] [--first N]

BODIES.npz is what `models.body_shape.train bodies` writes, with a seed of its own. Every body is seen by the four cameras of tests/rig.py
as the tables say that points are seen: joints of the pose model beside their landmarks with their standard deviations, the outline of its
own sections under a garment that hangs as garments do, and with --stickers pointers at the usual points. Shoulder and side seams lie just
where they should, so what is read of them is the error. Nothing is drawn: three bodies take a second.
Prints by stance: n, bias, median and 95th percentile of the absolute error, reduced chi-square, share of 95 % intervals with the truth.
"""

import sys
from collections import defaultdict
from pathlib import Path

import numpy as np

from fitcheck.body.adjust import adjust
from fitcheck.body.landmarks import _used, outline_rows, seen_ties, unmarked
from fitcheck.body.point_table import seen_points
from fitcheck.body.shape import KNOTS, STATURE_MM, body_shape
from fitcheck.core.camera import Scale
from fitcheck.core.evidence import Evidence
from fitcheck.core.outline import Outline
from fitcheck.core.records import SIDE_VIEW, SIDES, VIEWS, Floats, Sighting, View, X, Y, Z
from fitcheck.core.solution import PointKey, Solution, Tie
from fitcheck.measure.garment_points import FREE_MM, SHOULDER_TIE_MM
from fitcheck.measure.seam_reader import SURFACE_SD_MM
from tests import rig

HEIGHTS_MM = np.arange(40.0, 1620.0, 10.0)  # of the sections in BODIES.npz
TURN_SD_DEG, OUTLINE_SD_PX = 1.4, 0.5
HANGING_DEG, HALF_BACK_DEG = 14.0, 36.0
ONE_SIDED_MM = 9.0
Points = dict[PointKey, Floats]


def bodies(path: Path) -> list[tuple[Points, Floats]]:
    """Points and sections (heights, directions) of every body."""
    with np.load(path) as file:
        keys = [(str(n), SIDES[s] if s >= 0 else None) for n, s in zip(file["names"], file["sides"], strict=True)]
        return [(dict(zip(keys, p, strict=True)), h) for p, h in zip(file["points"].astype(float), file["hull"].astype(float), strict=True)]


def stances(points: Points) -> list[str]:
    """The groups that a body belongs to."""
    shoulders, elbows = ([points[name, side] for side in SIDES] for name in ("shoulder_point", "elbow"))
    arms = np.mean([(elbow - shoulder) * [1, 1, -1] for elbow, shoulder in zip(elbows, shoulders, strict=True)], axis=0)
    back = np.degrees(np.arctan2(arms[2], -arms[1]))
    found = ["all", "arms hang" if back < HANGING_DEG else "arms half back" if back < HALF_BACK_DEG else "arms far back"]
    apart = shoulders[0] - shoulders[1]
    return found + [f"one shoulder {word}" for word, axis in (("before the other", Z), ("lower", Y)) if abs(apart[axis]) > ONE_SIDED_MM]


def pictures(points: Points, stickers: bool, random: np.random.Generator) -> tuple[Evidence, dict[View, float]]:
    """What four photos of a body show, without the outline, and how she is turned."""
    scale, size = rig.scale_at(), points["crown", None][Y] / STATURE_MM
    turns = {view: float(random.normal(0, TURN_SD_DEG)) for view in VIEWS}
    marks = rig.sightings(points, scale, turns, 0.3) if stickers else []
    beside = []
    for point in seen_points():
        off = point.offset_mm * size + random.normal(0, 1, 3) * point.sd_mm  # alike in all photos that use it
        base = points[point.anchor] * [1.0, 0.0 if point.edge == "bottom" else 1.0, 1.0]
        if point.swing.any():
            off = off + point.swing * (points[point.swung_by] - points[point.anchor])
        for view in VIEWS:
            if _used(point, view):
                sd_px = point.seen_sd_mm / scale.mm_per_px
                xy = rig.pixels(scale, view, base + off, turns[view])[0] + random.normal(0, sd_px, 2)
                kind = f"outline_{point.edge}" if point.edge else "pose"
                beside.append(Sighting(point.name, point.side, view, "detected", xy, sd_px, kind=kind))
    seen = [*unmarked(beside, {view: [s for s in marks if s.view == view] for view in VIEWS}), *marks]
    return Evidence(dict.fromkeys(VIEWS, scale), seen, seen_ties(seen)), turns


def dressed(points: Points, hull: Floats, random: np.random.Generator) -> Floats:
    """The sections under a garment."""
    model, size = body_shape(), points["crown", None][Y] / STATURE_MM
    hang = model.cloth + model.cloth_basis @ random.normal(0, 1, model.cloth_basis.shape[2])
    knots = [np.mean([p[Y] for (name, _), p in points.items() if name in knot]) if knot else 0.0 for knot in KNOTS]
    at = np.interp(HEIGHTS_MM, np.interp(model.levels, np.arange(len(KNOTS)), knots), np.arange(len(model.levels)))
    low = np.clip(np.floor(at).astype(int), 0, len(model.levels) - 2)
    share = (at - low)[:, None]
    return np.asarray(hull + size * ((1 - share) * hang[low] + share * hang[low + 1]))


def outline(scale: Scale, view: View, sections: Floats, rows_px: Floats, turn_deg: float) -> Outline:
    """Edges in the picture: the sections as polygons, drawn by OpenCV, the outermost of each row taken."""
    around = np.arange(sections.shape[1]) / sections.shape[1] * 2 * np.pi
    slope = (np.roll(sections, -1, 1) - np.roll(sections, 1, 1)) / (2 * around[1])
    x = sections * np.cos(around) - slope * np.sin(around)
    z = sections * np.sin(around) + slope * np.cos(around)
    strips = [rig.pixels(scale, view, np.column_stack([x[i], np.full(len(around), h), z[i]]), turn_deg) for i, h in enumerate(HEIGHTS_MM)]
    seen = np.stack(strips)[::-1]
    columns = np.array([np.interp(rows_px, seen[:, i, 1], seen[:, i, 0], np.nan, np.nan) for i in range(len(around))])
    edges = np.stack([columns.min(axis=0), columns.max(axis=0)])
    return Outline(np.asarray(rows_px, float), edges, np.full(edges.shape, OUTLINE_SD_PX))


def seams(points: Points, turns: dict[View, float]) -> tuple[list[Sighting], list[Tie]]:
    """The shoulder seam's end on the shoulder point, and the side seam below the underarm point, each seen in its side photo."""
    scale, found, ties = rig.scale_at(), [], []
    for side in SIDES:
        view, waist = SIDE_VIEW[side], points["waist_side", side]
        at_waist = np.array([waist[X], waist[Y], points["underarm_point", side][Z]])
        for name, anchor, at, free in (
            ("shoulder_seam_tip", "shoulder_point", points["shoulder_point", side], SHOULDER_TIE_MM),
            ("side_seam_waist", "waist_side", at_waist, (SURFACE_SD_MM, FREE_MM * 2, FREE_MM)),
        ):
            xy = rig.pixels(scale, view, at, turns[view])[0]
            found.append(Sighting(name, side, view, "detected", xy, 0.5, kind="seam"))
            ties.append(Tie((name, side), (anchor, side), np.zeros(3), np.array(free)))
    return found, ties


def solve(points: Points, hull: Floats, stickers: bool, random: np.random.Generator) -> tuple[Solution, dict[View, float]]:
    """As a check does: by the points, then with the outlines."""
    evidence, turns = pictures(points, stickers, random)
    body, sections = adjust(evidence), dressed(points, hull, random)
    seen = {view: outline(evidence.scales[view], view, sections, outline_rows(body, view), turns[view]) for view in VIEWS}
    whole = Evidence(evidence.scales, evidence.sightings, evidence.ties, seen, sticker_share=1.0 if stickers else None)
    return adjust(whole.with_points(*seams(points, turns)), body), turns


def main(arguments: list[str]) -> None:
    """Command line."""
    words = [word for word in arguments if not word.startswith("--")]
    first = int(words[1]) if len(words) > 1 else 60
    errors: dict[tuple[str, str], list[tuple[float, float]]] = defaultdict(list)
    every = bodies(Path(words[0]))
    random = np.random.default_rng(11)
    for points, hull in every[:: max(1, len(every) // first)]:
        body, turns = solve(points, hull, "--stickers" in arguments, random)
        found: list[tuple[str, float, float]] = []
        for name, key, other, axis in (
            ("shoulder seam behind", "shoulder_point", "shoulder_seam_tip", Z),
            ("side seam forward", "side_seam_waist", "underarm_point", Z),
            ("shoulder forward of C7", "shoulder_point", "back_neck_point", Z),
            ("shoulder below neck", "side_neck_point", "shoulder_point", Y),
            ("underarm below shoulder", "shoulder_point", "underarm_point", Y),
            ("shoulder before underarm", "shoulder_point", "underarm_point", Z),
        ):
            for side in SIDES:
                keys = [(word, None if word == "back_neck_point" else side) for word in (key, other)]
                told = body.derive(lambda a, b, axis=axis: float(a[axis] - b[axis]), keys)
                true = 0.0 if "seam" in name else (points[keys[0]] - points[keys[1]])[axis]
                found.append((name, told.value - true, told.sd))
        both = [("shoulder_point", side) for side in SIDES]
        for word, axis in (("height", Y), ("depth", Z)):
            told = body.derive(lambda a, b, axis=axis: float(a[axis] - b[axis]), both)
            found.append((f"shoulders differ in {word}", told.value - (points[both[0]] - points[both[1]])[axis], told.sd))
        for view, turn in turns.items():
            told = body.turn_deg(view)
            found.append((f"turn {'front, back' if view in ('front', 'back') else 'sides'}", told.value - turn, told.sd))
        for group in stances(points):
            for name, error, sd in found:
                errors[group, name].append((float(error), float(sd)))
    for group in dict.fromkeys(group for group, _ in errors):
        print(f"{group:32s}{'n':>5s}{'bias':>8s}{'median':>8s}{'95 %':>8s}{'chi2':>7s}{'held':>7s}")
        for name in dict.fromkeys(name for of, name in errors if of == group):
            e, sd = np.array(errors[group, name]).T
            held = np.mean(np.abs(e) < 1.96 * sd)
            p95 = np.percentile(abs(e), 95)
            print(f"  {name:30s}{len(e):5d}{e.mean():8.2f}{np.median(abs(e)):8.2f}{p95:8.2f}{np.mean((e / sd) ** 2):7.2f}{held:7.2f}")


if __name__ == "__main__":
    main(sys.argv[1:])
