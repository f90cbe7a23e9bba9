"""What is written can be measured by others: SVG in millimetres, DXF by its own auditor, PDF by its rendering."""

import importlib
import os
import re
import subprocess
import time
import xml.etree.ElementTree as ET
from concurrent.futures import ThreadPoolExecutor

import cv2
import ezdxf
import numpy as np
import pytest
from ezdxf import units as dxf_units
from piece.own_pieces import as_read
from scenes.sheets.drafted import bodice, shape
from shapely import LineString, Polygon

from fitcheck.piece.altering import alter_own
from fitcheck.piece.draw_own import drawn_piece
from fitcheck.piece.dxf_file import get_ready, write_dxf
from fitcheck.piece.own_piece import OwnPiece
from fitcheck.piece.svg_file import write_svg
from fitcheck.report.print.sheet import tiles, write_sheet

FRONT = as_read(bodice("front", 1.0, 15.0, True, True))
ALTERED = alter_own([FRONT], "full_small_bust", 15.0).pieces[0]
SHEET = drawn_piece(ALTERED.after, ALTERED.before, ALTERED.marks)
SQUARE = OwnPiece("square", {"a": np.array([[0.0, 0], [100, 0]]), "b": np.array([[100.0, 0], [100, 100], [0, 100], [0, 0]])})
SVG = "{http://www.w3.org/2000/svg}"


def test_svg_is_in_millimetres_with_named_layers(tmp_path):
    write_svg(tmp_path / "p.svg", SHEET, "front")
    root = ET.parse(tmp_path / "p.svg").getroot()
    wide, high = (float(root.get(side).removesuffix("mm")) for side in ("width", "height"))
    assert root.get("width").endswith("mm")
    assert root.get("viewBox") == f"0 0 {wide:.2f} {high:.2f}"
    layers = {group.get("id"): group for group in root.iter(f"{SVG}g")}
    assert {"cutting_line", "seam_line", "darts", "notches", "grain_line", "fold", "before", "words"} <= set(layers)
    path = layers["cutting_line"].find(f"{SVG}path").get("d")
    points = np.array([[float(v) for v in pair.split()] for pair in path[1:].split(" L")])
    assert Polygon(points).area == pytest.approx(Polygon(ALTERED.after.outline).area, rel=1e-4)


def test_svg_holds_nothing_but_what_svg_1_1_names(tmp_path):
    write_svg(tmp_path / "p.svg", SHEET, 'front & back <"1">')
    root = ET.parse(tmp_path / "p.svg").getroot()
    assert root.get("version") == "1.1"
    assert {one.tag for one in root.iter()} == {f"{SVG}{name}" for name in ("svg", "title", "g", "path", "text")}
    names = [one.get("id") for one in root.iter() if one.get("id") is not None]
    assert len(set(names)) == len(names) == len(list(root.iter(f"{SVG}g")))
    assert all(re.fullmatch(r"[a-z][a-z_]*", name) for name in names)
    number = r"-?\d+\.\d{3}"
    assert all(re.fullmatch(rf"M{number} {number}( L{number} {number})+", path.get("d")) for path in root.iter(f"{SVG}path"))
    assert all(group.find(f"{SVG}title").text.replace(" ", "_") == group.get("id") for group in root.iter(f"{SVG}g"))


def test_a_square_of_100_mm_is_one_in_every_format(tmp_path):
    sheet = drawn_piece(SQUARE)
    write_svg(tmp_path / "s.svg", sheet, "square")
    path = next(ET.parse(tmp_path / "s.svg").getroot().iter(f"{SVG}path")).get("d")
    points = np.array([[float(v) for v in pair.split()] for pair in path[1:].split(" L")])
    np.testing.assert_allclose(np.ptp(points, axis=0), [100, 100], atol=1e-3)
    write_dxf(tmp_path / "s.dxf", sheet)
    line = next(iter(ezdxf.readfile(tmp_path / "s.dxf").modelspace().query("LWPOLYLINE")))
    np.testing.assert_allclose(np.ptp(np.array(line.get_points("xy")), axis=0), [100, 100], atol=1e-9)


