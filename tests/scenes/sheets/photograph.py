"""A photo of the table: paper with its relief, the card, light, hands, lens, noise, JPEG."""

import tempfile
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from .. import prints
from ..mesh import Floats
from . import paper as paper_
from .paper import Sheet
from .table import PX_PER_MM, THINGS_PX_PER_MM, Light, lamp
from .table_camera import TableCamera

GAMMA = 2.2
BAND = 256  # rows composed at a time
CARD_PX_PER_MM = 8
EXIF_IFD, FOCAL_35MM = 0x8769, 41989


@dataclass(frozen=True)
class LaidCard:
    """The scale card on the table: its middle, how it is turned (degrees, clockwise as seen), how high it lies and leans."""

    middle: Floats
    turn_deg: float
    lifted: float = 0.0
    lean_deg: float = 0.0

    def solid(self, on_card: Floats) -> Floats:
        """Points on the card, mm from its middle, y downwards, to the table frame with z up; it leans about its lower edge's direction."""
        turn, lean = np.radians([self.turn_deg, self.lean_deg])
        along = np.array([np.cos(turn), np.sin(turn), 0.0])
        down = np.array([-np.sin(turn) * np.cos(lean), np.cos(turn) * np.cos(lean), -np.sin(lean)])
        base = np.array([*self.middle, self.lifted + 148.5 * np.sin(lean)])
        return np.asarray(base + on_card[:, :1] * along + on_card[:, 1:] * down)


@dataclass(frozen=True)
class Room:
    """What else is in the picture, and the light."""

    table: Light
    table_corner: Floats
    things: Light
    things_cover: NDArray[np.float32]
    things_corner: Floats
    lamp_at: Floats
    lamp_height: float
    ambient: float
    lamp_tone: tuple[float, float, float]
    tissue: tuple[float, float, float]
    opaque: float  # of tissue: 1 lets nothing through
    exposure: float
    blur_px: float
    noise: float
    quality: int


def photograph(
    path: Path, camera: TableCamera, sheets: list[Sheet], card: LaidCard | None, room: Room, equivalent: int, rng: np.random.Generator
) -> None:
    """Write one photo as JPEG, its 35 mm equivalent in EXIF."""
    width, height = camera.size
    picture = np.empty((height, width, 3), np.float32)
    ground = camera.ground()
    for top in range(0, height, BAND):
        picture[top : top + BAND] = _light(ground[top : top + BAND], camera.eye, sheets, room)
    if card is not None:
        _lay_card(picture, camera, card, room)
    seen = cv2.GaussianBlur(picture, (0, 0), room.blur_px)
    levels = 255 * np.clip(seen * room.exposure, 0, 1) ** (1 / GAMMA)
    for top in range(0, height, BAND):
        rows = levels[top : top + BAND]
        rows += rng.standard_normal(rows.shape, np.float32) * np.float32(room.noise)
    image = Image.fromarray(np.clip(levels + 0.5, 0, 255).astype(np.uint8))
    exif = Image.Exif()
    exif.get_ifd(EXIF_IFD)[FOCAL_35MM] = equivalent
    image.save(path, quality=room.quality, exif=exif, subsampling=2)


