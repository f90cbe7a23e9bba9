"""A drawn piece as DXF (R2010) in millimetres, y upwards, layers named in plain words."""

import importlib
import logging
import os
import threading
from pathlib import Path

from fitcheck.core.drawing import PatternSheet
from fitcheck.piece.layers import WORDS, layered
from fitcheck.report.on_disk import in_place
from fitcheck.report.words.units import Units, fill

_COLOURS = {
    "cutting line": 5,
    "seam line": 4,
    "before": 8,
    "cut the old paper": 1,
    "paper put in": 3,
    "paper taken out": 1,
    "fold": 6,
}  # of the format's own index
CLOSED = ("cutting line", "before", "paper put in", "paper taken out", "hinges")
SAME_MM = 1e-6
_LOADING = threading.Lock()


def get_ready() -> None:
    """Load the package, before a drawing needs it."""
    _keep_out_of_the_home()
    importlib.import_module("ezdxf.filemanagement")


def write_dxf(path: Path, sheet: PatternSheet, units: Units = "cm") -> None:
    """Write the drawing.

    Raises
    ------
    OutputError
        The file cannot be written.
    """
    _keep_out_of_the_home()
    from ezdxf import units as dxf_units
    from ezdxf.enums import TextEntityAlignment
    from ezdxf.filemanagement import new

    drawing = new("R2010", units=dxf_units.MM)
    space = drawing.modelspace()
    for name, lines in layered(sheet).items():
        drawing.layers.add(name, color=_COLOURS.get(name, 7))
        for points in lines:
            flipped = [(float(x), float(sheet.height - y)) for x, y in points]
            closed = name in CLOSED and abs(flipped[0][0] - flipped[-1][0]) + abs(flipped[0][1] - flipped[-1][1]) < SAME_MM
            space.add_lwpolyline(flipped[:-1] if closed else flipped, close=closed, dxfattribs={"layer": name})
    drawing.layers.add(WORDS)
    for entries, align in ((sheet.names, TextEntityAlignment.LEFT), (sheet.labels, TextEntityAlignment.MIDDLE_CENTER)):
        for says, x, y in entries:
            text = space.add_text(fill(says, units), height=sheet.text, dxfattribs={"layer": WORDS})
            text.set_placement((x, sheet.height - y), align=align)
    with in_place(path) as waiting:
        drawing.saveas(waiting)


def _keep_out_of_the_home() -> None:
    """Loaded, the package makes a folder for fonts in the user's home, and warns if it cannot: it is given a place that holds none.

    One at a time: it is loaded beside the reading of photos, and wanted by what writes at the same moment.
    """
    with _LOADING:
        usual = os.environ.get("XDG_CACHE_HOME")
        logging.getLogger("ezdxf").setLevel(logging.ERROR)
        os.environ["XDG_CACHE_HOME"] = os.devnull
        try:
            importlib.import_module("ezdxf.fonts.fonts")
        finally:
            os.environ.pop("XDG_CACHE_HOME")
            if usual is not None:
                os.environ["XDG_CACHE_HOME"] = usual
