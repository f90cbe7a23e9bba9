"""Photos of a card drawn from a known camera, so that the answer is known."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import cv2
import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from fitcheck.core.camera import Photo

DRAWN_PX_PER_MM = 8
FINE = 5  # sub-pixels a side


@dataclass(frozen=True)
class Card:
    """How to draw the card: printed sizes, and where it hangs before which camera."""

    distance_mm: float = 3000.0
    right_mm: float = 0.0
    up_mm: float = 0.0
    yaw_deg: float = 0.0
    pitch_deg: float = 0.0
    roll_deg: float = 0.0
    focal_px: float = 3000.0
    size: tuple[int, int] = (1500, 2000)
    marker_mm: float = 45.0
    gap_mm: float = 15.0
    print_x: float = 1.0
    print_y: float = 1.0
    light_spreads: bool = False
    hidden: tuple[int, ...] = ()
    bending: tuple[float, float] = (0.0, 0.0)  # k1 k2

    @property
    def rotation(self) -> np.ndarray:
        # Facing the camera: x to image right, y up, z towards the camera.
        return (
            np.diag([1.0, -1.0, -1.0]) @ Rotation.from_euler("YXZ", [self.yaw_deg, self.pitch_deg, self.roll_deg], degrees=True).as_matrix()
        )

    @property
    def translation_mm(self) -> np.ndarray:
        return np.array([self.right_mm, -self.up_mm, self.distance_mm], np.float64)

    @property
    def matrix(self) -> np.ndarray:
        return np.array([[self.focal_px, 0, (self.size[0] - 1) / 2], [0, self.focal_px, (self.size[1] - 1) / 2], [0, 0, 1]])

    def project(self, points_mm: np.ndarray) -> np.ndarray:
        seen, _ = cv2.projectPoints(
            points_mm, cv2.Rodrigues(self.rotation)[0], self.translation_mm, self.matrix, np.array([*self.bending, 0, 0])
        )
        return seen.reshape(-1, 2)


def drawn_sheet(card: Card) -> np.ndarray:
    """The printed A4 sheet, 8 pixels a millimetre."""
    scale, pitch = DRAWN_PX_PER_MM, card.marker_mm + card.gap_mm
    sheet = np.full((297 * scale, 210 * scale), 240, np.uint8)
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_100)
    side = round(card.marker_mm * scale)
    for k in range(12):
        x = round((105 - (3 * pitch - card.gap_mm) / 2 + k % 3 * pitch) * scale)
        y = round((148.5 - (4 * pitch - card.gap_mm) / 2 + k // 3 * pitch) * scale)
        if k not in card.hidden:
            sheet[y : y + side, x : x + side] = np.maximum(cv2.aruco.generateImageMarker(dictionary, k, side), 18)
    return sheet


def paste_card(picture: np.ndarray, card: Card) -> None:
    """Draw the card into a grey picture as an ideal camera sees it, every pixel the mean of 25 rays."""
    half = np.array([[-105, 148.5, 0], [105, 148.5, 0], [105, -148.5, 0], [-105, -148.5, 0]]) * [card.print_x, card.print_y, 1]
    seen = card.project(half)
    bow = 2 + round(0.01 * max(card.size)) * any(card.bending)
    x0, y0 = np.clip(np.floor(seen.min(0)).astype(int) - bow, 0, card.size)
    x1, y1 = np.clip(np.ceil(seen.max(0)).astype(int) + bow + 1, 0, card.size)
    width, height = x1 - x0, y1 - y0
    straight = replace(card, bending=(0.0, 0.0)).project(half)
    sheet_corners = np.array([[0, 0], [210, 0], [210, 297], [0, 297]]) * DRAWN_PX_PER_MM - 0.5
    to_sheet = cv2.getPerspectiveTransform(straight.astype(np.float32), sheet_corners.astype(np.float32))
    pixels = np.stack(np.meshgrid(np.arange(x0, x1), np.arange(y0, y1)), axis=-1).reshape(-1, 1, 2).astype(np.float64)
    unbent = cv2.undistortPoints(pixels, card.matrix, np.array([*card.bending, 0, 0]), P=card.matrix).reshape(height, width, 2)
    fine = cv2.resize(unbent, (width * FINE, height * FINE), interpolation=cv2.INTER_LINEAR)
    on_sheet = cv2.perspectiveTransform(fine, to_sheet).astype(np.float32)
    around = int(picture[0, 0])
    rays = cv2.remap(drawn_sheet(card), on_sheet, None, cv2.INTER_LINEAR, borderValue=around).astype(np.float64)
    power = 2.2 if card.light_spreads else 1.0  # a sensor averages light, not grey levels: edges move into the black
    mean = ((rays / 255) ** power).reshape(height, FINE, width, FINE).mean((1, 3))
    mean = cv2.GaussianBlur(mean, (0, 0), 0.7)
    picture[y0:y1, x0:x1] = np.clip(255 * mean ** (1 / power), 0, 255).round().astype(np.uint8)


@pytest.fixture
def photograph() -> Callable[..., Photo]:
    """`photograph(card, ..., focal_known=True)`: a photo with these cards before a grey wall."""

    def make(*cards: Card, focal_known: bool = True) -> Photo:
        width, height = cards[0].size
        picture = np.full((height, width), 150, np.uint8)
        for card in cards:
            paste_card(picture, card)
        noise = np.random.default_rng(1).normal(0, 1.5, picture.shape)
        grey = np.clip(picture + noise, 0, 255).astype(np.uint8)
        return Photo("front", "front.jpg", "", np.dstack([grey] * 3), cards[0].focal_px if focal_known else None, "")

    return make
