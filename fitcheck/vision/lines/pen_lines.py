"""Coloured pen or tape lines on cloth: where their centre lines run, to a fraction of a pixel.

The photo is read as log brightness and two log colour ratios. Light and shade multiply all three colours alike, so they move log
brightness only, while a pen moves the ratios as well (or, if it is black or white, brightness far more than any fold). The distance from
the local median colour, which keeps edges but has no thin lines, is a relief in which pen lines are narrow ridges. Their crests
(`ridges`) are centred again on colour profiles across (`across`), kept only where cloth lies beside them, followed to their ends
and put together over gaps (`curves`).
"""

from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.polyline import unit
from fitcheck.core.records import Floats
from fitcheck.vision.cloth.find_cloth import Cloth
from fitcheck.vision.cloth.log_colour import COLOUR_WEIGHTS, log_colour
from fitcheck.vision.lines.cross_section import CrossSection, ends_of, evenly_spaced, look_across, moving_mean, normals
from fitcheck.vision.lines.pen import with_pen
from fitcheck.vision.trace.curves import Curve, join_curves
from fitcheck.vision.trace.ridges import ridge_chains

# Pixels are those of the working picture, points those of a line, POINT_PX apart. Estimates, where no line says more.
# where lines are looked for
SMALLEST_PX = 16  # side of a garment's box; in less no line can be followed
WORKING_MM_PER_PX = 0.75  # finer photos are searched at this scale
RIDGE_SIGMA_MM = 1.4  # suits lines 1.5 to 4 mm wide
MEDIAN_MM = 5.5  # half window of the local median: more than twice the width of a line
WEAK, STRONG = 0.02, 0.04  # ridge response (in units of log colour distance) to follow and to begin a line
BEYOND = 9  # cells past the known cloth in which lines are looked for: before a wall of its own colour the shoulders' cloth is not known
# what is one line
POINT_PX = 2.0
SHORTEST_MM = 4.5  # of a piece of a line
FAINT = 3.0  # least length (px) times colour change: a faint line must be longer to be believed
SHARP_DEG, SHARP_POINTS = 45.0, 4  # a turn by more within so many points to both sides is a corner, where two lines were linked to one
COLOUR_POINTS, COLOUR_APART = 6, 8  # for a change of colour the means of so many points are compared, so many points apart
RECOLOURED = 0.5  # cosine of the two means, below which it is another line
BRIDGED = 3  # points between drawn ones that may show no line (grain of the cloth, a fold)
LEAST_DRAWN = 0.6  # share of the points of a line that show one
# a point has the line's own colour where the change there is this share of the usual one, and strays from it by no more than OWN_STRAY
OWN_LEAST, OWN_MOST, OWN_STRAY = 0.5, 2.0, 0.6
MOSTLY = 0.6  # share of a line that must have its own colour, or lie off the edge, for the rest to be cut off
FADED, FADED_STRAY = 0.35, 0.4  # the same shares for what is still followed along the end of the cloth, where pen fades
FEWEST, FOLLOW = 4, 15  # for how many points: fewer are another line crossing
# fringes that JPEG leaves beside a strong line (its colour blocks are 16 px wide): how near, how much fainter, over what share of them
ECHO_PX, ECHO_FAINTER, ECHO_SHARE = 16.0, 4.0, 0.6
# where a line ends
ROUGH_POINTS, WHOLE_POINTS = 2, 6  # the last points are rough, and left out of a line of more than so many
END_POINTS = 8  # that tell its direction
AHEAD_PX, AHEAD_STEP_PX = 14.0, 0.5  # how far on it is looked for
ASIDE_PX = np.array([-5.0, -4.5, -1.0, 0.0, 1.0, 4.5, 5.0])  # two places on the cloth at either side, three on the line
SAME_LIGHT = 0.7  # largest change of log brightness of the cloth beside the last few mm of a line
LEAST_STEP_PX = 0.3  # nearer to the end no further point is put
# doubt across a line
CENTRE_SD_PX, EDGE_SD_PX = 0.15, 0.9  # of the centroid on cloth; where the edge of the cloth cuts the line off (both measured on scenes)
TAPE_SD_MM = 0.4  # a tape's thickness, and its shadow (measured on scenes)
SMOOTH_POINTS = 4  # to either side, against which a line is rough
SD_OF_MEDIAN = 1.48  # of normally distributed values, over the median of their sizes


