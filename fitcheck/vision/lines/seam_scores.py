"""How well a line fits each seam, by how it runs in the frame of the trunk: colours differ from fitting to fitting.

A seam is a row of wishes (`FRONT`, `BACK`, `SIDE`): each names one measure of the line (`Measures`), what it should be, and how far off it
may be. A wish is met by 1 down to 0, along a bell; the score of a seam is the product of its wishes.

Where no other reason stands beside a number, it was read off rendered fittings of different women: `at` is the middle of what a measure is
on lines of that seam, `within` about the spread of the middle two thirds, widened for bodies and postures that the scenes do not show.
"""

from dataclasses import dataclass

import numpy as np

from fitcheck.core.records import Side
from fitcheck.vision.cloth.trunk_frame import TrunkFrame
from fitcheck.vision.trace.curves import Curve

COLOURED, BLACK = 0.2, 0.7  # log colour change of ratios, of brightness, from which a line is pen and no shade (measured on scenes)
INK_SOFT = 0.15  # share of those by which a line may fall short and still be pen for the most part
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


@dataclass(frozen=True, slots=True)
class Measures:
    """What the wishes speak of. Heights: 0 at the shoulders, 1 at the hips."""

    steep_deg: float  # of the chord: 0 level, 90 upright
    level: float  # height of the line's middle
    bottom: float  # height of its lower end
    length_mm: float
    out: float  # from the garment's middle (0) to its outline (1): median, innermost and outermost point; front and back only
    inner: float
    outer: float
    reach: float  # median distance from the middle of the shoulders in half shoulder widths: needs no outline; front and back only
    forward: float  # from the outline of the back (0) to that of the front (1); side views only
    ahead: float  # distance before the middle of the shoulders, in trunks; side views only
    inside: float  # share of the line that has cloth on both sides: an edge of the garment has it on one


@dataclass(frozen=True, slots=True)
class Near:
    """A measure is best `at` a value; `within` (same unit) is one standard deviation of the bell."""

    measure: str
    at: float
    within: float

    def met(self, value: float) -> float:
        return float(np.exp(-0.5 * ((value - self.at) / self.within) ** 2))


@dataclass(frozen=True, slots=True)
class AtLeast:
    """A measure should reach a limit; short of it the wish falls off along half a bell."""

    measure: str
    limit: float
    within: float

    def met(self, value: float) -> float:
        return _beyond(value, self.limit, self.within)


@dataclass(frozen=True, slots=True)
class AtMost:
    """A measure should stay below a limit; above it the wish falls off along half a bell."""

    measure: str
    limit: float
    within: float

    def met(self, value: float) -> float:
        return _beyond(-value, -self.limit, self.within)


@dataclass(frozen=True, slots=True)
class Is:
    """The measure itself says by how much the wish is met, 0 to 1."""

    measure: str

    def met(self, value: float) -> float:
        return value


Wish = Near | AtLeast | AtMost | Is
INSIDE = Is("inside")

_CENTRE: tuple[Wish, ...] = (
    AtLeast("steep_deg", 68, 8),
    Near("out", 0, 0.12),
    Near("reach", 0, 0.15),  # wider than across the cloth: a leaning head shifts the shoulders as seen
    AtLeast("length_mm", 90, 40),  # shorter is a placket's edge or a fold
)
_PRINCESS: tuple[Wish, ...] = (  # half way out, down to the waist at least
    INSIDE,
    AtLeast("steep_deg", 68, 8),
    Near("out", 0.52, 0.15),
    Near("reach", 0.52, 0.15),
    AtLeast("length_mm", 90, 40),
    AtLeast("bottom", 0.6, 0.1),
)
_SIDE_SEAM: tuple[Wish, ...] = (  # beside the outline, from the armhole down; it follows the waist, so it may lean more
    INSIDE,
    AtLeast("steep_deg", 60, 8),
    AtLeast("out", 0.85, 0.06),
    AtLeast("reach", 0.7, 0.06),  # the waist is narrower than the shoulders
    AtLeast("length_mm", 90, 20),
    AtLeast("bottom", 0.4, 0.1),
)


def _waist(most_deg: float) -> tuple[Wish, ...]:
    """The waist line, seven tenths of the way down; from the side it may fall by more."""
    return (INSIDE, AtMost("steep_deg", most_deg, 8), Near("level", 0.7, 0.09), AtLeast("length_mm", 20, 8))


def _shoulder(reach_within: float) -> tuple[Wish, ...]:
    """The shoulder seam, seen edge on just above the shoulder points of the pose."""
    return (
        Near("level", -0.06, 0.08),
        AtMost("steep_deg", 50, 8),
        AtMost("bottom", 0.1, 0.04),
        AtLeast("length_mm", 40, 4),  # longer than an unnoticed sticker seen edge-on
        Near("reach", 0.75, reach_within),
    )


