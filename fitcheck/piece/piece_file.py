"""`piece.toml`: a piece as it was read, for her to put right, and read back."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np
from shapely import LineString

from fitcheck.core.piece_facts import PieceFacts, piece_facts
from fitcheck.core.records import Floats
from fitcheck.core.toml_file import read_toml
from fitcheck.piece.own_piece import OwnPiece
from fitcheck.report.on_disk import in_place

PLAIN_MM = 0.04  # points that lie so near the line without them are left out
_HEAD = """# A pattern piece, cutting line in millimetres, x to the right, y downwards; its centre line (or grain) is upright.
# Move points, rename edges, add or remove darts and notches; then give this file to `fitcheck piece` in place of the photos.
# Edges stand in order, clockwise as seen; each begins where the one before ends. Edges named mouth_1 ... lie between the legs of a dart.
"""


def write_piece(path: Path, piece: OwnPiece) -> None:
    """Write a piece.

    Raises
    ------
    OutputError
        The file cannot be written.
    """
    with in_place(path) as waiting:
        waiting.write_text(piece_text(piece), encoding="utf-8")


def piece_text(piece: OwnPiece) -> str:
    """A piece as words, which `read_own` and `kept_piece` read back."""
    lines = [_HEAD, f"name = {_quoted(piece.name)}", f"allowance_mm = {piece.allowance_mm:g}", f"fold = {_quoted(piece.fold)}"]
    lines += [f"mirrored = {str(piece.mirrored).lower()}"]
    lines += [] if piece.grain is None else [f"grain = {_points(piece.grain)}"]
    lines += [f"notches = {_points(piece.notches)}"] if piece.notches else []
    lines += [f"notes = [{', '.join(_quoted(note) for note in piece.notes)}]"] if piece.notes else []
    for name, points in piece.edges.items():
        plain = np.array(LineString(points).simplify(PLAIN_MM).coords)
        lines += ["", "[[edge]]", f"name = {_quoted(name)}", f"points = {_points(plain)}"]
    for dart in piece.darts:
        lines += ["", "[[dart]]", f"points = {_points(dart)}"]
    for alteration, amount in piece.done:
        lines += ["", "[[done]]", f"alteration = {_quoted(alteration)}", f"amount_mm = {amount:g}"]
    return "\n".join(lines) + "\n"


def read_own(path: Path) -> OwnPiece:
    """Read a piece that was written, perhaps put right by hand.

    Raises
    ------
    UsageError
        It does not hold together; all faults are told.
    """
    return _own(read_toml(path, PieceFacts))


def kept_piece(text: str) -> OwnPiece:
    """A piece out of the words of `piece_text`.

    Raises
    ------
    ValueError
        They are none.
    """
    return _own(piece_facts(text))


def _own(facts: PieceFacts) -> OwnPiece:
    edges = {edge.name: np.array(edge.points, float) for edge in facts.edge}
    names = list(edges)
    for one, two in zip(names, [*names[1:], names[0]], strict=True):
        edges[one][-1] = edges[two][0]
    darts = tuple(np.array(dart.points, float) for dart in facts.dart)
    notches = tuple(np.array(notch, float) for notch in facts.notches)
    grain = None if facts.grain is None else np.array(facts.grain, float)
    done = tuple((one.alteration, one.amount_mm) for one in facts.done)
    return OwnPiece(facts.name, edges, facts.allowance_mm, facts.fold, darts, notches, grain, facts.mirrored, done, facts.notes)


def _points(points: Floats | Sequence[Floats]) -> str:
    return "[" + ", ".join(f"[{x:.2f}, {y:.2f}]" for x, y in points) + "]"


def _quoted(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", " ")
    return f'"{escaped}"'