def test_dxf_passes_its_own_auditor_in_millimetres(tmp_path):
    write_dxf(tmp_path / "p.dxf", SHEET)
    drawing = ezdxf.readfile(tmp_path / "p.dxf")
    audit = drawing.audit()
    assert not audit.has_errors
    assert not audit.has_fixes
    assert drawing.units == dxf_units.MM
    assert {"cutting line", "seam line", "darts", "notches", "grain line", "fold", "before"} <= {layer.dxf.name for layer in drawing.layers}
    outline = next(one for one in drawing.modelspace().query("LWPOLYLINE") if one.dxf.layer == "cutting line")
    assert outline.closed
    assert Polygon(outline.get_points("xy")).area == pytest.approx(Polygon(ALTERED.after.outline).area, rel=1e-6)


def test_the_drawing_package_is_loaded_by_several_at_once_and_the_folder_for_caches_stays_what_it_was(monkeypatch):
    """It is loaded beside the reading of photos, and wanted by what writes at the same moment."""
    monkeypatch.setenv("XDG_CACHE_HOME", "/where/it/was")
    monkeypatch.setattr(importlib, "import_module", lambda name: time.sleep(0.01))
    with ThreadPoolExecutor(4) as pool:
        for done in [pool.submit(get_ready) for _ in range(8)]:
            done.result()
    assert os.environ["XDG_CACHE_HOME"] == "/where/it/was"


@pytest.mark.parametrize("paper", ["a4", "letter", "sheet"])
def test_the_pdf_shows_the_square_at_full_size(tmp_path, paper):
    sheet = drawn_piece(SQUARE)
    write_sheet(tmp_path / "s.pdf", sheet, "square", paper, full_size=True)
    dpi = 100
    subprocess.run(["pdftoppm", "-r", str(dpi), "-gray", str(tmp_path / "s.pdf"), str(tmp_path / "p")], check=True)
    page = sorted(tmp_path.glob("p-*.pgm"))[-1]
    dark = (cv2.imread(str(page), cv2.IMREAD_GRAYSCALE) < 150).astype(np.uint8)
    _, _, stats, _ = cv2.connectedComponentsWithStats(dark)
    sizes = stats[:, [cv2.CC_STAT_WIDTH, cv2.CC_STAT_HEIGHT]] / dpi * 25.4
    assert (np.abs(sizes - 100.5).max(axis=1) < 0.6).any()  # with the width of the line


def test_pages_are_as_many_as_paper_needs(tmp_path):
    columns, rows = tiles(SHEET, "a4")
    assert columns * rows > 2
    write_sheet(tmp_path / "p.pdf", SHEET, "front", "a4", full_size=True)
    info = subprocess.run(["pdfinfo", str(tmp_path / "p.pdf")], capture_output=True, text=True, check=True).stdout
    assert 3 <= int(info.split("Pages:")[1].split()[0]) <= columns * rows + 1


def test_the_seam_line_is_drawn_an_allowance_inside():
    seams = [stroke.points for stroke in SHEET.strokes if stroke.kind == "seam"]
    cutting = next(LineString(stroke.points) for stroke in SHEET.strokes if stroke.kind == "cutting")
    far = [cutting.distance(LineString(points).interpolate(0.5, normalized=True)) for points in seams]
    assert far == pytest.approx([15.0] * len(far), abs=0.3)


def test_a_circle_keeps_its_area():
    turn = np.linspace(0, 2 * np.pi, 361)[:-1]
    circle = shape("circle", 80 * np.column_stack([np.cos(turn), np.sin(turn)]))
    own = OwnPiece("circle", dict(circle.edges))
    assert own.area_mm2() == pytest.approx(np.pi * 80**2, rel=1e-3)


def test_everything_has_a_layer():
    from fitcheck.piece.layers import HIDDEN, LAYERS

    assert {stroke.kind for stroke in SHEET.strokes} <= set(LAYERS) | set(HIDDEN)
