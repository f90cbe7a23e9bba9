"""The edges of an opened front beside the centre front lines that are drawn along them.

What a front lacks is the gap between its edges, but the line is drawn a few millimetres inside the edge. Beside the line, towards the
other front, a strip of cloth shows, then the gap with whatever lies under it. The strip ends where the picture's colour leaves the
cloth's own by half of what it leaves it in the gap. A line is drawn along an edge at one distance, so one width holds for the whole edge;
where the lines come nearer to each other than two strips, the edges meet halfway.
"""

from collections.abc import Sequence
from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.records import Floats, SeamLine

STEP_MM = 0.25  # of the profile across
CLOTH_MM = (3.0, 7.0)  # beside the line, away from the gap: bare cloth in the same light
LINE_SAMPLES = 4  # to both sides of a line's centre, within which its full colour shows
LINE_MM, STRIP_MM = 1.2, 8.0  # half a pen line; a wider strip is an extension beyond the centre front, and the line counts
ALONG_PX = 9  # profiles averaged along the line
FEWEST = 20  # points at which a strip and a gap must show
GAP_CONTRAST = 0.35  # of the line's own contrast; below, what follows the strip is cloth: no gap
EDGE_SD_MM = 0.7  # blur, the shadow under the edge and its curl; found 0.4 mm beyond the edge on draped scenes


def moved_to_edges(rgb: NDArray[np.uint8], seams: Sequence[SeamLine], mm_per_px: float) -> tuple[SeamLine, ...]:
    """The seam lines of one photo, the two centre fronts of an opened front moved to the edges of their cloth.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (H, W, 3)
    seams : sequence of SeamLine
    mm_per_px : float

    Returns
    -------
    tuple of SeamLine
        Unchanged where there is no opened front, or no edge shows near the line.
    """
    halves = {seam.side: seam for seam in seams if seam.name == "centre_front" and seam.side is not None}
    if len(halves) < 2:
        return tuple(seams)
    left, right = halves["wearer_left"], halves["wearer_right"]
    edges = {"wearer_left": _moved(rgb, left, right, mm_per_px), "wearer_right": _moved(rgb, right, left, mm_per_px)}
    return tuple(edges[seam.side] if seam.name == "centre_front" and seam.side is not None else seam for seam in seams)


def _moved(rgb: NDArray[np.uint8], seam: SeamLine, other: SeamLine, mm_per_px: float) -> SeamLine:
    points = seam.points_px
    across = np.array([np.sign(np.median(other.points_px[:, 0]) - np.median(points[:, 0])), 0.0])
    there = _x_at(other.points_px, points[:, 1])
    distance = (there - points[:, 0]) * across[0] * mm_per_px  # between the two lines, NaN beyond the other's ends
    strip = _strip_mm(rgb, points, across, distance, mm_per_px)
    if np.isfinite(strip).sum() < FEWEST or (width := float(np.nanmedian(strip))) > STRIP_MM:
        return seam
    width_mm = np.fmin(width, np.maximum(distance, 0.0) / 2)  # fmin: beyond the other line's ends its own width holds
    moved = points + across * (width_mm / mm_per_px)[:, None]
    return replace(seam, points_px=moved, sd_px=float(np.hypot(seam.sd_px, EDGE_SD_MM / mm_per_px)))


def _strip_mm(rgb: NDArray[np.uint8], points: Floats, across: Floats, distance: Floats, mm_per_px: float) -> Floats:
    """Width of the strip of cloth beyond the line at every point, mm; NaN where no gap follows it."""
    offset = np.arange(-CLOTH_MM[1], 2 * STRIP_MM, STEP_MM)
    at = points[:, None] + offset[None, :, None] / mm_per_px * across
    colours = cv2.remap(rgb, at.astype(np.float32), None, cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE).astype(np.float32)
    colours = cv2.blur(colours, (1, ALONG_PX))
    cloth = colours[:, offset < -CLOTH_MM[0]].mean(axis=1, keepdims=True)
    away = np.linalg.norm(colours - cloth, axis=2)
    found = np.full(len(points), np.nan)
    zero = int(np.argmin(np.abs(offset)))
    for i, (profile, reach) in enumerate(zip(away, distance, strict=True)):
        if not np.isfinite(reach) or reach < 2 * LINE_MM:
            continue
        line = float(profile[zero - LINE_SAMPLES : zero + LINE_SAMPLES + 1].max())
        end = min(len(offset), zero + int((reach - LINE_MM) / STEP_MM))  # where the other line begins
        beyond = profile[zero:end]
        low = int(np.argmin(beyond[: max(1, int(STRIP_MM / STEP_MM))]))
        gap = float(beyond[low:].max()) if low < len(beyond) else 0.0
        if gap - beyond[low] < GAP_CONTRAST * line:
            continue
        # blur from the line and from the gap lifts a narrow strip off the cloth's colour
        half = max(gap / 2, (2 * float(beyond[low]) + gap) / 3)
        j = low + int(np.argmax(beyond[low:] >= half))
        before = beyond[j - 1] if j > 0 else beyond[j]
        share = (half - before) / max(float(beyond[j] - before), 1e-6)
        found[i] = max(0.0, (j - 1 + share) * STEP_MM)
    return found


def _x_at(points: Floats, rows: Floats) -> Floats:
    order = np.argsort(points[:, 1])
    return np.asarray(np.interp(rows, points[order, 1], points[order, 0], left=np.nan, right=np.nan))
