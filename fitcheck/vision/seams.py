"""Which seam a drawn line is: decided by where it runs on the body, since colours differ from fitting to fitting.

Every line gets a place in a frame of the trunk: `down` is 0 at the shoulders and 1 at the hips, `across` runs from -1 to 1 between the
garment's outlines at that height (front and back views), `forward` from 0 at the back outline to 1 at the front outline (side views).
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from fitcheck.core.records import Floats, Photo, Pose, SeamLine, Side, Sighting, View
from fitcheck.vision.cloth import LEFT_HIP, LEFT_SHOULDER, RIGHT_HIP, RIGHT_SHOULDER, STRIDE, Cloth, find_cloth
from fitcheck.vision.lines import Curve, find_curves

STICKER_RIM = 1.28  # white border of a 25 mm sticker, 3 mm on every side, and a little for its soft edge
ARROW_MM = 3.0  # half width of a pointer's arrow head
DOT_MM = 9.0  # radius of a plain dot with its soft edge
BUST_TICK_MM = 56.0
LEAST, CLOSE = 0.15, 0.6  # least score for a name; a second name scoring this share of the first makes it unsure

# log brightness, red/green, yellow/blue of plain pen colours on white (estimate), for naming them in the overlay
_PENS = {
    "black": (-1.6, 0.0, 0.0),
    "red": (-0.8, 1.2, 0.6),
    "orange": (-0.6, 0.5, 1.2),
    "yellow": (-0.3, 0.1, 1.2),
    "green": (-0.8, -0.8, 0.2),
    "teal": (-0.7, -0.9, -0.5),
    "blue": (-0.9, -0.6, -1.2),
    "purple": (-0.7, 0.6, -0.5),
    "pink": (-0.4, 0.8, 0.1),
    "white": (0.6, 0.0, 0.0),
}


def find_seams(photo: Photo, pose: Pose, sightings: Sequence[Sighting], mm_per_px: float) -> tuple[SeamLine, ...]:
    """Find the drawn seam lines of one photo and name them.

    Parameters
    ----------
    photo : Photo
    pose : Pose
    sightings : sequence of Sighting
        Stickers and dots found; the cloth under them is left out. May be empty.
    mm_per_px : float
        Scale of the photo at the body.

    Returns
    -------
    tuple of SeamLine
        At most one for each name and side; lines that fit no seam are left out.
    """
    cloth = find_cloth(photo.rgb, pose)
    curves = find_curves(photo.rgb, cloth, hidden_by(sightings, mm_per_px), mm_per_px)
    frame = trunk_frame(pose, cloth, photo.view, mm_per_px)
    return name_seams(curves, frame)


def hidden_by(sightings: Sequence[Sighting], mm_per_px: float) -> list[Floats]:
    """Polygons (N, 2) in which stickers, arrows and dots hide the cloth."""
    polygons = []
    for sighting in sightings:
        if sighting.corners_px is not None:
            centre = sighting.corners_px.mean(0)
            polygons.append(centre + STICKER_RIM * (sighting.corners_px - centre))
            if sighting.kind == "pointer":
                shaft = sighting.xy_px - centre
                aside = ARROW_MM / mm_per_px * np.array([shaft[1], -shaft[0]]) / max(float(np.hypot(*shaft)), 1e-9)
                polygons.append(np.array([centre - aside, centre + aside, sighting.xy_px + aside, sighting.xy_px - aside]))
        elif sighting.grade == "dot":
            t = np.linspace(0, 2 * np.pi, 24, endpoint=False)
            polygons.append(sighting.xy_px + DOT_MM / mm_per_px * np.stack([np.cos(t), np.sin(t)], 1))
    return polygons


@dataclass(frozen=True, slots=True)
class TrunkFrame:
    """Where shoulders, hips and outlines of the garment lie in one photo."""

    view: View
    shoulder_px: Floats  # (2,) middle of the shoulders
    half_px: float  # half the distance of the shoulder points as seen
    trunk_px: float  # shoulders to hips
    outline_px: Floats  # (H, 2) image left and right outline of the garment, by image row
    mm_per_px: float

    def down(self, points: Floats) -> Floats:
        """0 at the shoulders, 1 at the hips."""
        return np.asarray((points[:, 1] - self.shoulder_px[1]) / self.trunk_px)

    def across(self, points: Floats) -> Floats:
        """-1 at the image left outline of the garment, 1 at the right one."""
        left, right = self.outline_px[np.clip(np.round(points[:, 1]).astype(int), 0, len(self.outline_px) - 1)].T
        return np.asarray((2 * points[:, 0] - left - right) / np.maximum(right - left, 1.0))

    def side_of(self, across: float) -> Side:
        """The wearer's side of a place in a front or back view."""
        return "wearer_left" if (across > 0) == (self.view == "front") else "wearer_right"


