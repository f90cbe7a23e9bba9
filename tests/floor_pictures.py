"""Pictures of floor sheets with exact truth: printed sheets, flat or curled, projected into a room's floor by an ideal camera.

No ray is traced: the sheet's drawing is warped into a finer picture cell by cell of its bent surface, then averaged down, blurred, lit by
a lamp's gradient and given noise. A hundred take a minute.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.aruco import CELLS, white_cells
from fitcheck.core.floor_sheet import FLOOR_IDS, FLOOR_MARKER_MM, SheetName, floor_corners_mm
from fitcheck.core.points import CARD_IDS, CARD_MARKER_MM, card_corners_mm
from fitcheck.photo.camera.flat_target import Edges
from fitcheck.photo.card.card_edges import CELL_MM as CARD_CELL_MM
from fitcheck.photo.card.card_edges import edges_of_square
from fitcheck.photo.floor.find_sheets import CELL_MM as SHEET_CELL_MM
from fitcheck.photo.floor.find_sheets import SheetSighting

FINER = 4  # pixels of the fine picture to one of the photo, each way
PX_PER_MM = 6  # of the drawing: squares, cells and rims are whole pixels of it
SHEET_MM = (297.0, 210.0)
ABOVE_MM = 12.0  # white above the squares
MESH = (12, 8)


@dataclass(frozen=True)
class Lens:
    """An ideal camera: focal length and first radial term, size of the picture."""

    focal_px: float
    size: tuple[int, int]
    k1: float = 0.0

    @property
    def matrix(self) -> NDArray[np.float64]:
        return np.array([[self.focal_px, 0, (self.size[0] - 1) / 2], [0, self.focal_px, (self.size[1] - 1) / 2], [0, 0, 1]])


@dataclass(frozen=True)
class Lying:
    """Where a sheet lies: middle of its squares on the floor (x to image right, y away from the camera, mm), turn seen from above."""

    x_mm: float
    y_mm: float
    yaw_deg: float = 0.0
    curl_mm: float = 0.0
    share: float = 1.0


@dataclass(frozen=True)
class Shot:
    """A camera over the floor: rotation floor to camera (floor: x right, y up, z towards the camera), and where it stands."""

    lens: Lens
    eye_mm: tuple[float, float, float]
    pitch_deg: float
    yaw_deg: float = 0.0
    roll_deg: float = 0.0

    @property
    def rotation(self) -> NDArray[np.float64]:
        flip = np.diag([1.0, -1.0, -1.0])
        pitch, yaw, roll = np.radians([self.pitch_deg, self.yaw_deg, self.roll_deg])
        about_x = cv2.Rodrigues(np.array([pitch, 0, 0]))[0]  # pitch > 0 looks down
        return cv2.Rodrigues(np.array([0, 0, roll]))[0] @ about_x @ flip @ cv2.Rodrigues(np.array([0, yaw, 0]))[0]

    def project(self, points_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        turn = self.rotation
        shift = -turn @ np.array(self.eye_mm)
        dist = np.array([self.lens.k1, 0, 0, 0, 0.0])
        return cv2.projectPoints(points_mm.reshape(-1, 3), cv2.Rodrigues(turn)[0], shift, self.lens.matrix, dist)[0].reshape(-1, 2)


def on_floor(lying: Lying, on_sheet_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Points of a sheet's frame (N, 2) in the floor frame (N, 3); its corners rise where it curls."""
    x, away = lying.share * on_sheet_mm.T
    turn = np.radians(lying.yaw_deg)
    middle = np.array([0.0, floor_corners_mm()[..., 1].max() + ABOVE_MM - SHEET_MM[1] / 2])
    out = np.abs((on_sheet_mm - middle) / SHEET_MM).sum(axis=1)  # 1 at the sheet's corners
    rise = lying.curl_mm * np.clip((out - 0.5) / 0.5, 0, None) ** 2
    return np.stack(
        [lying.x_mm + np.cos(turn) * x - np.sin(turn) * away, rise, -(lying.y_mm + np.sin(turn) * x + np.cos(turn) * away)], axis=1
    )


