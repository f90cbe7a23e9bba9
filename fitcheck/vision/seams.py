"""Which seam a drawn line is: decided by where it runs on the body, since colours differ from fitting to fitting.

Every line gets a place in a frame of the trunk: `down` is 0 at the shoulders and 1 at the hips, `across` runs from -1 to 1 between the
garment's outlines at that height (front and back views), `forward` from 0 at the back outline to 1 at the front outline (side views).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fitcheck.core.records import Floats, Photo, Pose, SeamLine, Side, Sighting, View
from fitcheck.vision.cloth import LEFT_HIP, LEFT_SHOULDER, RIGHT_HIP, RIGHT_SHOULDER, Cloth, find_cloth
from fitcheck.vision.curves import Curve
from fitcheck.vision.lines import find_curves

STICKER_RIM = 1.25  # white border of a 25 mm sticker, 3 mm on every side, and a little for its soft edge
ARROW_MM, HEAD_MM = 3.0, 6.0  # half width of a pointer's arrow head, and its length
DOT_MM = 9.0  # radius of a plain dot with its soft edge
BUST_TICK_MM = 56.0
LEAST, FAINTEST, CLOSE = 0.15, 0.05, 0.5  # score for a name, for adding a piece to a named line, and for doubt about another name

SAME_TINT, SAME_STRENGTH = 0.8, 0.65  # cosine of two changes of colour and ratio of their sizes, for pieces of one line
NEIGHBOURS = 0.15  # difference of cosines below which light may have turned one pen colour into the other (pink and red)
COLOUR_AS_TOLD, COLOUR_NOT_AS_TOLD = 1.5, 0.3  # factors on a score (estimate; 97 of 100 lines on scenes are given their right colour)
LONGEST_GAP_MM = 150.0  # between two pieces of one seam, hidden by an arm or in shadow

SHORTEST_PART = 10  # points of one edge of an opened front

Key = tuple[str, Side | None]
CENTRE_FRONT: Key = ("centre_front", None)

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


def find_seams(
    photo: Photo,
    pose: Pose,
    sightings: Sequence[Sighting],
    mm_per_px: float,
    cloth: Cloth | None = None,
    colours: Mapping[str, str] | None = None,
) -> tuple[SeamLine, ...]:
    """Find the drawn seam lines of one photo and name them.

    Parameters
    ----------
    photo : Photo
    pose : Pose
    sightings : sequence of Sighting
        Stickers and dots found; the cloth under them is left out. May be empty.
    mm_per_px : float
        Scale of the photo at the body.
    cloth : Cloth, optional
        Where the garment lies, if that is known already.
    colours : mapping of str to str, optional
        Colour each seam is told to be drawn in: {"shoulder": "dark blue"}.

    Returns
    -------
    tuple of SeamLine
        At most one for each name and side; lines that fit no seam are left out.
    """
    cloth = cloth or find_cloth(photo.rgb, pose)
    curves = find_curves(photo.rgb, cloth, hidden_by(sightings, mm_per_px), mm_per_px)
    frame = trunk_frame(pose, cloth, photo.view, mm_per_px)
    return name_seams(curves, frame, colours)


def hidden_by(sightings: Sequence[Sighting], mm_per_px: float) -> list[Floats]:
    """Polygons (N, 2) in which stickers, arrows and dots hide the cloth."""
    polygons = []
    for sighting in sightings:
        if sighting.corners_px is not None:
            centre = sighting.corners_px.mean(0)
            polygons.append(centre + STICKER_RIM * (sighting.corners_px - centre))
            if sighting.kind == "pointer":
                shaft = sighting.xy_px - centre
                way = shaft / max(float(np.hypot(*shaft)), 1e-9)
                aside = ARROW_MM / mm_per_px * np.array([way[1], -way[0]])
                neck = (
                    sighting.xy_px - HEAD_MM / mm_per_px * way
                )  # from here the head runs to a point, so that it hides no seam beside its tip
                polygons.append(np.array([centre - aside, centre + aside, neck + aside, sighting.xy_px, neck - aside]))
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
        y = y0 + cloth.stride * (rows + 0.5)
        axis = np.interp(y, [shoulders[:, 1].mean(), hips[:, 1].mean()], [shoulders[:, 0].mean(), hips[:, 0].mean()])
        left, right = np.array([_run_at(cloth.mask[row], (x - x0) / cloth.stride) for row, x in zip(rows, axis, strict=True)]).T
        outline = np.stack([np.interp(np.arange(height), y, x0 + cloth.stride * _median(edge)) for edge in (left, right)], 1)
    return TrunkFrame(view, shoulders.mean(0), float(np.ptp(shoulders[:, 0])) / 2, trunk, outline, mm_per_px)


def _run_at(row: NDArray[np.bool_], x: float) -> tuple[int, int]:
    """First and past the last cell of the run of cloth at x; gaps as wide as a sticker, or at x (an opened front), are bridged."""
    cells = np.flatnonzero(row)
    if cells[-1] - cells[0] + 1 - len(cells) < 15:  # no gap as wide as a sticker
        return int(cells[0]), int(cells[-1]) + 1
    gaps = [i for i in np.flatnonzero(np.diff(cells) > 15) if not (cells[i] < x + 8 and cells[i + 1] > x - 8)]
    runs = np.split(cells, np.array(gaps, int) + 1)
    best = min(runs, key=lambda run: max(run[0] - x, x - run[-1], 0.0) - 0.05 * len(run))
    return int(best[0]), int(best[-1]) + 1


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
    mm_per_px: float


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
        frame.mm_per_px,
    )


_Offer = tuple[_Run, Key, float]  # a curve, a name it may have, and how well that fits


def _bell(value: float, centre: float, width: float) -> float:
    return float(np.exp(-0.5 * ((value - centre) / width) ** 2))


def _beyond(value: float, limit: float, width: float) -> float:
    """1 above the limit, falling off below it within `width`."""
    return float(np.exp(-0.5 * (min(0.0, value - limit) / width) ** 2))


def _upright(run: _Run) -> float:
    return _beyond(run.steep, 68, 8)


def _level(run: _Run) -> float:
    return _beyond(-run.steep, -18, 8)


def _facing_scores(run: _Run, frame: TrunkFrame) -> dict[Key, float]:
    """Front and back views: how well the line fits each seam."""
    front = frame.view == "front"
    side = frame.side_of(run.across)
    width = abs(run.across)
    reach = abs(run.aside) * frame.trunk_px / max(frame.half_px, 1.0)  # in half shoulder widths: needs no outline
    long = _beyond(run.length_mm, 90, 40)
    inside = 1 - run.curve.edge
    scores: dict[Key, float] = {
        ("centre_front" if front else "centre_back", None): _upright(run) * _bell(width, 0, 0.12) * _bell(reach, 0, 0.15) * long,
        ("princess" if front else "princess_back", side): inside
        * _upright(run)
        * _bell(width, 0.52, 0.15)
        * _bell(reach, 0.52, 0.15)
        * long
        * _beyond(run.bottom, 0.6, 0.1),
        ("side", side): inside
        * _beyond(run.steep, 60, 8)
        * _beyond(width, 0.85, 0.06)
        * _beyond(reach, 0.7, 0.06)
        * _beyond(run.length_mm, 90, 20)
        * _beyond(run.bottom, 0.4, 0.1),
        ("waist", None): inside * _beyond(-run.steep, -25, 8) * _bell(run.level, 0.7, 0.09) * _beyond(run.length_mm, 20, 8),
        ("shoulder", side): (1.0 if front else inside)  # behind, only a seam that lies on the back is seen at all
        * _bell(run.level, -0.06, 0.08)
        * _beyond(-run.steep, -50, 8)
        * _beyond(-run.bottom, -0.1, 0.04)
        * _beyond(run.length_mm, 40, 4)  # longer than an unnoticed sticker seen edge-on
        * _bell(reach, 0.75, 0.25 if front else 0.12),  # the rim of the neckline behind lies farther in
    }
    if front:
        scores["bust_tick", side] = (
            _level(run)
            * _bell(run.level, 0.33, 0.1)
            * _bell(width, 0.52, 0.17)
            * _beyond(-run.length_mm, -1.2 * BUST_TICK_MM, 12)
            * _beyond(run.length_mm, 14, 6)
        )
        scores["dart", side] = (
            _beyond(-run.steep, -60, 8)
            * _bell(run.level, 0.4, 0.09)
            * _beyond(run.outer, 0.93, 0.06)
            * _beyond(run.inner, 0.4, 0.1)
            * _beyond(run.length_mm, 15, 6)
        )
    return scores


def _side_scores(run: _Run, frame: TrunkFrame) -> dict[Key, float]:
    """Side views: how well the line fits each seam."""
    side: Side = "wearer_right" if frame.view == "right" else "wearer_left"
    toward = 1 if frame.view == "right" else -1  # image direction she faces
    forward = 0.5 + 0.5 * toward * run.across
    long = _beyond(run.length_mm, 70, 30)
    inside = 1 - run.curve.edge
    low = _beyond(run.bottom, 0.55, 0.1)
    return {
        ("side", side): inside * _upright(run) * _bell(forward, 0.37, 0.15) * long * low,
        ("princess", side): inside * _beyond(run.steep, 60, 8) * _bell(forward, 0.82, 0.1) * long * low,
        ("princess_back", side): inside * _beyond(run.steep, 55, 8) * _bell(forward, 0.14, 0.09) * long * low,
        ("waist", None): inside * _beyond(-run.steep, -30, 8) * _bell(run.level, 0.7, 0.09) * _beyond(run.length_mm, 20, 8),
        ("dart", side): inside
        * _beyond(-run.steep, -35, 8)
        * _bell(run.level, 0.38, 0.08)
        * _beyond(run.length_mm, 50, 20)
        * _beyond(forward, 0.5, 0.15),
        ("shoulder", side): _bell(run.level, -0.12, 0.08)
        * _bell(toward * run.aside, 0.0, 0.035)  # the rim of the neckline behind lies 0.1 farther back (both measured on scenes)
        * _beyond(run.steep, 40, 10)
        * _bell(run.length_mm, 25, 35)
        * inside,
    }


def name_seams(curves: Sequence[Curve], frame: TrunkFrame, colours: Mapping[str, str] | None = None) -> tuple[SeamLine, ...]:
    """Give each curve the seam it fits best; pieces of one seam are put together, and each seam is given once.

    The colours told for seams make a name likelier or less likely, they do not decide: a pen fades, and light changes its colour.
    """
    score = _facing_scores if frame.view in ("front", "back") else _side_scores
    runs = [_run(curve, frame) for curve in curves]
    scored = [(run, key, fit) for run in runs for key, fit in score(run, frame).items() if fit > FAINTEST]
    offers = [(run, key, fit * _as_told(run, (colours or {}).get(key[0], ""))) for run, key, fit in scored]
    if frame.view in ("right", "left"):
        offers = _around_side_seam(offers, frame)
    offers.sort(key=lambda offer: -offer[2] * np.sqrt(offer[0].length_mm))
    taken: dict[Key, list[_Run]] = {}
    placed: dict[int, Key] = {}
    for run, key, fit in offers * 2:  # the second time for pieces that only a later one connects
        if id(run) in placed or (key == CENTRE_FRONT and key in taken and not _as_strong(run, taken[key][0])):
            continue
        if (key not in taken and fit > LEAST) or (key in taken and all(_continues(run, other) for other in taken[key])):
            taken.setdefault(key, []).append(run)
            placed[id(run)] = key
        elif key == CENTRE_FRONT and key in taken and any(_beside(run, other) for other in taken[key]):
            taken[key].append(run)
            placed[id(run)] = key
    unsure = {key for run, key, fit in offers if key != placed.get(id(run)) and fit > CLOSE and placed.get(id(run), key) != key}
    if CENTRE_FRONT in taken:
        taken |= _opened(taken.pop(CENTRE_FRONT))
    return tuple(
        _seam(key, pieces, key in unsure, frame) for key, pieces in sorted(taken.items(), key=lambda item: (item[0][0], str(item[0][1])))
    )


def _as_told(run: _Run, told: str) -> float:
    """How much likelier a name becomes by the colour told for it ("dark blue" counts as blue; words for other colours tell nothing)."""
    word = told.split()[-1] if told else ""
    if word not in _PENS:
        return 1.0
    near = _nearness(run.curve.change)
    if near[word] == max(near.values()):
        return COLOUR_AS_TOLD
    return 1.0 if near[word] > max(near.values()) - NEIGHBOURS else COLOUR_NOT_AS_TOLD


def _around_side_seam(offers: list[_Offer], frame: TrunkFrame) -> list[_Offer]:
    """Side views: settle the side seam first, as nearly every garment has one; upright lines before and behind it cannot change places."""
    best = max((o for o in offers if o[1][0] == "side"), key=lambda o: o[2] * o[0].length_mm, default=None)
    if best is None or best[2] < LEAST:
        return offers
    seam, toward = best[0], 1 if frame.view == "right" else -1

    def possible(offer: _Offer) -> bool:
        run, (name, _), _ = offer
        if run is seam:
            return name == "side"
        ahead = toward * (run.across - seam.across)
        return {"princess": ahead > 0.2, "princess_back": ahead < -0.1, "side": abs(ahead) < 0.3}.get(name, True)

    return [offer for offer in offers if possible(offer)]


def _tint(a: _Run, b: _Run) -> float:
    """1 for the same colour, 0 for unrelated ones."""
    p, q = a.curve.change, b.curve.change
    return float(p @ q / (np.linalg.norm(p) * np.linalg.norm(q)))


def _as_strong(a: _Run, b: _Run) -> bool:
    """Whether two pieces differ from the cloth by as much: the dark gap of an opened front does so far more than a black line."""
    sizes = sorted(float(np.linalg.norm(run.curve.change)) for run in (a, b))
    return sizes[0] > SAME_STRENGTH * sizes[1]


def _continues(run: _Run, other: _Run) -> bool:
    """Whether two pieces follow each other in one line: no overlap lengthways, same colour, ends pointing at each other."""
    a, b = run.curve.points_px, other.curve.points_px
    axis = int(np.argmax(np.ptp(np.concatenate([a, b]), axis=0)))
    first, second = sorted((a, b), key=lambda points: float(points[:, axis].min()))
    if first[:, axis].max() > second[:, axis].min() + 4 or _tint(run, other) < SAME_TINT:
        return False
    first = first if first[-1, axis] >= first[0, axis] else first[::-1]
    second = second if second[-1, axis] >= second[0, axis] else second[::-1]
    gap = second[0] - first[-1]
    size = float(np.hypot(*gap))
    ways = (first[-1] - first[max(0, len(first) - 12)], second[min(len(second), 12) - 1] - second[0])
    return size < 8 or (
        size < LONGEST_GAP_MM / run.mm_per_px and all(float(way @ gap) > 0.92 * size * float(np.hypot(*way)) for way in ways)
    )


def _beside(run: _Run, other: _Run) -> bool:
    """Whether two pieces may be the two edges of an opened front: upright, overlapping in height, same colour."""
    a, b = run.curve.points_px[:, 1], other.curve.points_px[:, 1]
    return _tint(run, other) > SAME_TINT and min(run.steep, other.steep) > 55 and min(a.max(), b.max()) > max(a.min(), b.min())


def _opened(runs: list[_Run]) -> dict[Key, list[_Run]]:
    """Pieces of the centre front: one line, or the two edges of an opened front by their side of the gap's middle."""
    pairs = [(a, b) for i, a in enumerate(runs) for b in runs[i + 1 :] if _beside(a, b) and not _continues(a, b)]
    if not pairs:
        return {CENTRE_FRONT: runs}
    heights, middles = [], []
    for a, b in pairs:
        p, q = (points[np.argsort(points[:, 1])] for points in (a.curve.points_px, b.curve.points_px))
        y = np.arange(max(p[0, 1], q[0, 1]), min(p[-1, 1], q[-1, 1]), 4.0)
        heights.append(y)
        middles.append((np.interp(y, p[:, 1], p[:, 0]) + np.interp(y, q[:, 1], q[:, 0])) / 2)
    y, x = np.concatenate(heights), np.concatenate(middles)
    order = np.argsort(y)
    edges: dict[Key, list[_Run]] = {}
    for run in runs:
        points = run.curve.points_px
        right = points[:, 0] > np.interp(points[:, 1], y[order], x[order])
        for part in np.split(np.arange(len(points)), np.flatnonzero(np.diff(right)) + 1):  # a line may change edges where they meet
            if len(part) > 0.5 * len(points) or len(part) >= SHORTEST_PART:
                piece = replace(run, curve=replace(run.curve, points_px=points[part], seen=run.curve.seen[part]))
                edges.setdefault(("centre_front", "wearer_left" if right[part[0]] else "wearer_right"), []).append(piece)
    return edges


