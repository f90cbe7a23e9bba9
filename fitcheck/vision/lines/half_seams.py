"""The drawn lines of a half tissue in a front or back view: its middle by its edge, the others as on a whole garment, on its side only."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from fitcheck.core.camera import Photo
from fitcheck.core.records import OTHER_SIDE, Pose, SeamLine, Side, Sighting
from fitcheck.vision.cloth.find_cloth import Cloth, find_cloth
from fitcheck.vision.cloth.trunk_frame import trunk_frame
from fitcheck.vision.cloth.which_half import image_side
from fitcheck.vision.lines.half_centre import half_centre, half_edge, without_beyond
from fitcheck.vision.lines.pen_lines import find_curves
from fitcheck.vision.lines.seams import hidden_by, name_seams

CENTRES = ("centre_front", "centre_back")


@dataclass(frozen=True, slots=True)
class HalfCut:
    """The side that a half tissue is on, and how far beyond its centre it is cut where no line shows that."""

    side: Side
    beyond_mm: float = 0.0


def half_seams(
    photo: Photo, pose: Pose, marks: Sequence[Sighting], mm_per_px: float, half: HalfCut, colours: Mapping[str, str] | None = None
) -> tuple[Cloth, tuple[SeamLine, ...], float | None]:
    """The cloth of a half tissue, its lines with their names, and how far beyond its drawn centre line it ends, mm.

    Parameters
    ----------
    photo : Photo
        From the front or the back.
    marks : sequence of Sighting
        Stickers and dots, which hide the cloth.
    mm_per_px : float
    half : HalfCut
    colours : mapping of str to str, optional
        Colour each seam is told to be drawn in.
    """
    inwards = image_side(half.side, photo.view)
    cloth = find_cloth(photo.rgb, pose, inwards)
    edge = half_edge(photo, pose, cloth, marks, half.side, mm_per_px)
    cloth = without_beyond(cloth, edge, inwards)
    curves = find_curves(photo.rgb, cloth, hidden_by(marks, mm_per_px), mm_per_px)
    frame = trunk_frame(pose, cloth, photo.view, mm_per_px)
    told = (colours or {}).get("centre_front" if photo.view == "front" else "centre_back", "")
    centre, others, beyond_mm = half_centre(photo, frame, edge, curves, half.side, half.beyond_mm, told)
    named = name_seams(others, frame, colours)
    kept = [seam for seam in named if seam.name not in CENTRES and seam.side != OTHER_SIDE[half.side]]
    return cloth, tuple(kept if centre is None else [centre, *kept]), beyond_mm
