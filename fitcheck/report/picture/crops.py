"""Which part of a photo the report shows, and the parts themselves as JPEG data without any metadata."""

import base64
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fitcheck.core.check import PhotoResult
from fitcheck.core.records import Floats
from fitcheck.report.picture.gaps import Gap

_ASPECT = 3 / 4  # width : height of every crop, so that the photos of a page stand calmly side by side
_DETAIL_ASPECT = 4 / 3
_DETAIL_MM = 110.0  # least width of a detail: a gap of 10 mm is then some 30 screen pixels wide on a phone
_DETAIL_ROOM = 2.2  # or this many times what it shows
_DETAIL_SHARED = 1.4  # gaps share a detail when that makes it no more than this much wider
_JPEG_QUALITY = 82


@dataclass(frozen=True, slots=True)
class Box:
    """A part of a photo: pixel columns `left` up to but without `right`, rows `top` up to but without `bottom`."""

    left: int
    top: int
    right: int
    bottom: int

    @property
    def width(self) -> int:
        """Pixels across."""
        return self.right - self.left

    @property
    def height(self) -> int:
        """Pixels down."""
        return self.bottom - self.top

    def holds(self, xy_px: Floats, margin: float = 0.0) -> bool:
        """Whether a point lies inside, at least `margin` times the box's size from its edges."""
        x, y = (float(value) for value in xy_px)
        dx, dy = margin * self.width, margin * self.height
        return self.left + dx <= x < self.right - dx and self.top + dy <= y < self.bottom - dy


def main_box(result: PhotoResult, gaps: Sequence[Gap]) -> Box:
    """The part of a photo worth showing: head, arms and everything found, without the legs below it.

    Parameters
    ----------
    result : PhotoResult
    gaps : sequence of Gap
        As `gaps_in` gives them.

    Returns
    -------
    Box
        Three wide to four high where the photo allows; the whole photo where nothing was found.
    """
    height, width = result.photo.rgb.shape[:2]
    found = _found_points(result, gaps)
    body = np.empty((0, 2))
    if result.pose is not None and result.pose.mask.any():
        rows = np.flatnonzero(result.pose.mask.any(axis=1))
        lowest = int(found[:, 1].max()) + 1 if len(found) else int(rows[-1])
        columns = np.flatnonzero(result.pose.mask[rows[0] : max(lowest, rows[0] + 1)].any(axis=0))
        body = np.array([[columns[0], rows[0]], [columns[-1], min(lowest, rows[-1])]]) if len(columns) else body
    points = np.concatenate([found, body])
    if not len(points):
        return Box(0, 0, width, height)
    low, high = points.min(axis=0), points.max(axis=0)
    pad = 0.05 * float((high - low).max()) + 4
    return _fitted(low - pad, high + pad, _ASPECT, (width, height))


def detail_boxes(result: PhotoResult, gaps: Sequence[Gap], most: int) -> list[tuple[Box, list[Gap]]]:
    """Small parts of the photo around measured gaps; gaps close to each other share one.

    Parameters
    ----------
    result : PhotoResult
    gaps : sequence of Gap
        Those worth a detail, most important first.
    most : int
        No more details than this.

    Returns
    -------
    list of (Box, list of Gap)
    """
    height, width = result.photo.rgb.shape[:2]
    least = _DETAIL_MM / result.scale.mm_per_px if result.scale is not None else height / 16
    clusters: list[list[Gap]] = []
    for gap in gaps:
        home = next((held for held in clusters if _detail_width([*held, gap], least) <= _DETAIL_SHARED * _detail_width(held, least)), None)
        if home is not None:
            home.append(gap)
        elif len(clusters) < most:
            clusters.append([gap])
    details = []
    for held in clusters:
        ends = np.concatenate([gap.ends_px for gap in held])
        half = _detail_width(held, least) * np.array([0.5, 0.5 / _DETAIL_ASPECT])
        centre = (ends.min(axis=0) + ends.max(axis=0)) / 2
        details.append((_fitted(centre - half, centre + half, _DETAIL_ASPECT, (width, height)), held))
    return details


def _detail_width(gaps: Sequence[Gap], least: float) -> float:
    ends = np.concatenate([gap.ends_px for gap in gaps])
    across, down = ends.max(axis=0) - ends.min(axis=0)
    return max(least, _DETAIL_ROOM * float(across), _DETAIL_ROOM * float(down) * _DETAIL_ASPECT)


def jpeg_data(rgb: NDArray[np.uint8], box: Box, height_px: int) -> str:
    """A part of a photo as a `data:` URI. The pixels are encoded anew, so nothing of the file's metadata comes along.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (H, W, 3)
    box : Box
    height_px : int
        Height of the result.
    """
    import cv2  # here, since pages that only need a `Box` start faster without

    part = rgb[box.top : box.bottom, box.left : box.right]
    size = (max(1, round(box.width * height_px / box.height)), height_px)
    if size != (box.width, box.height):
        # the cubic alone would leave out pixels of a part much larger than its picture
        way = cv2.INTER_AREA if box.height > 1.5 * height_px else cv2.INTER_CUBIC
        part = np.asarray(cv2.resize(part, size, interpolation=way), np.uint8)
    _, encoded = cv2.imencode(".jpg", cv2.cvtColor(part, cv2.COLOR_RGB2BGR), [cv2.IMWRITE_JPEG_QUALITY, _JPEG_QUALITY])
    return "data:image/jpeg;base64," + base64.b64encode(encoded.tobytes()).decode("ascii")


def _found_points(result: PhotoResult, gaps: Sequence[Gap]) -> Floats:
    # Points that were only estimated (an ankle, say) do not widen the crop.
    points = [seam.points_px for seam in result.seams] + [gap.ends_px for gap in gaps]
    points += [np.atleast_2d(s.xy_px) for s in result.sightings if s.grade != "detected"]
    height, width = result.photo.rgb.shape[:2]
    # A point solved from other photos may lie outside this one.
    inside: Floats = np.clip(np.concatenate([np.empty((0, 2)), *points]), 0, [width - 1, height - 1])
    return inside


def _fitted(low: Floats, high: Floats, aspect: float, size: tuple[int, int]) -> Box:
    """The smallest box of this aspect around low-high, moved into the picture, and cut only where it is larger than the picture."""
    wanted = high - low
    wanted = np.array([max(wanted[0], wanted[1] * aspect), max(wanted[1], wanted[0] / aspect)])
    wanted = np.minimum(np.ceil(wanted), size)
    start = np.clip(np.round((low + high - wanted) / 2), 0, np.array(size) - wanted)
    left, top = (int(value) for value in start)
    return Box(left, top, left + int(wanted[0]), top + int(wanted[1]))
