"""Stickers pasted into a photo by a known homography: what the marker tests compare with. Written without fitcheck's own drawing code."""

import cv2
import numpy as np

PX_PER_MM = 12
MARGIN_MM = 4


def printed_sticker(number: int, arrow: str = "") -> np.ndarray:
    """Sticker as RGBA with its centre at (0, 0) of `to_photo`; `arrow` is "", "head", "line" or "strip" (head on a white strip)."""
    k, top = PX_PER_MM, 45
    width, height = 2 * (16 + MARGIN_MM) * k, (top + MARGIN_MM + 16 + MARGIN_MM) * k
    image = np.zeros((height, width, 4), np.uint8)
    x, y = width / 2, (top + MARGIN_MM) * k

    def corner(u_mm: float, v_mm: float) -> tuple[int, int]:
        return round(x + u_mm * k), round(y - v_mm * k)

    if arrow == "strip":
        cv2.rectangle(image, corner(-7, 40.0), corner(7, 10), (238, 240, 239, 255), -1)
    if arrow == "line":
        cv2.rectangle(image, corner(-0.6, 40.0), corner(0.6, 15), (20, 20, 22, 255), -1)
    if arrow in ("head", "strip"):
        cv2.rectangle(image, corner(-1.1, 33.0), corner(1.1, 15), (20, 20, 22, 255), -1)
        cv2.fillPoly(image, [np.array([corner(-4, 32), corner(4, 32), corner(0, 40.0)])], (20, 20, 22, 255))
    cv2.rectangle(image, corner(-15.5, 15.5), corner(15.5, -15.5), (240, 240, 238, 255), -1)
    side = 25 * k
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_100)
    square = cv2.aruco.generateImageMarker(dictionary, number, side)
    left, up = corner(-12.5, 12.5)
    image[up : up + side, left : left + side, :3] = np.where(square > 127, 240, 18)[..., None]
    return image


def paste(photo: np.ndarray, sticker: np.ndarray, to_photo: np.ndarray, blur_px: float = 0.6) -> np.ndarray:
    """Photo with the sticker lying at homography `to_photo` (mm right, mm up of the sticker's centre -> photo pixels)."""
    width = sticker.shape[1]
    k, over = PX_PER_MM, 4
    # sticker pixel centres to mm, and photo pixels to a four times finer photo in which the sticker is drawn before averaging
    to_mm = np.array([[1 / k, 0, -(width / 2 - 0.5) / k], [0, -1 / k, ((45 + MARGIN_MM) * k - 0.5) / k], [0, 0, 1]])
    finer = np.array([[over, 0, (over - 1) / 2], [0, over, (over - 1) / 2], [0, 0, 1.0]])
    size = (photo.shape[1] * over, photo.shape[0] * over)
    drawn = sticker.astype(np.float32)
    drawn[..., :3] *= drawn[..., 3:] / 255
    fine = cv2.warpPerspective(drawn, finer @ to_photo @ to_mm, size, flags=cv2.INTER_LINEAR)
    fine = cv2.GaussianBlur(fine, (0, 0), blur_px * over)
    small = cv2.resize(fine, photo.shape[1::-1], interpolation=cv2.INTER_AREA)
    cover = small[..., 3:] / 255
    return np.clip(photo * (1 - cover) + small[..., :3], 0, 255)


def lying(
    centre_px: tuple[float, float], px_per_mm: float, spin_deg: float = 0.0, tilt_deg: float = 0.0, about_deg: float = 0.0
) -> np.ndarray:
    """Homography of a sticker turned in its plane by `spin_deg`, tilted by `tilt_deg` about an axis at `about_deg`, 3 m away."""
    spin, tilt, about = np.radians([spin_deg, tilt_deg, about_deg])
    turn = np.array([[np.cos(spin), -np.sin(spin), 0], [np.sin(spin), np.cos(spin), 0], [0, 0, 1]])
    axis = np.array([np.cos(about), np.sin(about), 0.0])
    rotation, _ = cv2.Rodrigues(axis * tilt)
    plane = (rotation @ turn)[:, :2]
    focal = 3000 * px_per_mm
    projection = np.array([[focal, 0, centre_px[0]], [0, -focal, centre_px[1]], [0, 0, 1.0]])
    pose = np.array([[plane[0, 0], plane[0, 1], 0], [plane[1, 0], plane[1, 1], 0], [-plane[2, 0], -plane[2, 1], 3000.0]])
    return projection @ pose


def at(to_photo: np.ndarray, x_mm: float, y_mm: float) -> np.ndarray:
    """Photo pixel of a sticker point."""
    x, y, w = to_photo @ [x_mm, y_mm, 1]
    return np.array([x, y]) / w


def cloth(height: int, width: int, seed: int = 0, colour: tuple[int, int, int] = (196, 178, 150)) -> np.ndarray:
    """A plain woven cloth in uneven light, with noise."""
    noise = np.random.default_rng(seed)
    light = 1 + 0.08 * np.sin(np.linspace(0, 5, width))[None, :, None] + 0.05 * np.cos(np.linspace(0, 4, height))[:, None, None]
    return np.clip(np.array(colour) * light + noise.normal(0, 3, (height, width, 1)), 0, 255)
