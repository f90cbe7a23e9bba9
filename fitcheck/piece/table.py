"""The table as its photos show it together: colours at any place, in millimetres."""

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.records import Floats
from fitcheck.piece.plane import View

GRID_PX = 16  # of a map computed exactly; what lies between is straight to a thousandth of a pixel
RIM_PX = 6  # of a photo, left out: sharpening and demosaicing go wrong there
FARTHEST_MM = 1600.0  # from the card: no piece is larger, and far rays are oblique
LEAST_PX_PER_MM = 0.8  # where a view is coarser, it shows nothing


@dataclass(frozen=True, slots=True)
class Picture:
    """A part of the table from straight above.

    Attributes
    ----------
    rgb : ndarray of uint8, shape (H, W, 3)
    seen : ndarray of bool, shape (H, W)
    low : ndarray, shape (2,)
        Table coordinates of the first pixel's middle.
    mm_per_px : float
    """

    rgb: NDArray[np.uint8]
    seen: NDArray[np.bool_]
    low: Floats
    mm_per_px: float

    def to_mm(self, px: Floats) -> Floats:
        return np.asarray(self.low + px * self.mm_per_px)

    def to_px(self, mm: Floats) -> Floats:
        return np.asarray((mm - self.low) / self.mm_per_px)


@dataclass(frozen=True, slots=True)
class Table:
    """All views of one table; where several show a place, the one that has it nearest its middle counts."""

    views: Sequence[View]

    def box(self) -> tuple[Floats, Floats]:
        """What is seen at all: lowest and highest coordinates."""
        corners = []
        for view in self.views:
            height, width = view.photo.rgb.shape[:2]
            x, y = (np.linspace(0, size - 1, 9) for size in (width, height))
            rim = np.array([(a, b) for a in x for b in y if a in (0, width - 1) or b in (0, height - 1)])
            found = view.on_table(rim)
            near = np.abs(found - view.on_table(np.array([[width / 2, height / 2]]))).max(axis=1) < FARTHEST_MM
            corners.append(found[near & np.isfinite(found).all(axis=1)])
        points = np.vstack(corners)
        return points.min(axis=0), points.max(axis=0)

    def picture(self, mm_per_px: float, low: Floats, high: Floats) -> Picture:
        """The part between two corners, from straight above."""
        columns, rows = np.maximum(np.ceil((high - low) / mm_per_px).astype(int), 1)
        best = np.full((rows, columns), np.inf, np.float32)
        rgb = np.zeros((rows, columns, 3), np.uint8)
        for view in self.views:
            place, off = _map(view, low, mm_per_px, (int(rows), int(columns)))
            source = view.photo.rgb
            shrink = view.px_per_mm * mm_per_px
            if shrink > 1.5:  # what is reduced is blurred first, or it would sparkle
                source = np.asarray(cv2.GaussianBlur(source, (0, 0), 0.4 * shrink), np.uint8)
            own = cv2.remap(source, place[..., 0], place[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
            nearer = off < best
            cv2.copyTo(own, nearer.astype(np.uint8), rgb)
            best = np.minimum(best, off)
        return Picture(rgb, np.isfinite(best), np.asarray(low, float), mm_per_px)

    def colours(self, points: Floats) -> NDArray[np.float32]:
        """Light, 0 to 255 by the picture's coding, at places of any shape (..., 2); nan where nothing is seen; shape (..., 3)."""
        flat = points.reshape(-1, 2)
        best = np.full(len(flat), np.inf)
        found = np.full((len(flat), 3), np.nan, np.float32)
        for view in self.views:
            px = view.pixels(flat)
            off = _off_middle(px, view.photo.rgb.shape)
            nearer = off < best
            if nearer.any():
                maps = px[nearer].astype(np.float32).reshape(1, -1, 2)
                wide = 16384  # a map may have no longer side than 32767
                pad = (-maps.shape[1]) % wide
                maps = np.pad(maps, ((0, 0), (0, pad), (0, 0))).reshape(-1, wide, 2)
                own = cv2.remap(view.photo.rgb, maps, None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
                found[nearer] = own.reshape(-1, 3)[: int(nearer.sum())]
                best = np.minimum(best, off)
        return found.reshape(*points.shape[:-1], 3)


def _off_middle(px: Floats, shape: tuple[int, ...]) -> Floats:
    """How far pixels lie from a photo's middle, 1 at its rim; infinite beyond."""
    across, down = ((size - 1) / 2 for size in (shape[1], shape[0]))  # plain numbers leave the raster as narrow as it is
    far = np.maximum(np.abs(px[..., 0] - across) / (across - RIM_PX), np.abs(px[..., 1] - down) / (down - RIM_PX))
    return np.where(far <= 1, far, np.inf)


def _map(view: View, low: Floats, mm_per_px: float, size: tuple[int, int]) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Where each pixel of a part of the table is found in a photo, (H, W, 2), and how far from its middle, (H, W)."""
    cells = [-(-n // GRID_PX) + 2 for n in size]  # one more at either end; OpenCV's `resize` puts values in the middle of cells
    y, x = ((np.arange(n) - 0.5) * GRID_PX - 0.5 for n in cells)
    grid = low + np.stack(np.meshgrid(x, y), axis=-1) * mm_per_px
    px = view.pixels(grid.reshape(-1, 2)).reshape(*grid.shape)
    px[_behind(view, grid)] = -1e6
    fine = cv2.resize(px.astype(np.float32), (cells[1] * GRID_PX, cells[0] * GRID_PX), interpolation=cv2.INTER_LINEAR)
    place = np.ascontiguousarray(fine[GRID_PX : GRID_PX + size[0], GRID_PX : GRID_PX + size[1]])
    return place, np.asarray(_off_middle(place, view.photo.rgb.shape), np.float32)


def _behind(view: View, grid: Floats) -> NDArray[np.bool_]:
    """Places that the camera has behind it, or so far off that its lens model says nothing."""
    flat = grid.reshape(-1, 2) @ view.shift[:, :2].T + view.shift[:, 2]
    solid = np.column_stack([flat, np.zeros(len(flat))]) @ view.camera.rotation.T + view.camera.translation_mm
    aside = np.hypot(solid[:, 0], solid[:, 1]) / np.maximum(solid[:, 2], 1e-6)
    return np.asarray((solid[:, 2] <= 0) | (aside > 1.6)).reshape(grid.shape[:2])
