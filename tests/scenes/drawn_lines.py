"""Seam lines and marks drawn on the garment while it hangs settled on the reference body. Subject frame of that body, metres.

With all offsets zero every mark lies on its landmark and the side seam hangs plumb below the underarm point.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp

from .mesh import Bools, Floats, Ints, Map, boundary_edges
from .polylines import isoline, trim
from .spec import HalfTissue

CUT_M = 0.0006


def draw_half_lines(
    x: Floats, tris: Ints, lm: Mapping[str, Floats], half: HalfTissue, offsets_mm: Mapping[str, float], ends: dict[str, Floats]
) -> dict[str, Map]:
    """The lines of a half tissue, as `draw_lines`: its own centre lines, and where its cloth ends beyond them.

    Parameters
    ----------
    ends : dict of ndarray, shape (n,)
        "front" and "back": how far from the middle the centre lines lie at each vertex's height, m.
    """
    chalk, side = _Chalk(x, tris, lm, offsets_mm), half.side
    sign = 1 if side == "L" else -1
    lines = {"waist": chalk.waist()} | chalk.of_side(side, sign)
    for end, front in (("front", True), ("back", False)):
        edge = chalk.cut_edge(x[:, 0] * sign - ends[end] + half.beyond_mm / 1000, front)
        lines[f"{end}_edge_{side}"] = edge
        drawn = chalk.centre_at(x[:, 0] * sign - ends[end], front)
        lines[f"centre_{end}_{side}"] = edge if half.beyond_mm == 0 else drawn
    return {name: line for name, line in lines.items() if line is not None}


def draw_lines(x: Floats, tris: Ints, lm: Mapping[str, Floats], opened: bool, offsets_mm: Mapping[str, float]) -> dict[str, Map]:
    """All lines as line maps by name.

    Parameters
    ----------
    x : ndarray, shape (n, 3)
        The settled garment.
    lm : dict
        Landmarks of the reference body.
    opened : bool
        The front is open: its two edges instead of one centre front.
    offsets_mm : dict
        See `spec.OFFSETS`; keys with or without _L or _R.
    """
    chalk = _Chalk(x, tris, lm, offsets_mm)
    lines = {"waist": chalk.waist(), "centre_back": chalk.centre("centre_back_left", front=False)}
    if not opened:
        lines["centre_front"] = chalk.centre("centre_front_left", front=True)
    for side, sign in (("L", 1), ("R", -1)):
        if opened:
            lines["front_edge_" + side] = chalk.beside_edge(sign, 0.0008)
            lines["centre_front_" + side] = chalk.beside_edge(sign, 0.0035)
        lines |= chalk.of_side(side, sign)
    return {name: line for name, line in lines.items() if line is not None}


@dataclass(frozen=True)
class _Chalk:
    """Draws one line at a time; see `draw_lines` for the fields."""

    x: Floats
    tris: Ints
    lm: Mapping[str, Floats]
    offsets_mm: Mapping[str, float]

    def _offset(self, key: str, side: str = "") -> float:
        return (self.offsets_mm.get(key, 0.0) + (self.offsets_mm.get(f"{key}_{side}", 0.0) if side else 0.0)) / 1000

    @property
    def _middle_y(self) -> float:
        return float(0.5 * (self.lm["waist_front"][1] + self.lm["waist_back"][1]))

    def _line(self, g: Floats, *, sign: int = 0, front: bool | None = None, above: float = -np.inf, below: float = np.inf) -> Map | None:
        """Isoline g = 0 on her left (sign 1) or right (-1), front or back, between two heights."""

        def mask(c: Floats) -> Bools:
            inside = (c[:, 2] > above) & (c[:, 2] < below)
            if sign:
                inside &= c[:, 0] * sign > 0
            if front is not None:
                inside &= (c[:, 1] < self._middle_y) if front else (c[:, 1] > self._middle_y)
            return np.asarray(inside)

        return isoline(self.x, self.tris, g, mask)

    def of_side(self, side: str, sign: int) -> dict[str, Map | None]:
        """All lines of one side but the centres."""
        lines = {
            "shoulder_" + side: self.shoulder(side, sign),
            "side_" + side: self.side(side, sign),
            "princess_back_" + side: self.princess_back(sign),
        }
        return lines | {f"{name}_{side}": line for name, line in self.bust(side, sign).items()}

    def centre_at(self, away: Floats, front: bool) -> Map | None:
        """Where `away` (n,) is 0, before or behind."""
        return self._line(away, front=front)

    def cut_edge(self, away: Floats, front: bool) -> Map | None:
        """The vertices on a cut where `away` (n,) is about 0, from above; a cut keeps off corners by up to a fiftieth of a side."""
        rim = np.unique(boundary_edges(self.tris))
        before = self.x[rim, 1] < self._middle_y
        rim = rim[(np.abs(away[rim]) < CUT_M) & (before == front)]
        rim = rim[np.argsort(-self.x[rim, 2])]
        rows = np.arange(len(rim))
        return sp.csr_matrix((np.ones(len(rim)), (rows, rim)), (len(rim), len(self.x))) if len(rim) > 1 else None

    def centre(self, key: str, front: bool) -> Map | None:
        """Centre front or centre back."""
        return self._line(self.x[:, 0] - self._offset(key), front=front)

    def waist(self) -> Map | None:
        """All around, through its front, side and back points."""
        y = self.x[:, 1]
        front, back, side = (self.lm[k] for k in ("waist_front", "waist_back", "waist_side_L"))
        side = (side + self.lm["waist_side_R"]) / 2
        to_front, to_back = np.clip((side[1] - y) / (side[1] - front[1]), 0, 1), np.clip((y - side[1]) / (back[1] - side[1]), 0, 1)
        back_z = back[2] + self._offset("waist_back_up")
        level = side[2] + to_front * (front[2] - side[2]) + to_back * (back_z - side[2]) + self._offset("waist_up")
        return self._line(self.x[:, 2] - level)

    def shoulder(self, side: str, sign: int) -> Map | None:
        """From side neck to shoulder point."""
        neck, tip = self.lm["side_neck_" + side], self.lm["shoulder_point_" + side]
        t = (self.x[:, 0] * sign - abs(neck[0])) / (abs(tip[0]) - abs(neck[0]))
        y = (neck[1] + self._offset("shoulder_behind_neck", side)) * (1 - t) + (tip[1] + self._offset("shoulder_behind_tip", side)) * t
        return self._line(self.x[:, 1] - y, sign=sign, above=tip[2] - 0.05)

    def side(self, side: str, sign: int) -> Map | None:
        """Plumb below the underarm point, from 10 mm above it."""
        _, y, z = self.lm["underarm_" + side]
        g = self.x[:, 1] - y + self._offset("side_forward", side)
        line = isoline(self.x, self.tris, g, lambda c: np.asarray((c[:, 0] * sign > 0.05) & (c[:, 2] < z + 0.03)))
        return trim(line, self.x, lambda p: np.asarray(p[:, 2] - (z + 0.01)))

    def bust(self, side: str, sign: int) -> dict[str, Map | None]:
        """Princess line (its upper end is the bust mark), a tick across that mark, and the dart."""
        gx, gz = self.x[:, 0] * sign, self.x[:, 2]
        bust, underarm, waist_z = self.lm["bust_point_" + side], self.lm["underarm_" + side], self.lm["waist_front"][2]
        mark_x, mark_z = bust[0] * sign + self._offset("bust_mark_out", side), bust[2] + self._offset("bust_mark_up", side)
        curve = mark_x * np.interp(gz, [waist_z - 0.15, waist_z, mark_z], [1.05, 0.88, 1.0])
        princess = self._line(gx - curve, sign=sign, front=True, below=mark_z + 0.03)
        tick = self._line(gz - mark_z, sign=sign, front=True)
        dart_z = mark_z - 0.035 * np.clip((gx - mark_x) / 0.07, -1, 2) - 0.012
        near = self._middle_y + 0.03
        dart = isoline(self.x, self.tris, gz - dart_z, lambda c: np.asarray((c[:, 0] * sign > 0.03) & (c[:, 1] < near)))
        return {
            "princess": trim(princess, self.x, lambda p: np.asarray(p[:, 2] - mark_z)),
            "bust_tick": trim(tick, self.x, lambda p: np.asarray(np.abs(p[:, 0] * sign - mark_x) - 0.028)),
            "dart": trim(dart, self.x, lambda p: np.maximum(mark_x + 0.020 - p[:, 0] * sign, p[:, 1] - underarm[1])),
        }

    def princess_back(self, sign: int) -> Map | None:
        """From the hem to 22 cm above the waist."""
        waist_z = self.lm["waist_front"][2]
        curve = 0.085 * np.interp(self.x[:, 2], [waist_z - 0.15, waist_z, waist_z + 0.2], [1.0, 0.82, 1.0])
        line = self._line(self.x[:, 0] * sign - curve, sign=sign, front=False)
        return trim(line, self.x, lambda p: np.asarray(p[:, 2] - (waist_z + 0.22)))

    def beside_edge(self, sign: int, inside: float) -> Map | None:
        """At the distance `inside` within one edge of the opened front; the edge bows a little when worn."""
        x = self.x
        rim = np.unique(boundary_edges(self.tris))
        rim = rim[(x[rim, 0] * sign > -0.03) & (x[rim, 0] * sign < 0.007) & (x[rim, 1] < np.median(x[:, 1]))]
        rim = rim[(x[rim, 2] > x[:, 2].min() - 0.01) & (x[rim, 2] < x[:, 2].max())]
        on_side = np.zeros(len(x), bool)
        on_side[self.tris[x[self.tris].mean(1)[:, 0] * sign > 0]] = True
        rim = rim[on_side[rim]]
        rim = rim[np.argsort(x[rim, 2])]
        edge_x = np.interp(x[:, 2], x[rim, 2], x[rim, 0])

        def near(c: Floats) -> Bools:
            return np.asarray((c[:, 1] < self._middle_y) & (sign * c[:, 0] > -0.004) & (np.abs(c[:, 0]) < 0.05))

        line = isoline(x, self.tris, (x[:, 0] - edge_x) * sign - inside, near)
        return trim(line, x, lambda p: np.asarray(np.abs(p[:, 0]) - 0.009))  # no tails along neck and hem
