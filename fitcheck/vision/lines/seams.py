"""Which seam a drawn line is: decided by where it runs on the body, since colours differ from fitting to fitting.

Every line gets a place in a frame of the trunk: `down` is 0 at the shoulders and 1 at the hips, `across` runs from -1 to 1 between the
garment's outlines at that height (front and back views), `forward` from 0 at the back outline to 1 at the front outline (side views).
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from fitcheck.core.camera import Photo
from fitcheck.core.records import Floats, Pose, SeamLine, Sighting
from fitcheck.vision.cloth.find_cloth import Cloth, find_cloth
from fitcheck.vision.cloth.trunk_frame import TrunkFrame, trunk_frame
from fitcheck.vision.lines.pen_colours import as_told, colour_name
from fitcheck.vision.lines.pen_lines import find_curves
from fitcheck.vision.lines.seam_scores import Key, Run, inked, run_of, scores
from fitcheck.vision.trace.curves import Curve

STICKER_RIM = 1.25  # white border of a 25 mm sticker, 3 mm on every side, and a little for its soft edge
ARROW_MM, HEAD_MM = 3.0, 6.0  # half width of a pointer's arrow head, and its length
DOT_MM = 9.0  # radius of a plain dot with its soft edge
DOT_CORNERS = 24  # of the polygon that stands for it: nowhere 0.1 mm inside the circle
LEAST, FAINTEST = 0.2, 0.05  # probability from which a line gets a name, and from which a piece is added to a named line
LEAST_PEN, SURE_PEN = 0.2, 0.5  # probability of being drawn at all, below which a line gets no name, and below which it is said to be faint
SURE, CLOSE = 0.5, 0.3  # probability below which a name is in doubt, and that of another name from which it is (estimate)

SAME_TINT, SAME_STRENGTH = 0.8, 0.65  # cosine of two changes of colour and ratio of their sizes, for pieces of one line
LEAST_APART_MM = 3.0  # edges of an opened front; nearer, two pieces are one line
LONGEST_GAP_MM = 150.0  # between two pieces of one seam, hidden by an arm or in shadow
TOUCH_PX, OVERLAP_PX = 8, 4  # nearer ends need not point at each other; pieces of one line overlap by no more, as ends are found (estimate)
END_POINTS = 12  # last points of a piece, which tell where it points: longer than the ripple of a pen's edge (estimate)
AIMED = 0.92  # cosine between an end and the gap to the next piece: a seam bends by up to 23 degrees where it is hidden (estimate)
UPRIGHT_DEG = 55  # both edges of an opened front are steeper; a waist line is not
ROW_PX = 4.0  # between the heights at which the middle of an opened front is told
LARGEST_PART = 0.5  # share of a line from which on a part of it, however short, is an edge of its own
# side views: a princess seam lies so far before the side seam, one of the back so far behind, another piece of the side seam no farther
# off (half widths of the garment; estimate)
BEFORE, BEHIND, SAME_SIDE = 0.2, 0.1, 0.3

SHADY, SHADE_SD_MM = 0.8, 3.0  # a line less sure than this to be pen; how far the rim that shades it may lie from the seam
SHORTEST_PART = 10  # points of one edge of an opened front

CENTRE_FRONT: Key = ("centre_front", None)


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
            t = np.linspace(0, 2 * np.pi, DOT_CORNERS, endpoint=False)
            polygons.append(sighting.xy_px + DOT_MM / mm_per_px * np.stack([np.cos(t), np.sin(t)], 1))
    return polygons


_Offer = tuple[Run, Key, float]  # a curve, a name it may have, and how well that fits


def name_seams(curves: Sequence[Curve], frame: TrunkFrame, colours: Mapping[str, str] | None = None) -> tuple[SeamLine, ...]:
    """Give each curve the seam it fits best; pieces of one seam are put together, and each seam is given once.

    The colours told for seams make a name likelier or less likely, they do not decide: a pen fades, and light changes its colour.
    """
    runs = [run_of(curve, frame) for curve in curves]
    scored = [(run, key, fit) for run in runs for key, fit in scores(run, frame).items() if fit > FAINTEST]
    scored = [(run, key, fit) for run, key, fit in scored if run.curve.pen > LEAST_PEN]
    offers = [(run, key, fit * run.curve.pen * as_told(run.curve.change, (colours or {}).get(key[0], ""))) for run, key, fit in scored]
    if frame.view in ("right", "left"):
        offers = _around_side_seam(offers, frame)
    offers.sort(key=lambda offer: -offer[2] * np.sqrt(offer[0].length_mm))
    taken: dict[Key, list[Run]] = {}
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
    rival = {
        key for run, key, fit in offers if key != placed.get(id(run)) and fit > CLOSE * run.curve.pen and placed.get(id(run), key) != key
    }
    unsure = rival | (set(taken) - {key for run, key, fit in offers if placed.get(id(run)) == key and fit > SURE * run.curve.pen})
    if CENTRE_FRONT in taken:
        taken |= _opened(taken.pop(CENTRE_FRONT))
    return tuple(
        _seam(key, pieces, key in unsure, frame) for key, pieces in sorted(taken.items(), key=lambda item: (item[0][0], str(item[0][1])))
    )


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
        return {"princess": ahead > BEFORE, "princess_back": ahead < -BEHIND, "side": abs(ahead) < SAME_SIDE}.get(name, True)

    return [offer for offer in offers if possible(offer)]


def _tint(a: Run, b: Run) -> float:
    """1 for the same colour, 0 for unrelated ones."""
    p, q = a.curve.change, b.curve.change
    return float(p @ q / (np.linalg.norm(p) * np.linalg.norm(q)))


def _as_strong(a: Run, b: Run) -> bool:
    """Whether two pieces differ from the cloth by as much: the dark gap of an opened front does so far more than a black line."""
    sizes = sorted(float(np.linalg.norm(run.curve.change)) for run in (a, b))
    return sizes[0] > SAME_STRENGTH * sizes[1]


def _continues(run: Run, other: Run) -> bool:
    """Whether two pieces follow each other in one line: no overlap lengthways, same colour, ends pointing at each other."""
    a, b = run.curve.points_px, other.curve.points_px
    axis = int(np.argmax(np.ptp(np.concatenate([a, b]), axis=0)))
    first, second = sorted((a, b), key=lambda points: float(points[:, axis].min()))
    if first[:, axis].max() > second[:, axis].min() + OVERLAP_PX or _tint(run, other) < SAME_TINT:
        return False
    first = first if first[-1, axis] >= first[0, axis] else first[::-1]
    second = second if second[-1, axis] >= second[0, axis] else second[::-1]
    gap = second[0] - first[-1]
    size = float(np.hypot(*gap))
    ways = (first[-1] - first[max(0, len(first) - END_POINTS)], second[min(len(second), END_POINTS) - 1] - second[0])
    return size < TOUCH_PX or (
        size < LONGEST_GAP_MM / run.mm_per_px and all(float(way @ gap) > AIMED * size * float(np.hypot(*way)) for way in ways)
    )


def _beside(run: Run, other: Run) -> bool:
    """Whether two pieces may be the two edges of an opened front: upright, overlapping in height, same colour, and not on each other."""
    if _tint(run, other) <= SAME_TINT or min(run.steep, other.steep) <= UPRIGHT_DEG:
        return False
    a, b = (points[np.argsort(points[:, 1])] for points in (run.curve.points_px, other.curve.points_px))
    y = np.arange(max(a[0, 1], b[0, 1]), min(a[-1, 1], b[-1, 1]), 1.0)
    if not len(y):
        return False
    apart = np.abs(np.interp(y, a[:, 1], a[:, 0]) - np.interp(y, b[:, 1], b[:, 0]))
    return float(np.median(apart)) > LEAST_APART_MM / run.mm_per_px


def _opened(runs: list[Run]) -> dict[Key, list[Run]]:
    """Pieces of the centre front: one line, or the two edges of an opened front by their side of the gap's middle."""
    pairs = [(a, b) for i, a in enumerate(runs) for b in runs[i + 1 :] if _beside(a, b) and not _continues(a, b)]
    if not pairs:
        return {CENTRE_FRONT: runs}
    heights, middles = [], []
    for a, b in pairs:
        p, q = (points[np.argsort(points[:, 1])] for points in (a.curve.points_px, b.curve.points_px))
        y = np.arange(max(p[0, 1], q[0, 1]), min(p[-1, 1], q[-1, 1]), ROW_PX)
        heights.append(y)
        middles.append((np.interp(y, p[:, 1], p[:, 0]) + np.interp(y, q[:, 1], q[:, 0])) / 2)
    y, x = np.concatenate(heights), np.concatenate(middles)
    order = np.argsort(y)
    edges: dict[Key, list[Run]] = {}
    for run in runs:
        points = run.curve.points_px
        right = points[:, 0] > np.interp(points[:, 1], y[order], x[order])
        for part in np.split(np.arange(len(points)), np.flatnonzero(np.diff(right)) + 1):  # a line may change edges where they meet
            if len(part) > LARGEST_PART * len(points) or len(part) >= SHORTEST_PART:
                piece = replace(run, curve=replace(run.curve, points_px=points[part], seen=run.curve.seen[part]))
                edges.setdefault(("centre_front", "wearer_left" if right[part[0]] else "wearer_right"), []).append(piece)
    return edges


def _seam(key: Key, runs: list[Run], unsure: bool, frame: TrunkFrame) -> SeamLine:
    points = np.concatenate([r.curve.points_px for r in runs])
    axis = int(np.ptp(points[:, 1]) > np.ptp(points[:, 0]))
    parts = [p if p[0, axis] <= p[-1, axis] else p[::-1] for p in (r.curve.points_px for r in runs)]
    ordered = np.concatenate(sorted(parts, key=lambda p: float(p[0, axis])))
    longest = max(runs, key=lambda r: r.length_mm)
    sd, flags = max(r.curve.sd_px for r in runs), ("seam_unsure",) if unsure else ()
    if max(r.curve.pen for r in runs) < SURE_PEN or (frame.view in ("front", "back") and inked(longest) < SHADY):
        sd, flags = float(np.hypot(sd, SHADE_SD_MM / frame.mm_per_px)), (*flags, "line_faint")
    return SeamLine(*key, frame.view, ordered, sd, colour_name(longest.curve.change), flags)
