"""What a measurement looks like in its photo: the two ends of the arrow that shows it.

A measurement knows a body point and the garment point compared with it, but only one direction of their distance is what was
measured: "behind" runs across the plumb line, "above" along it. The arrow shows that direction alone, as on a technical drawing.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from fitcheck.core.camera import Scale
from fitcheck.core.check import PhotoResult
from fitcheck.core.records import Floats, Measurement
from fitcheck.report.words.sentences import direction_of

# An arrow must be as long as the amount beside it says: perspective and a turned stance may change it by so much, not by more.
_SLACK_MM, _SLACK_SHARE = 8.0, 0.3


@dataclass(frozen=True, slots=True)
class Gap:
    """A measured gap as drawn in one photo.

    Attributes
    ----------
    item : Measurement
    ends_px : ndarray, shape (2, 2)
        From the body's side to the garment's.
    body_px : ndarray, shape (2,)
        The body point itself; a thin line joins it to the arrow where they are apart.
    """

    item: Measurement
    ends_px: Floats
    body_px: Floats

    @property
    def middle_px(self) -> Floats:
        """Half way along, shape (2,)."""
        middle: Floats = self.ends_px.mean(axis=0)
        return middle


def upright_at(scale: Scale | None, xy_px: Floats) -> Floats | None:
    """The direction of plumb, downwards, at a point of the photo.

    All uprights of the world meet in one vanishing point, K R (0, 1, 0) (Hartley & Zisserman 2004, 8.6).

    Parameters
    ----------
    scale : Scale or None
    xy_px : ndarray, shape (2,)

    Returns
    -------
    ndarray, shape (2,), of length 1, or None
        None where no upright is known, or the camera looked straight up or down.
    """
    if scale is None:
        return None
    x, y, w = scale.camera.matrix @ scale.camera.rotation @ np.array([0.0, 1.0, 0.0])
    way = np.array([x, y]) - np.asarray(xy_px, dtype=float) * w
    if abs(way[1]) <= abs(way[0]):
        return None
    down: Floats = way / np.hypot(*way) * np.sign(way[1])
    return down


def gaps_in(result: PhotoResult, measurements: Iterable[Measurement]) -> list[Gap]:
    """The measurements that can be shown in this photo, in their order.

    Left out: angles, measurements of another view, and those whose points do not show the amount (it would stand beside an arrow of
    another length).
    """
    found = []
    for item in measurements:
        if item.view != result.photo.view or item.unit != "mm" or item.from_px is None or item.to_px is None:
            continue
        body, garment = np.asarray(item.from_px, dtype=float), np.asarray(item.to_px, dtype=float)
        down = upright_at(result.scale, body)
        foot = _foot(body, garment, direction_of(item), np.array([0.0, 1.0]) if down is None else down)
        gap = Gap(item, np.array([foot, garment]), body)
        if result.scale is None or _shows_amount(gap, result.scale.mm_per_px):
            found.append(gap)
    return found


def _foot(body: Floats, garment: Floats, direction: str, down: Floats) -> Floats:
    """Where the arrow that ends at the garment point begins."""
    apart = body - garment
    along: Floats = down * (apart @ down)
    if direction == "across":
        return garment + apart - along
    return garment + along if direction == "along" else body


def _shows_amount(gap: Gap, mm_per_px: float) -> bool:
    drawn_mm = float(np.hypot(*(gap.ends_px[1] - gap.ends_px[0]))) * mm_per_px
    amount_mm = abs(gap.item.value)
    return abs(drawn_mm - amount_mm) <= _SLACK_MM + _SLACK_SHARE * amount_mm
