"""Below the waist: skirt and trousers, with their waistband."""

import math
from functools import lru_cache

import numpy as np

from fitcheck.pattern.drafts.block import HIP_BELOW_WAIST, Block, Body, strip
from fitcheck.pattern.lines import curve, line, path_length, stretched
from fitcheck.pattern.piece import Piece

BAND = "waistband"
SKIRT_LONG, TROUSERS_LONG = 600.0, 1000.0
DART_MM = 20.0  # what the waist dart of each quarter takes in (common practice: 2 to 3 cm)


@lru_cache(maxsize=8)
def skirt(body: Body, front: str = "") -> Block:
    """Straight: front and back with equal side seams; a waist dart each."""
    pieces = {}
    for name, rise in (("back", 6.0), ("front", 0.0)):
        waist, hip = body.waist / 4 + 25, body.hip / 4 + 15
        side_top = np.array([waist, -10.0])
        hip_side = np.array([hip, HIP_BELOW_WAIST])
        pieces[name] = Piece(
            name,
            {
                "waist": curve(np.array([0.0, rise]), np.array([waist / 2, rise]), side_top),
                "side": np.vstack([curve(side_top, np.array([hip, 90.0]), hip_side), [[hip, SKIRT_LONG]]]),
                "hem": line((hip, SKIRT_LONG), (0.0, SKIRT_LONG)),
                "centre": line((0.0, SKIRT_LONG), (0.0, rise)),
            },
            taken={"waist": DART_MM},
        )
    return _banded(pieces, "side")


def crotch_level(body: Body) -> float:
    """Below the waist (common practice: a quarter of the hip and a little)."""
    return body.hip / 4 + 20


@lru_cache(maxsize=8)
def trousers(body: Body, front: str = "") -> Block:
    """Front and back leg; outside and inside seams have one length each, the crotch curve runs from the inside leg to the waist."""
    pieces: dict[str, Piece] = {}
    depth, long, half_hem = crotch_level(body), TROUSERS_LONG, 100.0
    for name, fork, rise in (("front", body.hip / 16 - 5, 0.0), ("back", body.hip / 8 - 5, -15.0)):
        waist, hip = body.waist / 4 + 25, body.hip / 4 + 10
        inside, crease = np.array([-fork, depth]), hip / 2 - fork / 2
        outside = np.vstack(
            [curve(np.array([waist, 0.0]), np.array([hip, 80.0]), np.array([hip, depth - 70])), [[crease + half_hem, long]]]
        )
        hem_in = np.array([crease - half_hem, long])
        if name == "back":  # its slanting seams are longer: less height for the same length
            outside = stretched(outside, path_length(pieces["front"].edges["outside"]), 0)
            inside[1] = long - math.sqrt(path_length(pieces["front"].edges["inside"]) ** 2 - (hem_in[0] - inside[0]) ** 2)
        top = np.array([0.0, rise])
        pieces[name] = Piece(
            name,
            {
                "waist": np.array([top, outside[0]]),
                "outside": outside,
                "hem": np.array([outside[-1], hem_in]),
                "inside": np.array([hem_in, inside]),
                "crotch": np.vstack([curve(inside, np.array([0.0, inside[1]]), np.array([0.0, depth - 90])), [top]]),
            },
            {"crease": line((crease, depth - 120), (crease, long))},
            {"waist": DART_MM},
        )
    return _banded({"back": pieces["back"], "front": pieces["front"]}, "outside", "inside")


def _banded(pieces: dict[str, Piece], *seams: str) -> Block:
    pieces[BAND] = strip(BAND, back=pieces["back"].length("waist"), front=pieces["front"].length("waist"))
    sewn = (
        *(((("back", seam),), (("front", seam),)) for seam in seams),
        *((((name, "waist"),), ((BAND, name),)) for name in ("back", "front")),
    )
    return Block(pieces, sewn)