def _seam(key: Key, runs: list[_Run], unsure: bool, frame: TrunkFrame) -> SeamLine:
    points = np.concatenate([r.curve.points_px for r in runs])
    axis = int(np.ptp(points[:, 1]) > np.ptp(points[:, 0]))
    parts = [p if p[0, axis] <= p[-1, axis] else p[::-1] for p in (r.curve.points_px for r in runs)]
    ordered = np.concatenate(sorted(parts, key=lambda p: float(p[0, axis])))
    longest = max(runs, key=lambda r: r.length_mm).curve
    return SeamLine(
        *key, frame.view, ordered, max(r.curve.sd_px for r in runs), colour_name(longest.change), ("seam_unsure",) if unsure else ()
    )


def colour_name(change: Floats) -> str:
    """The plain pen colour nearest to a change of log colour."""
    near = _nearness(change)
    return max(near, key=lambda pen: near[pen])


def _nearness(change: Floats) -> dict[str, float]:
    """Cosine between a change of log colour and that of each plain pen; brightness counts half."""
    weights = np.array([0.5, 1.0, 1.0])
    own = weights * change / max(float(np.linalg.norm(weights * change)), 1e-9)
    return {pen: float(own @ (weights * usual)) / float(np.linalg.norm(weights * usual)) for pen, usual in _PENS.items()}
