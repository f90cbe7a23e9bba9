"""Plain round coloured dots stuck on body points: found by colour and roundness, named by where they sit."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.camera import Photo
from fitcheck.core.records import Floats, Pose, Side, Sighting, View
from fitcheck.vision.cloth.log_colour import log_colour

SMALLEST_MM, LARGEST_MM = 9.5, 24.0  # long axis of dots of 10 to 20 mm, some slack; where two lines cross it is shorter
LINE_MM = 7.0  # a drawn line is narrower and vanishes when opened by this
STRONG = 0.22  # chroma (log ratio) by which a dot stands out from what surrounds it
MEDIAN_MM = 48.0  # surroundings: several dots wide
ELLIPSE = np.pi / 4  # area of an ellipse over that of the box of its axes
FILLED = 0.75  # share of its bounding ellipse that a dot fills; ragged patches fill less
THINNEST = 0.3  # short over long axis of a dot seen aslant
SEEN_LEAST, SEEN_MOST = 1.5, 1.3  # SMALLEST_MM over the one to LARGEST_MM times the other is looked at closely: boxes tell size roughly
FEWEST_OUTLINE = 6  # pixels that an ellipse can be laid through
AROUND_MM = 6.0  # how far off its edge a dot must have ended: lines and patches go on in their own colour
GOES_ON = 0.27  # share of that ring in the patch's colour, above which it is part of something larger
ALIKE_LEAST, ALIKE_STRAY = 0.4, 0.35  # of a patch's own difference from the ground: what has its colour, and may stray from it (estimate)
SMALL_MM, SMALL_GOES_ON = 13.0, 0.04  # two lines crossing, or the end of a thick one, look like a small dot with arms
RING_SAMPLES = 120  # places of that ring
WORKING_MM_PER_PX = 1.2  # shows a dot of 10 mm well enough to know it
LEVELS_PER_LOG, NO_COLOUR = 60.0, 128  # grey levels in which log colour ratios are medianed, and the one for a ratio of 0
LEAST_MEDIAN_PX, LEAST_OPENED_PX = 5, 3  # least windows of the median and of the opening
SMALLEST_PX = 8  # side of the part of a photo in which dots are looked for
FEWEST = 2  # dots of one photo: a lone one is a button
SAME_SIZE = 1.4  # ratio of the long axes of two dots of one packet, as seen; those of print differ more (estimate)
SAME_DEPTH = 1.6  # ratio of how far two dots of one packet are from grey, in one photo (estimate)
SAME_HUE_DEG = 30.0  # dots of one colour in any light; their saturation changes with it (within 15 degrees on our scenes)
LEAST_STRENGTH = 1e-9  # of a colour, so that grey has a direction too
PALE = 0.3  # of the usual strength of their colour; white paper in coloured light has less (dots 0.47 and more on our scenes)
CENTRE_SD_MM = 1.3  # a dot stands off the cloth, and its shadow and the lines it lies on pull its centre; measured on our scenes


@dataclass(frozen=True, slots=True)
class Gates:
    """How near its point a dot must lie, mm: at first, then after taking out the common shift; and by how much it must lie nearer to it
    than to any point that has no dot (seen from the side the neck's and the shoulder's are 40 mm apart)."""

    first_mm: float
    last_mm: float
    plainly_mm: float


BY_POSE, BY_DOTS = Gates(75.0, 45.0, 25.0), Gates(45.0, 28.0, 12.0)  # of a body placed by the pose alone, and by dots too
EITHER = ("side_neck_point", "shoulder_point")  # from the side one of them may be taken for the other, if that is not found


@dataclass(frozen=True, slots=True)
class Patch:
    """A round patch of a photo, which may be a dot."""

    xy_px: Floats
    box_px: tuple[float, float, float, float]
    long_px: float
    ratios: Floats  # its log colour ratios

    @property
    def hue(self) -> Floats:
        """Their direction, a unit vector."""
        return np.asarray(self.ratios / max(float(np.linalg.norm(self.ratios)), LEAST_STRENGTH))


def round_patches(photo: Photo, pose: Pose, expected_px: Mapping[tuple[str, Side | None], Floats], mm_per_px: float) -> list[Patch]:
    """Round patches of another colour than what surrounds them, about where the body points are expected; arguments as `find_dots`."""
    rows, columns = np.flatnonzero(pose.mask.any(1)), np.flatnonzero(pose.mask.any(0))
    if len(rows) == 0 or not expected_px:
        return []
    places = np.array(list(expected_px.values()))
    pad = 2 * LARGEST_MM / mm_per_px
    x0, y0 = np.maximum(0, places.min(0) - pad).astype(int)
    x1, y1 = (places.max(0) + pad).astype(int) + 1
    crop = photo.rgb[y0 : min(y1, rows[-1]), max(x0, columns[0] - int(pad)) : min(x1, columns[-1] + int(pad))]
    origin = np.array([max(x0, columns[0] - int(pad)), y0], float)
    if min(crop.shape[:2]) < SMALLEST_PX:
        return []
    return [
        replace(b, xy_px=b.xy_px + origin, box_px=(b.box_px[0] + origin[0], b.box_px[1] + origin[1], b.box_px[2], b.box_px[3]))
        for b in _blobs(np.ascontiguousarray(crop), mm_per_px)
    ]


def find_dots(
    patches: Sequence[Patch],
    view: View,
    pose: Pose,
    expected_px: Mapping[tuple[str, Side | None], Floats],
    mm_per_px: float,
    gates: Gates = BY_POSE,
) -> tuple[Sighting, ...]:
    """The dots of one photo.

    Parameters
    ----------
    patches : sequence of Patch
    view : View
    pose : Pose
        Where she is.
    expected_px : mapping of (name, side) to ndarray of shape (2,)
        Where the body points that face the camera are thought to be; a dot is the nearest of them.
    mm_per_px : float
    gates : Gates
        How well that is known.

    Returns
    -------
    tuple of Sighting
        Grade `dot`. Empty where fewer than two dots agree with the body: a lone round patch is a button.
    """
    if not expected_px:
        return ()
    named = _of_one_size(_named(patches, list(expected_px), np.array(list(expected_px.values())), mm_per_px, gates))
    if len(named) < FEWEST or _printed([blob for _, blob in named], patches, pose):
        return ()
    return tuple(_sighting(view, key, blob, mm_per_px) for key, blob in named)


def of_their_colour(
    patches: Mapping[View, Sequence[Patch]], dots: Mapping[View, Sequence[Sighting]], photos: Mapping[View, Photo]
) -> dict[View, list[Patch]]:
    """The patches that have the colour of any of the dots found."""
    hues = np.array([_hue(photos[dot.view].rgb, dot.xy_px) for found in dots.values() for dot in found]).reshape(-1, 2)
    least = np.cos(np.radians(SAME_HUE_DEG))
    return {view: [patch for patch in found if (hues @ patch.hue > least).any()] for view, found in patches.items()}


def but_either(dots: Sequence[Sighting]) -> tuple[Sighting, ...]:
    """Without those that may be one of two neighbours of which the other is not found (`EITHER`)."""
    sure = [side for side in {dot.side for dot in dots} if sum(dot.side == side and dot.name in EITHER for dot in dots) == len(EITHER)]
    return tuple(dot for dot in dots if dot.name not in EITHER or dot.side in sure)


def _of_one_size(named: list[tuple[tuple[str, Side | None], Patch]]) -> list[tuple[tuple[str, Side | None], Patch]]:
    """Without those that are larger or smaller than most: dots come from one packet."""
    usual = float(np.median([blob.long_px for _, blob in named])) if named else 0.0
    return [(key, blob) for key, blob in named if usual / SAME_SIZE < blob.long_px < usual * SAME_SIZE]


def _printed(named: Sequence[Patch], blobs: Sequence[Patch], pose: Pose) -> bool:
    """Whether as many patches like them again lie on her where no body point is: then all are the cloth's own dots or checks."""
    usual = float(np.median([blob.long_px for blob in named]))
    others = [blob for blob in blobs if all(blob is not one for one in named) and usual / SAME_SIZE < blob.long_px < usual * SAME_SIZE]
    at = [np.clip(np.round(blob.xy_px).astype(int), 0, np.array(pose.mask.shape[::-1]) - 1) for blob in others]
    alike = [
        bool(pose.mask[y, x]) and any(_same_colour(blob.ratios, one.ratios) for one in named)
        for blob, (x, y) in zip(others, at, strict=True)
    ]
    return bool(sum(alike) >= len(named))