def find_curves(rgb: NDArray[np.uint8], cloth: Cloth, leave_out: list[Floats], mm_per_px: float) -> list[Curve]:
    """All that may be pen or tape lines on the cloth of one photo, each with how likely it is.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (H, W, 3)
    cloth : Cloth
        Where the garment lies and what colour it has (`cloth.find_cloth`).
    leave_out : list of ndarray, shape (N, 2)
        Polygons that hide the cloth: stickers, dots, the scale card.
    mm_per_px : float
        Scale of the photo at the body.

    Returns
    -------
    list of Curve
        Longest first.
    """
    x0, y0, x1, y1 = cloth.box_px
    if min(x1 - x0, y1 - y0) < SMALLEST_PX:
        return []
    zoom = min(1.0, mm_per_px / WORKING_MM_PER_PX)
    crop = rgb[y0:y1, x0:x1]
    if zoom < 1:
        crop = cv2.resize(crop, None, fx=zoom, fy=zoom, interpolation=cv2.INTER_AREA)
    step_mm = mm_per_px / zoom
    colour = log_colour(crop)
    free = _free(colour.shape[:2], leave_out, (x0, y0), zoom)
    excess = _excess(crop, colour, max(2, round(MEDIAN_MM / step_mm)))
    here = free * cv2.resize(
        cv2.dilate(cloth.mask.astype(np.uint8), np.ones((2 * BEYOND + 1, 2 * BEYOND + 1), np.uint8)),
        free.shape[::-1],
        interpolation=cv2.INTER_NEAREST,
    )
    chains = ridge_chains(excess, here, max(1.0, RIDGE_SIGMA_MM / step_mm), WEAK, STRONG)
    curves = join_curves(_drawn(chains, colour, free, cloth, step_mm), free, step_mm)
    cells = round(float(cloth.mask.sum()) * (cloth.stride * zoom) ** 2)
    curves = with_pen(_without_echoes(curves), colour, step_mm, cells)
    curves = [replace(c, points_px=_to_photo(c.points_px, (x0, y0), zoom), sd_px=c.sd_px / zoom) for c in curves]
    return sorted(curves, key=lambda c: -c.length_px)


def _to_photo(points: Floats, origin: tuple[int, int], zoom: float) -> Floats:
    return np.asarray((points + 0.5) / zoom - 0.5 + np.array(origin, float))


def _free(shape: tuple[int, ...], leave_out: list[Floats], origin: tuple[int, int], zoom: float) -> NDArray[np.uint8]:
    """1 where no sticker hides the cloth (with a rim for its soft edge)."""
    free = np.ones(shape[:2], np.uint8)
    for polygon in leave_out:
        cv2.fillPoly(free, [np.round((polygon - np.array(origin) + 0.5) * zoom - 0.5).astype(np.int32)], 0)
    return np.asarray(cv2.erode(free, np.ones((3, 3), np.uint8)), np.uint8)


