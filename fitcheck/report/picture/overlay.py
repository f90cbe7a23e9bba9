"""The one SVG overlay of a photo: points, seam lines, plumb line and measured gaps, each kind in a group of its own.

Coordinates of the drawing are the photo's own pixels, so the same overlay lies on a whole photo, on a crop and on an enlarged detail.
Pixel centres are at integers in the records and half a unit further in SVG, where the first pixel reaches from 0 to 1.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from xml.etree import ElementTree as ET

import numpy as np

from fitcheck.core.check import PhotoResult
from fitcheck.core.records import Floats, Measurement, SeamLine, Sighting, Verdict
from fitcheck.report.picture.crops import Box
from fitcheck.report.picture.fold_lines import DrawnFold
from fitcheck.report.picture.gaps import Gap, upright_at
from fitcheck.report.picture.labels import Rect, Wish, place
from fitcheck.report.words.sentences import measurement_name, measurement_says, plain, side_words
from fitcheck.report.words.units import Units, length

EDGES = ("neckline", "armhole", "hem")  # of the garment; they are sewn to nothing
LAYERS = ("plumb", "folds", "seams", "points", "frames", "names", "gaps")

# Okabe & Ito, "Color Universal Design" (2008): told apart with every common kind of colour blindness. Kinds also differ in line and shape.
GAP_COLOURS: dict[Verdict, str] = {"present": "#D55E00", "unclear": "#E69F00", "absent": "#009E73"}
PLAIN_COLOUR = "#5F5F5F"  # measured, but no finding speaks of it
SEAM_COLOUR, PLUMB_COLOUR, POINT_COLOUR = "#0072B2", "#CC79A7", "#56B4E9"
INK, PAPER = "#221C18", "#FFFFFF"

_SHORT_GAP = 20.0  # below this many screen pixels arrows point at the gap from outside, as on a technical drawing
_FAR = 60.0
_PLUMB_FROM = {"right": ("underarm_point", "wearer_right"), "left": ("underarm_point", "wearer_left")} | {
    "front": ("front_neck_point", None),
    "back": ("back_neck_point", None),
}


@dataclass(frozen=True, slots=True)
class Pane:
    """A part of a photo as it is shown.

    Attributes
    ----------
    box : Box
        The part of the photo that is covered.
    screen_px : float
        Width on the smallest screen it must be legible on, in CSS pixels; text and symbols are sized for it.
    """

    box: Box
    screen_px: float

    @property
    def unit(self) -> float:
        """Photo pixels to one CSS pixel there."""
        return self.box.width / self.screen_px


def overlay(
    result: PhotoResult,
    gaps: Sequence[Gap],
    verdicts: Mapping[str, Verdict],
    units: Units,
    pane: Pane,
    frames: Sequence[tuple[str, Box]] = (),
    folds: Sequence[DrawnFold] = (),
) -> str:
    """Draw the overlay of one photo or of a part of it.

    Parameters
    ----------
    result : PhotoResult
        With its body points, see `points.with_body_points`.
    gaps : sequence of Gap
        As `gaps_in` finds them, most important first.
    verdicts : mapping of str to Verdict
        By measurement key; a gap without one is drawn in grey.
    units : {"cm", "in"}
    pane : Pane
        What it covers, and how large it is shown at least.
    frames : sequence of (str, Box)
        Parts shown enlarged elsewhere, with their letters.
    folds : sequence of DrawnFold
        As `folds.drawn_folds` finds them.

    Returns
    -------
    str
        One `<svg>` element for use inside HTML (no namespace declaration), with a `<g class=...>` for each of `LAYERS`.
    """
    box, unit = pane.box, pane.unit
    svg = ET.Element("svg", {"class": "overlay", "viewBox": f"{box.left} {box.top} {box.width} {box.height}", "role": "img"})
    ET.SubElement(svg, "title").text = _alternative(gaps, verdicts, units)
    groups = {name: ET.SubElement(svg, "g", {"class": name}) for name in LAYERS}
    for plumb in _plumb_lines(result, gaps, box):
        _line(groups["plumb"], plumb, PLUMB_COLOUR, 1.6, dash="7 4")
    for fold in folds:
        part = ET.SubElement(groups["folds"], "g")
        ET.SubElement(part, "title").text = fold.title
        _line(part, _thinned(fold.points_px, unit), fold.colour, 1.6, dash="5 2.5" if fold.hollow else "")
    for seam in result.seams:
        _seam(groups["seams"], seam, unit)
    sightings = [s for s in result.sightings if box.holds(s.xy_px)]
    for sighting in sightings:
        _point(groups["points"], sighting, unit)
    shown = [gap for gap in gaps if box.holds(gap.middle_px)]
    taken = []
    for gap in reversed(shown):  # the most important on top
        # From afar (a plumb line's whole length) the line would say nothing.
        if 4 * unit < np.hypot(*(gap.body_px - gap.ends_px[0])) < _FAR * unit:
            _line(groups["gaps"], np.array([gap.body_px, gap.ends_px[0]]) + 0.5, colour_of(gap.item, verdicts), 0.8, dash="2 3")
        # What is in order keeps in the background.
        taken.append(
            _arrow(groups["gaps"], gap.ends_px + 0.5, colour_of(gap.item, verdicts), unit * (1.0 if _matters(gap.item, verdicts) else 0.65))
        )
    for letter, frame in frames:
        taken.append(_frame(groups["frames"], letter, frame, unit))
    _labels(groups, shown, sightings, verdicts, units, pane, taken)
    return ET.tostring(svg, encoding="unicode")


def colour_of(item: Measurement, verdicts: Mapping[str, Verdict]) -> str:
    """The colour of a measurement by its verdict."""
    verdict = verdicts.get(item.key)
    return PLAIN_COLOUR if verdict is None else GAP_COLOURS[verdict]


def _matters(item: Measurement, verdicts: Mapping[str, Verdict]) -> bool:
    return verdicts.get(item.key) in ("present", "unclear")


def _alternative(gaps: Sequence[Gap], verdicts: Mapping[str, Verdict], units: Units) -> str:
    """The picture in words, for those who hear the page."""
    said = [f"{measurement_name(g.item)}: {measurement_says(g.item, units)}" for g in gaps if _matters(g.item, verdicts)]
    return "; ".join(said) if said else "Found points and seam lines"


def _xy(points: Floats) -> str:
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in np.asarray(points).tolist())


def _line(group: ET.Element, points: Floats, colour: str, width: float, dash: str = "") -> None:
    """A line with a white halo; widths are screen pixels at any size of the drawing."""
    style = {"points": _xy(points), "fill": "none", "stroke-linejoin": "round", "vector-effect": "non-scaling-stroke"}
    ET.SubElement(group, "polyline", style | {"stroke": PAPER, "stroke-opacity": "0.75", "stroke-width": f"{width + 2.2:g}"})
    ET.SubElement(
        group, "polyline", style | {"stroke": colour, "stroke-width": f"{width:g}"} | ({"stroke-dasharray": dash} if dash else {})
    )


def _seam(group: ET.Element, seam: SeamLine, unit: float) -> None:
    part = ET.SubElement(group, "g")
    kind = "edge" if seam.name in EDGES else "seam"
    ET.SubElement(part, "title").text = ", ".join(word for word in (f"{plain(seam.name)} {kind}", side_words(seam.side)) if word)
    _line(part, _thinned(seam.points_px, unit), SEAM_COLOUR, 1.8)


def _thinned(points_px: Floats, unit: float) -> Floats:
    """Points closer than two screen pixels add bytes, not shape."""
    every = max(1, int(2 * unit))
    return np.asarray(np.concatenate([points_px[:-1:every], points_px[-1:]]) + 0.5)


def _point(group: ET.Element, sighting: Sighting, unit: float) -> None:
    """Filled where it was marked or placed by hand, hollow where it was only estimated."""
    x, y = (f"{value + 0.5:.1f}" for value in sighting.xy_px)
    sure = sighting.grade != "detected"
    part = ET.SubElement(group, "g")
    ET.SubElement(part, "title").text = ", ".join(
        word for word in (plain(sighting.name), side_words(sighting.side), "" if sure else "estimated") if word
    )
    circle = {"cx": x, "cy": y, "vector-effect": "non-scaling-stroke"}
    ET.SubElement(part, "circle", circle | {"r": f"{4.6 * unit:.2f}", "fill": PAPER, "fill-opacity": "0.85" if sure else "0.4"})
    look = {"fill": POINT_COLOUR} if sure else {"fill": "none", "stroke-dasharray": "2.5 1.5"}
    ET.SubElement(part, "circle", circle | {"r": f"{3.2 * unit:.2f}", "stroke": INK, "stroke-width": "1.2"} | look)


def _plumb_lines(result: PhotoResult, gaps: Sequence[Gap], box: Box) -> list[Floats]:
    """From the underarm point (sides) or the neck point (front, back) straight down, as the card's upright runs in the picture."""
    starts = [gap.body_px for gap in gaps if gap.item.id == "side_seam_forward"]
    starts += [np.asarray(s.xy_px, dtype=float) for s in result.sightings if (s.name, s.side) == _PLUMB_FROM[result.photo.view]]
    for start in starts[:1]:
        down = upright_at(result.scale, start)
        if down is not None and start[1] < box.bottom:
            return [np.array([start, start + down * ((box.bottom - start[1]) / down[1])]) + 0.5]
    return []


