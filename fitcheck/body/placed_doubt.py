"""Points put right by hand that lie where no body has them: asked about, and hardly believed until she says that she is sure.

Most are no slips of the finger but pixels of another copy of the photo: one reduced for a screen, or not yet turned upright.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fitcheck.body.undistort import undistorted
from fitcheck.core.camera import Scale
from fitcheck.core.records import Floats, SeamLine, Sighting, View
from fitcheck.core.solution import Solution

# From where the body has the point: unmarked ones are known to 20 mm (95 % of drawn fittings), the rest is for other bodies; estimate.
FAR_MM = 60.0
FITS_MM = 40.0  # so near a point of another copy's pixels comes, once they are scaled
OTHER_COPY = 1.15  # a copy as large as the photo but for so much is the photo; estimate
WHOLE_SHARE = 0.06  # within which a factor is said as a whole number, or as one over it; estimate
FLAG = "placed_far"
SURE = "placed_sure"  # the kind of a placed point that she insists on


@dataclass(frozen=True, slots=True)
class Asked:
    """Placed points as they are believed, and what is to be asked about them."""

    points: tuple[Sighting, ...]
    questions: tuple[str, ...] = ()


def believed(placed: Sequence[Sighting], found: Sequence[Sighting], body: Solution | None, scales: dict[View, Scale]) -> Asked:
    """Placed points, those that lie far off with so much doubt that they do not move the body.

    Parameters
    ----------
    placed : sequence of Sighting
        Of kind `placed_sure` where she insists.
    found : sequence of Sighting
        Stickers and dots of all photos.
    body : Solution or None
        As placed before anything was put right; without it nothing is doubted.
    scales : dict of view to Scale
    """
    points: list[Sighting] = []
    questions: list[str] = []
    for point in placed:
        if point.kind == SURE or body is None or point.view not in body.views or point.view not in scales:
            points.append(point)
            continue
        expected = body.views[point.view].project(body.position(point.name, point.side))[0]
        given = undistorted(scales[point.view].camera, point.xy_px[None])[0]
        own = [s.xy_px for s in found if (s.name, s.side, s.view) == (point.name, point.side, point.view)]
        away_px = min(float(np.linalg.norm(gap)) for gap in (given - expected, *(point.xy_px - px for px in own)))
        mm_per_px = body.views[point.view].mm_per_px(body.position(point.name, point.side))
        if away_px * mm_per_px < FAR_MM:
            points.append(point)
            continue
        points.append(replace(point, sd_px=away_px, flags=(*point.flags, FLAG)))
        questions.append(_question(point, expected, away_px * mm_per_px, FITS_MM / mm_per_px))
    return Asked(tuple(points), tuple(questions))


def outside(points: Sequence[Sighting], seams: Sequence[SeamLine], sizes: dict[View, tuple[int, int]]) -> str:
    """What lies outside its picture, as one sentence; nothing where all lie inside.

    Parameters
    ----------
    points : sequence of Sighting
    seams : sequence of SeamLine
    sizes : dict of view to (width, height)
        Pixels of the upright photos.
    """
    things: list[tuple[Sighting | SeamLine, Floats]] = [(p, p.xy_px[None]) for p in points]
    for thing, line in [*things, *((s, s.points_px) for s in seams)]:
        if thing.view not in sizes:
            continue
        size = np.array(sizes[thing.view])
        beyond = ((line < 0) | (line > size - 1)).any(axis=1)
        if beyond.any():
            x, y = line[beyond][0]
            return f"{_name(thing)} at {x:.10g}, {y:.10g} lies outside the {thing.view} photo, which has {size[0]} x {size[1]} pixels."
    return ""


def _question(point: Sighting, expected: Floats, away_mm: float, fits_px: float) -> str:
    said = f"{_name(point)} was put {away_mm / 10:.0f} cm from where the body has it in the {point.view} photo, so it hardly counts"
    factor = float(point.xy_px @ expected / max(float(point.xy_px @ point.xy_px), 1.0))
    other_copy = not 1 / OTHER_COPY < factor < OTHER_COPY
    if other_copy and np.linalg.norm(factor * point.xy_px - expected) < fits_px:
        meant = f"did you mean pixels of the upright photo at its full size? Times {_factor(factor)} they would fit"
    elif np.linalg.norm(point.xy_px[::-1] - expected) < fits_px:
        meant = "did you mean pixels of the upright photo, across first and then down? The other way round they would fit"
    else:
        meant = "did you mean pixels of the upright photo at its full size, counted from its top left corner?"
    return f"{said}: {meant}{'' if meant.endswith('?') else '.'} If it is right, say sure = true in placed.toml (or ,sure after its pixels)"


def _factor(factor: float) -> str:
    if factor >= 1:
        whole = round(factor)
        return str(whole) if abs(factor / whole - 1) < WHOLE_SHARE else f"{factor:.2g}"
    whole = round(1 / factor)
    return f"1/{whole}" if abs(factor * whole - 1) < WHOLE_SHARE and whole > 1 else f"{factor:.2g}"


def _name(thing: Sighting | SeamLine) -> str:
    side = "" if thing.side is None else f" ({thing.side.replace('_', ' ')})"
    return f"{thing.name.replace('_', ' ').capitalize()}{side}"
