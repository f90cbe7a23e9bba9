"""Third stage: what only a photo with a scale can show. Plain dots, the garment's lines and folds, the trunk's outline."""

from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

from fitcheck.body.landmarks import facing_points, outline_rows
from fitcheck.core.errors import NothingMeasuredError
from fitcheck.core.polyline import length
from fitcheck.core.progress import Begins, unheard_of
from fitcheck.core.records import OTHER_SIDE, SIDE_VIEW, SeamLine, Sighting, View
from fitcheck.core.seen import Garment, SeenFitting, SeenPhoto
from fitcheck.core.settings import Settings
from fitcheck.core.solution import Solution
from fitcheck.stages.see import THREADS
from fitcheck.stages.solve import place
from fitcheck.stages.worn_half import WHOLE, WornHalf, cut_alike, worn_half
from fitcheck.vision.cloth.find_cloth import Cloth, find_cloth
from fitcheck.vision.folds.bare_cloth import bare_cloth
from fitcheck.vision.folds.bust import find_bust
from fitcheck.vision.folds.fold_maps import fold_maps
from fitcheck.vision.folds.trace_folds import find_folds
from fitcheck.vision.lines.front_edges import moved_to_edges
from fitcheck.vision.lines.garment_edges import find_edges
from fitcheck.vision.lines.half_seams import HalfCut, half_seams
from fitcheck.vision.lines.seams import find_seams
from fitcheck.vision.person.shoulder_top import shoulder_top
from fitcheck.vision.person.silhouette import torso_edges
from fitcheck.vision.stickers.dots import (
    BY_DOTS,
    BY_POSE,
    Gates,
    Patch,
    but_either,
    find_dots,
    of_one_colour,
    of_their_colour,
    round_patches,
)

FEWEST_STICKERS = 2  # a photo with fewer stickers is searched for dots
SMALLEST_GARMENT_MM = 100.0  # less cloth than that, across or down, was not told from skin and wall; estimate
PLAIN_SHARE = 0.8  # of a cloth that shows its ground colour, less than which it is patterned; 0.9 with lines and stickers on (estimate)
FEW_LINES_MM = 300.0  # in one photo: about one seam; who draws one draws several (estimate)
FEWEST_DOTS = 4  # in all photos; fewer round patches are buttons


def read(photos: Sequence[SeenPhoto], settings: Settings, begins: Begins = unheard_of) -> SeenFitting:
    """Read the usable photos to the end.

    Parameters
    ----------
    photos : sequence of SeenPhoto
        With their scales.
    settings : Settings
        Seam colours told.
    begins : callable
        Told of each photo as its garment is read.

    Returns
    -------
    SeenFitting
    """
    colours = {str(seam): colour for seam, colour in settings.facts.seam_colours.items()}
    told = settings.facts.worn_told
    worn = worn_half([photo for photo in photos if photo.usable], told)

    def clothed(photo: SeenPhoto) -> SeenPhoto:
        begins(photo.view)
        return photo.with_garment(read_garment(photo, colours, worn, told.cut_mm or 0.0))

    with ThreadPoolExecutor(THREADS) as pool:  # a photo's folds beside the next one's seams: the network leaves Python's lock alone
        photos = cut_alike(list(pool.map(clothed, with_dots(photos))), told)
        try:
            rough = place(photos)
            photos = list(pool.map(lambda photo: with_outline(photo, rough), photos))
            return SeenFitting(tuple(photos), place(photos, rough), worn.side, worn.flags)
        except NothingMeasuredError:  # she may still put points right
            return SeenFitting(tuple(photos), None, worn.side, worn.flags)


def with_dots(photos: Sequence[SeenPhoto]) -> list[SeenPhoto]:
    """The photos, with plain dots in those that show hardly a printed sticker, looked for where the pose says the body points are."""
    plain = [photo for photo in photos if photo.usable and len(photo.stickers) < FEWEST_STICKERS]
    if not plain:
        return list(photos)
    body = place(photos)
    patches = {photo.view: _patches(photo, body) for photo in plain}
    pictures = {photo.view: photo.photo for photo in plain}
    found = _dots(plain, patches, body, BY_POSE)
    dots = of_one_colour(pictures, found)
    # a body that stands by its surest dots tells the others, among what has their colour
    sure = {view: but_either(some) for view, some in dots.items()}
    if sum(map(len, sure.values())) >= FEWEST_DOTS:
        found = _dots(plain, of_their_colour(patches, dots, pictures), place(_dotted(photos, sure)), BY_DOTS)
        dots = of_one_colour(pictures, found)
    if sum(map(len, dots.values())) < max(FEWEST_DOTS, sum(map(len, found.values())) / 2):
        return list(photos)
    return _dotted(photos, dots)