FRONT: dict[str, tuple[Wish, ...]] = {
    "centre_front": _CENTRE,
    "princess": _PRINCESS,
    "side": _SIDE_SEAM,
    "waist": _waist(25),
    "shoulder": _shoulder(0.25),
    "bust_tick": (
        AtMost("steep_deg", 18, 8),  # drawn level
        Near("level", 0.33, 0.1),
        Near("out", 0.52, 0.17),
        AtMost("length_mm", 67.2, 12),  # drawn 56 mm long, and a fifth more
        AtLeast("length_mm", 14, 6),
    ),
    "dart": (
        AtMost("steep_deg", 60, 8),
        Near("level", 0.4, 0.09),
        AtLeast("outer", 0.93, 0.06),  # it begins in the side seam
        AtLeast("inner", 0.6, 0.08),  # a bust mark reaches farther in
        AtLeast("length_mm", 15, 6),  # most of it lies round the side
    ),
}
BACK: dict[str, tuple[Wish, ...]] = {
    "centre_back": _CENTRE,
    "princess_back": _PRINCESS,
    "side": _SIDE_SEAM,
    "waist": _waist(25),
    "shoulder": (INSIDE, *_shoulder(0.12)),  # only a seam that lies on the back is seen at all; the rim of the neckline lies farther in
}
SIDE: dict[str, tuple[Wish, ...]] = {
    "side": (
        INSIDE,
        AtLeast("steep_deg", 68, 8),
        Near("forward", 0.37, 0.15),  # behind the middle, as the bust fills the front half
        AtLeast("length_mm", 70, 30),
        AtLeast("bottom", 0.55, 0.1),
    ),
    "princess": (  # over the bust it leans with it
        INSIDE,
        AtLeast("steep_deg", 60, 8),
        Near("forward", 0.82, 0.1),
        AtLeast("length_mm", 70, 30),
        AtLeast("bottom", 0.55, 0.1),
    ),
    "princess_back": (  # over the shoulder blade it leans most
        INSIDE,
        AtLeast("steep_deg", 55, 8),
        Near("forward", 0.14, 0.09),
        AtLeast("length_mm", 70, 30),
        AtLeast("bottom", 0.55, 0.1),
    ),
    "waist": _waist(30),
    "dart": (
        INSIDE,
        AtMost("steep_deg", 35, 8),
        Near("level", 0.38, 0.08),
        AtLeast("length_mm", 50, 20),
        AtLeast("forward", 0.5, 0.15),
    ),
    "shoulder": (  # seen along its length, on top of the shoulder
        Near("level", -0.12, 0.08),
        Near("ahead", 0.0, 0.035),  # the rim of the neckline behind lies 0.1 farther back (both measured on scenes)
        AtLeast("steep_deg", 40, 10),
        Near("length_mm", 25, 35),
        INSIDE,
    ),
}
ONE_ONLY = ("centre_front", "centre_back", "waist")  # the others are hers at the left or right


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
    facing = frame.view in ("front", "back")
    side: Side = frame.side_of(run.across) if facing else "wearer_right" if frame.view == "right" else "wearer_left"
    pen = inked(run) if facing else 1.0  # from the side much pen is in shade
    wishes = {"front": FRONT, "back": BACK}.get(frame.view, SIDE)
    measures = _measures(run, frame)
    fits = {name: float(np.prod([wish.met(getattr(measures, wish.measure)) for wish in row])) for name, row in wishes.items()}
    return {(name, None if name in ONE_ONLY else side): pen * fit for name, fit in fits.items()}


def inked(run: Run) -> float:
    """1 for pen, less where a line may be the shade of a rim or a fold's gleam: colourless, hardly darker or lighter than cloth gets."""
    chroma = float(np.hypot(*run.curve.change[1:]))
    return max(SHADE_LIKE, _beyond(max(chroma / COLOURED, abs(float(run.curve.change[0])) / BLACK), 1.0, INK_SOFT))


def _measures(run: Run, frame: TrunkFrame) -> Measures:
    toward = 1 if frame.view == "right" else -1  # image direction she faces in a side view
    return Measures(
        steep_deg=run.steep,
        level=run.level,
        bottom=run.bottom,
        length_mm=run.length_mm,
        out=abs(run.across),
        inner=run.inner,
        outer=run.outer,
        reach=abs(run.aside) * frame.trunk_px / max(frame.half_px, 1.0),
        forward=0.5 + 0.5 * toward * run.across,
        ahead=toward * run.aside,
        inside=1 - run.curve.edge,
    )


def _beyond(value: float, limit: float, within: float) -> float:
    """1 above the limit, falling off below it along half a bell."""
    return float(np.exp(-0.5 * (min(0.0, value - limit) / within) ** 2))