def sheet_drawing(which: SheetName) -> NDArray[np.uint8]:
    """The printed sheet, white 235 and black 20."""
    picture = np.full((int(SHEET_MM[1] * PX_PER_MM), int(SHEET_MM[0] * PX_PER_MM)), 235, np.uint8)
    corners = floor_corners_mm()
    top = corners[..., 1].max() + ABOVE_MM
    for number, square in zip(FLOOR_IDS[which], corners, strict=True):
        side = int(FLOOR_MARKER_MM * PX_PER_MM)
        cells = white_cells(number)[1:-1, 1:-1].astype(np.uint8)
        drawn = np.where(np.kron(cells, np.ones((side // CELLS, side // CELLS))) > 0, 235, 20)
        x, y = round((square[0, 0] + SHEET_MM[0] / 2) * PX_PER_MM), round((top - square[0, 1]) * PX_PER_MM)
        picture[y : y + side, x : x + side] = drawn
    return picture


def card_drawing() -> NDArray[np.uint8]:
    """The scale card on A4."""
    scale = 4
    picture = np.full((297 * scale, 210 * scale), 235, np.uint8)
    for number in CARD_IDS:
        x, y = (card_corners_mm()[number, 0, :2] * [1, -1] + [105, 148.5]) * scale
        side = int(CARD_MARKER_MM * scale)
        cells = white_cells(number)[1:-1, 1:-1].astype(np.uint8)
        picture[round(y) : round(y) + side, round(x) : round(x) + side] = np.where(
            np.kron(cells, np.ones((side // CELLS, side // CELLS))) > 0, 235, 20
        )
    return picture


@dataclass(frozen=True)
class Scenery:
    """What else is in the picture: floor and wall in grey levels, how coarse the floor is, blur and noise, the lamp's fall-off."""

    floor: float = 110.0
    wall: float = 170.0
    grain: float = 12.0
    tiles: bool = False
    blur_px: float = 0.7
    noise: float = 1.5
    lamp: float = 0.4
    foot: tuple[float, float, float] | None = None  # x, y on the floor and radius, mm: a dark shoe
    card: tuple[tuple[float, float, float], float, float] | None = None  # middle (floor frame), crooked by (deg), share
    seed: int = 0
    level: float = 1.0


def picture(shot: Shot, sheets: Mapping[SheetName, Lying], scenery: Scenery = Scenery()) -> NDArray[np.uint8]:
    """A photo, uint8 (H, W, 3)."""
    rng = np.random.default_rng(scenery.seed)
    width, height = shot.lens.size
    light = np.full((height * FINER, width * FINER), _linear(scenery.wall), np.float32)
    horizon = shot.project(np.array([[0, 0, -1500.0]]))[0, 1]
    low = max(int((horizon + 0.5) * FINER), 0)
    light[low:] = _linear(scenery.floor)
    coarse = rng.normal(0, 1, (height // 2, width // 2)).astype(np.float32)
    grain = cv2.resize(cv2.GaussianBlur(coarse, (0, 0), 1.0), (width * FINER, height * FINER), interpolation=cv2.INTER_LINEAR)
    light[low:] *= np.exp(scenery.grain / 100 * grain[low:])
    if scenery.tiles:
        _draw_tiles(light, shot)
    for which, lying in sheets.items():
        _lay(light, shot, lying, sheet_drawing(which))
    if scenery.card is not None:
        _hang(light, shot, *scenery.card)
    if scenery.foot is not None:
        x, y, r = scenery.foot
        angle = np.linspace(0, 2 * np.pi, 40)
        ring = np.stack([x + r * np.cos(angle), np.full(40, 0.0), -(y + 2.2 * r * np.sin(angle))], axis=1)
        cv2.fillPoly(light, [np.rint((shot.project(ring) + 0.5) * FINER - 0.5).astype(np.int32)], _linear(60.0))
    u, v = np.meshgrid(np.linspace(-1, 1, light.shape[1], dtype=np.float32), np.linspace(-1, 1, light.shape[0], dtype=np.float32))
    light *= np.exp(-scenery.lamp * (0.7 * u + 0.3 * v)) * scenery.level
    light = cv2.resize(light, (width, height), interpolation=cv2.INTER_AREA)
    light = cv2.GaussianBlur(light, (0, 0), scenery.blur_px)
    grey = 255 * np.clip(light, 0, 1) ** (1 / 2.2) + rng.normal(0, scenery.noise, light.shape)
    return np.repeat(np.clip(np.rint(grey), 0, 255).astype(np.uint8)[..., None], 3, axis=2)


def corners_px(shot: Shot, which: SheetName, lying: Lying) -> dict[int, NDArray[np.float64]]:
    """True corners of a sheet's squares in the picture, by id."""
    return {number: shot.project(on_floor(lying, square)) for number, square in zip(FLOOR_IDS[which], floor_corners_mm(), strict=True)}


def _linear(level: float) -> float:
    return float((level / 255) ** 2.2)


def _draw_tiles(light: NDArray[np.float32], shot: Shot) -> None:
    for k in range(-8, 9):
        for line in (
            np.array([[k * 300.0, 0, 1400.0], [k * 300.0, 0, -1400.0]]),
            np.array([[-2400.0, 0, k * 300.0 / 2], [2400.0, 0, k * 300.0 / 2]]),
        ):
            ends = np.rint((shot.project(line) + 0.5) * FINER).astype(int)
            cv2.line(light, *(tuple(int(v) for v in end) for end in ends), _linear(60.0), FINER * 2)


def _lay(light: NDArray[np.float32], shot: Shot, lying: Lying, drawing: NDArray[np.uint8]) -> None:
    """Warp the drawing cell by cell of a mesh; neighbouring cells overlap by a hair, so no floor shows between them."""
    top = floor_corners_mm()[..., 1].max() + ABOVE_MM
    xs, ys = np.linspace(-SHEET_MM[0] / 2, SHEET_MM[0] / 2, MESH[0] + 1), np.linspace(top, top - SHEET_MM[1], MESH[1] + 1)
    linear = ((drawing / 255.0) ** 2.2).astype(np.float32)
    for i in range(MESH[0]):
        for j in range(MESH[1]):
            quad = np.array([[xs[i], ys[j]], [xs[i + 1], ys[j]], [xs[i + 1], ys[j + 1]], [xs[i], ys[j + 1]]])
            _warp(light, shot.project(on_floor(lying, quad)), (quad - [-SHEET_MM[0] / 2, top]) * [1, -1] * PX_PER_MM - 0.5, linear)


def _hang(light: NDArray[np.float32], shot: Shot, middle: Sequence[float], crooked_deg: float, share: float) -> None:
    linear = ((card_drawing() / 255.0) ** 2.2).astype(np.float32)
    turn = np.radians(crooked_deg)
    flat = np.array([[-105, 148.5], [105, 148.5], [105, -148.5], [-105, -148.5]])
    x, y = share * flat.T
    solid = np.array(middle) + np.stack([np.cos(turn) * x - np.sin(turn) * y, np.sin(turn) * x + np.cos(turn) * y, np.zeros(4)], axis=1)
    _warp(light, shot.project(solid), (flat - [-105, 148.5]) * [1, -1] * 4 - 0.5, linear)


def _warp(light: NDArray[np.float32], seen_px: NDArray[np.float64], drawn_px: NDArray[np.float64], drawing: NDArray[np.float32]) -> None:
    fine = (seen_px + 0.5) * FINER - 0.5
    low, high = np.floor(fine.min(axis=0)).astype(int) - 1, np.ceil(fine.max(axis=0)).astype(int) + 2
    low, high = np.maximum(low, 0), np.minimum(high, [light.shape[1], light.shape[0]])
    if (high <= low).any():
        return
    from_drawing = cv2.getPerspectiveTransform(drawn_px.astype(np.float32), (fine - low).astype(np.float32))
    size = (int(high[0] - low[0]), int(high[1] - low[1]))
    shown = cv2.warpPerspective(drawing, from_drawing, size, flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    inside = np.zeros((size[1], size[0]), np.uint8)
    cv2.fillConvexPoly(inside, np.rint((fine - low) * 16).astype(np.int32), 1, shift=4)
    part = light[low[1] : high[1], low[0] : high[0]]
    part[inside > 0] = shown[inside > 0]


def sheet_sighting(shot: Shot, which: SheetName, lying: Lying, noise_px: float = 0.05, seed: int = 0) -> SheetSighting:
    """A sheet's edges where an ideal camera sees them, with noise; no picture is drawn."""
    corners = floor_corners_mm()
    printed = [edges_of_square(number, square[0], SHEET_CELL_MM) for number, square in zip(FLOOR_IDS[which], corners, strict=True)]
    edges = _ideal(np.concatenate(printed), lambda flat: shot.project(on_floor(lying, flat)), noise_px, seed)
    return SheetSighting(which, len(corners), edges, noise_px, noise_px)


def card_edges(shot: Shot, middle: Sequence[float], turn: NDArray[np.float64], share: float = 1.0, noise_px: float = 0.05) -> Edges:
    """The wall card's edges where an ideal camera sees them; `turn` takes its frame to the floor's."""
    printed = [edges_of_square(number, card_corners_mm()[number, 0, :2], CARD_CELL_MM) for number in CARD_IDS]

    def seen(flat: NDArray[np.float64]) -> NDArray[np.float64]:
        return shot.project(np.array(middle) + share * np.pad(flat, ((0, 0), (0, 1))) @ turn.T)

    return _ideal(np.concatenate(printed), seen, noise_px, 1)


def _ideal(printed: NDArray[np.float64], seen: Callable[[NDArray[np.float64]], NDArray[np.float64]], noise_px: float, seed: int) -> Edges:
    middles, across = printed[:, :2], printed[:, 2:]
    px, along, beyond = seen(middles), seen(middles + across[:, ::-1] * [-1, 1]), seen(middles + across)
    normals = (along - px)[:, ::-1] * [1, -1]
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    normals *= np.sign((normals * (beyond - px)).sum(axis=1, keepdims=True))
    noise = np.random.default_rng(seed).normal(0, noise_px, (len(px), 1))
    return Edges(middles, px + noise * normals, normals)