def _dotted(photos: Sequence[SeenPhoto], dots: Mapping[View, Sequence[Sighting]]) -> list[SeenPhoto]:
    return [replace(photo, dots=tuple(dots.get(photo.view, ()))) for photo in photos]


def _patches(seen: SeenPhoto, body: Solution) -> list[Patch]:
    if seen.pose is None or seen.scale is None or seen.view not in body.views:
        return []
    return round_patches(seen.photo, seen.pose, facing_points(body, seen.view), seen.scale.mm_per_px)


def _dots(
    photos: Sequence[SeenPhoto], patches: Mapping[View, Sequence[Patch]], body: Solution, gates: Gates
) -> dict[View, tuple[Sighting, ...]]:
    return {
        seen.view: find_dots(patches[seen.view], seen.view, seen.pose, facing_points(body, seen.view), seen.scale.mm_per_px, gates)
        for seen in photos
        if seen.pose is not None and seen.scale is not None and seen.view in body.views
    }


def read_garment(seen: SeenPhoto, colours: Mapping[str, str], worn: WornHalf = WHOLE, cut_mm: float = 0.0) -> Garment:
    """Everything that is read off the cloth in one photo; nothing where the photo is not usable, or a half tissue is on the other side.

    Parameters
    ----------
    seen : SeenPhoto
        Its stickers and dots hide the cloth.
    colours : mapping of str to str
        Colours told of single seams.
    worn : WornHalf, optional
        The side that a half tissue is on.
    cut_mm : float
        How far its edge lies beyond its centre line where none is drawn.
    """
    photo, pose, scale, half = seen.photo, seen.pose, seen.scale, worn.side
    if not seen.usable or pose is None or scale is None or (half is not None and photo.view == SIDE_VIEW[OTHER_SIDE[half]]):
        return Garment(half=half)
    if half is not None and photo.view in ("front", "back"):
        cloth, drawn, beyond_mm = half_seams(photo, pose, seen.marks, scale.mm_per_px, HalfCut(half, cut_mm), colours)
    else:
        cloth, beyond_mm = worn.cloths.get(photo.view) or find_cloth(photo.rgb, pose), None
        drawn = find_seams(photo, pose, seen.marks, scale.mm_per_px, cloth, colours)
    if min(cloth.mask.shape) * cloth.stride * scale.mm_per_px < SMALLEST_GARMENT_MM:
        return Garment(flags=("no_cloth",), half=half)
    edges = find_edges(photo, pose, seen.marks, scale.mm_per_px, cloth)
    lines = (*moved_to_edges(photo.rgb, drawn, scale.mm_per_px), *edges)
    hidden = ("lines_unseen",) if _hides_lines(cloth, drawn, scale.mm_per_px) else ()
    top = shoulder_top(photo.rgb, photo.view, pose, scale.mm_per_px)
    bare = bare_cloth(photo, cloth, seen.marks, drawn, scale.mm_per_px)
    maps = fold_maps(bare)
    if maps is None:
        return Garment(lines, flags=hidden, beneath=top, half=half, beyond_mm=beyond_mm)
    folds, doubts = find_folds(photo.view, bare, maps)
    bust = [point for point in find_bust(photo.view, bare, maps) if half in (None, point.side)]
    return Garment(lines, folds, (*hidden, *doubts), (*top, *bust), half, beyond_mm)


def _hides_lines(cloth: Cloth, drawn: Sequence[SeamLine], mm_per_px: float) -> bool:
    """Whether a patterned cloth shows so little drawn that more may be hidden among its pattern."""
    return cloth.own_share < PLAIN_SHARE and sum(length(seam.points_px) for seam in drawn) * mm_per_px < FEW_LINES_MM


def with_outline(seen: SeenPhoto, body: Solution) -> SeenPhoto:
    """A copy with the trunk's outline, where the body was placed in the photo."""
    if seen.pose is None or seen.view not in body.views:
        return seen
    return replace(seen, outline=torso_edges(seen.photo.rgb, seen.pose, outline_rows(body, seen.view)))
