"""A printed sheet as it lies on the floor: turned, curled at its corners, following the unevenness of a carpet. Metres."""

import numpy as np

from . import prints
from .mesh import Floats
from .spec import FloorSheetSpec

PAPER_M = 0.0003  # above the floor
CURL_FROM = 0.45  # of the half diagonal, from where on a corner rises
RIPPLES = ((31.0, 17.0, 0.4), (-19.0, 37.0, 1.9), (53.0, -29.0, 4.1))  # waves across and along the sheet, 1/m, and their phases


def lying(spec: FloorSheetSpec, on_sheet_mm: Floats, share: float = 1.0) -> Floats:
    """Where points of the sheet (N, 2), mm from its upper left corner, x right, y down, lie in the world (N, 3).

    `share`: the size of the printer's prints over the drawing.
    """
    beyond = on_sheet_mm > [prints.FLOOR_WIDTH / 2, prints.FLOOR_HEIGHT / 2]
    curl = np.array(spec.curl_at)[np.where(beyond[:, 1], 3 - beyond[:, 0], beyond[:, 0] * 1)]  # of the nearest corner
    x, y = share * spec.print_share * (on_sheet_mm - [prints.FLOOR_WIDTH / 2, prints.FLOOR_HEIGHT / 2]).T / 1000 * [[1], [-1]]
    out = np.abs(on_sheet_mm / [prints.FLOOR_WIDTH, prints.FLOOR_HEIGHT] - 0.5).sum(axis=1)  # 1 at the corners
    rise = np.clip((out - CURL_FROM) / (1 - CURL_FROM), 0, None) ** 2 * curl * spec.curl_mm / 1000
    wave = np.mean([np.sin(2 * np.pi * (a * x + b * y) / 10 + phase) for a, b, phase in RIPPLES], axis=0)
    turn = np.radians(spec.yaw_deg)
    height = PAPER_M + rise + spec.ripple_mm / 1000 * (1 + wave)
    return np.stack([spec.pos_m[0] + np.cos(turn) * x - np.sin(turn) * y, spec.pos_m[1] + np.sin(turn) * x + np.cos(turn) * y, height], 1)
