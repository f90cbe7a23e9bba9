"""Where a garment begins: points of the paper carried to the places of the body that they are made for, then pushed off the skin."""

from collections.abc import Mapping

import numpy as np
from scipy.interpolate import RBFInterpolator

from fitcheck.pattern.piece import Piece

from ..mesh import Floats
from .cut import Cloth
from .figure import Figure


def ways(piece: Piece, at: Mapping[str, Floats]) -> tuple[Floats, Floats]:
    """Places on the paper and where they belong on her left half, (k, 2) and (k, 3)."""
    side = piece.edges[piece.edges_named("side")[-1]]
    under = piece.edges[piece.edges_named("side")[0]][0]
    centre, neck, shoulder = piece.edges["centre"], piece.edges["neck"], piece.edges["shoulder"]
    back = piece.name == "back"
    waist, hip = float(piece.inner["waist"][0, 1]), float(centre[0, 1])
    waist_at = at["waist_back" if back else "waist_front"]
    hip_z = waist_at[2] - (hip - waist)
    hip_y = at["seat_back"][1] if back else at["waist_front"][1]
    below = at["underarm_L"] + [12.0, 0.0, -20.0]
    pairs = [
        (centre[-1], at["back_neck"] if back else at["front_neck"] + [0, 0, -10.0]),
        (neck[-1], at["side_neck_L"]),
        (shoulder[-1], at["shoulder_point_L"]),
        (under, below),
        (np.array([0.0, waist]), waist_at),
        (np.array([np.interp(waist, side[:, 1], side[:, 0]), waist]), at["waist_side_L"]),
        (np.array([0.0, hip]), np.array([0.0, hip_y, hip_z])),
        (side[-1], np.array([at["hip_side_L"][0], at["hip_side_L"][1], hip_z])),
    ]
    if back:
        blade_z = (at["back_neck"][2] + at["underarm_L"][2]) / 2
        pairs.append((np.array([0.0, (neck[0, 1] + under[1]) / 2 + 20]), np.array([0.0, at["back_neck"][1] + 20.0, blade_z])))
    else:
        apex = piece.inner["bust point"][0]
        pairs.append((apex, at["bust_point_L"]))
        pairs.append((np.array([0.0, apex[1]]), at["bust_point_L"] * [0, 1, 1] + [0, 12.0, 0]))
    flat, places = (np.array(column) for column in zip(*pairs, strict=True))
    return flat, places


def start(cloth: Cloth, pieces: Mapping[str, Piece], flat: Floats, figure: Figure) -> Floats:
    """First shape of the garment on the body, shape (n, 3)."""
    placed = np.zeros((len(flat), 3))
    for number, name in enumerate(cloth.names):
        own = cloth.piece_of == number
        there, here = ways(pieces[name], figure.points)
        placed[own] = RBFInterpolator(there, here, kernel="thin_plate_spline")(flat[own])
    share = np.bincount(cloth.sewn_to)[:, None]
    x = np.stack([np.bincount(cloth.sewn_to, placed[:, k]) for k in range(3)], 1) / share
    for name in cloth.names:
        if (name, "centre") in cloth.border:
            x[cloth.along(name, "centre"), 0] = 0.0
    return x
