"""Whether a garment covers one side of the trunk only, and which: a half tissue leaves what is worn beneath to be seen on the other.

A whole garment's cloth, learnt anywhere, is found on both sides of the trunk, whatever the light. A half tissue's is found on its own side
only, from the shoulder to the hip; what is worn beneath ends somewhere on the other: at a neckline, a bra's band or a waist.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fitcheck.core.camera import Photo
from fitcheck.core.pose_joints import HIPS, SHOULDERS
from fitcheck.core.records import SIDES, Pose, Side, View
from fitcheck.vision.cloth.find_cloth import SMALLEST_TRUNK_PX, Cloth, find_cloth

# Estimates, on drawn fittings, where no line says more.
ROWS, COLUMNS = 60, 13  # at which a side is looked at
DOWN = (0.06, 0.92)  # of the trunk, from the shoulders to the hips
ASIDE = (0.25, 0.70)  # from the trunk's axis, in half widths of the shoulders, at the hips of the hips
WIDER_HIPS = 1.5  # half the hips' width over half the distance of the hip joints (our bodies)
WHOLE = 0.85  # share of a side from which on it is covered
BARE = 0.55  # and below which it is not
LEAD = 0.08  # by how much more one cloth covers of its own side and less of the other than the other side's cloth, to be the tissue


@dataclass(frozen=True, slots=True)
class Covered:
    """What one front or back view shows of both sides, as shares of them.

    Attributes
    ----------
    own : dict of side to float
        Of each side, by the cloth that lies there.
    across : dict of side to float
        Of the other side, by that cloth.
    """

    own: dict[Side, float]
    across: dict[Side, float]


def image_side(side: Side, view: View) -> int:
    """-1 where her side lies at image left of a front or back view, 1 where it lies at image right."""
    return 1 if (side == "wearer_left") == (view == "front") else -1


def both_covered(cloth: Cloth, pose: Pose, view: View) -> bool:
    """Whether the cloth lies on both sides of the trunk, so that no half tissue can be in question."""
    return all(share > WHOLE for share in _shares(cloth, pose, view).values())


def covered(photo: Photo, pose: Pose) -> Covered:
    """Learn the cloth of each side of a front or back view, and see how much of both it covers."""
    shares = {side: _shares(find_cloth(photo.rgb, pose, image_side(side, photo.view)), pose, photo.view) for side in SIDES}
    return Covered({side: shares[side][side] for side in SIDES}, {side: shares[side][_other(side)] for side in SIDES})


def which_half(seen: Sequence[Covered]) -> tuple[Side | None, bool]:
    """The side that a half tissue is on by front and back view together, None for a whole garment; and whether that is plain."""
    if not seen:
        return None, False
    own = {side: float(np.mean([one.own[side] for one in seen])) for side in SIDES}
    across = {side: float(np.mean([one.across[side] for one in seen])) for side in SIDES}
    side = max(SIDES, key=lambda s: own[s] - across[s])
    if across[side] > WHOLE:
        return None, True
    lead = own[side] - across[side] - (own[_other(side)] - across[_other(side)])
    plain = across[side] < BARE and own[side] > WHOLE and lead > LEAD
    return (side, True) if plain else (None, False)


def likelier_half(seen: Sequence[Covered]) -> Side:
    """The side that a half tissue is likelier on, where it is known to be one."""
    return max(SIDES, key=lambda side: sum(one.own[side] - one.across[side] for one in seen))


def _other(side: Side) -> Side:
    return SIDES[1 - SIDES.index(side)]


def _shares(cloth: Cloth, pose: Pose, view: View) -> dict[Side, float]:
    """How much of each side of the trunk the cloth covers."""
    shoulders, hips = pose.points_px[[*SHOULDERS]], pose.points_px[[*HIPS]]
    trunk = max(float(hips[:, 1].mean() - shoulders[:, 1].mean()), SMALLEST_TRUNK_PX)
    down = np.linspace(*DOWN, ROWS)[:, None]
    y = shoulders[:, 1].mean() + down * trunk + np.zeros((1, COLUMNS))
    middle = (1 - down) * shoulders[:, 0].mean() + down * hips[:, 0].mean()
    half = (1 - down) * np.ptp(shoulders[:, 0]) / 2 + down * WIDER_HIPS * np.ptp(hips[:, 0]) / 2
    out: dict[Side, float] = {}
    for side in SIDES:
        x = middle + image_side(side, view) * half * np.linspace(*ASIDE, COLUMNS)
        column, row = (np.floor((at - first) / cloth.stride).astype(int) for at, first in zip((x, y), cloth.box_px[:2], strict=True))
        within = (row >= 0) & (row < cloth.mask.shape[0]) & (column >= 0) & (column < cloth.mask.shape[1])
        hit = np.zeros(x.shape, bool)
        hit[within] = cloth.mask[row[within], column[within]]
        out[side] = float(hit.mean())
    return out
