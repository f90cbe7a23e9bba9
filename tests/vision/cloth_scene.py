"""Cloth drawn for tests: a garment before a wall, with light, wrinkles, noise and JPEG, and pen lines at exactly known places."""

from collections.abc import Sequence

import cv2
import numpy as np

from fitcheck.core.records import Floats, Pose

HEIGHT, WIDTH = 760, 560
GARMENT = (120, 60, 440, 700)  # x0, y0, x1, y1
FINE = 8  # lines are drawn this much larger, then reduced


def pose() -> Pose:
    """Shoulders and hips of the drawn garment; everything else unseen."""
    points = np.zeros((33, 2))
    points[[11, 12, 23, 24]] = [[400, 90], [160, 90], [360, 600], [200, 600]]
    visibility = np.zeros(33)
    visibility[[11, 12, 23, 24]] = 1.0
    mask = np.zeros((HEIGHT, WIDTH), bool)
    mask[GARMENT[1] - 8 : GARMENT[3] + 8, GARMENT[0] - 8 : GARMENT[2] + 8] = True
    return Pose(points, np.zeros((33, 3)), visibility, mask)


def photograph(cloth: tuple[int, int, int], lines: Sequence[tuple[Floats, tuple[int, int, int], float]] = (), seed: int = 0) -> np.ndarray:
    """Draw the garment.

    Parameters
    ----------
    cloth : RGB in full light
    lines : (points_px, RGB, width_px)
        Drawn one over the other.
    """
    rng = np.random.default_rng(seed)
    picture = np.full((HEIGHT, WIDTH, 3), (150, 160, 170), np.float32)
    x0, y0, x1, y1 = GARMENT
    garment = np.zeros((HEIGHT, WIDTH), np.float32)
    garment[y0:y1, x0:x1] = 1
    picture += garment[..., None] * (np.array(cloth, np.float32) - picture)
    for points, colour, width in lines:
        cover = np.zeros((HEIGHT * FINE, WIDTH * FINE), np.uint8)
        fine = np.round(((points + 0.5) * FINE - 0.5) * 256).astype(np.int32)
        cv2.polylines(cover, [fine.reshape(-1, 1, 2)], False, 255, round(width * FINE), cv2.LINE_8, 8)
        share = cv2.resize(cover, (WIDTH, HEIGHT), interpolation=cv2.INTER_AREA).astype(np.float32)[..., None] / 255
        picture += share * garment[..., None] * (np.array(colour, np.float32) - picture)
    y, x = np.mgrid[0:HEIGHT, 0:WIDTH].astype(np.float32)
    light = 1.0 - 0.45 * (x - x0) / (x1 - x0)  # window at the left
    light *= 1 - 0.18 * np.exp(-0.5 * ((x - 0.5 * y - 60) / 12) ** 2)  # a soft diagonal fold and a sharper one
    light *= 1 - 0.12 * np.exp(-0.5 * ((y - 0.3 * x - 380) / 5) ** 2)
    light *= 1 - 0.35 / (1 + np.exp(np.clip((430 - y + 0.2 * x) / 1.5, -60, 60))) * (x > 330)  # the hard edge of a shadow
    picture *= np.where(garment > 0, np.clip(light, 0.3, 1), 1.0)[..., None]
    picture = cv2.GaussianBlur(picture, (0, 0), 0.7) + rng.normal(0, 2.0, picture.shape).astype(np.float32)
    jpeg = cv2.imencode(".jpg", np.clip(picture, 0, 255).astype(np.uint8)[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, 88])[1]
    return np.ascontiguousarray(cv2.imdecode(jpeg, cv2.IMREAD_COLOR)[..., ::-1])


SKIN_RGB, TOP_RGB, LEGGINGS_RGB = (196, 140, 112), (52, 74, 96), (60, 30, 38)


def half_photograph(
    cloth: tuple[int, int, int], edge_px: Floats, tissue_left: bool, lines: Sequence[tuple[Floats, tuple[int, int, int], float]] = ()
) -> np.ndarray:
    """Draw a half tissue on the trunk of `photograph`: at image left or right of its edge (N, 2), the trunk bare beside it but for a top
    between two heights and leggings below a third."""
    x0, _, x1, y1 = GARMENT
    whole = photograph(cloth, lines)
    body = photograph(SKIN_RGB, seed=1)
    for colour, top, bottom in ((TOP_RGB, 180, 330), (LEGGINGS_RGB, 520, y1)):
        body[top:bottom, x0:x1] = photograph(colour, seed=2)[top:bottom, x0:x1]
    y, x = np.mgrid[0:HEIGHT, 0:WIDTH].astype(float)
    beyond = x - np.interp(y, edge_px[:, 1], edge_px[:, 0])
    cover = np.clip(0.5 - beyond if tissue_left else 0.5 + beyond, 0, 1)[..., None]  # the share of the edge's own pixel that it covers
    mixed = (cover * (whole / 255.0) ** 2.2 + (1 - cover) * (body / 255.0) ** 2.2) ** (1 / 2.2)
    return np.asarray(np.clip(255 * mixed + 0.5, 0, 255), np.uint8)
