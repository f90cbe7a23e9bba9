"""A seam made as long again as the one that it is sewn to."""

import numpy as np

from fitcheck.core.records import Floats
from fitcheck.pattern.block import Piece, line, path_length
from fitcheck.pattern.lines import drag, solve


def match_princess(centre: Piece, side: Piece) -> Piece:
    """Lengthen (or shorten) the centre front above and below the bust until its princess seams are as long as the side front's."""

    def upper(drop: float) -> Floats:
        return drag(centre.edges["princess_upper"][::-1], np.array([0.0, drop]))[::-1]

    drop = solve(lambda d: path_length(upper(d)) - side.length("princess_upper"))
    bust = upper(drop)[-1]
    foot = centre.edges["princess_lower"][-1]

    def lower(more: float) -> Floats:
        return np.array([bust, foot + [0.0, more]])

    more = solve(lambda d: path_length(lower(d)) - side.length("princess_lower"))
    low = np.array([[0.0, more], [0.0, more]])
    return centre.with_edges(
        (line((0.0, float(bust[1])), (float(bust[0]), float(bust[1]))),),
        princess_upper=upper(drop),
        princess_lower=lower(more),
        waist=centre.edges["waist"] + low,
        centre=centre.edges["centre"] + np.array([[0.0, more], [0.0, 0.0]]),
    )
