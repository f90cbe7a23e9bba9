"""What the garment shows in one photo: everything that is read off its cloth."""

from collections.abc import Sequence
from dataclasses import dataclass

from fitcheck.body.placed import put_seams_right
from fitcheck.core.camera import Photo
from fitcheck.core.folds import Fold
from fitcheck.core.records import Pose, SeamLine, Sighting
from fitcheck.core.settings import Settings
from fitcheck.vision.cloth.find_cloth import find_cloth
from fitcheck.vision.folds.bare_cloth import bare_cloth
from fitcheck.vision.folds.bust import find_bust
from fitcheck.vision.folds.fold_maps import fold_maps
from fitcheck.vision.folds.trace_folds import find_folds
from fitcheck.vision.lines.front_edges import moved_to_edges
from fitcheck.vision.lines.garment_edges import find_edges
from fitcheck.vision.lines.seams import find_seams


@dataclass(frozen=True, slots=True)
class Garment:
    """Seam lines and edges, folds, doubts about those, and the bust by its shading."""

    lines: tuple[SeamLine, ...]
    folds: tuple[Fold, ...] = ()
    flags: tuple[str, ...] = ()
    bust: tuple[Sighting, ...] = ()


def read_garment(photo: Photo, pose: Pose, stickers: Sequence[Sighting], mm_per_px: float, settings: Settings) -> Garment:
    """Read the garment of one photo.

    Parameters
    ----------
    photo : Photo
    pose : Pose
    stickers : sequence of Sighting
        Stickers and dots, which hide the cloth.
    mm_per_px : float
        Scale of the photo at the body.
    settings : Settings
        Seam colours told, and seams put right by hand.

    Returns
    -------
    Garment
    """
    cloth = find_cloth(photo.rgb, pose)
    told = {str(seam): colour for seam, colour in settings.facts.seam_colours.items()}
    drawn = find_seams(photo, pose, stickers, mm_per_px, cloth, told)
    edges = find_edges(photo, pose, stickers, mm_per_px, cloth)
    lines = put_seams_right((*moved_to_edges(photo.rgb, drawn, mm_per_px), *edges), settings.placed_seams, photo.view)
    bare = bare_cloth(photo, cloth, stickers, drawn, mm_per_px)
    maps = fold_maps(bare)
    if maps is None:
        return Garment(lines)
    return Garment(lines, *find_folds(photo.view, bare, maps), find_bust(photo.view, bare, maps))
