"""A pattern piece of her own: what was read, named and put right; the one record that is kept, altered and drawn."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from shapely import LineString, Point, Polygon, line_locate_point, points

from fitcheck.core.records import Floats

SAME_DART_MM = 6.0  # between the ends of a dart's legs and of its mouth
MOUTH = "mouth"  # edges between the legs of a dart begin so


@dataclass(frozen=True, slots=True)
class OwnPiece:
    """One piece, its centre line (or grain) upright, y downwards, mm.

    Attributes
    ----------
    name : str
        As she calls it.
    edges : dict of str to ndarray, shape (N, 2)
        The cutting line, clockwise as seen, each beginning where the one before ends.
    allowance_mm : float
        Between cutting line and seam line.
    fold : str
        The edge on the fold, "" where there is none: it has no allowance.
    darts : tuple of ndarray, shape (3, 2)
        Leg end on the cutting line, point, leg end, in the edges' order.
    notches : tuple of ndarray, shape (2,)
        On the cutting line.
    grain : ndarray, shape (2, 2), or None
    mirrored : bool
        It lay the other way round on the table.
    done : tuple of (str, float)
        Alterations that are in it, with their amounts, mm.
    notes : tuple of str
        What there is to doubt.
    """

    name: str
    edges: Mapping[str, Floats]
    allowance_mm: float = 0.0
    fold: str = ""
    darts: tuple[Floats, ...] = ()
    notches: tuple[Floats, ...] = ()
    grain: Floats | None = None
    mirrored: bool = False
    done: tuple[tuple[str, float], ...] = ()
    notes: tuple[str, ...] = field(default_factory=tuple)

    @property
    def outline(self) -> Floats:
        """The cutting line, closed without the first point again."""
        return np.vstack([edge[:-1] for edge in self.edges.values()])

    def seam_lines(self) -> dict[str, Floats]:
        """The edges moved in by the allowance and brought to corners again, beside a dart to its legs; mouths are left as they are cut."""
        names = list(self.edges)
        inner = {name: self.inwards(name) for name in names}
        for i, name in enumerate(names):
            before = names[i - 1]
            inner[before], inner[name] = cut_to_meet(inner[before], inner[name])
        for i, name in enumerate(names):
            dart = self.dart_of(name) if self.allowance_mm else None
            if dart is not None:
                before, after = names[i - 1], names[(i + 1) % len(names)]
                inner[before] = _on_leg(inner[before], dart[0], dart[1])
                inner[after] = _on_leg(inner[after][::-1], dart[2], dart[1])[::-1]
                inner[name] = np.vstack([inner[before][-1], inner[name][1:-1], inner[after][0]])
        return inner

    def dart_of(self, mouth: str) -> Floats | None:
        """The dart whose legs end where a mouth does."""
        if not mouth.startswith(MOUTH):
            return None
        ends = self.edges[mouth][[0, -1]]
        return next((dart for dart in self.darts if np.hypot(*(dart[[0, 2]] - ends).T).max() < SAME_DART_MM), None)

    def seam_outline(self) -> Floats:
        """The seam line, closed without the first point again."""
        return np.vstack([edge[:-1] for edge in self.seam_lines().values()])

    def inwards(self, name: str) -> Floats:
        """One edge moved in by the allowance (out, for one below zero), but for a fold."""
        line = self.edges[name]
        if name == self.fold or not self.allowance_mm:
            return line
        moved = LineString(line).offset_curve(self.allowance_mm, join_style="mitre")
        parts = [np.array(part.coords) for part in getattr(moved, "geoms", [moved])]
        return np.vstack(parts) if all(len(part) for part in parts) else _beside(line, self.allowance_mm)

    def area_mm2(self) -> float:
        """Within the cutting line."""
        return float(Polygon(self.outline).area)


def _beside(line: Floats, by: float) -> Floats:
    """A line moved to its left as seen clockwise, point by point: what is left where a bend is tighter than that."""
    way = np.gradient(line, axis=0)
    way /= np.maximum(np.hypot(*way.T), 1e-9)[:, None]
    return line + by * np.column_stack([-way[:, 1], way[:, 0]])


def _on_leg(line: Floats, end: Floats, point: Floats) -> Floats:
    """A seam line up to a dart's leg, continued to it or cut back."""
    far = _longer(line[::-1])[::-1]
    crossed = LineString(far).intersection(LineString([end + (end - point) * 0.2, point]))
    places = [np.array(one.coords[0]) for one in getattr(crossed, "geoms", [crossed]) if not one.is_empty and one.geom_type == "Point"]
    return _until(far, min(places, key=lambda place: float(np.hypot(*(place - end))))) if places else line


def cut_to_meet(one: Floats, two: Floats) -> tuple[Floats, Floats]:
    """Two seam lines, each continued along its own last direction or cut back, until they share a corner."""
    a, b = _longer(one[::-1])[::-1], _longer(two)
    crossed = LineString(a).intersection(LineString(b))
    if crossed.is_empty:
        middle = (one[-1] + two[0]) / 2
        return np.vstack([one[:-1], middle]), np.vstack([middle, two[1:]])
    places = [np.array(p.coords[0]) for p in getattr(crossed, "geoms", [crossed])]
    corner = min(places, key=lambda p: float(np.hypot(*(p - one[-1])) + np.hypot(*(p - two[0]))))
    return _until(a, corner), _until(b[::-1], corner)[::-1]


def _longer(line: Floats, by: float = 40.0) -> Floats:
    far = np.hypot(*(line - line[0]).T)
    way = line[0] - line[int(np.argmax(far > 0.5))]  # over half a millimetre: the very last step may point anywhere
    return np.vstack([line[:1] + way / np.hypot(*way) * by, line])


def _until(line: Floats, corner: Floats) -> Floats:
    """A line up to a place on it."""
    path = LineString(line)
    at = path.project(Point(*corner))
    own = line_locate_point(path, points(line))
    return np.vstack([line[own < at - 1e-6], corner[None]])
