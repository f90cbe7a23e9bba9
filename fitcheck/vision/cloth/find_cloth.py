"""The garment in a photo: where its cloth lies, and what colour it has there, pen lines and stickers left out."""

from dataclasses import dataclass, replace
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.pose_joints import ELBOWS, HIPS, NOSE, SHOULDERS, WRISTS
from fitcheck.core.records import Floats, Pose
from fitcheck.vision.cloth.log_colour import ADDED, FULL_LIGHT, darkest_grey, log_colour
from fitcheck.vision.cloth.person_cells import person_cells

# Lengths `of the trunk` are shares of the way from the middle of her shoulders to that of her hips; colours are log colours. Estimates,
# where no line says more.
STRIDE, COARSE_PX = 4, 400  # the cloth is looked at in cells of 4 x 4 px, of 8 x 8 where the trunk is twice this high, and so on
SMALLEST_TRUNK_PX = 32.0  # a shorter one is taken for this
# where the garment is looked for, beyond the shoulders and hips: to the sides, above and below, of the trunk
BESIDE, ABOVE_SHOULDERS, BELOW_HIPS = 0.45, 0.3, 0.45
# where cloth is certain: how far down the trunk; half its width, of the trunk and of the hips as seen, whichever is more
CORE_DOWN, CORE_OF_TRUNK, CORE_OF_HIPS = (0.3, 0.8), 0.12, 0.3
ONE_SIDED = (0.5, 1.6)  # of that half width, from the axis: where it is certain of a half tissue, which may stay short of the middle
LEARNT_DOWN = 0.8  # of the trunk, down to where the cloth's colour is learnt: what is worn below may have that of shaded cloth
BARE_CELLS, BARE_VISIBLE = 3, 0.3  # radius of the spots on face, elbows and wrists that may be skin, and how surely the pose must see them

# what is cloth and what is skin
NEAR = 0.07  # largest distance of cloth from its own mean (skin on beige cloth is 0.1 away)
NEAR_IN_SHADE = 0.5  # more of it, where it is darker than usual by 1
GREY_NOISE = 4.0  # grey levels by which cloth's darkest colour strays: much, in log colour, where that is nearly black (a deep red)
SKIN_LEAD = 1.5  # by so much nearer to skin than to cloth
DARKEST, BRIGHTEST = 1.7, 1.2  # how far shade and light may take cloth from its usual brightness
DARK_END, LEVEL_STEP, LEVELS = -3.0, 0.1, 31  # brightness table of the cloth's ratios

# how its colour is learnt
BIN = 0.05  # of the ratios, in which the commonest colour is looked for
SAME_LIGHT = 0.25  # brightness of the first guess about its median: black things may pass for dark cloth of any faint colour
FEWEST_CELLS = 15  # that tell a colour
NOT_CLOTH = 0.4  # of NEAR: bare spots beyond it are skin
ROUNDS = 4  # in which lighter and darker cloth is learnt from what hangs together with that known
DRIFT = 0.12  # farthest that learning may move the cloth's ratios at any brightness
HANGS_TOGETHER = 0.02  # share of the core's cells that a part must hold
SMALLEST_CELLS = 12  # of a patch of cloth
FILL_CELLS = 9  # across what is closed in it: lines and stickers

# cloth of many colours: known by its place on her, as that of one colour is found on too little of the trunk's core
KNOWN_SHARE = (
    0.7  # of the core, less than which makes the cloth one of many colours (0.73 and more on rendered scenes, opened fronts among them)
)
COVERS_ABOVE, COVERS_BELOW, COVERS_BESIDE = 0.12, 0.15, 0.12  # how far beyond shoulders and hips, of the trunk, it is taken to reach

# of the box
ABOVE, AROUND = 10, 4  # cells of the box above the cloth known, where a shoulder may have been taken for wall, and to the other sides

# share of the full ratios left at each level: cameras compress highlights, so colours pale towards white (estimate from rendered photos),
# and what is added to every grey level makes them pale towards black
_LIGHTS = DARK_END + LEVEL_STEP * (np.arange(LEVELS) + 0.5)
_PALING = np.clip(-_LIGHTS / 0.95, 0.25, 1.0) * (1 - ADDED / (FULL_LIGHT * np.exp(_LIGHTS)))


