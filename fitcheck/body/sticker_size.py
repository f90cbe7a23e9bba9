"""The printed size of stickers: how near she stands, and a check on the scale card, for both are printed to a known size.

A card tells what a millimetre is where it hangs; how far before or behind it she stands shows in no outline and no point, as a larger body
further away looks the same. Stickers are of one size everywhere.
"""

from collections.abc import Mapping, Sequence

import numpy as np

from fitcheck.body.undistort import undistorted
from fitcheck.core.camera import Scale
from fitcheck.core.points import POINT_BORDER_MM, POINT_MARKER_MM
from fitcheck.core.records import Sighting, View
from fitcheck.core.solution import Solution

# Where paper lies without buckling, and at a known height above the skin.
FLAT_POINTS = ("front_neck_point", "back_neck_point", "waist_front", "waist_back", "waist_side", "hip_side")
# Its longer side, which bending leaves as it is; measured on our scenes: 0.997 to 1.006 of it.
SIDE_MM = POINT_MARKER_MM + 2 * POINT_BORDER_MM
FACING = 0.9  # shorter over longer side: a slanted one is bent or badly seen
# White grows in the picture, so black looks smaller: a sticker by 0.47 px where the card's corners lie 0.36 px inside their squares,
# measured on our rendered scenes. From photo to photo the one follows the other loosely: little is believed, the rest doubted.
SHRINKS_BY_INSET, USUAL_INSET_PX, BELIEVED = 1.32, 0.355, 0.3
SIDE_SD, SIDE_SD_PX = 0.006, 0.1  # of one sticker: how it is bent and stuck, how it is seen
COMMON_SD = 0.003  # of all of them: another light, another paper, bodies bend them otherwise; 0.2 % on our scenes
COMMON_UNTOLD_SD = 0.012  # where the growth of white was not measured; estimate
# Beside a card alone that is printed off size the stickers' own size is anybody's guess. With floor sheets they came from the same printer
# or, cut out earlier, from another: their own size tells which, where the two differ by more than it is known to. Estimates.
OTHER_PRINT, TOLD_APART, COMMON_PRINT_SD = 0.003, 0.015, 0.2
FEWEST = 4  # stickers that can say something of the card together
FEWEST_VIEWS = 2  # one photo alone knows its distance, and with it a sticker's size, only to a percent or two
DIFFERS = 0.02  # a card off by less makes no difference to an alteration; estimate
# The same where her height told is the scale: hair belongs to her figure, so all lengths are short of the truth (0.932 and 0.944 in the
# sample fittings); and from there, twice what hair, shoes and how she stands make of a height.
HEIGHT_RATIO, HEIGHT_DIFFERS = 0.94, 0.07


def side_px(s: Sighting, scale: Scale) -> float | None:
    """Length of a sticker's longer side in the picture, what white took of it given back; None where it cannot tell its size.

    Parameters
    ----------
    s : Sighting
    scale : Scale
        Of its photo.
    """
    if s.corners_px is None or s.kind != "centred" or s.grade != "marker" or s.flags or s.name not in FLAT_POINTS:
        return None
    corners = undistorted(scale.camera, s.corners_px)
    sides = np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)
    across, along = np.sort([(sides[0] + sides[2]) / 2, (sides[1] + sides[3]) / 2])
    if across < FACING * along:
        return None
    inset = USUAL_INSET_PX + BELIEVED * _unusual(scale)
    return float(along + SHRINKS_BY_INSET * inset * SIDE_MM / POINT_MARKER_MM)


def common_sd(scales: Sequence[Scale]) -> float:
    """How far, as a share, all stickers together may be off the size that they are taken to have beside this card (`printed_share`)."""
    off = max(abs(scale.print_share - 1) for scale in scales)
    if off <= OTHER_PRINT:
        return _seen_sd(scales)
    if not _on_floor(scales):
        return COMMON_PRINT_SD
    return float(np.hypot(_seen_sd(scales), off)) if off <= TOLD_APART else _seen_sd(scales)


def printed_share(ratio: float | None, scales: Sequence[Scale]) -> float | None:
    """The stickers' size over their drawing: with floor sheets theirs, if one printer printed all, else 1; None where it cannot be told.

    Parameters
    ----------
    ratio : float or None
        As `sticker_ratio` gives it.
    scales : sequence of Scale
    """
    told = float(np.median([scale.print_share for scale in scales]))
    off = abs(told - 1)
    if off <= OTHER_PRINT or not _on_floor(scales):
        return 1.0
    if off <= TOLD_APART:
        return told
    return None if ratio is None else min((1.0, told), key=lambda share: abs(ratio - share))


def _on_floor(scales: Sequence[Scale]) -> bool:
    return any(scale.floor is not None for scale in scales)


def _seen_sd(scales: Sequence[Scale]) -> float:
    usual = COMMON_UNTOLD_SD if any(scale.inset_px is None for scale in scales) else COMMON_SD
    doubted = [(1 - BELIEVED) * SHRINKS_BY_INSET * _unusual(scale) * scale.mm_per_px / POINT_MARKER_MM for scale in scales]
    return float(np.hypot(usual, np.mean(doubted)))


def _unusual(scale: Scale) -> float:
    return 0.0 if scale.inset_px is None else scale.inset_px - USUAL_INSET_PX


def sticker_ratio(body: Solution, seen: Sequence[Sighting], scales: Mapping[View, Scale]) -> float | None:
    """Measured over printed size, median over the stickers that face the camera; None where fewer than four do, or in one photo only.

    `body` must have been solved without the stickers' sizes.
    """
    ratios: dict[View, list[float]] = {}
    for s in seen:
        if (s.name, s.side) in body and s.view in body.views and (side := side_px(s, scales[s.view])) is not None:
            ratios.setdefault(s.view, []).append(side * body.views[s.view].mm_per_px(body.position(s.name, s.side)) / SIDE_MM)
    every = [ratio for of_view in ratios.values() for ratio in of_view]
    return float(np.median(every)) if len(every) >= FEWEST and len(ratios) >= FEWEST_VIEWS else None


def unlike_the_card(ratio: float | None, scales: Sequence[Scale]) -> float:
    """By how much (a share) stickers and card cannot both have been printed at full size; 0 where they can."""
    off = 0.0 if ratio is None else abs(ratio / (printed_share(ratio, scales) or 1.0) - 1)
    if ratio is not None and all(scale.source == "height" for scale in scales):
        return off if abs(ratio / HEIGHT_RATIO - 1) > HEIGHT_DIFFERS else 0.0
    return off if off > np.hypot(DIFFERS, 2 * _seen_sd(scales)) else 0.0
