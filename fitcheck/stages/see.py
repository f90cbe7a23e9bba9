"""First stage: what every photo shows by itself, before anything is known of its scale."""

from collections.abc import Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor

from fitcheck.core.camera import Photo
from fitcheck.core.pose_joints import ankles_seen
from fitcheck.core.records import Pose
from fitcheck.core.seen import SeenPhoto
from fitcheck.photo.quality import photo_doubts
from fitcheck.vision.person.soles import find_soles
from fitcheck.vision.stickers.find_stickers import find_point_markers

THREADS = 2  # OpenCV and numpy leave Python's lock for most of the work on a photo


def see_photos(photos: Sequence[Photo], people: Iterable[Pose | None]) -> tuple[SeenPhoto, ...]:
    """See every photo: the stickers on the wearer, her soles, and what there is to doubt about the picture.

    Parameters
    ----------
    photos : sequence of Photo
    people : iterable of Pose or None
        Who was found in each. Where she is only looked for when asked for, one photo is seen while she is looked for in the next.

    Returns
    -------
    tuple of SeenPhoto
        In their order.
    """
    with ThreadPoolExecutor(THREADS) as pool:
        return tuple(pool.map(see_photo, photos, people))


def see_photo(photo: Photo, pose: Pose | None) -> SeenPhoto:
    """What one photo shows of the person that was found in it."""
    flags, blur_px = photo_doubts(photo, pose)
    if pose is None:
        return SeenPhoto(photo, None, flags)
    stickers = find_point_markers(photo, pose=pose)
    soles = find_soles(photo.rgb, pose, photo.view) if ankles_seen(pose) else ()
    return SeenPhoto(photo, pose, flags, stickers, soles=soles, blur_px=blur_px)