@dataclass(frozen=True, slots=True)
class Cloth:
    """The garment's cloth in one photo.

    Attributes
    ----------
    box_px : tuple of int
        x0, y0, x1, y1 around the garment, a little wider.
    mask : ndarray of bool, shape (h, w)
        Cloth inside the box, one cell for `stride` px; lines and stickers inside are filled.
    light : float
        Usual log brightness of the cloth.
    ratios, skin : ndarray, shape (LEVELS, 2)
        The two log colour ratios of cloth and of skin by log brightness (cameras show dark things a little more coloured); see `level_of`.
        Skin is infinite where none is known.
    stride : int
        Side of a cell of `mask`, pixels.
    own_share : float
        Of the mask that shows the cloth's ground colour; the rest is lines, stickers, print.
    many_coloured : bool
        Printed, striped or checked: its own colour says little, so whatever covers the trunk and is not skin is taken for cloth.
    """

    box_px: tuple[int, int, int, int]
    mask: NDArray[np.bool_]
    light: float
    ratios: Floats
    skin: Floats
    stride: int = STRIDE
    own_share: float = 1.0
    many_coloured: bool = False

    def is_cloth(self, colour: NDArray[Any]) -> NDArray[np.bool_]:
        """Which log colours (..., 3) may be cloth in some light."""
        return ~self.is_skin(colour) if self.many_coloured else self.has_own_colour(colour)

    def has_own_colour(self, colour: NDArray[Any]) -> NDArray[np.bool_]:
        """Which log colours (..., 3) may be the cloth's ground colour in some light."""
        shade = np.clip(self.light - colour[..., 0], -2, 2)
        level = level_of(colour[..., 0])
        away = _distance(colour, self.ratios, level)
        near = away < np.hypot(NEAR * (1 + NEAR_IN_SHADE * np.clip(shade, 0, 1)), GREY_NOISE / darkest_grey(colour))
        return np.asarray(near & (away < _distance(colour, self.skin, level)) & (shade < DARKEST) & (shade > -BRIGHTEST))

    def own_ratios(self, light: NDArray[Any]) -> NDArray[Any]:
        """The cloth's own two ratios (..., 2) at some log brightness."""
        return np.stack([np.interp(light, _LIGHTS, self.ratios[:, i]) for i in (0, 1)], -1)

    def is_skin(self, colour: NDArray[Any]) -> NDArray[np.bool_]:
        """Which log colours (..., 3) are clearly nearer to skin than to cloth."""
        level = level_of(colour[..., 0])
        away = _distance(colour, self.skin, level)
        return np.asarray((away < NEAR) & (SKIN_LEAD * away < _distance(colour, self.ratios, level)))


def _distance(colour: NDArray[Any], table: Floats, level: NDArray[np.intp]) -> NDArray[Any]:
    """Distance of log colours (..., 3) from the rows `level` of a table of ratios, light left aside."""
    red, yellow = (colour[..., 1 + i] - table[:, i].astype(colour.dtype).take(level) for i in (0, 1))
    return np.asarray(np.sqrt(red * red + yellow * yellow))


def level_of(light: NDArray[Any]) -> NDArray[np.intp]:
    """Row of `Cloth.ratios` for a log brightness."""
    return np.clip((np.asarray(light) - DARK_END) / LEVEL_STEP, 0, LEVELS - 1).astype(np.intp)


def find_cloth(rgb: NDArray[np.uint8], pose: Pose, toward: int = 0) -> Cloth:
    """Find the garment from the colour that fills the trunk between shoulders and hips.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (H, W, 3)
    pose : Pose
        Its mask limits the garment, its shoulders and hips say where cloth is certain to lie.
    toward : int
        -1 or 1 where cloth is certain at image left or right of the trunk's axis only.
    """
    height, width = rgb.shape[:2]
    points = pose.points_px
    top, bottom = points[[*SHOULDERS]].mean(0), points[[*HIPS]].mean(0)
    trunk = max(float(np.hypot(*(bottom - top))), SMALLEST_TRUNK_PX)
    corners = points[[*SHOULDERS, *HIPS]]
    x0, y0 = np.floor(corners.min(0) - [BESIDE * trunk, ABOVE_SHOULDERS * trunk]).astype(int)
    x1, y1 = np.ceil(corners.max(0) + [BESIDE * trunk, BELOW_HIPS * trunk]).astype(int)
    x0, y0, x1, y1 = max(0, int(x0)), max(0, y0), min(width, x1), min(height, y1)
    stride = STRIDE * max(1, int(trunk / COARSE_PX))
    x1, y1 = x0 + max(0, x1 - x0) // stride * stride, y0 + max(0, y1 - y0) // stride * stride
    if x1 <= x0 or y1 <= y0:
        return _nothing()
    small = cv2.resize(rgb[y0:y1, x0:x1], None, fx=1 / stride, fy=1 / stride, interpolation=cv2.INTER_AREA)
    colour = log_colour(small)
    person = person_cells(colour, pose.mask[y0:y1:stride, x0:x1:stride])
    core = _core(small.shape[:2], *((points - [x0, y0]) / stride for points in (top, bottom, corners)), toward=toward) & person
    bare = _bare(colour.shape, (points - [x0, y0]) / stride, pose.visibility) & person & ~core
    below = round(float((1 - LEARNT_DOWN) * top[1] + LEARNT_DOWN * bottom[1] - y0) / stride)
    light, ratios, skin = _first_guess(colour[core], colour[bare])
    first = ratios
    on_person = colour[person]
    for _ in range(ROUNDS):  # learn lighter and darker cloth (and skin) from what hangs together with that known so far
        cloth = Cloth((x0, y0, x1, y1), core, light, ratios, skin, stride)
        like = _spread(cloth.has_own_colour(on_person), person)
        like = _connected(cv2.morphologyEx(like, cv2.MORPH_OPEN, np.ones((2, 2), np.uint8)), core)
        like[below:] = 0
        ratios = _held(_by_light(colour[like > 0], ratios), first)
        if np.isfinite(skin[0, 0]):
            skin = _by_light(colour[_connected(_spread(cloth.is_skin(on_person), person), bare) > 0], skin)
    like = _large(_spread(cloth.has_own_colour(on_person), person))  # the shoulder may be cut off by the arm
    filled = cv2.morphologyEx(like, cv2.MORPH_CLOSE, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (FILL_CELLS, FILL_CELLS))) > 0
    cloth = Cloth((x0, y0, x1, y1), filled, light, ratios, skin, stride, float(like.sum() / max(1, filled.sum())))
    if not toward and core.any() and filled[core].mean() < KNOWN_SHARE:
        cloth = _by_place(cloth, colour, person, corners)
    return _cropped(cloth)


