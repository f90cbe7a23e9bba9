"""A pattern drawing as one self-contained SVG for the report, to scale, with its key."""

from html import escape

import numpy as np

from fitcheck.core.drawing import PatternSheet, SewnSeam
from fitcheck.core.records import Floats
from fitcheck.pattern.alter import Altered
from fitcheck.pattern.drawing.hatch import hatched
from fitcheck.pattern.drawing.lay_out import HATCH, HATCH_APART, is_changed

_STYLE: dict[str, tuple[str, float]] = {  # the second is the width of the line for letters 17 high
    "paper": ('fill="#faf5ea" stroke="none"', 0),
    "after": ('fill="none" stroke="#1d3a5f"', 3),
    "before": ('fill="none" stroke="#77777a" stroke-dasharray="10 7"', 2),
    "gap": ('fill="#58a55c" fill-opacity="0.45" stroke="none"', 0),
    "lap": ('fill="#c4532f" fill-opacity="0.4" stroke="none"', 0),
    "gap_hatch": ('fill="none" stroke="#2c6b33"', 1.1),
    "lap_hatch": ('fill="none" stroke="#8f3319"', 1.1),
    "centre": ('fill="none" stroke="#1d3a5f" stroke-dasharray="22 5 4 5"', 1.6),
    "grain": ('fill="none" stroke="#333"', 1.6),
    "balance": ('fill="none" stroke="#1d3a5f"', 2.4),
    "inner": ('fill="none" stroke="#1d3a5f"', 1.4),
    "cut": ('fill="none" stroke="#b4452c" stroke-dasharray="3 5"', 2.6),
    "dart": ('fill="none" stroke="#1d3a5f"', 2),
    "notch": ('fill="none" stroke="#1d3a5f"', 5),
    "tape": ('fill="none" stroke="#7a3f98" stroke-opacity="0.7"', 7),
    "hinge": ('fill="#fff" stroke="#b4452c"', 2.6),
    "arrow": ('fill="none" stroke="#000"', 2.6),
    "head": ('fill="#000" stroke="none"', 0),
    "leader": ('fill="none" stroke="#000"', 1),
}
_KEY = {
    "before": "before",
    "after": "after",
    "cut": "cut here",
    "hinge": "hinge",
    "gap": "paper put in",
    "lap": "lapped or cut off",
    "dart": "dart as sewn",
    "notch": "notch moved",
    "balance": "notch",
    "centre": "centre line",
    "grain": "grain",
    "tape": "eased to a tape",
}
_OPEN = ("before", "after", "cut", "dart", "notch", "tape", "balance", "centre", "grain")


def drawing(sheet: PatternSheet) -> str:
    """The drawing with a key of what occurs in it and a 100 mm bar; lengths are left as `{mm:<number>}` fields."""
    text, margin = sheet.text, sheet.text * 1.2
    kinds = {stroke.kind for stroke in sheet.strokes}
    key = [(kind, says) for kind, says in _KEY.items() if kind in kinds]
    rows = (len(key) + 1) // 2
    height = sheet.height + text * (1.6 * rows + 2.2)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {sheet.width:.0f} {height:.0f}" role="img" '
        f'aria-label="Pieces before (dashed) and after the alteration, to scale" font-family="sans-serif" font-size="{text:.1f}" '
        'stroke-linejoin="round" stroke-linecap="round">'
    ]
    paper = [("paper", stroke.points) for stroke in sheet.strokes if stroke.kind == "after"]
    parts += [
        f'<path d="{_path(points)}" {_style(kind, text)}/>' for kind, points in (*paper, *((one.kind, one.points) for one in sheet.strokes))
    ]
    parts += [f'<text x="{x:.1f}" y="{y:.1f}" font-weight="bold">{escape(name)}</text>' for name, x, y in sheet.names]
    halo = f'text-anchor="middle" paint-order="stroke" stroke="#fff" stroke-width="{text * 0.28:.1f}"'
    parts += [f'<text x="{x:.1f}" y="{y + text * 0.36:.1f}" {halo}>{escape(says)}</text>' for says, x, y in sheet.labels]
    small = f'font-size="{text * 0.92:.1f}"'
    for i, (kind, says) in enumerate(key):
        x, y = margin + (i % 2) * sheet.width * 0.4, sheet.height + text * (0.6 + 1.6 * (i // 2))
        parts.append(_sample(kind, x, y, text))
        parts.append(f'<text x="{x + 2.1 * text:.1f}" y="{y + text * 0.33:.1f}" {small}>{says}</text>')
    bar = height - text
    parts.append(f'<path d="M{margin:.1f} {bar:.1f}h100m0 -7v14m-100 0v-14" fill="none" stroke="#333" stroke-width="2.6"/>')
    parts.append(f'<text x="{margin + 112:.1f}" y="{bar + text * 0.33:.1f}" {small}>{{mm:100}}</text>')
    return "".join([*parts, "</svg>"])


def drawn_seams(changed: Altered) -> tuple[SewnSeam, ...]:
    """The seams of the pieces that are altered, before and after."""
    before = changed.block.pieces
    pieces = {name for name, after in changed.after.items() if is_changed(before[name], after)}
    pairs = zip(changed.block.sewn, changed.seams(), strict=True)
    return tuple(seam for sides, seam in pairs if any(piece in pieces for side in sides for piece, _ in side))


def _sample(kind: str, x: float, y: float, text: float) -> str:
    if kind == "hinge":
        return f'<circle cx="{x + 0.8 * text:.1f}" cy="{y:.1f}" r="{text * 0.26:.1f}" {_style(kind, text)}/>'
    if kind in _OPEN:
        return f'<path d="M{x:.1f} {y:.1f}h{1.6 * text:.1f}" {_style(kind, text)}/>'
    corners = np.array([[x, y - 0.4 * text], [x + 1.6 * text, y - 0.4 * text], [x + 1.6 * text, y + 0.4 * text], [x, y + 0.4 * text]])
    lines = hatched(corners, HATCH_APART * text, HATCH[kind])
    hatch = "".join(f'<path d="{_path(line)}" {_style(f"{kind}_hatch", text)}/>' for line in lines)
    return f'<path d="{_path(corners)}" {_style(kind, text)}/>{hatch}'


def _style(kind: str, text: float) -> str:
    style, width = _STYLE[kind]
    return f'{style} stroke-width="{width * text / 17:.1f}"' if width else style


def _path(points: Floats) -> str:
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points)
