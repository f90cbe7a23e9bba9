"""Reading a seam in the picture of a placed body: its ends, where it crosses a row, what stickers hide of it."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from fitcheck.core.records import SIDE_VIEW, Floats, SeamLine, Side, Sighting, View
from fitcheck.core.solution import PointKey, Solution, Tie
from fitcheck.measure.seam_curve import UNDER_STICKER_PX, at_row, direction_at_end, under_sticker

LONGEST_EXTENSION_MM = 60.0  # a seam is not guessed further; estimate
STRAY = 0.1  # how far a seam strays where it goes on freely beyond its end, as a share of the length added; estimate
END_SD_PX, HIDDEN_END_SD_PX = 1.0, 3.0  # how well the end of a line is known along it; estimate
LONGEST_GAP_MM = 15.0  # a seam that ends this far before the body point was not followed to its end
FAR_OFF_MM = 30.0  # more than the largest forward shoulder that is marked in practice (25 mm)
LEAST_ALONG = 0.6  # cosine, seen from the side, between a shoulder seam and the way from neck to bone: an armhole runs across; estimate
INNER_END = 0.7  # of that way, by which a seam must have begun; stickers at the neck hide up to 0.4 of it; estimate
EDGE_SD_MM = 1.5  # the edge of an opened front curls and throws a shadow; measured on our scenes: 1 to 2
SURFACE_SD_MM = 8.0  # how well the section of the dressed body gives the depth of a seam on it; estimate


@dataclass(frozen=True, slots=True)
class Spot:
    """A point of a seam that is read where the seam crosses a picture row.

    Attributes
    ----------
    anchor : PointKey
        The body point it is tied to.
    quarter : int
        Quarter turns from her left by way of the front to where the seam lies, as `Solution.reach_mm`.
    sd_mm : tuple of float
        Of the tie.
    """

    name: str
    side: Side | None
    anchor: PointKey
    quarter: int
    sd_mm: tuple[float, float, float]


def picture_end(body: Solution, view: View) -> Floats:
    """The last pixel of a view's picture, shape (2,): the optical axis meets the picture's middle."""
    return np.asarray(2 * body.views[view].matrix[:2, 2])


class SeamReader:
    """Seams of a placed body, with what was read off them so far: `found` and `ties`."""

    def __init__(self, body: Solution, seams: Sequence[SeamLine], sightings: Sequence[Sighting]) -> None:
        self.body, self.seams = body, seams
        self.stickers: dict[View, list[Floats]] = {}
        for s in sightings:
            if s.corners_px is not None:
                self.stickers.setdefault(s.view, []).append(s.corners_px)
        self.found: list[Sighting] = []
        self.ties: list[Tie] = []

    @property
    def half(self) -> bool:
        """Whether a half tissue is worn: its centre front or centre back is one side's."""
        centres = [seam for seam in self.seams if seam.name in ("centre_front", "centre_back")]
        return bool(centres) and len({seam.side for seam in centres}) == 1 and centres[0].side is not None

    def crossing(self, spot: Spot, seam: SeamLine, curve: Floats, row: float) -> None:
        """Where a seam, bare of stickers `curve`, crosses a picture row; it lies on the dressed body, whose section gives its depth."""
        crossing = at_row(curve, row)
        if crossing is None:
            return
        column, gap, bridged_sd = crossing
        at, view, quarter = self.body.position(*spot.anchor), self.body.views[seam.view], spot.quarter
        mm_per_px = view.mm_per_px(at)
        if gap * mm_per_px > LONGEST_EXTENSION_MM:
            return
        at_edge = spot.name.startswith("centre") and spot.side is not None and (not self.half or "centre_by_edge" in seam.flags)
        opened = EDGE_SD_MM / mm_per_px if at_edge else 0.0
        sd = float(np.hypot(np.hypot(seam.sd_px, bridged_sd), opened))
        self.see(spot.name, spot.side, seam, np.array([column, row]), sd, extended=False)
        height = at[1] + (float(view.project(at)[0, 1]) - row) * mm_per_px
        self.tie((spot.name, spot.side), spot.anchor, spot.sd_mm, self.to_surface(at, quarter, height))

    def to_surface(self, at: Floats, quarter: int, height_mm: float | None = None) -> Floats:
        """From a body point (3,) straight out to the dressed body at its own height or another, in the direction of `Spot.quarter`."""
        reach = self.body.reach_mm(float(at[1]) if height_mm is None else height_mm, quarter) * (1 if quarter < 2 else -1)
        return np.array([reach - at[0], 0.0, 0.0]) if quarter % 2 == 0 else np.array([0.0, 0.0, reach - at[2]])

    def end(self, from_end: Floats, goal: Floats, seam: SeamLine, mm_per_px: float, may_extend: bool) -> tuple[Floats, float, bool] | None:
        """(xy, sd sideways in the picture, extended) of the end where `from_end` starts, continued to the goal where a sticker hides it.

        Across the line the end is as exact as the line, along it less so; what counts is the share of both that shows sideways.
        """
        end = from_end[0]
        direction = direction_at_end(from_end)
        short = float((goal - end) @ direction)  # how far the line would have to go on to pass the body point
        extend = self.hidden(seam.view, end) or short * mm_per_px > LONGEST_GAP_MM
        if extend and (not may_extend or short * mm_per_px > LONGEST_EXTENSION_MM):
            return None
        add = max(short, 0.0) if extend else 0.0
        across = float(np.hypot(seam.sd_px, STRAY * add))
        along = HIDDEN_END_SD_PX if extend else END_SD_PX
        return end + add * direction, float(np.hypot(across * direction[1], along * direction[0])), extend

    def bare(self, seam: SeamLine) -> Floats:
        """The seam without what stickers hide of it, which was bridged when it was found; all of it where little would be left."""
        bare = np.ones(len(seam.points_px), bool)
        for corners in self.stickers.get(seam.view, []):
            low, high = corners.min(axis=0) - UNDER_STICKER_PX, corners.max(axis=0) + UNDER_STICKER_PX
            near = np.flatnonzero(((seam.points_px > low) & (seam.points_px < high)).all(axis=1))
            bare[[i for i in near if under_sticker(corners, seam.points_px[i])]] = False
        return seam.points_px[bare] if bare.sum() > len(bare) / 2 else seam.points_px

    def hidden(self, view: View, xy: Floats) -> bool:
        return any(under_sticker(corners, xy) for corners in self.stickers.get(view, []))

    def no_shoulder_seam(self, seam: SeamLine, side: Side) -> bool:
        """Whether a line lies too far from the body's shoulder to be its seam, or seen from the side runs across it, as the armhole's edge
        does, or all of it lies at or beyond the bone, as an unread sticker's edge does."""
        view = self.body.views[seam.view]
        neck, tip = view.project(np.stack([self.body.position("side_neck_point", side), self.body.position("shoulder_point", side)]))
        along, way = tip - neck, seam.points_px[-1] - seam.points_px[0]
        share = (seam.points_px - neck) @ along / (along @ along)
        across = abs(way @ along) < LEAST_ALONG * np.linalg.norm(way) * np.linalg.norm(along)
        if seam.view == SIDE_VIEW[side] and (across or share.min() > INNER_END):
            return True
        share = np.clip(share, 0, 1)
        away = np.linalg.norm(seam.points_px - neck - share[:, None] * along, axis=1)
        return bool(np.median(away) * view.mm_per_px(self.body.position("shoulder_point", side)) > FAR_OFF_MM)

    def named(self, name: str, side: Side | None, views: Iterable[View] | None = None) -> list[SeamLine]:
        return [s for s in self.seams if s.name == name and s.side == side and (views is None or s.view in views)]

    def see(self, name: str, side: Side | None, seam: SeamLine, xy: Floats, sd: float, extended: bool) -> None:
        if not np.all((xy >= 0) & (xy <= picture_end(self.body, seam.view))):
            return  # where it is, is not in the picture
        flags = (*seam.flags, *(("seam_extended",) if extended else ()))
        self.found.append(Sighting(name, side, seam.view, "detected", xy, sd, kind="seam", flags=flags))

    def tie(self, point: PointKey, anchor: PointKey, sd_mm: Sequence[float], offset: Floats | None = None) -> None:
        if any((s.name, s.side) == point for s in self.found) and all(tie.point != point for tie in self.ties):
            self.ties.append(Tie(point, anchor, np.zeros(3) if offset is None else offset, np.array(sd_mm, float)))
