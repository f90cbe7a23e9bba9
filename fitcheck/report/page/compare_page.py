"""Two rounds of one garment on one page: what was solved, the photos side by side at one scale, every measurement before and after."""

import io
from base64 import b64encode
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from markupsafe import Markup
from numpy.typing import NDArray
from PIL import Image

from fitcheck.core.diary import Change, Comparison, DiaryPhoto, Fitting, Names, Target, name_of
from fitcheck.core.records import VIEWS, View
from fitcheck.report.page.diary_frame import render_page
from fitcheck.report.page.fitting_page import verdicts_of
from fitcheck.report.picture.aligned import Placing, at_one_scale, boxes_alike, drawn, placing, scaled_placing, shoulder_height_mm
from fitcheck.report.picture.crops import Box
from fitcheck.report.picture.gaps import gaps_in
from fitcheck.report.picture.overlay import Pane, overlay
from fitcheck.report.words.sentences import VIEW_TITLES, measurement_says
from fitcheck.report.words.units import Units, quantity

_JPEG_QUALITY = 82
_SCREEN_PX = 240  # width of one of two pictures side by side on a small screen, for the size of its labels
_ORDER = ("worse", "unchanged", "improved", "solved", "in order", None)
_TITLES = {
    "worse": "Became worse",
    "unchanged": "Unchanged or too close to tell",
    "improved": "Improved, not yet in order",
    "solved": "Solved",
    "in order": "In order both times",
    None: "Of your body, or without a tolerance",
}

Pixels = NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class Side:
    """One picture of a pair; `image` is empty where the photo is missing."""

    title: str
    image: str
    overlay: Markup
    size: tuple[int, int]
    missing: str


@dataclass(frozen=True, slots=True)
class Pair:
    """One view before and after; `alike`: at one scale, None where there are no two pictures."""

    title: str
    sides: list[Side]
    alike: bool | None


@dataclass(frozen=True, slots=True)
class Line:
    """One measurement in words and as a small drawing."""

    change: Change
    before: str
    predicted: str
    after: str
    chart: Markup


def compare_page(
    comparison: Comparison,
    pictures: Mapping[tuple[int, View], Pixels | None],
    targets: Mapping[str, Target],
    names: Names,
    units: Units,
) -> str:
    """The page.

    Parameters
    ----------
    comparison : Comparison
    pictures : dict of (fitting number, view) to ndarray of uint8, shape (H, W, 3), or None
        Every recorded photo, upright, perhaps reduced; None where its file is gone.
    targets : dict of measurement key to Target
    names : dict of (alteration id, amount above zero) to plain name
    units : {"cm", "in"}

    Raises
    ------
    KnowledgeError
        A sentence has a field that cannot be filled.
    """
    return render_page("compare.html.j2", units, **compare_content(comparison, pictures, targets, names, units))


def compare_content(
    comparison: Comparison,
    pictures: Mapping[tuple[int, View], Pixels | None],
    targets: Mapping[str, Target],
    names: Names,
    units: Units,
) -> dict[str, Any]:
    """What the page of two rounds is filled with; parameters as `compare_page`."""
    widest = {unit: _widest(comparison.changes, unit) for unit in ("mm", "deg")}
    groups = [
        (
            _TITLES[status],
            status,
            [_line(c, targets.get(c.before.key), widest[c.before.unit], units) for c in comparison.changes if c.status == status],
        )
        for status in _ORDER
    ]
    return {
        "comparison": comparison,
        "pairs": [pair for view in VIEWS if (pair := _pair(comparison, view, pictures, units))],
        "groups": [group for group in groups if group[2]],
        "tally": [group for group in groups if group[2] and group[1] not in (None, "in order")],
        "next_round": [(name_of(step.amount, names), step.amount) for step in comparison.after.round],
    }


def _pair(comparison: Comparison, view: View, pictures: Mapping[tuple[int, View], Pixels | None], units: Units) -> Pair | None:
    """Before and after in one view; both cut alike where both can be placed."""
    sides = []
    for fitting in (comparison.before, comparison.after):
        photo = next((p for p in fitting.photos if p.view == view), None)
        rgb = pictures.get((fitting.entry.number, view)) if photo else None
        sides.append((fitting, photo, rgb, _placed(fitting, photo, rgb)))
    if all(photo is None for _, photo, _, _ in sides):
        return None
    placed = [(place, (rgb.shape[1], rgb.shape[0])) for _, _, rgb, place in sides if place is not None and rgb is not None]
    cut = boxes_alike(placed, shoulder_height_mm(comparison.before))
    alike = at_one_scale(placed, cut)
    # what cannot be brought to one scale is shown whole, so that nobody takes it for alike
    boxes = iter(cut if alike or sum(rgb is not None for _, _, rgb, _ in sides) < 2 else [None] * len(cut))
    worth = {c.before.key for c in comparison.changes if c.status not in (None, "in order")}
    shown = [_side(fitting, photo, rgb, next(boxes) if place else None, worth, units) for fitting, photo, rgb, place in sides]
    return Pair(VIEW_TITLES[view], shown, None if any(side.missing for side in shown) else alike)


