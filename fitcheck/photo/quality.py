"""Doubts about a photo as such: blur, light, cropping, who is in it. All limits are estimates of ours, tried on degraded scenes."""

import math

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.camera import Photo
from fitcheck.core.pose_joints import ANKLES, EARS, EYES, HIPS, NOSE, SHOULDERS, ankles_seen
from fitcheck.core.records import Pose

_WORK_LONG_SIDE_PX = 2000  # with a whole person in the picture one pixel is then about a millimetre on her
BLUR_LIMIT = 1.9  # standard deviation of the blur at that size: a 3 mm pen line has then lost half of its contrast
DARK_BELOW, DARK_SHARE = 70, 0.9  # of 255; of the picture, all but the brightest tenth
BURNT_FROM = 253  # of 255
BURNT_SHARE, BURNT_SHARE_OF_PERSON = 0.25, 0.08  # of the picture, where a window may be in it; of her

_REBLUR_SD_PX = 1.5  # of the blur that is added to compare with
_STRONGEST_EDGES = 0.01  # share of the pixels that are judged by
_WEAKEST_EDGE = 8.0  # grey levels a pixel
_LEAST_EDGES = 0.0005  # share of the pixels that must show strong edges
_MOST_HALVINGS, _SMALLEST_PX = 4, 64  # of the picture, as long as its short side is no less
_SHARPER_QUARTER = 75  # percentile of the ratios
_LEAST_SHARPER = 1e-3  # squared ratio less 1: so little that the edge is as soft as can be told
_TOP_ROWS = 2  # of the picture: a person there has no crown in it
_STEEP, _FLAT = 5, 12  # 5 : 12, so that an edge lies within 22.5 degrees of the axis
_SLOPE_UNIT = 0.125  # of Sobel's 3 x 3 mask
_SAMPLE = 7  # every seventh pixel tells which edges are the strongest

# Feet may be cut, but not the ankles: nothing is measured below.
_MUST_BE_IN = (NOSE, *EYES, *EARS, *SHOULDERS, *HIPS, *ANKLES)


def photo_flags(photo: Photo, pose: Pose | None) -> tuple[str, ...]:
    """Doubts about one photo: the flags of `photo_doubts`."""
    return photo_doubts(photo, pose)[0]


def photo_doubts(photo: Photo, pose: Pose | None) -> tuple[tuple[str, ...], float]:
    """Doubts about one photo.

    Parameters
    ----------
    photo : Photo
    pose : Pose or None
        None when nobody was found; the middle of the picture is looked at then.

    Returns
    -------
    flags : tuple of str
        Of blurred, dark, overexposed, cropped, no_person, several_people.
    blur_px : float
        Standard deviation of the blur in pixels of the photo where it is blurred, else 0.
    """
    grey = photo.grey
    mask = _person(photo, pose)
    flags, blur = [], blur_px(grey, _box(mask))
    if blur > BLUR_LIMIT:
        flags.append("blurred")
    thinned = grey[::4, ::4]
    if (thinned < DARK_BELOW).mean() > DARK_SHARE:
        flags.append("dark")
    burnt = thinned >= BURNT_FROM
    if burnt.mean() > BURNT_SHARE or burnt[mask[::4, ::4]].mean() > BURNT_SHARE_OF_PERSON:
        flags.append("overexposed")
    if pose is None:
        flags.append("no_person")
    else:
        if _cropped(pose):
            flags.append("cropped")
        if pose.people > 1:
            flags.append("several_people")
    return tuple(flags), blur * max(1.0, max(grey.shape) / _WORK_LONG_SIDE_PX) if "blurred" in flags else 0.0


