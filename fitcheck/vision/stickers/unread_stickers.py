"""Read the square stickers that ArUco proposes but cannot decode: by their pattern, by where they lie, and by elimination."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fitcheck.core.points import MARKED_POINTS
from fitcheck.core.records import Floats, Side, View
from fitcheck.vision.stickers.pattern_fit import OUTLINE_ONLY, StickerFit, fit_sticker, matches, turned

NUMBERS = tuple(MARKED_POINTS)
# Correlation of pattern and pixels after the fit. Flat stickers of our scenes reach 0.88 even at 70 degrees from square on, bent ones 0.80.
READ_MATCH = 0.80
READ_LEAD = 0.05  # over every other id; with it none of 80 rendered fittings has a wrong one
UNREAD_MATCH, UNREAD_SHARE = (
    0.62,
    0.5,
)  # of a sticker known by its place alone, and of the others' contrast; fitted to 140 rendered fittings
LEAD_TO_STOP = 1.5  # of READ_LEAD: a lead with which no further id is tried, or a match worse by which is of no use
SURE_MATCH = 0.97  # no need to look further
TURN_LEAD = 0.20  # a quarter turn that matches so much worse is not tried
OUTLINE_MATCH = 0.74  # of the black frame alone, before ids are tried: bent ones reach no more; fitted to 80 rendered fittings
TRIES, MOST_TRIES = 4, 20  # ids and turns: the more, the less any of the first resembles what is there
MIN_FACING = 0.25  # flatter, a cell is a pixel high and patterns cannot be told apart
# Where a sticker that does not decode may be: share of the way from the middle of her shoulders to that of her hips, as the pose model
# sees them. On 70 rendered fittings points lie within 0.06 of these; the rest is for other postures, and for pointers, which lie beside.
USUAL_HEIGHT = {
    "side_neck_point": -0.16,
    "back_neck_point": -0.14,
    "shoulder_point": -0.07,
    "front_neck_point": -0.02,
    "shoulder_blade": 0.15,
    "underarm_point": 0.21,
    "bust_point": 0.30,
    "garment_bust_mark": 0.30,
    "waist_side": 0.70,
    "waist_front": 0.70,
    "waist_back": 0.70,
    "hip_side": 1.02,
    "seat": 1.02,
}
HEIGHT_REACH = 0.35  # to either side of those
APART_MM = 8.0  # nearer, two finds are one sticker
MIN_CONTRAST, LEAST_SHARE = 40, 0.2  # grey levels; of what the stickers already found have
Found = dict[int, tuple[StickerFit, bool]]  # by id; whether ArUco decoded it


@dataclass(frozen=True, slots=True)
class Canvas:
    """The grey picture in which stickers are fitted: the photo, or a reduced copy of a large one."""

    gray: NDArray[np.uint8]
    scale: float
    px_per_mm: float

    def of(self, points_px: Floats) -> Floats:
        """Where points of the photo lie in it."""
        return (points_px + 0.5) * self.scale - 0.5


@dataclass(frozen=True, slots=True)
class Where:
    """What this photo can show where: its view, and the middles of her shoulders and hips on the canvas, (2,) each."""

    view: View
    shoulders: Floats
    hips: Floats

    def may_show(self, number: int, centre: Floats) -> bool:
        """Whether the camera can see this point's sticker at all, and there."""
        point, down = MARKED_POINTS[number], self.hips - self.shoulders
        if self.view in ("left", "right") and point.side is not None and point.side != f"wearer_{self.view}":
            return False
        height = (centre - self.shoulders) @ down / (down @ down)
        return bool(abs(height - USUAL_HEIGHT[point.name]) < HEIGHT_REACH)


def keep_if_better(found: Found, fit: StickerFit, decoded: bool, least: float) -> None:
    """Take a fit up if it is good and the best for its id.

    Parameters
    ----------
    found : Found
        Changed in place.
    fit : StickerFit
    decoded : bool
        Whether ArUco read the id.
    least : float
        Match that it must reach.
    """
    good = fit.match >= least and fit.contrast >= MIN_CONTRAST
    if good and (fit.number not in found or fit.match > found[fit.number][0].match):
        found[fit.number] = (fit, decoded or (fit.number in found and found[fit.number][1]))


def _taken(canvas: Canvas, start: Floats, found: Found) -> bool:
    """Whether a sticker already found lies there."""
    return any(float(np.linalg.norm(fit.centre_px - start[:, 0])) < APART_MM * canvas.px_per_mm for fit, _ in found.values())