def _arrow(group: ET.Element, ends: Floats, colour: str, unit: float) -> Rect:
    """A dimension arrow between the two ends, with a tick at each; returns the room it takes."""
    span = ends[1] - ends[0]
    size = float(np.hypot(*span))
    along = span / size if size > 1e-6 else np.array([1.0, 0.0])
    across = np.array([-along[1], along[0]])
    short = size < _SHORT_GAP * unit
    head, tick = 6.5 * unit, 7 * unit
    for end in ends:
        _line(group, np.array([end - across * tick, end + across * tick]), colour, 1.6)
    if short:
        for end, sign in ((ends[0], -1.0), (ends[1], 1.0)):
            _line(group, np.array([end + sign * along * 17 * unit, end + sign * along * head * 0.6]), colour, 2.2)
    else:
        _line(group, np.array([ends[0] + along * head * 0.6, ends[1] - along * head * 0.6]), colour, 2.2)
    for end, sign in ((ends[0], -1.0), (ends[1], 1.0)):
        back = sign * along * head if short else -sign * along * head
        tip = np.array([end, end + back + across * head * 0.45, end + back - across * head * 0.45])
        look = {"fill": colour, "stroke": PAPER, "stroke-width": "0.8", "vector-effect": "non-scaling-stroke"}
        ET.SubElement(group, "polygon", {"points": _xy(tip)} | look)
    reach = 17 * unit if short else 0.0
    corners = np.array([end + s * along * reach + t * across * tick for end, s in ((ends[0], -1), (ends[1], 1)) for t in (-1, 1)])
    low, high = corners.min(axis=0), corners.max(axis=0)
    return Rect(float(low[0]), float(low[1]), float(high[0] - low[0]), float(high[1] - low[1]))