def blur_px(grey: NDArray[np.uint8], box: tuple[int, int, int, int]) -> float:
    """Standard deviation of the blur, in pixels of a picture 2000 px on its long side, in the worse of two directions.

    Blurring once more weakens a sharp edge's slope much and a soft edge's little; the ratio gives the edge's own width (Zhuo and Sim,
    Pattern Recognition 44, 2011). The strongest edges are taken, of them the sharper quarter; edges across and along the picture apart,
    for a shaken camera leaves the edges along its motion sharp.

    Parameters
    ----------
    grey : ndarray of uint8, shape (H, W)
    box : (x0, y0, x1, y1)
        Part of the picture to look at.

    Returns
    -------
    float
        0 where there are too few edges to judge by.
    """
    x0, y0, x1, y1 = box
    factor = min(1.0, _WORK_LONG_SIDE_PX / max(grey.shape))
    part = grey[y0:y1, x0:x1]
    if factor < 1:
        part = cv2.resize(part, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA).astype(np.uint8, copy=False)
    found: dict[str, float] = {}
    for halved in range(_MOST_HALVINGS + 1):  # edges too soft to stand out are looked at from further away
        for direction, sd in _edge_sd(part).items():
            found.setdefault(direction, sd * 2.0**halved)
        if len(found) == 2 or min(part.shape) < _SMALLEST_PX:
            break
        part = cv2.pyrDown(part).astype(np.uint8, copy=False)
    return max(found.values(), default=0.0)


def _edge_sd(part: NDArray[np.uint8]) -> dict[str, float]:
    """Blur of the edges across and down the picture, each only where there are enough strong ones; whole numbers throughout, for speed."""
    soft = cv2.GaussianBlur(part, (0, 0), _REBLUR_SD_PX).astype(np.uint8, copy=False)
    slopes = {"across": _slope(part, 1, 0), "down": _slope(part, 0, 1)}
    found, weakest = {}, round(_WEAKEST_EDGE / _SLOPE_UNIT)
    for direction, main, side in (("across", slopes["across"], slopes["down"]), ("down", slopes["down"], slopes["across"])):
        some, beside = main.ravel()[::_SAMPLE], side.ravel()[::_SAMPLE]
        strong, wanted = some[(some >= weakest) & (_STEEP * some > _FLAT * beside)], round(_STRONGEST_EDGES * len(some))
        least = int(np.partition(strong, -wanted)[-wanted]) if 0 < wanted < len(strong) else weakest
        edge = np.flatnonzero(main >= least)
        edge = edge[_STEEP * main.ravel()[edge] > _FLAT * side.ravel()[edge]]
        if len(edge) >= _LEAST_EDGES * main.size:
            softened = _slope(soft, int(direction == "across"), int(direction == "down")).ravel()[edge]
            ratio = float(np.percentile(main.ravel()[edge] / np.maximum(softened, 1), _SHARPER_QUARTER))
            found[direction] = _REBLUR_SD_PX / math.sqrt(max(ratio**2 - 1, _LEAST_SHARPER))
    return found


def _slope(grey: NDArray[np.uint8], dx: int, dy: int) -> NDArray[np.int16]:
    """Grey levels per _SLOPE_UNIT pixels, without sign."""
    slope = np.asarray(cv2.Sobel(grey, cv2.CV_16S, dx, dy), np.int16)
    return np.abs(slope, out=slope)


def _person(photo: Photo, pose: Pose | None) -> NDArray[np.bool_]:
    height, width = photo.rgb.shape[:2]
    if pose is not None and pose.mask.any():
        return pose.mask
    middle = np.zeros((height, width), np.bool_)
    middle[height // 8 : -height // 8, width // 4 : -width // 4] = True
    return middle


def _box(mask: NDArray[np.bool_]) -> tuple[int, int, int, int]:
    left, top, wide, high = cv2.boundingRect(mask.view(np.uint8))
    return left, top, left + wide, top + high


def _cropped(pose: Pose) -> bool:
    height, width = pose.mask.shape
    points = pose.points_px[list(_MUST_BE_IN)]
    outside = (points < 0).any() or (points > [width - 1, height - 1]).any()
    return bool(outside or not ankles_seen(pose) or pose.mask[:_TOP_ROWS].any())  # the crown has no point of its own