def read_pattern(canvas: Canvas, start: Floats, found: Found, where: Where) -> None:
    """Try ids and quarter turns on a square that did not decode: first align its frame, then compare what is inside.

    Parameters
    ----------
    canvas : Canvas
    start : ndarray, shape (2, 6)
        Shape to begin with, see `StickerFit`.
    found : Found
        The stickers known so far; the one read is added.
    where : Where
    """
    if _taken(canvas, start, found):
        return
    frame = fit_sticker(canvas.gray, OUTLINE_ONLY, start, least=OUTLINE_MATCH)
    if frame.match < OUTLINE_MATCH or frame.contrast < MIN_CONTRAST or frame.facing < MIN_FACING:
        return
    if frame.contrast < LEAST_SHARE * np.median([fit.contrast for fit, _ in found.values()] or [0.0]):
        return  # all stickers come from one printer and hang in one light
    possible = np.array([number not in found and where.may_show(number, frame.centre_px) for number in NUMBERS])
    alike = matches(canvas.gray, frame.shape, NUMBERS)
    alike[~possible] = -1.0
    fits: dict[int, StickerFit] = {}
    best, runner_up = frame, 0.0
    for tried, flat in enumerate(np.argsort(alike, axis=None)[::-1][:MOST_TRIES]):
        clear = best.match >= READ_MATCH and best.match - runner_up >= LEAD_TO_STOP * READ_LEAD
        if fits and (best.match > SURE_MATCH or (tried >= TRIES and clear)):
            break
        row, quarters = divmod(int(flat), 4)
        least = max(READ_MATCH, best.match - LEAD_TO_STOP * READ_LEAD) if fits else READ_MATCH
        fit = fit_sticker(canvas.gray, NUMBERS[row], turned(frame.shape, quarters), least=least)
        if fit.number not in fits or fit.match > fits[fit.number].match:
            fits[fit.number] = fit
        best = max(fits.values(), key=lambda one: one.match)
        runner_up = max((one.match for one in fits.values() if one.number != best.number), default=0.0)
    if best.match < READ_MATCH:
        return
    there, own = matches(canvas.gray, best.shape, NUMBERS), NUMBERS.index(best.number)
    # some patterns nearly look the same upside down, and a pointer must not point the wrong way
    rivals = [turned(best.shape, k) for k in (1, 2, 3) if there[own, k] > there[own, 0] - TURN_LEAD]
    best = max([best, *(fit_sticker(canvas.gray, best.number, shape, least=best.match) for shape in rivals)], key=lambda one: one.match)
    # ids that cannot be here still have a vote: what looks as much like one of those is nobody's sticker
    there = there.max(axis=1)
    lead = min(there[own] - np.delete(there, own).max(), best.match - runner_up)
    if lead >= READ_LEAD:
        keep_if_better(found, best, False, READ_MATCH)


def shoulder_by_elimination(canvas: Canvas, starts: list[Floats], found: Found, side: Side, contrast: float) -> None:
    """Take a frame near the shoulder that could not be read for its sticker, where the neck's is read and the shoulder's is missing.

    Parameters
    ----------
    canvas : Canvas
    starts : list of ndarray, shape (2, 6)
        Shapes to begin with, all near shoulder and neck.
    found : Found
        The stickers read; the shoulder's is added.
    side : Side
        That faces the camera.
    contrast : float
        Of the stickers read, in grey levels.
    """
    number = {(point.name, point.side, point.kind): number for number, point in MARKED_POINTS.items()}
    neck, shoulder = number["side_neck_point", side, "centred"], number["shoulder_point", side, "centred"]
    if neck not in found or shoulder in found or any(MARKED_POINTS[n].kind == "pointer" for n in found):
        return
    for start in [one for one in starts if not _taken(canvas, one, found)]:
        frame = fit_sticker(canvas.gray, OUTLINE_ONLY, start, least=UNREAD_MATCH)
        if frame.match < UNREAD_MATCH or frame.contrast < UNREAD_SHARE * contrast:
            continue
        fits = [fit_sticker(canvas.gray, shoulder, turned(frame.shape, k), least=UNREAD_MATCH) for k in range(4)]
        keep_if_better(found, max(fits, key=lambda one: one.match), False, UNREAD_MATCH)