def _same_colour(a: Floats, b: Floats) -> bool:
    """Whether two log colour ratios are those of dots of one packet: alike in hue and about as far from grey."""
    weak, strong = sorted(float(np.linalg.norm(ratios)) for ratios in (a, b))
    return strong < SAME_DEPTH * weak and float(a @ b) > np.cos(np.radians(SAME_HUE_DEG)) * weak * strong


def of_one_colour(photos: Mapping[View, Photo], found: Mapping[View, Sequence[Sighting]]) -> dict[View, tuple[Sighting, ...]]:
    """Dots of all photos without those that differ in colour from the others of their side.

    Whoever sticks dots takes one colour for her left, one for her right, one for the middle (or one for all); patches, badges and buttons
    that happen to lie near body points have any colour. Where no colour has a majority, none of that side can be told from a patch.

    Parameters
    ----------
    photos : mapping of view to Photo
    found : mapping of view to sequence of Sighting
        As `find_dots` gave them.
    """
    dots = [dot for in_view in found.values() for dot in in_view]
    colours = np.array([_ratios(photos[dot.view].rgb, dot.xy_px) for dot in dots]).reshape(-1, 2)
    strong = np.linalg.norm(colours, axis=1)
    ways = colours / np.maximum(strong, LEAST_STRENGTH)[:, None]
    alike = ways @ ways.T > np.cos(np.radians(SAME_HUE_DEG))
    kept: set[int] = set()
    for side in {dot.side for dot in dots}:
        own = [i for i, dot in enumerate(dots) if dot.side == side]
        like = max(([j for j in own if alike[i, j]] for i in own), key=len)
        kept.update([i for i in like if strong[i] > PALE * np.median(strong[like])] if 2 * len(like) > len(own) else ())
    chosen = [dot for i, dot in enumerate(dots) if i in kept]
    return {view: tuple(dot for dot in chosen if dot.view == view) for view in found}


