"""Points of the garment that are compared with points of the body, read off the seam lines of each photo.

A seam is a curve; what is measured are single points of it: its ends, where it crosses a level, the mark at its top. Each becomes a
sighting, and a tie to the body point it lies near, which gives the one coordinate its photo cannot show (the depth).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fitcheck.core.records import OTHER_SIDE, OUTWARDS, SIDE_VIEW, SIDES, Floats, SeamLine, Side, Sighting, View
from fitcheck.core.solution import PointKey, Solution, Tie
from fitcheck.measure.seam_curve import WANDER, at_row, direction_at_end, upright_part
from fitcheck.measure.seam_reader import END_SD_PX, LONGEST_EXTENSION_MM, SURFACE_SD_MM, SeamReader, Spot, picture_end

# Ties of garment points to body points: offset and standard deviation where their photo shows no depth. Estimates, on our drapes.
TIP_OUT_MM, TIP_UP_MM = 2.0, 4.0  # the end of the shoulder seam, outside and above the shoulder point
SHOULDER_TIE_MM = (9.0, 20.0, 60.0)  # across, up, forward: a forward shoulder is what is to be measured
WAIST_DEPTH_SD_MM = 10.0
BUST_CLOTH_MM, BUST_DEPTH_SD_MM = 6.0, 10.0  # cloth before the bust point
LEVEL_POINT = {"bust": "bust_point", "waist": "waist_side", "hip": "hip_side"}
FREE_MM = 60.0  # of a tie along which nothing is assumed: more than any garment strays
ANY_HEIGHT_MM = 400.0  # the same for points sampled all along a seam
LONGEST_REACH_PX, BEND_PX = 60.0, 8.0  # how far a princess line may end below its bar, and how near the bar it may bend into it
UPPER_POINTS, FEWEST_POINTS = 40, 5  # of a princess line, that tell where it would meet the bar
# Seen from the front or back the end of the seam bends away over the shoulder's horizon, so what is seen ends before it does: by so
# much, and its standard deviation; measured on our scenes.
OVER_THE_SHOULDER_MM = (3.0, 4.0)
NECKLINE_MM = 15.0  # a neckline at the neck ends the shoulder seam so far down the shoulder from the side neck point; our drapes
FAR_MARK_MM = 60.0  # a bust mark or a waist line further from her bust point or waist is another line; twice what is ever altered; estimate
LONE_MARK_MM = 30.0  # the same for a mark that has no like on the other side: a pleat, a pocket; estimate
MARKS_APART_MM = 30.0  # both sides' marks of one pattern lie alike to their bust points, to within this; estimate
FAR_ASIDE_MM = 40.0  # the same for a side seam (20 mm is much)
FAR_CENTRE_MM, FAR_EDGE_MM = 40.0, 110.0  # the same for a centre line against the middle of her, and for an edge of an opened front
WAIST_QUARTER: dict[tuple[str, Side | None], int] = {  # where the cloth lies before the waist points, as `Solution.reach_mm`
    ("front", None): 1,
    ("back", None): 3,
    ("side", "wearer_left"): 0,
    ("side", "wearer_right"): 2,
}
WAISTS_APART_MM = 40.0  # a waist is one ring: what lies farther from the middle of three or more readings is another line; estimate
FAR_OFF_END_MM = {"shoulder_point": 40.0, "side_neck_point": 32.0}  # an end further off belongs to another line; estimate
SIDE_SAMPLES = 6  # points along a side seam, through which its lean is fitted
BESIDE_MARK_MM, EVEN_SD = 25.0, 0.29  # half the bar of a bust mark, of which one end may be left; sd of a place anywhere in a width of 1
BELOW_MARK_MM = 5.0  # a dart lies lower
SLANT, BAR_MM, UNEVEN_MM = 0.3, 40.0, 20.0  # of a bar: its slope, its length, how far those of both sides differ in height; estimate


@dataclass(frozen=True, slots=True)
class GarmentPoints:
    """Sightings of garment points and their ties, ready for the joint adjustment."""

    sightings: tuple[Sighting, ...]
    ties: tuple[Tie, ...]


def garment_points(body: Solution, seams: Sequence[SeamLine], sightings: Sequence[Sighting]) -> GarmentPoints:
    """Read the garment points off the seams.

    Parameters
    ----------
    body : Solution
        Of the body points alone.
    seams : sequence of SeamLine
    sightings : sequence of Sighting
        Of body points; their stickers hide parts of seams.

    Returns
    -------
    GarmentPoints
    """
    reader = _Reader(body, [s for s in seams if s.view in body.views and len(s.points_px) > 1], sightings)
    for side in SIDES:
        reader.shoulder(side)
        reader.bust_mark(side)
        reader.side_seam(side)
    reader.waist()
    reader.centres()
    found = [s for s in reader.found if (s.name, s.side) not in reader.unlike_the_others()]
    kept = {(s.name, s.side) for s in found}
    return GarmentPoints(tuple(found), tuple(tie for tie in reader.ties if tie.point in kept))


def _short_of(curve: Floats, row: float) -> tuple[float, float, float]:
    """As `at_row` for a curve that ends before the row, as a half tissue's waist may before the middle: the row of its end counts."""
    end = curve[np.abs(curve[:, 1] - row).argmin()]
    gap = float(abs(end[1] - row))
    return float(end[0]), gap, WANDER * gap


