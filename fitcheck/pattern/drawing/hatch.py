"""Areas filled with lines, so that what is put in and what is taken out differ in grey print too."""

import numpy as np
from shapely import LineString, Polygon

from fitcheck.core.records import Floats


def hatched(area: Floats, apart: float, turns_deg: tuple[float, ...]) -> list[Floats]:
    """Parallel lines across an area, in one direction or more.

    Parameters
    ----------
    area : ndarray, shape (N, 2)
    apart : float
        Distance of the lines, mm.
    turns_deg : tuple of float
        Directions against the level, counted clockwise on paper.
    """
    shape = Polygon(area).buffer(0)
    found = []
    for turn in np.radians(turns_deg):
        along, across = np.array([np.cos(turn), np.sin(turn)]), np.array([-np.sin(turn), np.cos(turn)])
        reach, length = area @ across, area @ along
        far = [length.min() - 1, length.max() + 1]
        for at in np.arange(np.ceil(reach.min() / apart) * apart, reach.max(), apart):
            ends = np.outer(far, along) + across * at
            inside = shape.intersection(LineString(ends))
            found += [
                np.array(one.coords) for one in getattr(inside, "geoms", [inside]) if one.geom_type == "LineString" and one.length > 0
            ]
    return found