def _hue(rgb: NDArray[np.uint8], xy_px: Floats) -> Floats:
    """Direction of the log colour ratios at a dot's centre, a unit vector."""
    own = _ratios(rgb, xy_px)
    return np.asarray(own / max(float(np.linalg.norm(own)), LEAST_STRENGTH))


def _ratios(rgb: NDArray[np.uint8], xy_px: Floats) -> Floats:
    """The two log colour ratios at a dot's centre."""
    x, y = (int(np.clip(round(float(c)), 1, n - 2)) for c, n in zip(xy_px, rgb.shape[1::-1], strict=True))
    own = np.median(log_colour(rgb[y - 1 : y + 2, x - 1 : x + 2])[..., 1:].reshape(-1, 2), axis=0).astype(float)
    return own


def _blobs(rgb: NDArray[np.uint8], mm_per_px: float) -> list[Patch]:
    """Round patches whose colour stands out from their surroundings, in the crop's pixels."""
    zoom = min(1.0, mm_per_px / WORKING_MM_PER_PX)
    small = cv2.resize(rgb, None, fx=zoom, fy=zoom, interpolation=cv2.INTER_AREA) if zoom < 1 else rgb
    step_mm = mm_per_px / zoom
    chroma = log_colour(np.asarray(small, np.uint8))[..., 1:]
    away = _standing_out(chroma, step_mm)
    width = max(LEAST_OPENED_PX, round(LINE_MM / step_mm) | 1)
    solid = cv2.morphologyEx((away > STRONG).astype(np.uint8), cv2.MORPH_OPEN, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (width, width)))
    count, labels, stats, _ = cv2.connectedComponentsWithStats(solid, connectivity=4)
    found = []
    for i in range(1, count):
        left, top, wide, high, area = stats[i]
        if not SMALLEST_MM / SEEN_LEAST < max(wide, high) * step_mm < LARGEST_MM * SEEN_MOST:
            continue
        part = (labels[top : top + high, left : left + wide] == i).astype(np.uint8)
        outline = max(cv2.findContours(part, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)[0], key=len)
        if len(outline) < FEWEST_OUTLINE:
            continue
        _, axes, _ = cv2.fitEllipse(outline)
        short, long = sorted(a + 1.0 for a in axes)  # the contour runs through pixel centres
        if not SMALLEST_MM < long * step_mm < LARGEST_MM or short < THINNEST * long or area < FILLED * ELLIPSE * short * long:
            continue
        weight = away[top : top + high, left : left + wide] * part
        y, x = np.mgrid[top : top + high, left : left + wide]
        centre = np.array([(x * weight).sum(), (y * weight).sum()]) / weight.sum()
        going_on = _going_on(chroma, centre, max(wide, high) / 2 + AROUND_MM / step_mm)
        if going_on > (SMALL_GOES_ON if long * step_mm < SMALL_MM else GOES_ON):
            continue
        exact = np.array(rgb.shape[1::-1]) / np.array(small.shape[1::-1])
        at = (centre + 0.5) * exact - 0.5
        own = np.median(chroma[top : top + high, left : left + wide][part > 0], axis=0).astype(float)
        found.append(Patch(at, (left / zoom, top / zoom, wide / zoom, high / zoom), long / zoom, own))
    return found