def _excess(rgb: NDArray[np.uint8], colour: NDArray[np.float32], half: int) -> NDArray[np.float32]:
    """Distance of every pixel from the local median colour, which has no thin lines but keeps edges; brightness counts half."""
    small = cv2.resize(rgb, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
    median = cv2.resize(cv2.medianBlur(small, half // 2 * 2 + 1), rgb.shape[1::-1], interpolation=cv2.INTER_LINEAR)
    away = colour - log_colour(median)
    squares = cv2.transform(away * away, (COLOUR_WEIGHTS**2)[None].astype(np.float32))
    return np.asarray(np.minimum(cv2.sqrt(squares), np.float32(1.0)))


def _without_echoes(curves: list[Curve]) -> list[Curve]:
    """Without the faint fringes that JPEG leaves beside a strong line."""
    strength = [float(np.linalg.norm(curve.change * COLOUR_WEIGHTS)) for curve in curves]

    def echo(i: int) -> bool:
        strong = [c.points_px for c, s in zip(curves, strength, strict=True) if s > ECHO_FAINTER * strength[i]]
        if not strong:
            return False
        gaps = curves[i].points_px[:, None] - np.concatenate(strong)[None]
        return bool((np.hypot(gaps[..., 0], gaps[..., 1]).min(1) < ECHO_PX).mean() > ECHO_SHARE)

    return [curve for i, curve in enumerate(curves) if not echo(i)]


def _drawn(chains: list[Floats], colour: NDArray[np.float32], free: NDArray[np.uint8], cloth: Cloth, step_mm: float) -> list[Curve]:
    """The pieces of chains that are drawn lines, centred on their colour."""
    shortest = SHORTEST_MM / step_mm
    parts = _unbent(evenly_spaced(chains, POINT_PX), shortest / POINT_PX)
    moved = []
    for part, found in zip(parts, look_across(parts, colour, cloth), strict=True):
        if not found.valid.any():
            continue
        good = _runs(_bridge(found.valid, BRIDGED) & ~_recoloured(found.change))
        for run in good:
            first, last = run is good[0], run is good[-1]
            run = _off_edges(run, found.edge)
            if (run.stop - run.start - 1) * POINT_PX >= shortest and found.valid[run].mean() >= LEAST_DRAWN:
                run = _followed(run, found, first, last)
                shift = moving_mean(np.where(found.valid, found.shift, 0.0)[run], 1)
                moved.append(part[run] + shift[:, None] * normals(part[run]))
    pieces = []
    for points, found in zip(moved, look_across(moved, colour, cloth), strict=True):
        change = np.median(found.change, 0)
        if len(points) * POINT_PX * float(np.linalg.norm(change * COLOUR_WEIGHTS)) < FAINT:
            continue
        centred = points + np.where(found.valid, np.clip(found.shift, -1, 1), 0)[:, None] * normals(points)
        rough = found.shift - moving_mean(found.shift, SMOOTH_POINTS)
        on_edge = float(found.edge.mean())
        roughness = SD_OF_MEDIAN * np.median(np.abs(rough))
        sd = float(np.linalg.norm([CENTRE_SD_PX, TAPE_SD_MM / step_mm, on_edge * EDGE_SD_PX, roughness]))
        pieces.append(Curve(centred[_own_colour(found.change, change)], np.empty(0, bool), sd, change, on_edge))
    ended = _to_ends([piece.points_px for piece in pieces], [piece.change for piece in pieces], colour, free, cloth)
    return [replace(piece, points_px=line, seen=np.ones(len(line), bool)) for piece, line in zip(pieces, ended, strict=True)]


def _own_colour(change: Floats, usual: Floats) -> slice:
    """A line without ends of another colour, where it was linked to the dark rim of an armhole or to another line."""
    share = change @ usual / (usual @ usual)
    stray = np.linalg.norm(change - share[:, None] * usual, axis=1)
    own = np.flatnonzero((share > OWN_LEAST) & (share < OWN_MOST) & (stray < OWN_STRAY * np.linalg.norm(usual)))
    return slice(int(own[0]), int(own[-1]) + 1) if len(own) > MOSTLY * len(change) else slice(None)


def _off_edges(run: slice, edge: NDArray[np.bool_]) -> slice:
    """A line on cloth without ends that go on along the edge of the garment (lines that follow an edge throughout stay)."""
    inside = np.flatnonzero(~edge[run])
    if len(inside) < MOSTLY * (run.stop - run.start):
        return run
    return slice(run.start + int(inside[0]), run.start + int(inside[-1]) + 1)


def _followed(run: slice, found: CrossSection, back: bool, ahead: bool) -> slice:
    """A line with what its chain goes on along the end of the cloth in its colour, if weaker: where cloth bends out of sight, pen fades.

    `back` and `ahead`: which ways the chain holds no other line.
    """
    change = found.change * COLOUR_WEIGHTS
    usual = np.median(change[run], axis=0)
    share = change @ usual / (usual @ usual)
    stray = np.linalg.norm(change - share[:, None] * usual, axis=1)
    alike = found.edge & (share > FADED) & (share < OWN_MOST) & (stray < FADED_STRAY * share * np.linalg.norm(usual))
    before = int(np.logical_and.accumulate(alike[max(0, run.start - FOLLOW) : run.start][::-1]).sum())
    after = int(np.logical_and.accumulate(alike[run.stop : run.stop + FOLLOW]).sum())
    return slice(run.start - before * (back and before >= FEWEST), run.stop + after * (ahead and after >= FEWEST))


def _unbent(lines: list[Floats], fewest: float) -> list[Floats]:
    """The parts, of at least so many points, between places where the direction turns so much that two lines were linked to one."""
    if not lines:
        return []
    points, (first, last) = np.concatenate(lines), ends_of(lines)
    i = np.arange(len(points))
    back = points - points[np.maximum(i - SHARP_POINTS, first)]
    ahead = points[np.minimum(i + SHARP_POINTS, last)] - points
    size = np.hypot(*back.T) * np.hypot(*ahead.T)
    cosine = (back * ahead).sum(1) / np.maximum(size, 1e-9)
    straight = (cosine >= np.cos(np.radians(SHARP_DEG))) | (size <= 0)
    begins = straight & ((i == first) | ~np.roll(straight, 1))
    ends = straight & ((i == last) | ~np.roll(straight, -1))
    runs = zip(np.flatnonzero(begins).tolist(), (np.flatnonzero(ends) + 1).tolist(), strict=True)
    return [points[begin:end] for begin, end in runs if end - begin >= fewest]


def _recoloured(change: Floats) -> NDArray[np.bool_]:
    """True where the colour of the line changes for good: a place where two lines were linked to one."""
    out = np.zeros(len(change), bool)
    if len(change) < COLOUR_POINTS + COLOUR_APART:
        return out
    means = cv2.blur(change, (1, COLOUR_POINTS), anchor=(0, 0))[: len(change) - COLOUR_POINTS + 1]
    a, b = means[:-COLOUR_APART], means[COLOUR_APART:]
    cosine = (a * b).sum(1) / np.maximum(np.linalg.norm(a, axis=1) * np.linalg.norm(b, axis=1), 1e-9)
    middle = (COLOUR_POINTS + COLOUR_APART) // 2 - 1  # of both means together
    out[middle : middle + len(cosine)] = cosine < RECOLOURED
    return out


def _runs(flags: NDArray[np.bool_]) -> list[slice]:
    if not len(flags):
        return []
    changes = (np.flatnonzero(flags[1:] != flags[:-1]) + 1).tolist()
    edges = [*([0] if flags[0] else []), *changes, *([len(flags)] if flags[-1] else [])]
    return [slice(a, b) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _bridge(flags: NDArray[np.bool_], gap: int) -> NDArray[np.bool_]:
    """Short False runs inside turned to True."""
    out = flags.copy()
    for run in _runs(~flags):
        if run.start > 0 and run.stop < len(flags) and run.stop - run.start <= gap:
            out[run] = True
    return out


def _to_ends(
    lines: list[Floats], changes: list[Floats], colour: NDArray[np.float32], free: NDArray[np.uint8], cloth: Cloth
) -> list[Floats]:
    """Both ends of every line moved along it to where its colour has fallen to half."""
    for _ in (0, 1):
        lines = [line[::-1] for line in _to_last(lines, np.array(changes), colour, free, cloth)]
    return lines


def _to_last(lines: list[Floats], changes: Floats, colour: NDArray[np.float32], free: NDArray[np.uint8], cloth: Cloth) -> list[Floats]:
    """The lines to where their last end has fallen to half its colour, or their cloth ends, or a sticker begins."""
    if not lines:
        return []
    keep = [line[:-ROUGH_POINTS] if len(line) > WHOLE_POINTS else line for line in lines]
    tip = np.array([line[-1] for line in keep])
    way = unit(tip - [line[max(0, len(line) - END_POINTS)] for line in keep])
    normal = np.stack([way[:, 1], -way[:, 0]], 1)
    s = np.arange(0, AHEAD_PX, AHEAD_STEP_PX)
    # (line, aside, along, x y)
    at = (tip[:, None] + s[:, None] * way[:, None])[:, None] + (ASIDE_PX[:, None] * normal[:, None])[:, :, None]
    at = at.astype(np.float32)
    at_x, at_y = (at[..., i].reshape(-1, len(s)) for i in (0, 1))
    seen = cv2.remap(colour, at_x, at_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    values = seen.reshape(*at.shape[:3], 3).astype(float)
    x, y = (np.round(at[:, 3, :, i]).astype(int) for i in (0, 1))
    inside = (x >= 0) & (y >= 0) & (x < free.shape[1]) & (y < free.shape[0])
    inside[inside] = free[y[inside], x[inside]] > 0
    left, right = values[:, :2].mean(1), values[:, -2:].mean(1)
    on_left, on_right = cloth.is_cloth(left)[..., None], cloth.is_cloth(right)[..., None]
    base = np.where(on_left & on_right, (left + right) / 2, np.where(on_left, left, np.where(on_right, right, np.nan)))
    known = ~np.isnan(base[..., 0])
    first = base[np.arange(len(base)), known.argmax(1), None]
    known &= np.abs(base[..., 0] - first[..., 0]) < SAME_LIGHT  # what is worn below may pass for dark cloth
    inside &= cv2.dilate(known.astype(np.uint8), np.ones((1, 3), np.uint8)) > 0  # a line ends where its cloth ends
    away = values[:, 2:5].mean(1) - np.where(known[..., None], base, first)
    share = (away @ changes[:, :, None])[..., 0] / (changes * changes).sum(1, keepdims=True)
    off = np.linalg.norm(away - share[..., None] * changes[:, None], axis=2)
    good = inside & (share > OWN_LEAST) & (share < OWN_MOST) & (off < OWN_STRAY * np.linalg.norm(changes, axis=1, keepdims=True))
    stops = np.where(good.all(1), len(s), good.argmin(1))
    ended = []
    for i, stop in enumerate(stops.tolist()):
        if stop == 0:
            ended.append(lines[i])
            continue
        reach = s[stop - 1]
        if stop < len(s) and inside[i, stop] and share[i, stop - 1] > OWN_LEAST > share[i, stop]:
            reach += AHEAD_STEP_PX * (share[i, stop - 1] - OWN_LEAST) / (share[i, stop - 1] - share[i, stop])
        steps = np.append(np.arange(POINT_PX, reach, POINT_PX), reach)
        ended.append(np.concatenate([keep[i], tip[i] + steps[steps > LEAST_STEP_PX, None] * way[i]]))
    return ended