def _frame(group: ET.Element, letter: str, box: Box, unit: float) -> Rect:
    """Where an enlarged detail lies; returns the room its letter takes."""
    look = {"fill": "none", "rx": f"{4 * unit:.1f}", "vector-effect": "non-scaling-stroke"}
    at = {"x": str(box.left), "y": str(box.top), "width": str(box.width), "height": str(box.height)}
    ET.SubElement(group, "rect", at | look | {"stroke": PAPER, "stroke-opacity": "0.8", "stroke-width": "3.5"})
    ET.SubElement(group, "rect", at | look | {"stroke": INK, "stroke-width": "1.2"})
    tag = Rect(box.left - 3 * unit, box.top - 11 * unit, 17 * unit, 17 * unit)
    centre = (tag.x + tag.width / 2, tag.y + tag.height / 2)
    ET.SubElement(group, "circle", {"cx": f"{centre[0]:.1f}", "cy": f"{centre[1]:.1f}", "r": f"{8.5 * unit:.1f}", "fill": INK})
    _text(group, letter, centre[0], centre[1], 11 * unit, PAPER, bold=True)
    return tag


def _text(group: ET.Element, text: str, x: float, y: float, size: float, colour: str, bold: bool = False) -> None:
    look = {"x": f"{x:.1f}", "y": f"{y + 0.35 * size:.1f}", "font-size": f"{size:.1f}", "fill": colour, "text-anchor": "middle"}
    ET.SubElement(group, "text", look | {"font-weight": "600" if bold else "400"}).text = text