def _by_place(cloth: Cloth, colour: NDArray[np.float32], person: NDArray[np.bool_], corners: Floats) -> Cloth:
    """Cloth of many colours: what covers her between shoulders and hips and is not skin."""
    cells = (corners - cloth.box_px[:2]) / cloth.stride
    trunk = float(cells[2:, 1].mean() - cells[:2, 1].mean())
    y, x = np.mgrid[: colour.shape[0], : colour.shape[1]]
    covers = (y > cells[:2, 1].min() - COVERS_ABOVE * trunk) & (y < cells[2:, 1].max() + COVERS_BELOW * trunk)
    covers &= (x > cells[:, 0].min() - COVERS_BESIDE * trunk) & (x < cells[:, 0].max() + COVERS_BESIDE * trunk)
    grid = _large(np.asarray(person & covers & ~cloth.is_skin(colour), np.uint8))
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (FILL_CELLS, FILL_CELLS))
    mask = cv2.morphologyEx(grid, cv2.MORPH_CLOSE, kernel) > 0
    own = cloth.own_share * float(cloth.mask.sum()) / max(1, int(mask.sum()))
    return replace(cloth, mask=mask, own_share=own, many_coloured=True)


def _spread(flags: NDArray[np.bool_], where: NDArray[np.bool_]) -> NDArray[np.uint8]:
    """Flags of the cells in `where`, on the grid."""
    grid = np.zeros(where.shape, np.uint8)
    grid[where] = flags
    return grid


def _core(shape: tuple[int, ...], top: Floats, bottom: Floats, corners: Floats, *, toward: int) -> NDArray[np.bool_]:
    """The band along the trunk where cloth is certain, or the one beside its axis."""
    axis = bottom - top
    half = max(CORE_OF_TRUNK * float(np.hypot(*axis)), CORE_OF_HIPS * float(np.ptp(corners[2:, 0])))
    band = np.zeros(shape[:2], np.uint8)
    a, b = (top + down * axis for down in CORE_DOWN)
    near, far = (toward * share * half for share in ONE_SIDED) if toward else (-half, half)
    cv2.fillPoly(band, [np.round([a + [near, 0], a + [far, 0], b + [far, 0], b + [near, 0]]).astype(np.int32)], 1)
    return band > 0


def _bare(shape: tuple[int, ...], points: Floats, visibility: Floats) -> NDArray[np.bool_]:
    """Small discs on face, elbows and wrists, where skin is likely."""
    spots = np.zeros(shape[:2], np.uint8)
    for i in (NOSE, *ELBOWS, *WRISTS):
        if visibility[i] > BARE_VISIBLE:
            cv2.circle(spots, (round(points[i, 0]), round(points[i, 1])), BARE_CELLS, 1, -1)
    return spots > 0