def trunk_frame(pose: Pose, cloth: Cloth, view: View, mm_per_px: float) -> TrunkFrame:
    """Build the frame from the pose and the cloth's outline, row by row."""
    shoulders, hips = pose.points_px[[LEFT_SHOULDER, RIGHT_SHOULDER]], pose.points_px[[LEFT_HIP, RIGHT_HIP]]
    trunk = max(float(hips[:, 1].mean() - shoulders[:, 1].mean()), 32.0)
    height = pose.mask.shape[0]
    x0, y0 = cloth.box_px[:2]
    rows = np.flatnonzero(cloth.mask.any(1))
    if len(rows) == 0:
        middle = hips[:, 0].mean()
        outline = np.tile([middle - 0.35 * trunk, middle + 0.35 * trunk], (height, 1))
    else:
        left = cloth.mask.argmax(1)[rows]
        right = cloth.mask.shape[1] - cloth.mask[:, ::-1].argmax(1)[rows]
        at = y0 + STRIDE * (rows + 0.5)
        outline = np.stack([np.interp(np.arange(height), at, x0 + STRIDE * _median(edge)) for edge in (left, right)], 1)
    return TrunkFrame(view, shoulders.mean(0), float(np.ptp(shoulders[:, 0])) / 2, trunk, outline, mm_per_px)


def _median(edge: Floats) -> Floats:
    padded = np.pad(np.asarray(edge, float), 4, mode="edge")
    return np.asarray(np.median(np.lib.stride_tricks.sliding_window_view(padded, 9), axis=1))


@dataclass(frozen=True, slots=True)
class _Run:
    """How one curve runs in the trunk frame."""

    curve: Curve
    steep: float  # 0 horizontal, 90 upright (chord, degrees)
    top: float  # `down` of its upper end
    bottom: float
    level: float  # median `down`
    across: float  # median
    inner: float  # smallest |across|
    outer: float  # largest |across|
    aside: float  # median distance from the middle of the shoulders, in trunks, + to image right
    length_mm: float


def _run(curve: Curve, frame: TrunkFrame) -> _Run:
    points = curve.points_px
    chord = points[-1] - points[0]
    down, across = frame.down(points), frame.across(points)
    return _Run(
        curve,
        float(np.degrees(np.arctan2(abs(chord[1]), abs(chord[0])))),
        float(down.min()),
        float(down.max()),
        float(np.median(down)),
        float(np.median(across)),
        float(np.abs(across).min()),
        float(np.abs(across).max()),
        float(np.median(points[:, 0]) - frame.shoulder_px[0]) / frame.trunk_px,
        curve.length_px * frame.mm_per_px,
    )


def _bell(value: float, centre: float, width: float) -> float:
    return float(np.exp(-0.5 * ((value - centre) / width) ** 2))


def _beyond(value: float, limit: float, width: float) -> float:
    """1 above the limit, falling off below it within `width`."""
    return float(np.exp(-0.5 * (min(0.0, value - limit) / width) ** 2))


def _upright(run: _Run) -> float:
    return _beyond(run.steep, 68, 8)


def _level(run: _Run) -> float:
    return _beyond(-run.steep, -18, 8)


def _facing_scores(run: _Run, frame: TrunkFrame) -> dict[tuple[str, Side | None], float]:
    """Front and back views: how well the line fits each seam."""
    front = frame.view == "front"
    side = frame.side_of(run.across)
    width = abs(run.across)
    long = _beyond(run.length_mm, 90, 40)
    scores: dict[tuple[str, Side | None], float] = {
        ("centre_front" if front else "centre_back", None): _upright(run) * _bell(width, 0, 0.1) * long,
        ("princess" if front else "princess_back", side): _upright(run) * _bell(width, 0.52, 0.15) * long * _beyond(run.bottom, 0.6, 0.1),
        ("side", side): _beyond(run.steep, 60, 8) * _beyond(width, 0.85, 0.06) * long * _beyond(run.bottom, 0.4, 0.1),
        ("waist", None): _beyond(-run.steep, -25, 8) * _bell(run.level, 0.7, 0.09) * _beyond(run.length_mm, 20, 8),
        ("shoulder", side): _bell(run.level, -0.06, 0.08)
        * _beyond(-run.steep, -50, 8)
        * _beyond(-run.bottom, -0.1, 0.04)
        * _beyond(run.length_mm, 15, 6)
        * _bell(abs(run.aside) * frame.trunk_px / max(frame.half_px, 1.0), 0.75, 0.25),
    }
    if front:
        scores["bust_tick", side] = (
            _level(run) * _bell(run.level, 0.33, 0.1) * _bell(width, 0.52, 0.17) * _bell(run.length_mm, 0.85 * BUST_TICK_MM, 25)
        )
        scores["dart", side] = (
            _beyond(-run.steep, -60, 8)
            * _bell(run.level, 0.4, 0.09)
            * _beyond(run.outer, 0.85, 0.1)
            * _beyond(run.inner, 0.4, 0.1)
            * _beyond(run.length_mm, 15, 6)
        )
    return scores


