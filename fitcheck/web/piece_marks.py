"""A piece as the browser shows and moves it: points and lines in pixels of its picture, with words for those who hear the page."""

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from fitcheck.report.words.units import Units, length
from fitcheck.web.piece_work import PieceWork

if TYPE_CHECKING:
    from fitcheck.core.records import Floats

EDGES = {  # names to choose from, by what the piece is called
    "front": ("neck", "shoulder", "armhole", "side", "side_upper", "side_lower", "waist", "hem", "centre"),
    "back": ("neck", "shoulder", "armhole", "side", "waist", "hem", "centre"),
    "skirt": ("waist", "side", "hem", "centre"),
    "sleeve": ("cap", "underarm_1", "wrist", "underarm_2"),
    "trousers": ("waist", "side", "hem", "inseam", "crotch"),
}
PLAIN_MM = 0.1  # the browser is spared points that lie so near the line without them


def marks_of(work: PieceWork, units: Units) -> dict[str, Any]:
    """Everything that can be moved, and the seam lengths.

    Raises
    ------
    ValueError
        It is not read.
    """
    import numpy as np
    from shapely import LineString

    from fitcheck.pattern.lines import path_length
    from fitcheck.piece.own_piece import MOUTH

    piece, picture = work.piece, work.picture
    if piece is None or picture is None:
        raise ValueError("this piece is not read")
    low = np.array(picture.low)

    def px(points: "Floats | Iterable[Floats]") -> Any:
        return np.round((np.asarray(points, float) - low) / picture.mm_per_px, 2).tolist()

    seams = piece.seam_lines()
    edges, points = [], []
    for k, (name, edge) in enumerate(piece.edges.items()):
        mouth = name.startswith(MOUTH)
        says = f"mouth of a dart, {name.removeprefix(MOUTH).strip('_') or 1}" if mouth else name.replace("_", " ")
        fold = ", on the fold" if name == piece.fold else ""
        told = "" if mouth else f", {length(path_length(seams[name]), units)} as sewn"
        plain = np.array(LineString(edge).simplify(PLAIN_MM).coords)
        edges.append({"name": name, "says": f"{says}{fold}{told}", "points": px(plain), "placed": name == piece.fold, "mouth": mouth})
        before = list(piece.edges)[k - 1].replace("_", " ")
        points.append(_point("corner", k, 0, px(edge[0]), f"Corner of {before} and {says}", "corner"))
    for k, dart in enumerate(piece.darts):
        for part, word in enumerate(("First leg", "Point", "Second leg")):
            points.append(_point("dart", k, part, px(dart[part]), f"{word} of dart {k + 1}", "dart"))
    for k, notch in enumerate(piece.notches):
        points.append(_point("notch", k, 0, px(notch), f"Notch {k + 1}", "notch"))
    for part, word in enumerate(("Upper", "Lower")):
        if piece.grain is not None:
            points.append(_point("grain", 0, part, px(piece.grain[part]), f"{word} end of the grain line", "grain"))
    lines = [px(dart) for dart in piece.darts] + ([px(piece.grain)] if piece.grain is not None else [])
    return {
        "size": picture.size_px,
        "mm_per_px": picture.mm_per_px,
        "low": picture.low,
        "points": points,
        "seams": edges,
        "lines": lines,
        "fold": piece.fold,
        "allowance_mm": piece.allowance_mm,
        "choices": next((names for kind, names in EDGES.items() if piece.name.startswith(kind)), ()),
        "numbers": [edge["says"] for edge in edges if not edge["mouth"]],
        "notes": piece.notes,
        "back": work.at > 0,
        "forth": work.at + 1 < len(work.steps),
    }


def _point(what: str, index: int, part: int, xy: Any, says: str, grade: str) -> dict[str, Any]:
    return {"what": what, "index": index, "part": part, "xy": xy, "says": says, "grade": grade}