def _placed(fitting: Fitting, photo: DiaryPhoto | None, rgb: Pixels | None) -> Placing | None:
    if photo is None or rgb is None:
        return None
    place = placing(fitting, photo.view)
    return None if place is None else scaled_placing(place, rgb.shape[1] / photo.size_px[0])


def _side(fitting: Fitting, photo: DiaryPhoto | None, rgb: Pixels | None, box: Box | None, worth: set[str], units: Units) -> Side:
    title = f"{fitting.entry.day.day} {fitting.entry.day:%B %Y}"
    if photo is None:
        return Side(title, "", Markup(""), (3, 4), "This view was not photographed.")
    if rgb is None:
        return Side(title, "", Markup(""), (3, 4), f"{_gone(photo)} Its measurements are kept.")
    box = box or Box(0, 0, rgb.shape[1], rgb.shape[0])
    found = drawn(fitting, photo, rgb)
    share = rgb.shape[1] / photo.size_px[0]
    items = [
        replace(m, from_px=(m.from_px + 0.5) * share - 0.5, to_px=(m.to_px + 0.5) * share - 0.5)
        for m in fitting.measurements
        if m.key in worth and m.from_px is not None and m.to_px is not None
    ]
    art = overlay(found, gaps_in(found, items), verdicts_of(fitting.findings), units, Pane(box, _SCREEN_PX))
    return Side(title, _jpeg_data(rgb, box), Markup(art), (box.width, box.height), "")


def _gone(photo: DiaryPhoto) -> str:
    if photo.kept == "copy":
        return "The diary's copy of this photo is missing."
    if not photo.file:
        return "This photo was not in the archive that its fitting was imported from."
    return f"This photo is no longer at {photo.file}, or was changed."


def _jpeg_data(rgb: Pixels, box: Box) -> str:
    """The part of the picture as a `data:` URI; by Pillow, which has opened the photo anyway; loading OpenCV too takes longer."""
    encoded = io.BytesIO()
    Image.fromarray(rgb[box.top : box.bottom, box.left : box.right]).save(encoded, "JPEG", quality=_JPEG_QUALITY)
    return "data:image/jpeg;base64," + b64encode(encoded.getvalue()).decode("ascii")


def _line(change: Change, target: Target | None, widest: float, units: Units) -> Line:
    item = change.before
    predicted = "" if change.predicted is None else measurement_says(replace(item, value=change.predicted), units)
    return Line(
        change,
        measurement_says(item, units),
        predicted,
        measurement_says(change.after, units),
        Markup(_chart(change, target, widest, units)),
    )


def _widest(changes: Sequence[Change], unit: str) -> float:
    reach = [abs(m.value) + 2 * m.sd for c in changes if c.before.unit == unit for m in (c.before, c.after)]
    return max([*reach, 1e-9])


def _chart(change: Change, target: Target | None, widest: float, units: Units) -> str:
    """Hollow: before; filled: after; cross: what was foretold; the band is the tolerance."""

    def x(value: float) -> float:
        return 96 * value / widest

    before, after = x(change.before.value), x(change.after.value)
    parts = []
    if target is not None:
        left, width = x(target.wanted - target.tolerance), 2 * 96 * target.tolerance / widest
        parts.append(f'<rect x="{left:.1f}" y="-9" width="{width:.1f}" height="18" fill="#009e73" fill-opacity=".16"/>')
    reach = 2 * 96 * change.after.sd / widest
    parts += [
        '<path d="M-100 0H100" stroke="#dcd3c6"/>',
        f'<path d="M{after - reach:.1f} 0H{after + reach:.1f}" stroke="#0072b2" stroke-width="4" stroke-opacity=".3"/>',
        f'<path d="M{before:.1f} 0H{after:.1f}" stroke="#0072b2" stroke-width="1.6"/>',
        f'<circle cx="{before:.1f}" r="4" fill="#fff" stroke="#0072b2" stroke-width="1.6"/>',
        f'<circle cx="{after:.1f}" r="4.4" fill="#0072b2"/>',
    ]
    if change.predicted is not None:
        cross = x(change.predicted)
        parts.append(f'<path d="M{cross - 4:.1f} -4l8 8m0 -8l-8 8" stroke="#d55e00" stroke-width="1.8"/>')
    spoken = f"from {quantity(change.before.value, change.before.unit, units)} to {quantity(change.after.value, change.after.unit, units)}"
    return f'<svg class="strip" viewBox="-104 -10 208 20" role="img"><title>{spoken}</title>{"".join(parts)}</svg>'
