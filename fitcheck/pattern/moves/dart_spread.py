"""A front with a side dart made fuller or flatter at the bust, whatever draft it comes from."""

import math
from dataclasses import replace

import numpy as np

from fitcheck.core.records import Floats
from fitcheck.pattern.lines import nearest_along, part, path_length, point_at, rotated, turn_between, unit
from fitcheck.pattern.piece import Mark, Piece, arrow

SHORT_OF_POINT_MM = 25.0  # a dart ends short of the bust point (common practice: 2 to 3 cm)


def dart_spread(piece: Piece, width: float, level: bool = True) -> Piece:
    """Cut from the lower edge over the bust point to the armhole, and from the bust point through the dart; opened by a width at the bust.

    The part above the dart turns about the armhole, the part below slides out unturned, so that the edges of the long cut stay parallel
    below the bust and the dart grows (common practice of cutting for a fuller bust).

    Parameters
    ----------
    piece : Piece
        With edges side_upper, dart_upper, dart_lower and side_lower; the bust point is its inner point of that name, else it lies beyond
        the dart's point along the dart's middle.
    width : float
        Below zero the paper is lapped.
    level : bool
        The centre part is lengthened until the lower edge is level again; otherwise it runs to nothing at the centre.

    Raises
    ------
    ValueError
        The dart would vanish.
    """
    armhole, legs = piece.edges["armhole"], np.array([piece.edges["dart_upper"][0], piece.edges["dart_lower"][-1]])
    point = piece.edges["dart_upper"][-1]
    ahead = unit(point - legs.mean(axis=0))
    bust = piece.inner["bust point"][0] if "bust point" in piece.inner else point + ahead * SHORT_OF_POINT_MM
    hinge_at = path_length(armhole) / 2
    hinge = point_at(armhole, hinge_at)
    radius, across = math.dist(bust, hinge), float(bust[0] + width - hinge[0])
    if abs(across) >= radius:
        raise ValueError("the dart would vanish")
    angle = turn_between(bust - hinge, np.array([across, math.sqrt(radius**2 - across**2)]))
    moved = rotated(bust[None], angle, hinge)[0]
    slide = moved - bust
    drop = np.array([0.0, slide[1] if level else 0.0])
    low = "hem" if "hem" in piece.edges else "waist"
    edge = piece.edges[low]
    foot_at = nearest_along(edge, np.array([bust[0], 9e3]))
    foot = point_at(edge, foot_at)
    upper, lower = rotated(legs[:1], angle, hinge)[0], legs[1] + slide
    if float((lower - upper) @ unit(legs[1] - legs[0])) < 0:
        raise ValueError("the dart would vanish")
    new_point = _between_legs(upper, lower, math.dist(legs[0], point), math.dist(legs[1], point), moved)
    centre = piece.edges["centre"].copy()
    centre[0] = centre[0] + drop
    shared = max(0.0, -width) / 2  # of paper that lies double each part gives half, so that the edge runs on
    kind = "gap" if width > 0 else "lap"
    marks = (
        Mark("cut", np.array([foot, bust, hinge])),
        Mark("cut", np.array([bust, legs.mean(axis=0)])),
        Mark(kind, np.array([hinge, bust, foot, foot + slide, moved])),
        Mark("hinge", hinge[None]),
        arrow(bust, moved, width),
    )
    found = piece.with_edges(
        *marks,
        armhole=np.vstack([part(armhole, 0, hinge_at), rotated(part(armhole, hinge_at, path_length(armhole)), angle, hinge)[1:]]),
        side_upper=rotated(piece.edges["side_upper"], angle, hinge),
        dart_upper=np.array([rotated(piece.edges["side_upper"][-1:], angle, hinge)[0], new_point]),
        dart_lower=np.array([new_point, lower]),
        side_lower=piece.edges["side_lower"] + slide,
        centre=centre,
        **{low: np.vstack([part(edge, 0, foot_at - shared) + slide, part(edge, foot_at + shared, path_length(edge)) + drop])},
    )
    return replace(found, inner={**piece.inner, "bust point": moved[None]})


def _between_legs(upper: Floats, lower: Floats, one: float, two: float, bust: Floats) -> Floats:
    """The point of a dart whose legs keep their lengths, on the side of the bust point."""
    apart = math.dist(upper, lower)
    along = (one**2 - two**2 + apart**2) / (2 * apart)
    if abs(along) >= one:
        raise ValueError("the dart would vanish")
    way = (lower - upper) / apart
    across = np.array([-way[1], way[0]])
    across = across if float((bust - upper) @ across) > 0 else -across
    found: Floats = upper + way * along + across * math.sqrt(one**2 - along**2)
    return found