def _going_on(chroma: NDArray[np.float32], centre: Floats, radius: float) -> float:
    """Share of the ring around a patch that has the patch's own colour."""
    height, width = chroma.shape[:2]
    turn = np.linspace(0, 2 * np.pi, RING_SAMPLES, endpoint=False)
    x = np.clip(np.round(centre[0] + radius * np.cos(turn)).astype(int), 0, width - 1)
    y = np.clip(np.round(centre[1] + radius * np.sin(turn)).astype(int), 0, height - 1)
    ring = chroma[y, x]
    row, column = (int(np.clip(round(c), 1, n - 2)) for c, n in zip(centre[::-1], (height, width), strict=True))
    ground = np.median(ring, axis=0)
    own = np.median(chroma[row - 1 : row + 2, column - 1 : column + 2].reshape(-1, 2), axis=0) - ground
    length = max(float(np.linalg.norm(own)), 1e-6)
    along = (ring - ground) @ own / length**2
    beside = np.linalg.norm(ring - ground - along[:, None] * own, axis=1) / length
    return float(np.mean((along > ALIKE_LEAST) & (beside < ALIKE_STRAY)))


def _standing_out(chroma: NDArray[np.float32], step_mm: float) -> NDArray[np.float32]:
    """Distance of every pixel's chroma from the median of its surroundings."""
    size = max(LEAST_MEDIAN_PX, round(MEDIAN_MM / step_mm) | 1)
    levels = np.clip(chroma * LEVELS_PER_LOG + NO_COLOUR, 0, 255).astype(np.uint8)
    around = np.dstack([cv2.medianBlur(np.ascontiguousarray(levels[..., i]), size) for i in (0, 1)])
    return np.asarray(np.linalg.norm((levels.astype(np.float32) - around) / LEVELS_PER_LOG, axis=2), np.float32)


def _named(
    blobs: Sequence[Patch], keys: Sequence[tuple[str, Side | None]], places: Floats, mm_per_px: float, gates: Gates
) -> list[tuple[tuple[str, Side | None], Patch]]:
    """Dots and points paired so that the sum of distances is least; the common shift of the body is taken out between two rounds.

    A dot that could as well mark a point that has none is left out.
    """
    if not blobs:
        return []
    from scipy.optimize import linear_sum_assignment  # 0.4 s to import, which a fitting without dots is spared

    shift = np.zeros(2)
    pairs: list[tuple[int, int]] = []
    for gate in (gates.first_mm, gates.last_mm):
        apart = np.linalg.norm(np.array([b.xy_px for b in blobs])[:, None] - (places + shift)[None], axis=2) * mm_per_px
        # everything beyond the gate costs the same, so that far pairs do not pull near ones apart
        pairs = [(i, j) for i, j in zip(*linear_sum_assignment(np.minimum(apart, gate)), strict=True) if apart[i, j] < gate]
        if pairs:
            shift = np.median([blobs[i].xy_px - places[j] for i, j in pairs], axis=0)
    without = [j for j in range(len(keys)) if all(j != paired for _, paired in pairs)]
    return [(keys[j], blobs[i]) for i, j in pairs if all(apart[i, k] > apart[i, j] + gates.plainly_mm for k in without)]


def _sighting(view: View, key: tuple[str, Side | None], blob: Patch, mm_per_px: float) -> Sighting:
    left, top, wide, high = blob.box_px
    corners = np.array([[left, top], [left + wide, top], [left + wide, top + high], [left, top + high]])
    return Sighting(key[0], key[1], view, "dot", blob.xy_px, CENTRE_SD_MM / mm_per_px, kind="dot", corners_px=corners)
