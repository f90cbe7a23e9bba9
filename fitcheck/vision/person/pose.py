"""Find the wearer in a photo: 33 body points and her outline, by the pose networks of MediaPipe (BlazePose).

Runs offline: mediapipe 0.10.33 opens no network socket (a test traces it).
"""

from functools import cache

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.camera import Photo
from fitcheck.core.records import Floats, Pose
from fitcheck.core.weights import weights
from fitcheck.vision.person.pose_package import BaseOptions, Image, ImageFormat, PoseLandmarker, PoseLandmarkerOptions

LONG_SIDE_PX = 1000  # twice as fast as 2000; landmarks move by about 1 px of the full photo (measured, see the model's card)
MASK_ROWS = 4  # mediapipe ends the whole process on a mask whose rows (4 bytes a pixel) are no multiple of 16 bytes
NARROW_FACE = 0.29  # ear to ear over shoulder to shoulder; 0.30 to 0.42 in our front photos
MM_PER_M = 1000.0  # the networks tell bodies in metres
HALF_GREY = 127  # a mask of 8 bits is the person where it is likelier than not
MIRRORED = [0, 4, 5, 6, 1, 2, 3, 8, 7, 10, 9, *(i + 1 if i % 2 else i - 1 for i in range(11, 33))]  # left for right
SAME_PERSON_OVERLAP = 0.5  # two finds whose boxes overlap by more than this (of the smaller) are one person


def find_people(photo: Photo) -> Pose | None:
    """The wearer: the largest person in the photo.

    Parameters
    ----------
    photo : Photo

    Returns
    -------
    Pose or None
        None when nobody is in the picture; flag `several_people` when more than one is.

    Raises
    ------
    ModelError
        The weights are missing or damaged.
    """
    height, width = photo.rgb.shape[:2]
    small, side_px = _padded_square(photo.rgb)
    found = _landmarker().detect(Image(image_format=ImageFormat.SRGB, data=small))
    if not found.pose_landmarks:
        return None
    # the networks see corner-based coordinates over the padded square; ours count from the first pixel's centre
    everyone = [np.array([(p.x, p.y) for p in person]) * side_px - 0.5 for person in found.pose_landmarks]
    sizes = [float(np.prod(np.ptp(points, axis=0))) for points in everyone]
    best = int(np.argmax(sizes))
    people = 1 + sum(_overlap(points, everyone[best]) < SAME_PERSON_OVERLAP for i, points in enumerate(everyone) if i != best)
    points_mm = np.array([(p.x, p.y, p.z) for p in found.pose_world_landmarks[best]]) * MM_PER_M
    visibility = np.array([p.visibility for p in found.pose_landmarks[best]])
    order: list[int] | slice = slice(None)
    if photo.view == "back" and _face_from_behind(everyone[best]):
        order, points_mm = MIRRORED, points_mm * [1.0, 1.0, -1.0]
    return Pose(
        points_px=everyone[best][order],
        points_mm=points_mm[order],
        visibility=visibility[order],
        mask=_mask(found.segmentation_masks[best].numpy_view(), side_px, height, width),
        people=people,
        flags=("several_people",) if people > 1 else (),
    )


def get_ready() -> None:
    """Load the model, half a second's work, before the first photo needs it; to be over before `find_people` is called."""
    _landmarker()


def _face_from_behind(points: Floats) -> bool:
    """Whether the model took the back of the head for a face (as happens where hair and skin are alike): then it is too narrow."""
    ears, shoulders = points[7, 0] - points[8, 0], points[11, 0] - points[12, 0]
    return bool(shoulders > 0 and abs(ears) < NARROW_FACE * shoulders)


def px_per_mm(pose: Pose) -> float:
    """Scale at the person, from the spread of the body points in the picture and in the pose model's own 3D guess.

    Good to about 5 % (against the scale card in our scenes): for choosing windows and reaches, not for measuring.
    """
    picture = pose.points_px - pose.points_px.mean(axis=0)
    body = pose.points_mm[:, :2] - pose.points_mm[:, :2].mean(axis=0)
    return float(np.sqrt((picture**2).sum() / max(float((body**2).sum()), 1e-9)))


def _padded_square(rgb: NDArray[np.uint8]) -> tuple[NDArray[np.uint8], float]:
    """The photo reduced, at the top left of a square (other shapes shift the landmarks); and the square's side in photo pixels."""
    height, width = rgb.shape[:2]
    reduction = max(1.0, max(height, width) / LONG_SIDE_PX)
    size = (max(1, round(width / reduction)), max(1, round(height / reduction)))
    small = cv2.resize(rgb, size, interpolation=cv2.INTER_AREA)
    side = -(-max(size) // MASK_ROWS) * MASK_ROWS
    square = np.zeros((side, side, 3), np.uint8)
    square[: size[1], : size[0]] = small
    return square, max(height, width) * side / max(size)


def _mask(probability: NDArray[np.float32], side_px: float, height: int, width: int) -> NDArray[np.bool_]:
    """Person mask at the photo's size."""
    scale = probability.shape[0] / side_px
    part = probability[: max(1, round(height * scale)), : max(1, round(width * scale))].reshape(-1, max(1, round(width * scale)))
    levels = np.round(np.clip(part, 0, 1) * 255).astype(np.uint8)
    return np.asarray(cv2.resize(levels, (width, height), interpolation=cv2.INTER_LINEAR) > HALF_GREY)


def _overlap(a: Floats, b: Floats) -> float:
    """Shared area of two point sets' bounding boxes over the smaller box."""
    shared = np.minimum(a.max(0), b.max(0)) - np.maximum(a.min(0), b.min(0))
    smaller = min(float(np.prod(np.ptp(a, axis=0))), float(np.prod(np.ptp(b, axis=0))))
    return float(np.prod(np.clip(shared, 0, None))) / max(smaller, 1e-9)


@cache
def _landmarker() -> PoseLandmarker:
    options = PoseLandmarkerOptions(
        base_options=BaseOptions(model_asset_path=str(weights("pose_landmarker"))),
        num_poses=2,  # the second costs nothing unless somebody is there
        output_segmentation_masks=True,
    )
    return PoseLandmarker.create_from_options(options)
