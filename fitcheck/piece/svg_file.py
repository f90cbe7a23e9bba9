"""A drawn piece as SVG 1.1 at its true size in millimetres, a group for each layer."""

from html import escape
from pathlib import Path

from fitcheck.core.drawing import PatternSheet
from fitcheck.piece.layers import WORDS, layered
from fitcheck.report.on_disk import in_place
from fitcheck.report.words.units import Units, fill

_STYLE: dict[str, str] = {
    "cutting line": 'stroke="#1d3a5f" stroke-width="0.5"',
    "seam line": 'stroke="#1d3a5f" stroke-width="0.3" stroke-dasharray="5 2"',
    "before": 'stroke="#777" stroke-width="0.3" stroke-dasharray="3 2"',
    "cut the old paper": 'stroke="#b4452c" stroke-width="0.4" stroke-dasharray="1 1.5"',
    "hinges": 'stroke="#b4452c" stroke-width="0.4"',
    "paper put in": 'stroke="#2c6b33" stroke-width="0.2" style="fill:#58a55c;fill-opacity:0.3"',
    "paper taken out": 'stroke="#8f3319" stroke-width="0.2" style="fill:#c4532f;fill-opacity:0.3"',
    "fold": 'stroke="#1d3a5f" stroke-width="0.3" stroke-dasharray="6 1.5 1 1.5"',
}
_PLAIN = 'stroke="#000" stroke-width="0.3"'


def write_svg(path: Path, sheet: PatternSheet, title: str, units: Units = "cm") -> None:
    """Write the drawing; one unit is one millimetre.

    Raises
    ------
    OutputError
        The file cannot be written.
    """
    with in_place(path) as waiting:
        waiting.write_text(svg_text(sheet, title, units), encoding="utf-8")


def svg_text(sheet: PatternSheet, title: str, units: Units = "cm") -> str:
    """The file as text."""
    parts = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="{sheet.width:.2f}mm" height="{sheet.height:.2f}mm" '
        f'viewBox="0 0 {sheet.width:.2f} {sheet.height:.2f}">',
        f"<title>{escape(title)}</title>",
    ]
    for name, lines in layered(sheet).items():
        parts.append(
            f'<g id="{name.replace(" ", "_")}" fill="none" stroke-linejoin="round" {_STYLE.get(name, _PLAIN)}><title>{name}</title>'
        )
        parts += [f'<path d="M{" L".join(f"{x:.3f} {y:.3f}" for x, y in points)}"/>' for points in lines]
        parts.append("</g>")
    parts.append(f'<g id="{WORDS}" font-family="sans-serif" font-size="{sheet.text:.1f}" fill="#000"><title>{WORDS}</title>')
    parts += [f'<text x="{x:.2f}" y="{y:.2f}">{escape(fill(says, units))}</text>' for says, x, y in sheet.names]
    parts += [
        f'<text x="{x:.2f}" y="{y + sheet.text / 3:.2f}" text-anchor="middle">{escape(fill(says, units))}</text>'
        for says, x, y in sheet.labels
    ]
    parts += ["</g>", "</svg>", ""]
    return "\n".join(parts)
