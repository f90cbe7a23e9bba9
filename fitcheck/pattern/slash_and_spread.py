"""A piece cut open along a line and spread about a hinge."""

import math

import numpy as np

from fitcheck.pattern.block import Body, Piece, bodice, line
from fitcheck.pattern.lines import rotated

DRAFTED_MM = 42.0  # spread at the bust of the block's own dart (estimate: a usual B)


def darted_front(body: Body, spread: float) -> Piece:
    """The front slashed to the bust point and spread there, so that the dart at the side opens; its legs have one length."""
    front = bodice(body)["front"]
    armhole, side = front.edges["armhole"], front.edges["side"]
    at = len(armhole) * 2 // 3
    hinge = armhole[at]
    bust = np.array([body.bust_span / 2, side[0, 1] + 45.0])
    dart = side[0] + (side[1] - side[0]) * 0.35
    foot = np.array([bust[0], body.back_waist])
    angle = -2 * math.asin(spread / 2 / float(np.hypot(*(bust - hinge))))
    apex, leg, underarm = (rotated(point[None], angle, hinge)[0] for point in (bust, dart, side[0]))
    slide = apex - bust  # what lies below the dart slides out unturned: the edges of the long cut stay parallel
    level = np.array([0.0, slide[1]])
    return Piece(
        "front",
        {
            "neck": front.edges["neck"],
            "shoulder": front.edges["shoulder"],
            "armhole": np.vstack([armhole[: at + 1], rotated(armhole[at + 1 :], angle, hinge)]),
            "side_upper": np.array([underarm, leg]),
            "dart_upper": np.array([leg, apex]),
            "dart_lower": np.array([apex, dart + slide]),
            "side_lower": np.array([dart + slide, side[1] + slide]),
            "waist": np.array([side[1] + slide, foot + slide, foot + level, [0.0, body.back_waist + slide[1]]]),
            "centre": line((0.0, body.back_waist + float(slide[1])), (0.0, float(front.edges["neck"][0, 1]))),
        },
        (np.array([apex, hinge]), np.array([foot + slide, apex])),
    )