def _labels(
    groups: Mapping[str, ET.Element],
    gaps: Sequence[Gap],
    sightings: Sequence[Sighting],
    verdicts: Mapping[str, Verdict],
    units: Units,
    pane: Pane,
    taken: Sequence[Rect],
) -> None:
    """Amounts beside their gaps, then names beside their points, each with a leader line."""
    box, unit = pane.box, pane.unit
    name_size = 10.5 * unit
    sizes = [(12.5 if _matters(gap.item, verdicts) else 11.0) * unit for gap in gaps]
    amounts = [length(gap.item.value, units).removeprefix("−") for gap in gaps]
    names = [plain(s.name) for s in sightings]
    middles = [gap.middle_px + 0.5 for gap in gaps]
    points = [np.asarray(s.xy_px, dtype=float) + 0.5 for s in sightings]
    # Letters of a system font are about half as wide as high; bold ones wider.
    wishes = [
        Wish(float(m[0]), float(m[1]), (0.6 * len(t) + 0.9) * size, 1.45 * size, 10 * unit)
        for t, m, size in zip(amounts, middles, sizes, strict=True)
    ]
    wishes += [
        Wish(float(p[0]), float(p[1]), (0.54 * len(t) + 0.9) * name_size, 1.4 * name_size, 9 * unit)
        for t, p in zip(names, points, strict=True)
    ]
    spots = place(wishes, Rect(box.left, box.top, box.width, box.height).grown(-2 * unit), taken)
    for gap, text, middle, spot, size in zip(gaps, amounts, middles, spots[: len(gaps)], sizes, strict=True):
        if spot is not None:
            _pill(groups["gaps"], text, spot, middle, colour_of(gap.item, verdicts), size, bold=_matters(gap.item, verdicts))
    for text, point, spot in zip(names, points, spots[len(gaps) :], strict=True):
        if spot is not None:
            _pill(groups["names"], text, spot, point, POINT_COLOUR, name_size, bold=False)


def _pill(group: ET.Element, text: str, spot: Rect, anchor: Floats, colour: str, size: float, bold: bool) -> None:
    """A white label with a border in its kind's colour, and a line to what it belongs to."""
    near = np.clip(anchor, [spot.x, spot.y], [spot.x + spot.width, spot.y + spot.height])
    _line(group, np.array([near, anchor + (near - anchor) * 0.15]), colour, 1.0)
    at = {"x": f"{spot.x:.1f}", "y": f"{spot.y:.1f}", "width": f"{spot.width:.1f}", "height": f"{spot.height:.1f}"}
    look = {"rx": f"{spot.height / 2:.1f}", "fill": PAPER, "fill-opacity": "0.94", "stroke": colour, "stroke-width": "1.6"}
    ET.SubElement(group, "rect", at | look | {"vector-effect": "non-scaling-stroke"})
    _text(group, text, spot.x + spot.width / 2, spot.y + spot.height / 2, size, INK, bold)
