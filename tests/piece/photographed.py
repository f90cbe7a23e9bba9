"""Small photos of drawn pieces for tests: a plain table, a camera a little off the plumb line, the card beside."""

import numpy as np
from scenes.sheets.paper import Sheet
from scenes.sheets.photograph import LaidCard, Room, photograph
from scenes.sheets.table import surface
from scenes.sheets.table_camera import TableCamera, above

SIZE = (2400, 1800)


def room(kind="dark", seed=5):
    rng = np.random.default_rng(seed)
    return Room(
        table=surface(kind, 1500.0, 1500.0, rng),
        table_corner=np.array([-500.0, -500.0]),
        things=np.zeros((8, 8, 3), np.float32),
        things_cover=np.zeros((8, 8), np.float32),
        things_corner=np.array([-900.0, -900.0]),
        lamp_at=np.array([500.0, -100.0]),
        lamp_height=1200.0,
        ambient=0.6,
        lamp_tone=(1.0, 0.95, 0.88),
        tissue=(0.8, 0.75, 0.62),
        opaque=0.8,
        exposure=0.95,
        blur_px=0.7,
        noise=1.5,
        quality=92,
    )


def camera(middle, extent, tilt=8.0, bend=(-0.01, 0.0)) -> TableCamera:
    focal = 26.0 / np.hypot(36, 24) * np.hypot(*SIZE)
    return above(np.asarray(middle, float), float(max(np.asarray(extent) / SIZE)) * focal * 1.18, tilt, 70.0, 1.0, focal, bend, SIZE)


def taken(path, sheets: list[Sheet], card: LaidCard | None, seen: TableCamera, kind="dark") -> None:
    photograph(path, seen, sheets, card, room(kind), 26, np.random.default_rng(3))
