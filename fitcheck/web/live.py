"""A small picture out of the computer's camera: what is to be done before this view can be taken, as one instruction at a time."""

from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import numpy as np

from fitcheck.body.agreement import looks_like
from fitcheck.core.camera import Photo
from fitcheck.core.errors import PhotoError
from fitcheck.core.pose_joints import HIPS, NOSE, SHOULDERS, WRISTS
from fitcheck.core.records import Pose, View
from fitcheck.film.which_view import SQUARE
from fitcheck.photo.quality import photo_flags
from fitcheck.vision.person.pose import find_people
from fitcheck.vision.stickers.find_stickers import find_point_markers
from fitcheck.web.first_look import has_scale, is_askew

MOST_PX = 1600  # of a side: the page sends smaller ones
CLOSE_ENOUGH = 0.5  # of the picture's height that she takes up, from nose to heels; four fifths in our photos, less loses lines
ARMS_AWAY = 0.25  # of the trunk's length, from hip joint to wrist across; 0.38 to 0.49 in our photos, hanging arms about 0.2 (estimate)
WATCHED = (NOSE, *SHOULDERS, *HIPS)  # points by which it is told whether she stands still


@dataclass(frozen=True, slots=True)
class Glance:
    """What a picture out of the camera shows.

    Attributes
    ----------
    wants : str
        What she is asked to do, by its name in `spoken.toml`; "" when all is well.
    where : tuple of (float, float)
        Nose, shoulders and hips as shares of the picture's height; none where nobody is seen.
    """

    wants: str
    where: tuple[tuple[float, float], ...]


def glance(data: bytes, view: View, turned: bool = False) -> Glance:
    """Look at one picture.

    Parameters
    ----------
    data : bytes
        JPEG.
    view : View
        That is to be taken next.
    turned : bool
        She has turned since the opposite view was taken, and stands still: front and back are then not told apart by what is seen, as the
        back of a head may be taken for a face and a sticker may hang over an edge.

    Raises
    ------
    PhotoError
        It is no picture, or a large one.
    """
    bgr = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR) if data else None
    if bgr is None or max(bgr.shape) > MOST_PX:
        raise PhotoError("The camera's picture cannot be read.", "Load the page again.")
    photo = Photo(view, "", "", np.asarray(cv2.cvtColor(bgr, cv2.COLOR_BGR2RGB), np.uint8), None, "")
    pose = find_people(photo)
    where = () if pose is None else tuple((float(x), float(y)) for x, y in pose.points_px[list(WATCHED)] / bgr.shape[0])
    return Glance(next(_wants(photo, pose, turned), ""), where)


def _wants(photo: Photo, pose: Pose | None, turned: bool) -> Iterator[str]:
    """What is wrong, the first thing to put right first."""
    flags = photo_flags(photo, pose)
    if "dark" in flags:
        yield "more_light"
    if pose is None:
        yield "nobody"
        return
    if pose.people > 1:
        yield "two_people"
    if "cropped" in flags:
        yield "step_back"
    if float(np.ptp(pose.points_px[:, 1])) < CLOSE_ENOUGH * photo.rgb.shape[0]:
        yield "come_closer"
    if "overexposed" in flags:
        yield "less_light"
    if not has_scale(photo.grey, photo.rgb):
        if "blurred" in flags:
            yield "sharp"
        yield "show_card"
    seems = _seems(photo, pose)
    if turned and seems in SQUARE and photo.view in SQUARE:
        seems = photo.view
    if seems not in (photo.view, None):
        yield f"turn_{photo.view}"
    if is_askew(pose, seems):
        yield "square"
    if photo.view in SQUARE and not _arms_away(pose):
        yield "arms"
    if "blurred" in flags:  # asked for last, as turning blurs too
        yield "sharp"


def _seems(photo: Photo, pose: Pose) -> View | None:
    """The view that she shows.

    Stickers take as long to find as everything else together. So they are asked only where the pose says front for back or back for front,
    which it may mistake; what is taken in the end is looked at with all of them.
    """
    seems = looks_like(pose, ())
    if seems != photo.view and seems in SQUARE and photo.view in SQUARE:
        return looks_like(pose, find_point_markers(photo, pose=pose))
    return seems


def _arms_away(pose: Pose) -> bool:
    points = pose.points_px
    trunk = float(np.linalg.norm((points[list(SHOULDERS)] - points[list(HIPS)]).mean(axis=0)))
    return bool((np.abs(points[list(WRISTS), 0] - points[list(HIPS), 0]) > ARMS_AWAY * trunk).all())
