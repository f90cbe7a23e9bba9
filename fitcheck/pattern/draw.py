"""The pieces of one alteration before and after as a to-scale drawing: an SVG for the report, outlines in mm for printing."""

from html import escape

import numpy as np

from fitcheck.core.records import Floats, PatternSheet, PatternStroke
from fitcheck.pattern.alter import Altered
from fitcheck.pattern.block import Piece

GAP_MM = 60.0
MARGIN_MM = 30.0
LINE_MM = 2.5
TEXT_MM = 17.0
_STYLE = {
    "before": 'fill="none" stroke="#8a8a8a" stroke-dasharray="9 6"',
    "after": 'fill="#f2ece0" fill-opacity="0.6" stroke="#1d3a5f"',
    "cut": 'fill="none" stroke="#b4452c" stroke-dasharray="3 4"',
}


def lay_out(changed: Altered) -> PatternSheet:
    """Pieces side by side, old and new of each on top of the other; pieces that do not change are left out."""
    strokes: list[PatternStroke] = []
    names: list[tuple[str, float, float]] = []
    x, height = MARGIN_MM, 0.0
    for name, after in changed.after.items():
        before = changed.before[name]
        if _same(before, after):
            continue
        every = np.vstack([before.outline, after.outline, *after.cuts])
        low, high = every.min(axis=0), every.max(axis=0)
        by = np.array([x, MARGIN_MM + 1.5 * TEXT_MM]) - low
        strokes.append(PatternStroke("after", after.outline + by))
        strokes.append(PatternStroke("before", before.outline + by))
        strokes += [PatternStroke("cut", cut + by) for cut in after.cuts]
        names.append((name, x, MARGIN_MM + TEXT_MM * 0.6))
        x += float(high[0] - low[0]) + GAP_MM
        height = max(height, float(high[1] - low[1]))
    return PatternSheet(tuple(strokes), tuple(names), x - GAP_MM + MARGIN_MM, height + 2 * MARGIN_MM + 1.5 * TEXT_MM)


def seam_lengths(changed: Altered) -> tuple[tuple[str, float, float, float, float], ...]:
    """Per seam that is sewn together: its name, and the lengths of its two sides before and after (mm)."""
    rows = []
    for one, two in changed.sewn:
        (one_before, one_after), (two_before, two_after) = changed.lengths(one), changed.lengths(two)
        rows.append((f"{_seam_name(one)} / {_seam_name(two)}", one_before, one_after, two_before, two_after))
    return tuple(rows)


def drawing(changed: Altered) -> str:
    """One self-contained SVG, to scale: before dashed, after solid, cut lines dotted, a 100 mm bar."""
    sheet = lay_out(changed)
    text = max(TEXT_MM, sheet.width / 34)  # to be read at half the width of a page
    width, height = sheet.width, sheet.height + 2 * text
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.0f} {height:.0f}" role="img" '
        f'aria-label="Pieces before (dashed) and after the alteration, to scale" font-family="sans-serif" font-size="{text:.0f}" '
        f'stroke-width="{LINE_MM:g}" stroke-linejoin="round">'
    ]
    parts += [f'<path d="{_path(stroke.points)}" {_STYLE[stroke.kind]}/>' for stroke in sheet.strokes]
    parts += [f'<text x="{x:.1f}" y="{y:.1f}">{escape(name)}</text>' for name, x, y in sheet.names]
    bar = height - text
    parts.append(f'<path d="M{MARGIN_MM:g} {bar:.1f}h100m0 -6v12m-100 0v-12" fill="none" stroke="#333"/>')
    parts.append(f'<text x="{MARGIN_MM + 110:g}" y="{bar + 6:.1f}">100 mm</text>')
    return "".join([*parts, "</svg>"])


def _same(before: Piece, after: Piece) -> bool:
    return before.outline.shape == after.outline.shape and bool(np.allclose(before.outline, after.outline, atol=0.05))


def _seam_name(seam: tuple[tuple[str, str], ...]) -> str:
    return " + ".join(f"{piece} {edge.replace('_', ' ')}" for piece, edge in seam)


def _path(points: Floats) -> str:
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points)