def _first_guess(core: NDArray[np.float32], bare: NDArray[np.float32]) -> tuple[float, Floats, Floats]:
    """Usual log brightness and ratios of the commonest colour in the core, and ratios of the bare spots if those differ from it."""
    unknown = np.full((LEVELS, 2), np.inf)
    if len(core) == 0:
        return -1.0, np.zeros((LEVELS, 2)), unknown
    bins = np.round(core[:, 1:] / BIN).astype(int)
    first = bins.min(0) - 1
    counts = np.zeros(np.ptp(bins, axis=0) + 3, np.float32)
    np.add.at(counts, tuple((bins - first).T), 1)
    votes = cv2.boxFilter(counts, -1, (3, 3), normalize=False)
    commonest = np.array(np.unravel_index(np.argmax(np.where(counts > 0, votes, 0)), counts.shape)) + first
    near = core[np.abs(core[:, 1:] - commonest * BIN).max(1) < 2 * BIN]
    near = near[np.abs(near[:, 0] - np.median(near[:, 0])) < SAME_LIGHT]
    ratios = _by_light(near, _flat(near))
    skin = bare[_distance(bare, ratios, level_of(bare[:, 0])) > NOT_CLOTH * NEAR] if len(bare) else bare
    if len(skin) < FEWEST_CELLS:
        return float(np.median(near[:, 0])), ratios, unknown
    return float(np.median(near[:, 0])), ratios, _by_light(skin, _flat(skin))


def _flat(colours: NDArray[np.float32]) -> Floats:
    return np.tile(np.median(colours[:, 1:], 0), (LEVELS, 1)).astype(float)


def _by_light(colours: NDArray[np.float32], before: Floats) -> Floats:
    """Median ratios at each level of brightness; levels not seen take those of the nearest seen, paler where brighter (`_PALING`)."""
    level = level_of(colours[:, 0]).astype(np.int8)  # small numbers are sorted fastest
    counts = np.bincount(level, minlength=LEVELS)
    seen = np.flatnonzero(counts >= FEWEST_CELLS)
    if len(seen) == 0:
        return before
    ordered = np.ascontiguousarray(colours[np.argsort(level, kind="stable"), 1:].T)
    ends = np.cumsum(counts)
    middle = [[(counts[i] - 1) // 2, counts[i] // 2] for i in seen]
    parts = [np.partition(ordered[:, ends[i] - counts[i] : ends[i]], two)[:, two] for i, two in zip(seen, middle, strict=True)]
    medians = np.mean(parts, axis=2, dtype=float) / _PALING[seen, None]
    return np.asarray(np.stack([np.interp(np.arange(LEVELS), seen, medians[:, i]) for i in (0, 1)], 1) * _PALING[:, None])


def _held(ratios: Floats, first: Floats) -> Floats:
    """Learned ratios, no farther than DRIFT from the first ones, so that they cannot wander off to skin or wall."""
    step = ratios - first
    return first + step * np.minimum(1.0, DRIFT / np.maximum(np.hypot(step[:, :1], step[:, 1:]), 1e-9))


def _connected(mask: NDArray[Any], core: NDArray[np.bool_]) -> NDArray[np.uint8]:
    """The parts of the mask that hang together with the core (over pen lines a cell or two wide)."""
    wide = cv2.dilate(mask.astype(np.uint8), np.ones((3, 3), np.uint8))
    count, labels = cv2.connectedComponents(wide, connectivity=4)
    shares = np.bincount(labels[core & (mask > 0)], minlength=count)
    shares[0] = 0
    wanted = shares > HANGS_TOGETHER * max(1, shares.sum())
    return np.asarray(wanted[labels] & (mask > 0), np.uint8)


def _large(mask: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Without small patches."""
    _, labels, stats, _ = cv2.connectedComponentsWithStats(mask, connectivity=4)
    wanted = stats[:, cv2.CC_STAT_AREA] >= SMALLEST_CELLS
    wanted[0] = False
    return np.asarray(wanted[labels], np.uint8)


def _nothing() -> Cloth:
    table = np.zeros((LEVELS, 2))
    return Cloth((0, 0, 0, 0), np.zeros((0, 0), bool), -1.0, table, table)


def _cropped(cloth: Cloth) -> Cloth:
    """The same with the box drawn close around the mask, with room above for shoulders taken for wall."""
    rows, cols = np.flatnonzero(cloth.mask.any(1)), np.flatnonzero(cloth.mask.any(0))
    if len(rows) == 0:
        return _nothing()
    a, b = max(0, int(rows[0]) - ABOVE), min(cloth.mask.shape[0], int(rows[-1]) + AROUND + 1)
    c, d = max(0, int(cols[0]) - AROUND), min(cloth.mask.shape[1], int(cols[-1]) + AROUND + 1)
    x0, y0 = cloth.box_px[:2]
    box = (x0 + cloth.stride * c, y0 + cloth.stride * a, x0 + cloth.stride * d, y0 + cloth.stride * b)
    return replace(cloth, box_px=box, mask=cloth.mask[a:b, c:d])