def _side_scores(run: _Run, frame: TrunkFrame) -> dict[tuple[str, Side | None], float]:
    """Side views: how well the line fits each seam."""
    side: Side = "wearer_right" if frame.view == "right" else "wearer_left"
    toward = 1 if frame.view == "right" else -1  # image direction she faces
    forward = 0.5 + 0.5 * toward * run.across
    long = _beyond(run.length_mm, 70, 30)
    low = _beyond(run.bottom, 0.55, 0.1)
    return {
        ("side", side): _upright(run) * _bell(forward, 0.4, 0.13) * long * low,
        ("princess", side): _beyond(run.steep, 60, 8) * _bell(forward, 0.82, 0.1) * long * low,
        ("princess_back", side): _beyond(run.steep, 55, 8) * _bell(forward, 0.14, 0.09) * long * low,
        ("waist", None): _beyond(-run.steep, -30, 8) * _bell(run.level, 0.7, 0.09) * _beyond(run.length_mm, 20, 8),
        ("dart", side): _beyond(-run.steep, -35, 8)
        * _bell(run.level, 0.38, 0.08)
        * _beyond(run.length_mm, 50, 20)
        * _beyond(forward, 0.5, 0.15),
        ("bust_tick", side): _beyond(-run.steep, -50, 8)
        * _bell(run.level, 0.3, 0.08)
        * _bell(run.length_mm, 15, 15)
        * _beyond(forward, 0.85, 0.05),
        ("shoulder", side): _bell(run.level, -0.12, 0.08)
        * _bell(toward * run.aside, -0.03, 0.1)
        * _beyond(run.steep, 40, 10)
        * _bell(run.length_mm, 25, 35),
    }


def name_seams(curves: Sequence[Curve], frame: TrunkFrame) -> tuple[SeamLine, ...]:
    """Give each curve the seam it fits best; pieces of one seam are put together, and each seam is given once."""
    score: Callable[[_Run, TrunkFrame], dict[tuple[str, Side | None], float]]
    score = _facing_scores if frame.view in ("front", "back") else _side_scores
    offers: list[tuple[float, _Run, tuple[str, Side | None], bool]] = []
    for curve in curves:
        run = _run(curve, frame)
        ranked = sorted(score(run, frame).items(), key=lambda item: -item[1])
        if ranked[0][1] > LEAST:
            offers.append((ranked[0][1] * np.sqrt(run.length_mm), run, ranked[0][0], ranked[1][1] > CLOSE * ranked[0][1]))
    offers.sort(key=lambda offer: -offer[0])
    taken: dict[tuple[str, Side | None], tuple[list[_Run], bool]] = {}
    for _, run, key, unsure in offers:
        if key not in taken:
            taken[key] = [run], unsure
        elif all(_continues(run, other) for other in taken[key][0]):
            taken[key][0].append(run)
        elif key[0] == "centre_front" and (edge := _other_edge(run, taken[key][0])):
            first, second = ("wearer_right", "wearer_left") if edge > 0 else ("wearer_left", "wearer_right")
            taken["centre_front", first] = taken.pop(key)  # type: ignore[index]
            taken["centre_front", second] = [run], unsure  # type: ignore[index]
    return tuple(_seam(name, side, runs, unsure, frame) for (name, side), (runs, unsure) in sorted(taken.items(), key=str))


def _continues(run: _Run, other: _Run) -> bool:
    """Whether two pieces follow each other in one line: no overlap lengthways, same colour."""
    a, b = run.curve, other.curve
    axis = int(np.argmax(np.ptp(np.concatenate([a.points_px, b.points_px]), axis=0)))
    first, second = sorted((a.points_px[:, axis], b.points_px[:, axis]), key=lambda s: float(s.min()))
    tint = a.change @ b.change / (np.linalg.norm(a.change) * np.linalg.norm(b.change))
    return bool(first.max() < second.min() + 4 and tint > 0.8)


def _other_edge(run: _Run, runs: list[_Run]) -> int:
    """+1 (image right) or -1 where the run is the other edge of an opened centre front, else 0."""
    a, b = run.curve, runs[0].curve
    tint = a.change @ b.change / (np.linalg.norm(a.change) * np.linalg.norm(b.change))
    if tint < 0.8 or run.length_mm < 0.3 * runs[0].length_mm:
        return 0
    return 1 if run.aside > runs[0].aside else -1


def _seam(name: str, side: Side | None, runs: list[_Run], unsure: bool, frame: TrunkFrame) -> SeamLine:
    points = np.concatenate([r.curve.points_px for r in runs])
    axis = int(np.ptp(points[:, 1]) > np.ptp(points[:, 0]))
    parts = [p if p[0, axis] <= p[-1, axis] else p[::-1] for p in (r.curve.points_px for r in runs)]
    ordered = np.concatenate(sorted(parts, key=lambda p: float(p[0, axis])))
    longest = max(runs, key=lambda r: r.length_mm).curve
    return SeamLine(
        name, side, frame.view, ordered, max(r.curve.sd_px for r in runs), colour_name(longest.change), ("seam_unsure",) if unsure else ()
    )


def colour_name(change: Floats) -> str:
    """The plain pen colour nearest to a change of log colour."""
    weights = np.array([0.5, 1.0, 1.0])
    norm = max(float(np.linalg.norm(weights * change)), 1e-9)
    return max(_PENS, key=lambda pen: float(weights * change @ (weights * _PENS[pen])) / norm / float(np.linalg.norm(weights * _PENS[pen])))
