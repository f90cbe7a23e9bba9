"""Whether a garment covers one side of the trunk only, and which: a half tissue leaves what is worn beneath to be seen on the other.

A whole garment's cloth, learnt anywhere, is found on both sides of the trunk, whatever the light. A half tissue's is found on its own side
only, and on it lines are drawn; without lines it is the side that is one from shoulder to hip, as what is worn beneath ends somewhere: at a
neckline, a bra's band or a waist.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from fitcheck.core.camera import Photo
from fitcheck.core.pose_joints import HIPS, SHOULDERS
from fitcheck.core.records import OTHER_SIDE, SIDES, Pose, Side, View
from fitcheck.vision.cloth.find_cloth import SMALLEST_TRUNK_PX, Cloth, find_cloth

# Estimates, on drawn fittings, where no line says more.
ROWS, COLUMNS = 60, 13  # at which a side is looked at
DOWN = (0.06, 0.92)  # of the trunk, from the shoulders to the hips
ASIDE = (0.25, 0.70)  # from the trunk's axis, in half widths of the shoulders, at the hips of the hips
WIDER_HIPS = 1.5  # half the hips' width over half the distance of the hip joints (our bodies)
WHOLE = 0.85  # share of a side from which on it is covered
BARE = 0.45  # and below which it is not
FEWEST_DRAWN_MM, MORE_DRAWN = (
    300.0,
    3.0,
)  # drawn on a tissue at least, and how many times as much as what passes for lines on the other side
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
    """Whether the cloth lies on both sides of the trunk, so that no half tissue can be in question; one known by its place tells none."""
    return not cloth.many_coloured and all(share > WHOLE for share in _shares(cloth, pose, view).values())


def covered(photo: Photo, pose: Pose) -> Covered:
    """Learn the cloth of each side of a front or back view, and see how much of both it covers."""
    shares = {side: _shares(find_cloth(photo.rgb, pose, image_side(side, photo.view)), pose, photo.view) for side in SIDES}
    return Covered({side: shares[side][side] for side in SIDES}, {side: shares[side][OTHER_SIDE[side]] for side in SIDES})


def one_sided(seen: Sequence[Covered]) -> bool:
    """Whether the cloth of one side at least is not that of the other, by front and back view together: then no whole garment is worn."""
    return bool(seen) and min(float(np.mean([one.across[side] for one in seen])) for side in SIDES) < BARE


def which_half(seen: Sequence[Covered], drawn_mm: Mapping[Side, float]) -> tuple[Side | None, bool]:
    """The side that a half tissue is on, and whether that is plain; None where front and back show nothing of it.

    Parameters
    ----------
    seen : sequence of Covered
        Of the front and back view.
    drawn_mm : mapping of side to float
        How much is drawn on the cloth of each side: seam lines are drawn on the tissue, not on what is worn beneath.
    """
    if not seen:
        return None, False
    lead = {side: sum(one.own[side] - one.across[side] for one in seen) / len(seen) for side in SIDES}
    drawn = max(SIDES, key=lambda side: drawn_mm[side])
    if drawn_mm[drawn] > FEWEST_DRAWN_MM and drawn_mm[drawn] > MORE_DRAWN * drawn_mm[OTHER_SIDE[drawn]]:
        return drawn, True
    covering = max(SIDES, key=lambda side: lead[side])
    return covering, lead[covering] - lead[OTHER_SIDE[covering]] > LEAD


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
