"""How well a line fits each seam, by how it runs in the frame of the trunk: colours differ from fitting to fitting."""

from dataclasses import dataclass

import numpy as np

from fitcheck.core.records import Side
from fitcheck.vision.cloth.trunk_frame import TrunkFrame
from fitcheck.vision.trace.curves import Curve

BUST_TICK_MM = 56.0
COLOURED, BLACK = 0.2, 0.7  # log colour change of ratios, of brightness, from which a line is pen and no shade (measured on scenes)
SHADE_LIKE = 0.3  # factor on the score of a line that may be shade

Key = tuple[str, Side | None]


@dataclass(frozen=True, slots=True)
class Run:
    """How one curve runs in the trunk frame."""

    curve: Curve
    steep: float  # 0 horizontal, 90 upright (chord, degrees)
    top: float  # `down` of its upper end
    bottom: float
    level: float  # median `down`
    across: float  # median
    inner: float  # smallest |across|
    outer: float  # largest |across|
    aside: float  # median distance from the middle of the shoulders, in trunks, + to image right
    length_mm: float
    mm_per_px: float


def run_of(curve: Curve, frame: TrunkFrame) -> Run:
    """Measure a curve in the frame."""
    points = curve.points_px
    chord = points[-1] - points[0]
    down, across = frame.down(points), frame.across(points)
    return Run(
        curve,
        float(np.degrees(np.arctan2(abs(chord[1]), abs(chord[0])))),
        float(down.min()),
        float(down.max()),
        float(np.median(down)),
        float(np.median(across)),
        float(np.abs(across).min()),
        float(np.abs(across).max()),
        float(np.median(points[:, 0]) - frame.shoulder_px[0]) / frame.trunk_px,
        curve.length_px * frame.mm_per_px,
        frame.mm_per_px,
    )


def scores(run: Run, frame: TrunkFrame) -> dict[Key, float]:
    """How well a line fits each seam that its view may show, 0 to 1."""
    if frame.view not in ("front", "back"):
        return _side_scores(run, frame)
    return {key: inked(run) * fit for key, fit in _facing_scores(run, frame).items()}  # from the side much pen is in shade


def inked(run: Run) -> float:
    """1 for pen, less where a line may be the shade of a rim or a fold's gleam: colourless, hardly darker or lighter than cloth gets."""
    chroma = float(np.hypot(*run.curve.change[1:]))
    return max(SHADE_LIKE, _beyond(max(chroma / COLOURED, abs(float(run.curve.change[0])) / BLACK), 1.0, 0.15))


def _bell(value: float, centre: float, width: float) -> float:
    return float(np.exp(-0.5 * ((value - centre) / width) ** 2))


def _beyond(value: float, limit: float, width: float) -> float:
    """1 above the limit, falling off below it within `width`."""
    return float(np.exp(-0.5 * (min(0.0, value - limit) / width) ** 2))


def _upright(run: Run) -> float:
    return _beyond(run.steep, 68, 8)


def _level(run: Run) -> float:
    return _beyond(-run.steep, -18, 8)


def _facing_scores(run: Run, frame: TrunkFrame) -> dict[Key, float]:
    """Front and back views: how well the line fits each seam."""
    front = frame.view == "front"
    side = frame.side_of(run.across)
    width = abs(run.across)
    reach = abs(run.aside) * frame.trunk_px / max(frame.half_px, 1.0)  # in half shoulder widths: needs no outline
    long = _beyond(run.length_mm, 90, 40)
    inside = 1 - run.curve.edge
    scores: dict[Key, float] = {
        ("centre_front" if front else "centre_back", None): _upright(run) * _bell(width, 0, 0.12) * _bell(reach, 0, 0.15) * long,
        ("princess" if front else "princess_back", side): inside
        * _upright(run)
        * _bell(width, 0.52, 0.15)
        * _bell(reach, 0.52, 0.15)
        * long
        * _beyond(run.bottom, 0.6, 0.1),
        ("side", side): inside
        * _beyond(run.steep, 60, 8)
        * _beyond(width, 0.85, 0.06)
        * _beyond(reach, 0.7, 0.06)
        * _beyond(run.length_mm, 90, 20)
        * _beyond(run.bottom, 0.4, 0.1),
        ("waist", None): inside * _beyond(-run.steep, -25, 8) * _bell(run.level, 0.7, 0.09) * _beyond(run.length_mm, 20, 8),
        ("shoulder", side): (1.0 if front else inside)  # behind, only a seam that lies on the back is seen at all
        * _bell(run.level, -0.06, 0.08)
        * _beyond(-run.steep, -50, 8)
        * _beyond(-run.bottom, -0.1, 0.04)
        * _beyond(run.length_mm, 40, 4)  # longer than an unnoticed sticker seen edge-on
        * _bell(reach, 0.75, 0.25 if front else 0.12),  # the rim of the neckline behind lies farther in
    }
    if front:
        scores["bust_tick", side] = (
            _level(run)
            * _bell(run.level, 0.33, 0.1)
            * _bell(width, 0.52, 0.17)
            * _beyond(-run.length_mm, -1.2 * BUST_TICK_MM, 12)
            * _beyond(run.length_mm, 14, 6)
        )
        scores["dart", side] = (
            _beyond(-run.steep, -60, 8)
            * _bell(run.level, 0.4, 0.09)
            * _beyond(run.outer, 0.93, 0.06)
            * _beyond(run.inner, 0.6, 0.08)  # a bust mark reaches farther in
            * _beyond(run.length_mm, 15, 6)
        )
    return scores


def _side_scores(run: Run, frame: TrunkFrame) -> dict[Key, float]:
    """Side views: how well the line fits each seam."""
    side: Side = "wearer_right" if frame.view == "right" else "wearer_left"
    toward = 1 if frame.view == "right" else -1  # image direction she faces
    forward = 0.5 + 0.5 * toward * run.across
    long = _beyond(run.length_mm, 70, 30)
    inside = 1 - run.curve.edge
    low = _beyond(run.bottom, 0.55, 0.1)
    return {
        ("side", side): inside * _upright(run) * _bell(forward, 0.37, 0.15) * long * low,
        ("princess", side): inside * _beyond(run.steep, 60, 8) * _bell(forward, 0.82, 0.1) * long * low,
        ("princess_back", side): inside * _beyond(run.steep, 55, 8) * _bell(forward, 0.14, 0.09) * long * low,
        ("waist", None): inside * _beyond(-run.steep, -30, 8) * _bell(run.level, 0.7, 0.09) * _beyond(run.length_mm, 20, 8),
        ("dart", side): inside
        * _beyond(-run.steep, -35, 8)
        * _bell(run.level, 0.38, 0.08)
        * _beyond(run.length_mm, 50, 20)
        * _beyond(forward, 0.5, 0.15),
        ("shoulder", side): _bell(run.level, -0.12, 0.08)
        * _bell(toward * run.aside, 0.0, 0.035)  # the rim of the neckline behind lies 0.1 farther back (both measured on scenes)
        * _beyond(run.steep, 40, 10)
        * _bell(run.length_mm, 25, 35)
        * inside,
    }
