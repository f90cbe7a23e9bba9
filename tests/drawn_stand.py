"""The card's stand in a room, drawn with OpenCV's own projection."""

import cv2
import numpy as np

from fitcheck.core.camera import Camera

FINER, SHIFT = 4, 6
HEIGHT, HALF, THICK, POLE_BEHIND = 1120.0, 100.0, 16.0, 15.0
WALL, FLOOR, METAL_TOP, METAL_FRONT, POLE = (200, 198, 190), (120, 90, 70), (150, 150, 152), (128, 128, 130), (110, 112, 115)
METAL_SIDE = (165, 165, 168)


def camera(pitch_deg: float = 2.0, k1: float = -0.03, aside_mm: float = 250.0) -> Camera:
    """At 1150 mm above the floor, 3 m before the card."""
    down = np.radians(pitch_deg)
    turn = np.array([[1, 0, 0], [0, np.cos(down), -np.sin(down)], [0, np.sin(down), np.cos(down)]]) @ np.diag([1.0, -1.0, -1.0])
    eye = np.array([-aside_mm, 1150 - HEIGHT, 3000.0])
    return Camera(np.array([[2700.0, 0, 749.5], [0, 2700.0, 999.5], [0, 0, 1]]), np.array([k1, 0, 0, 0, 0]), turn, -turn @ eye)


def draw(cam: Camera, foot: str = "plate", yaw_deg: float = 0.0, roll: float = 0.0, pole: bool = True, off_mm: float = 0.0) -> np.ndarray:
    """A room with the stand in the card's frame: the floor at y = -HEIGHT, the pole behind the card."""
    picture = np.full((FINER * 2000, FINER * 1500, 3), WALL, np.uint8)

    def fill(corners: list[list[float]], colour: tuple[int, int, int]) -> None:
        dense = np.concatenate([np.linspace(a, b, 40) for a, b in zip(corners, corners[1:] + corners[:1], strict=True)])
        px = cv2.projectPoints(dense, cv2.Rodrigues(cam.rotation)[0], cam.translation_mm, cam.matrix, cam.distortion)[0]
        cv2.fillPoly(picture, [np.round(2**SHIFT * (FINER * (px + 0.5) - 0.5)).astype(np.int32)], colour, cv2.LINE_AA, SHIFT)

    low, top, lean = -HEIGHT, THICK - HEIGHT, -roll * HEIGHT
    fill([[-2500, low, -900], [2500, low, -900], [2500, low, 1200], [-2500, low, 1200]], FLOOR)
    around = np.linspace(0, 2 * np.pi, 61)[:-1]
    square = HALF * np.array([[-1.3, -1], [1.3, -1], [1.3, 1], [-1.3, 1]])
    flat = square if foot in ("plate", "step", "wedge") else HALF * np.stack([np.cos(around), np.sin(around)], 1)
    if foot == "step":
        flat = flat * [12, 1]
    if foot == "wedge":
        flat = flat * np.array([[0.9, 1], [0.9, 1], [1, 1], [1, 1]])
    turned = np.radians(yaw_deg)
    flat = flat @ np.array([[np.cos(turned), np.sin(turned)], [-np.sin(turned), np.cos(turned)]]) + [lean, -POLE_BEHIND]
    if foot != "none":
        around = sorted(zip(flat, np.roll(flat, -1, axis=0), strict=True), key=lambda side: side[0][1] + side[1][1])
        for a, b in around:  # the far ones first
            colour = METAL_FRONT if abs((b - a)[0]) > abs((b - a)[1]) else METAL_SIDE
            fill([[a[0], low, a[1]], [b[0], low, b[1]], [b[0], top, b[1]], [a[0], top, a[1]]], colour)
        fill([[x, top, z] for x, z in flat], METAL_TOP)
    if pole:
        fill([[lean - 8, top, -POLE_BEHIND], [lean + 8, top, -POLE_BEHIND], [8, 0, -POLE_BEHIND], [-8, 0, -POLE_BEHIND]], POLE)
    fill([[-105, -148, 0], [105, -148, 0], [105, 148, 0], [-105, 148, 0]], (245, 245, 245))
    seen = cv2.GaussianBlur(cv2.resize(picture, (1500, 2000), interpolation=cv2.INTER_AREA), (0, 0), 0.8)
    return np.clip(seen + np.random.default_rng(3).normal(0, 2, seen.shape), 0, 255).astype(np.uint8)
