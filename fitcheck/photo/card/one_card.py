"""A second scale card in the picture: hung in a mirror, lying about, on a poster. Which one stands beside her is told by the stand."""

from dataclasses import replace

import cv2
import numpy as np

from fitcheck.core.camera import Photo, Scale
from fitcheck.core.points import card_corners_mm

FLAG = "two_cards"
AROUND_MM = 15.0  # of the squares, that are painted over with them
GREY = 128  # level that they are painted with: neither a black square nor white paper
ALIKE = 0.01  # of a scale, within which it makes no difference which of two cards is used: what a card is good for without a stand


def painted_over(photo: Photo, scale: Scale) -> Photo:
    """A copy of the photo without the squares of the card that gave this scale."""
    corners = card_corners_mm()[..., :2].reshape(-1, 2) * scale.print_share
    (left, low), (right, top) = corners.min(0) - AROUND_MM, corners.max(0) + AROUND_MM
    rim = np.array([[left, top, 0.0], [right, top, 0.0], [right, low, 0.0], [left, low, 0.0]])
    camera = scale.camera
    outline, _ = cv2.projectPoints(rim, cv2.Rodrigues(camera.rotation)[0], camera.translation_mm, camera.matrix, camera.distortion)
    rgb = photo.rgb.copy()
    cv2.fillConvexPoly(rgb, np.round(outline).astype(np.int32), (GREY, GREY, GREY))
    return replace(photo, rgb=rgb)


def alike(first: Scale, second: Scale) -> bool:
    """Whether two cards tell the same size of whatever hangs beside them."""
    return abs(first.mm_per_px / second.mm_per_px - 1) < ALIKE


def doubled(scale: Scale) -> Scale:
    """A copy, flagged, of the scale of the one card that is used of two."""
    return replace(scale, flags=(*scale.flags, FLAG))
