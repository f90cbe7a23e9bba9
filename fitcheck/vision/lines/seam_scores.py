"""How likely a line is each seam, by how it runs in the frame of the trunk: colours differ from fitting to fitting.

Twelve measures of a line and their squares, weighed for every seam that a view may show and for what is no seam (the rim of an opening,
another seam seen past the body, a stray mark), give probabilities that sum to one. The weights were learnt from scenes (models/seams).
"""

from dataclasses import dataclass
from functools import cache

import numpy as np

from fitcheck.core.records import Floats, Side, View
from fitcheck.core.weights import weights
from fitcheck.vision.cloth.trunk_frame import TrunkFrame
from fitcheck.vision.trace.curves import Curve

COLOURED, BLACK = 0.2, 0.7  # log colour change of ratios, of brightness, from which a line is pen and no shade (measured on scenes)
INK_SOFT, LEAST_INK = 0.15, 0.3  # share by which a line may fall short of that and be pen still; what the surest shade counts as pen
FAINTEST_INK = 1e-3  # so little keeps a logarithm in bounds; it is then cut far above
FARTHEST_SD = 4.0  # measures farther from the middle of all seams say no more: nothing there was learnt
STICKER_MM = 36.0  # from the front a shorter line on the shoulder may be the rim of an unnoticed sticker, 31 mm with its border
ONE_ONLY = ("centre_front", "centre_back", "waist")  # the others are hers at the left or right
NO_SEAM = ("rim", "other", "stray")
SEAMS: dict[str, tuple[str, ...]] = {  # by kind of view; side seams seen from the front and shoulder seams from behind lie edge-on
    "front": ("centre_front", "princess", "waist", "shoulder", "bust_tick", "dart"),
    "back": ("centre_back", "princess_back", "side", "waist"),
    "side": ("side", "princess", "princess_back", "waist", "dart", "shoulder"),
}

Key = tuple[str, Side | None]


@dataclass(frozen=True, slots=True)
class Run:
    """How one curve runs in the trunk frame."""

    curve: Curve
    steep: float  # 0 horizontal, 90 upright (chord, degrees)
    across: float  # median
    length_mm: float
    mm_per_px: float


def run_of(curve: Curve, frame: TrunkFrame) -> Run:
    """Measure a curve in the frame."""
    points = curve.points_px
    chord = points[-1] - points[0]
    steep = float(np.degrees(np.arctan2(abs(chord[1]), abs(chord[0]))))
    return Run(curve, steep, float(np.median(frame.across(points))), curve.length_px * frame.mm_per_px, frame.mm_per_px)


def view_kind(view: View) -> str:
    """Both side views are read as one, mirrored."""
    return view if view in ("front", "back") else "side"


def scores(run: Run, frame: TrunkFrame) -> dict[Key, float]:
    """How likely a line is each seam that its view may show; what is missing to 1 is how likely it is none."""
    kind = view_kind(frame.view)
    mean, sd, by_name = _model(kind)
    logits = terms(measures(run.curve, frame)[None], mean, sd)[0] @ by_name
    likely = np.exp(logits - logits.max())
    likely /= likely.sum()
    side: Side = "wearer_right" if frame.view == "right" else "wearer_left"
    if kind != "side":
        side = frame.side_of(run.across)
    named = zip(SEAMS[kind], likely[len(NO_SEAM) :], strict=True)
    fits = {(name, None if name in ONE_ONLY else side): float(share) for name, share in named}
    if kind == "front" and run.length_mm < STICKER_MM:
        del fits["shoulder", side]
    return fits


def measures(curve: Curve, frame: TrunkFrame) -> Floats:
    """Twelve measures of a line, the same for both sides of the body.

    Returns
    -------
    ndarray, shape (12,)
        Median, least and most distance out from the garment's middle (0) to its outline (1), from the side: from the back (0) to the front
        (1); distance from the middle of the shoulders in half shoulder widths, from the side: before it in trunks; median, upper and lower
        height, 0 at the shoulders and 1 at the hips; steepness, 1 upright; slope, + falling outwards or forwards; log length in mm; share
        with cloth on one side only; log of the ink over the least that is pen.
    """
    points = curve.points_px
    down, across = frame.down(points), frame.across(points)
    aside = float(np.median(points[:, 0]) - frame.shoulder_px[0])
    if view_kind(frame.view) == "side":
        outward = 1.0 if frame.view == "right" else -1.0  # image direction she faces
        out, apart = 0.5 + 0.5 * outward * across, outward * aside / frame.trunk_px
    else:
        outward = float(np.sign(np.median(across)) or 1.0)
        out, apart = np.abs(across), abs(aside) / max(frame.half_px, 1.0)
    chord = points[-1] - points[0]
    way = chord / max(float(np.hypot(*chord)), 1e-6) * (1.0 if chord[1] >= 0 else -1.0)
    return np.array(
        [
            *(np.median(out), out.min(), out.max(), apart),
            *(np.median(down), down.min(), down.max()),
            *(np.arcsin(min(1.0, abs(way[1]))) / (np.pi / 2), outward * way[0] * way[1]),
            *(np.log(max(curve.length_px * frame.mm_per_px, 1.0)), curve.edge, np.clip(np.log(max(_ink(curve), FAINTEST_INK)), -1, 1)),
        ]
    )


def terms(measured: Floats, mean: Floats, sd: Floats) -> Floats:
    """One, the measures in standard deviations, and their squares; (N, 12) in, (N, 25) out."""
    z = np.clip((measured - mean) / sd, -FARTHEST_SD, FARTHEST_SD)
    return np.concatenate([np.ones((len(z), 1)), z, z * z], axis=1)


def inked(run: Run) -> float:
    """1 for pen, less where a line may be the shade of a rim or a fold's gleam: colourless, hardly darker or lighter than cloth gets."""
    short = max(0.0, 1.0 - _ink(run.curve))
    return max(LEAST_INK, float(np.exp(-0.5 * (short / INK_SOFT) ** 2)))


def _ink(curve: Curve) -> float:
    """Colour change over the least that is pen."""
    return max(float(np.hypot(*curve.change[1:])) / COLOURED, abs(float(curve.change[0])) / BLACK)


@cache
def _model(kind: str) -> tuple[Floats, Floats, Floats]:
    with np.load(weights("seams")) as file:
        return file[f"{kind}_mean"], file[f"{kind}_sd"], file[f"{kind}_weights"]