def _sampled(raster: NDArray[np.float32], at: NDArray[np.float32], corner: Floats, px_per_mm: float) -> NDArray[np.float32]:
    place = (at - corner.astype(np.float32)) * np.float32(px_per_mm)
    return np.asarray(cv2.remap(raster, place[..., 0], place[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT), np.float32)


def _light(at: NDArray[np.float32], eye: Floats, sheets: list[Sheet], room: Room) -> Light:
    """Linear light of some rows, the table's places given."""
    place = (at - room.table_corner.astype(np.float32)) * np.float32(PX_PER_MM)
    light = cv2.remap(room.table, place[..., 0], place[..., 1], cv2.INTER_CUBIC, borderMode=cv2.BORDER_REFLECT)
    sun = (room.lamp_at - at.reshape(-1, 2).mean(axis=0)) / room.lamp_height
    tissue = np.array(room.tissue, np.float32)
    for sheet in sheets:
        on_paper = at.copy()
        for _ in range(2):  # what lies higher is seen farther from the camera's foot
            z = _sampled(sheet.relief, on_paper, sheet.corner, paper_.RELIEF_PX_PER_MM)[..., None]
            on_paper = at - z * (at - eye[:2].astype(np.float32)) / np.float32(eye[2])
        mask = _sampled(sheet.mask, on_paper, sheet.corner, paper_.PX_PER_MM)
        ink = _sampled(sheet.ink, on_paper, sheet.corner, paper_.PX_PER_MM)
        shadow = _sampled(sheet.mask, at + np.float32(2.0) * sun.astype(np.float32), sheet.corner, paper_.PX_PER_MM)
        light = light * (1 - 0.25 * np.clip(shadow - mask, 0, 1))[..., None]
        slope_y, slope_x = np.gradient(sheet.relief)
        slope = np.stack([slope_x, slope_y], axis=-1) * np.float32(paper_.RELIEF_PX_PER_MM)
        place = (on_paper - sheet.corner.astype(np.float32)) * np.float32(paper_.RELIEF_PX_PER_MM)
        lean = np.asarray(cv2.remap(slope, place[..., 0], place[..., 1], cv2.INTER_LINEAR), np.float32)
        shade = np.clip(1 - 0.8 * (lean @ sun.astype(np.float32)) - 0.35 * np.abs(lean).sum(axis=-1), 0.5, 1.4)
        paper = tissue * (shade * (1 - 0.82 * ink))[..., None]
        seen = room.opaque * paper + (1 - room.opaque) * light * (1 - 0.5 * ink)[..., None]
        light = light + mask[..., None] * (seen - light)
    cover = _sampled(room.things_cover, at, room.things_corner, THINGS_PX_PER_MM)[..., None]
    light = light + cover * (_sampled(room.things, at, room.things_corner, THINGS_PX_PER_MM) - light)
    lit = lamp(at.astype(float), room.lamp_at, room.lamp_height, room.ambient).astype(np.float32)
    return np.asarray(light * lit[..., None] * np.array(room.lamp_tone, np.float32), np.float32)


def _lay_card(picture: Light, camera: TableCamera, card: LaidCard, room: Room) -> None:
    with tempfile.TemporaryDirectory() as folder:
        prints.card(Path(folder) / "card.png", CARD_PX_PER_MM)
        drawn = np.asarray(cv2.imread(str(Path(folder) / "card.png"), cv2.IMREAD_GRAYSCALE), np.float32)
    half = np.array([prints.CARD_WIDTH, prints.CARD_HEIGHT]) / 2
    corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * half
    seen = _seen(camera, card.solid(corners))
    low = np.clip(np.floor(seen.min(axis=0)) - 40, 0, None).astype(int)
    high = np.minimum(np.ceil(seen.max(axis=0)) + 40, camera.size).astype(int)
    if (high <= low).any():
        return
    x, y = np.meshgrid(np.arange(low[0], high[0], dtype=float), np.arange(low[1], high[1], dtype=float))
    on_card = _through(camera, card, np.column_stack([x.ravel(), y.ravel()])).reshape(*x.shape, 2)
    place = ((on_card + half) * CARD_PX_PER_MM - 0.5).astype(np.float32)
    cover = np.zeros(drawn.shape, np.float32) + 1
    mask = cv2.remap(cover, place[..., 0], place[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT)[..., None]
    small = cv2.GaussianBlur((drawn / 255) ** GAMMA, (0, 0), 0.8)
    light = cv2.remap(small, place[..., 0], place[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)[..., None]
    lit = lamp(card.middle[None], room.lamp_at, room.lamp_height, room.ambient)[0]
    part = picture[low[1] : high[1], low[0] : high[0]]
    part += mask * (light * np.array(room.lamp_tone, np.float32) * np.float32(lit) - part)


def _seen(camera: TableCamera, solid: Floats) -> Floats:
    up = solid * [1, -1, 1]
    seen, _ = cv2.projectPoints(up, cv2.Rodrigues(camera.rotation)[0], camera.translation, camera.matrix, camera.distortion)
    return np.asarray(seen.reshape(-1, 2), float)


def _through(camera: TableCamera, card: LaidCard, pixels: Floats) -> Floats:
    """Where pixels' rays meet the card, mm from its middle."""
    middle, along, down = (card.solid(np.array([p], float))[0] * [1, -1, 1] for p in ((0, 0), (1, 0), (0, 1)))
    along, down = along - middle, down - middle
    flat = cv2.undistortPointsIter(
        pixels.reshape(-1, 1, 2), camera.matrix, camera.distortion, np.eye(3), np.eye(3), (cv2.TERM_CRITERIA_COUNT, 40, 1e-9)
    ).reshape(-1, 2)
    rays = np.column_stack([flat, np.ones(len(flat))]) @ camera.rotation
    eye = -camera.rotation.T @ camera.translation
    normal = np.cross(along, down)
    far = ((middle - eye) @ normal) / (rays @ normal)
    at = eye + rays * far[:, None] - middle
    return np.column_stack([at @ along, at @ down])