class _Reader(SeamReader):
    def shoulder(self, side: Side) -> None:
        """Both ends of the shoulder seam, from every view that shows it."""
        for seam in self.named("shoulder", side):
            view = self.body.views[seam.view]
            if self.no_shoulder_seam(seam, side):
                continue
            point, side_neck = self.body.position("shoulder_point", side), self.body.position("side_neck_point", side)
            down = NECKLINE_MM * (point - side_neck) / np.linalg.norm(point - side_neck)
            tip_px, neck_px = view.project(np.stack([point, side_neck + down]))
            out = np.array([TIP_OUT_MM * OUTWARDS[side], TIP_UP_MM, 0.0])
            curve = seam.points_px
            if np.linalg.norm(curve[0] - tip_px) > np.linalg.norm(curve[-1] - tip_px):
                curve = curve[::-1]
            sideways = seam.view in ("right", "left")
            for name, anchor, ends, goal, offset in (
                ("shoulder_seam_tip", "shoulder_point", curve, tip_px, out),
                ("shoulder_seam_neck", "side_neck_point", curve[::-1], neck_px, down),
            ):
                scale = view.mm_per_px(self.body.position(anchor, side))
                end = self.end(ends, goal, seam, scale, may_extend=sideways)
                if end is None:
                    continue
                xy, sd, extended = end
                if np.linalg.norm(xy - goal) * scale > FAR_OFF_END_MM[anchor]:
                    continue
                if not sideways:
                    short, short_sd = (mm / scale for mm in OVER_THE_SHOULDER_MM)
                    xy, sd = xy + short * direction_at_end(ends), float(np.hypot(sd, short_sd))
                self.see(name, side, seam, xy, sd, extended)
                self.tie((name, side), (anchor, side), SHOULDER_TIE_MM, offset)

    def bust_mark(self, side: Side) -> None:
        """The bust mark: where the upper end of the princess line (or the dart's point) meets its cross bar."""
        tick = next(iter(self.named("bust_tick", side, views=("front",))), None)
        princess = next(iter(self.named("princess", side, views=("front",))), None)
        if tick is not None and not (self._is_bar(tick, side) if princess is None else self._crosses(tick, princess, side)):
            tick = None  # a dart, or some short line
        if tick is not None:
            columns = tick.points_px[np.argsort(tick.points_px[:, 0])]
            middle = (columns[0] + columns[-1]) / 2
            ends_hidden = self.hidden(tick.view, columns[0]) or self.hidden(tick.view, columns[-1])
            x, along = float(middle[0]), max(1.0, self._unseen_px(tick, side) * EVEN_SD)
            if princess is not None:
                below = princess.points_px[princess.points_px[:, 1] > middle[1] + BEND_PX]  # before the bar it may already bend into it
                upper = below[np.argsort(below[:, 1])][:UPPER_POINTS]
                reach = float(upper[0, 1] - middle[1]) if len(upper) >= FEWEST_POINTS else np.inf
                if reach < LONGEST_REACH_PX:  # where the two lines meet is surer than the middle of a bar that may be partly hidden
                    slope = np.polyfit(upper[:, 1], upper[:, 0], 1)
                    x, along = float(np.polyval(slope, middle[1])), float(np.hypot(princess.sd_px, WANDER * reach))
                    ends_hidden = False
            y = float(np.interp(x, columns[:, 0], columns[:, 1]))
            if not ends_hidden and self._in_reach(tick.view, np.array([x, y]), ("bust_point", side)):
                self.see("bust_mark", side, tick, np.array([x, y]), float(np.hypot(tick.sd_px, along)), extended=False)
        elif princess is not None:
            end = princess.points_px[princess.points_px[:, 1].argmin()]
            near = self._in_reach(princess.view, end, ("bust_point", side))
            if near and not self.hidden(princess.view, end) and not self._broken_off(end, side):
                self.see("bust_mark", side, princess, end, float(np.hypot(princess.sd_px, 2 * END_SD_PX)), extended=False)
        self.tie(("bust_mark", side), ("bust_point", side), (FREE_MM, FREE_MM, BUST_DEPTH_SD_MM), np.array([0.0, 0.0, BUST_CLOTH_MM]))

    def _unseen_px(self, tick: SeamLine, side: Side) -> float:
        """How much of a whole bar a piece of one lacks: its middle lies anywhere within that of the mark."""
        whole_px = 2 * BESIDE_MARK_MM / self.body.views[tick.view].mm_per_px(self.body.position("bust_point", side))
        return max(0.0, whole_px - float(np.ptp(tick.points_px[:, 0])))

    def _in_reach(self, view: View, xy: Floats, point: PointKey) -> bool:
        """Whether a mark lies so near its body point that it can be this point's mark; never beside a point outside the picture."""
        at = self.body.position(*point)
        seen = self.body.views[view].project(at)[0]
        inside = np.all((seen >= 0) & (seen <= picture_end(self.body, view)))
        return bool(inside and np.linalg.norm(xy - seen) * self.body.views[view].mm_per_px(at) < FAR_MARK_MM)

    def unlike_the_others(self) -> set[PointKey]:
        """Marks that contradict the body's symmetry: of one side only and far from it, of both but not alike, a waist off the others'."""
        doubted: set[PointKey] = set()
        off = self._off_mm("bust_mark", "bust_point")
        doubted |= off.keys() if len(off) == 1 and float(np.linalg.norm(next(iter(off.values())))) > LONE_MARK_MM else set()
        if len(off) == 2:
            left, right = (off["bust_mark", side] * [OUTWARDS[side], 1.0] for side in SIDES)
            doubted |= off.keys() if float(np.abs(left - right).max()) > MARKS_APART_MM else set()
        rows = {key: float(v[1]) for at in ("front", "back", "side") for key, v in self._off_mm(f"waist_seam_{at}", f"waist_{at}").items()}
        if len(rows) > 2:
            doubted |= {key for key, row in rows.items() if abs(row - float(np.median(list(rows.values())))) > WAISTS_APART_MM}
        return doubted

    def _off_mm(self, mark: str, point: str) -> dict[PointKey, Floats]:
        """Of every mark of this name: how far it is seen from its point, mm to image right and up."""
        off: dict[PointKey, Floats] = {}
        for s in (s for s in self.found if s.name == mark):
            at, view = self.body.position(point, s.side), self.body.views[s.view]
            off[mark, s.side] = (s.xy_px - view.project(at)[0]) * [1.0, -1.0] * view.mm_per_px(at)
        return off

    def _broken_off(self, end: Floats, side: Side) -> bool:
        """Whether a princess line ends so far below the other side's mark that its upper part was not seen: a pattern's marks are alike."""
        other = OTHER_SIDE[side]
        bars = self.named("bust_tick", other, views=("front",))
        rows = [float(np.median(bar.points_px[:, 1])) for bar in bars]
        rows += [float(line.points_px[:, 1].min()) for line in self.named("princess", other, views=("front",)) if not bars]
        mm_per_px = self.body.views["front"].mm_per_px(self.body.position("bust_point", side))
        return any((float(end[1]) - row) * mm_per_px > UNEVEN_MM for row in rows)

    def _is_bar(self, tick: SeamLine, side: Side) -> bool:
        """Whether a line with no princess line below it is a bar: level, and as long as one or with its like on the other side."""
        mm_per_px = self.body.views[tick.view].mm_per_px(self.body.position("bust_point", side))
        others = self.named("bust_tick", OTHER_SIDE[side], views=("front",))
        rows = [float(np.median(line.points_px[:, 1])) for line in (tick, *others)]
        wide, high = np.array([np.ptp(line.points_px, axis=0) for line in (tick, *others)]).T
        level = high < SLANT * wide
        like = level[1:] & (np.abs(np.array(rows[1:]) - rows[0]) * mm_per_px < UNEVEN_MM)
        return bool(level[0] and (wide[0] * mm_per_px > BAR_MM or like.any()))

    def _crosses(self, tick: SeamLine, princess: SeamLine, side: Side) -> bool:
        """Whether a level line lies across the upper end of the princess line, or beside and above it, where a sticker may hide it."""
        mm_per_px = self.body.views[tick.view].mm_per_px(self.body.position("bust_point", side))
        top_x, top_y = princess.points_px[princess.points_px[:, 1].argmin()]
        (left, high), (right, low) = tick.points_px.min(axis=0), tick.points_px.max(axis=0)
        aside = max(left - top_x, top_x - right)
        return bool(aside * mm_per_px < BESIDE_MARK_MM and ((high + low) / 2 - top_y) * mm_per_px < BELOW_MARK_MM)

    def waist(self) -> None:
        """The waist seam above or below the front, back and side waist points."""
        spots: list[tuple[str, Side | None, View]] = [("front", None, "front"), ("back", None, "back")]
        spots += [("side", side, SIDE_VIEW[side]) for side in SIDES]
        for at, side, view in spots:
            for seam in self.named("waist", None, views=(view,)):
                column, _ = self.body.views[view].project(self.body.position(f"waist_{at}", side))[0]
                curve = self.bare(seam)[:, ::-1]
                scale = self.body.views[view].mm_per_px(self.body.position(f"waist_{at}", side))
                crossing = at_row(curve, column, at == "side") or (_short_of(curve, column) if at != "side" and self.half else None)
                if crossing is None:
                    continue
                row, gap, bridged_sd = crossing
                if gap * scale > LONGEST_EXTENSION_MM or not self._in_reach(view, np.array([column, row]), (f"waist_{at}", side)):
                    continue
                sd = float(np.hypot(seam.sd_px, bridged_sd))
                self.see(f"waist_seam_{at}", side, seam, np.array([column, row]), sd, extended=False)
                depth = (WAIST_DEPTH_SD_MM, FREE_MM, FREE_MM) if at == "side" else (FREE_MM, FREE_MM, WAIST_DEPTH_SD_MM)
                out = self.to_surface(self.body.position(f"waist_{at}", side), WAIST_QUARTER[at, side])
                self.tie((f"waist_seam_{at}", side), (f"waist_{at}", side), depth, out)

    def side_seam(self, side: Side) -> None:
        """The side seam at bust, waist and hip level, and evenly along its visible length."""
        for seam in self.named("side", side, views=(SIDE_VIEW[side],)):
            view = self.body.views[seam.view]
            if self._far_aside(seam, side):
                continue
            quarter = 0 if side == "wearer_left" else 2
            curve = self.bare(seam)
            for level, point in LEVEL_POINT.items():
                anchor: PointKey = ("underarm_point" if level == "bust" else point, side)
                target = self.body.position(*anchor).copy()
                target[1] = np.mean([self.body.position(point, s)[1] for s in SIDES])
                spot = Spot(f"side_seam_{level}", side, anchor, quarter, (SURFACE_SD_MM, FREE_MM * 2, FREE_MM))
                self.crossing(spot, seam, curve, float(view.project(target)[0, 1]))
            seam = replace(seam, points_px=upright_part(seam.points_px))
            rows, curve = seam.points_px[:, 1], self.bare(seam)
            for i, row in enumerate(np.linspace(rows.min() + 1, rows.max() - 1, SIDE_SAMPLES)):
                spot = Spot(f"side_seam_{i}", side, ("waist_side", side), quarter, (SURFACE_SD_MM, ANY_HEIGHT_MM, FREE_MM))
                self.crossing(spot, seam, curve, float(row))

    def _far_aside(self, seam: SeamLine, side: Side) -> bool:
        """Whether a line lies too far before or behind the body's side to be its seam, which then is another line."""
        view, names = self.body.views[seam.view], ("underarm_point", "waist_side", "hip_side")
        along = view.project(np.stack([self.body.position(name, side) for name in names]))
        away = seam.points_px[:, 0] - np.interp(seam.points_px[:, 1], along[:, 1], along[:, 0])
        return bool(abs(np.median(away)) * view.mm_per_px(self.body.position("waist_side", side)) > FAR_ASIDE_MM)

    def centres(self) -> None:
        """Centre front and centre back lines at bust, waist and hip level; an opened front has one on each side, a half tissue one only.

        Of a half tissue they are read at the chest (behind: the blades) too, as its edges are pinned where a closed front's cannot gape.
        """
        for name, view_name, quarter, anchors in (
            ("centre_front", "front", 1, {"bust": "bust_point", "waist": "waist_front", "hip": "waist_front"}),
            ("centre_back", "back", 3, {"bust": "waist_back", "waist": "waist_back", "hip": "seat"}),
        ):
            lines = [s for s in self.seams if s.name == name and s.view == view_name]
            for seam in (line for line in lines if not self._off_centre(line, anchors["waist"])):
                view, curve = self.body.views[seam.view], self.bare(seam)
                for level, anchor in anchors.items():
                    side: Side | None = "wearer_left" if anchor == "bust_point" else None
                    target = self.body.position(anchor, side).copy()
                    target[0] = 0.0
                    target[1] = self._level_mm(level)
                    spot = Spot(f"{name}_{level}", seam.side, (anchor, side), quarter, (FREE_MM * 2, FREE_MM * 4, SURFACE_SD_MM))
                    self.crossing(spot, seam, curve, float(view.project(target)[0, 1]))
                if seam.side is not None and len(lines) == 1:
                    self._chest(name, seam, curve, quarter)

    def _level_mm(self, level: str) -> float:
        return float(np.mean([self.body.position(LEVEL_POINT[level], s)[1] for s in SIDES]))

    def _chest(self, name: str, seam: SeamLine, curve: Floats, quarter: int) -> None:
        """Half way from the bust up to the pit of the neck."""
        anchor: PointKey = ("front_neck_point" if quarter == 1 else "back_neck_point", None)
        height = (self._level_mm("bust") + self.body.position("front_neck_point")[1]) / 2
        target = np.array([0.0, height, self.body.reach_mm(height, quarter) * (1 if quarter == 1 else -1)])
        at = "chest" if quarter == 1 else "blade"
        spot = Spot(f"{name}_{at}", seam.side, anchor, quarter, (FREE_MM * 2, FREE_MM * 4, SURFACE_SD_MM))
        self.crossing(spot, seam, curve, float(self.body.views[seam.view].project(target)[0, 1]))

    def _off_centre(self, seam: SeamLine, anchor: str) -> bool:
        """Whether a line lies too far from the middle of her, as stickers and body tell it, to be a centre line."""
        view, at = self.body.views[seam.view], self.body.position(anchor, None)
        middle = view.project(at * [0.0, 1.0, 1.0])[0, 0]
        away = abs(float(np.median(seam.points_px[:, 0])) - middle) * view.mm_per_px(at)
        return bool(away > (FAR_CENTRE_MM if seam.side is None else FAR_EDGE_MM))
