"""Things whose size anybody can check, photographed and read: a circle, a square, sheets of ISO 216, the marks of a ruler."""

import numpy as np
import pytest
from piece.photographed import camera, taken
from scenes.sheets.drafted import shape
from scenes.sheets.paper import PX_PER_MM, printed
from scenes.sheets.photograph import LaidCard
from shapely import LineString, Point, Polygon

from fitcheck.piece.ink import find_ink
from fitcheck.piece_command import Wish, read_photos
from fitcheck.piece_photos import open_photos

TURN = np.linspace(0, 2 * np.pi, 361)[:-1]
CIRCLE = 120 * np.column_stack([np.cos(TURN), np.sin(TURN)]) + 120
LETTERS = {"A4": (210.0, 297.0), "A5": (148.0, 210.0)}


def box(wide, high):
    return np.array([[0, 0], [wide, 0], [wide, high], [0, high]], float)


def photographed(folder, outline, draw=None, kind="dark", tilt=8.0):
    """A flat sheet of one form beside the card, its grain line on it; `draw` adds to its print."""
    sheet = printed([shape("form", outline)], [], outline, np.random.default_rng(4), 0.0, 0.0, 0.5)
    if draw is not None:
        draw(sheet)
    low, high = outline.min(axis=0), outline.max(axis=0)
    card = LaidCard(np.array([high[0] + 150.0, (low[1] + high[1]) / 2]), 7.0)
    shown = np.array([high[0] + 270 - low[0], max(high[1] - low[1], 310.0)])
    middle = np.array([low[0] + shown[0] / 2, (low[1] + high[1]) / 2])
    taken(folder / "a.jpg", [sheet], card, camera(middle, shown, tilt), kind)
    return read_photos(open_photos([folder / "a.jpg"]), Wish(name="form", allowance_mm=0.0))


def test_a_circle_of_240_mm(tmp_path):
    own, _, _ = photographed(tmp_path, CIRCLE, kind="wood")
    read = Polygon(own.outline)
    assert read.area == pytest.approx(np.pi * 120**2, rel=0.005)
    assert own.area_mm2() == pytest.approx(read.area, rel=1e-9)
    middle = np.array(read.centroid.coords[0])
    radii = np.hypot(*(own.outline - middle).T)
    assert radii.min() == pytest.approx(120.0, abs=0.8)
    assert radii.max() == pytest.approx(120.0, abs=0.8)


def test_a_square_of_150_mm(tmp_path):
    own, _, _ = photographed(tmp_path, box(150, 150), tilt=15.0)
    assert len(own.edges) == 4
    corners = np.array([edge[0] for edge in own.edges.values()])
    sides = np.hypot(*(corners - np.roll(corners, -1, axis=0)).T)
    assert sides == pytest.approx([150.0] * 4, abs=0.5)
    diagonals = [float(np.hypot(*(corners[k] - corners[k + 2]))) for k in (0, 1)]
    assert diagonals == pytest.approx([150 * np.sqrt(2)] * 2, abs=0.7)
    assert Polygon(own.outline).area == pytest.approx(22500.0, rel=0.005)


@pytest.mark.parametrize("name", LETTERS)
@pytest.mark.parametrize("kind", ["dark", "light_wood"])
def test_a_sheet_of_iso_216(tmp_path, name, kind):
    own, _, _ = photographed(tmp_path, box(*LETTERS[name]), kind=kind)
    sides = sorted(LineString(edge).length for edge in own.edges.values())
    short, long = LETTERS[name]
    assert sides == pytest.approx([short, short, long, long], abs=0.6)
    assert Polygon(own.outline).area == pytest.approx(short * long, rel=0.005)
    assert (sides[2] + sides[3]) / (sides[0] + sides[1]) == pytest.approx(np.sqrt(2), abs=0.006)


def test_the_marks_of_a_ruler(tmp_path):
    marks = np.arange(30.0, 271.0, 10.0)

    def ruled(sheet):
        for x in marks:
            column, top, bottom = (
                round((v - c) * PX_PER_MM) for v, c in ((x, sheet.corner[0]), (97, sheet.corner[1]), (106, sheet.corner[1]))
            )
            sheet.ink[top:bottom, column - 1 : column + 2] = 0.9

    own, table, reading = photographed(tmp_path, box(300, 110), ruled)
    ink = find_ink(table, reading.outline)
    # in the frame of the sheet as it was read: its long edges tell the way
    long = max(reading.edges, key=lambda edge: LineString(edge).length)
    way = (long[-1] - long[0]) / np.hypot(*(long[-1] - long[0]))
    corner = next(p for p in reading.outline if Point(p).distance(Point(long[0])) < 1e-6)
    inwards = np.array([-way[1], way[0]])
    along = np.arange(20.0, 280.0, 0.05)
    for deep in (101.5, 110.0 - 101.5):  # whichever long edge it is
        rows = deep + np.arange(-2, 2.1, 0.5)
        dark = ink.at(corner + along[:, None, None] * way + rows[None, :, None] * inwards).mean(axis=1)
        if len(_tops(along, dark)) > 2:
            break
    peaks = [float(np.average(along[near], weights=dark[near] ** 2)) for near in (np.abs(along - m) < 3 for m in _tops(along, dark))]
    assert len(peaks) == len(marks)
    assert np.diff(peaks) == pytest.approx([10.0] * (len(marks) - 1), abs=0.25)
    assert peaks[-1] - peaks[0] == pytest.approx(240.0, abs=0.4)
    assert own.area_mm2() == pytest.approx(300 * 110, rel=0.005)


def _tops(along, dark):
    """Where runs of darkness lie."""
    on = dark > 0.3
    starts = np.flatnonzero(np.diff(np.pad(on.astype(int), 1)))
    return [float(along[(a + b) // 2]) for a, b in starts.reshape(-1, 2)]
