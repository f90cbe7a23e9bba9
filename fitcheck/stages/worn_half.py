"""Whether a half tissue is worn, and on which side: as she tells it, else as front and back view show it together."""

import math
from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace

from fitcheck.core.records import SIDES, Side, View
from fitcheck.core.seen import SeenPhoto
from fitcheck.core.worn_told import WornTold
from fitcheck.vision.cloth.find_cloth import Cloth, find_cloth
from fitcheck.vision.cloth.which_half import both_covered, covered, image_side, one_sided, which_half
from fitcheck.vision.lines.half_drawn import drawn_mm

ALLOWANCES_SD_MM = 3.0  # between those of front and back: one is trimmed a little closer; estimate
_SEEN_FLAG: dict[Side, str] = {"wearer_right": "half_right", "wearer_left": "half_left"}


@dataclass(frozen=True, slots=True)
class WornHalf:
    """The side of a half tissue, None for a whole garment, with what is to be said of it; of a whole garment its cloth."""

    side: Side | None = None
    flags: tuple[str, ...] = ()
    cloths: Mapping[View, Cloth] = field(default_factory=dict)


WHOLE = WornHalf()


def cut_alike(photos: Sequence[SeenPhoto], told: WornTold) -> list[SeenPhoto]:
    """The photos, a half tissue's centre that shows by its edge alone moved in by what lies beyond the line that the other view shows.

    Front and back are cut with one allowance, or folded; where she told how, that counts.
    """
    known = [photo.garment.beyond_mm for photo in photos if photo.garment.beyond_mm is not None]
    if not known or told.cut_mm is not None:
        return list(photos)
    return [_moved_in(photo, max(0.0, sum(known) / len(known))) for photo in photos]


def _moved_in(photo: SeenPhoto, by_mm: float) -> SeenPhoto:
    half, scale = photo.garment.half, photo.scale
    if half is None or scale is None:
        return photo
    by_px, sd_px = image_side(half, photo.view) * by_mm / scale.mm_per_px, ALLOWANCES_SD_MM / scale.mm_per_px
    lines = tuple(
        replace(line, points_px=line.points_px + [by_px, 0.0], sd_px=math.hypot(line.sd_px, sd_px))
        if "centre_by_edge" in line.flags
        else line
        for line in photo.garment.lines
    )
    return replace(photo, garment=replace(photo.garment, lines=lines))


def worn_half(photos: Sequence[SeenPhoto], told: WornTold) -> WornHalf:
    """Which half is worn.

    Parameters
    ----------
    photos : sequence of SeenPhoto
        Of one fitting; only a front or back view tells.
    told : WornTold
        Where a whole garment or the side of a half is told, that counts.
    """
    if told.tissue == "full":
        return WHOLE
    if told.side is not None:
        return WornHalf(told.side)
    facing = [(photo, photo.pose) for photo in photos if photo.pose and photo.view in ("front", "back")]
    if told.tissue is None:
        with ThreadPoolExecutor(2) as pool:
            found_cloths = pool.map(lambda seen: find_cloth(seen[0].photo.rgb, seen[1]), facing)
            cloths = {photo.view: cloth for (photo, _), cloth in zip(facing, found_cloths, strict=True)}
        if all(both_covered(cloths[photo.view], pose, photo.view) for photo, pose in facing):
            return WornHalf(cloths=cloths)
    seen = [covered(photo.photo, pose) for photo, pose in facing]
    if told.tissue is None and not one_sided(seen):
        return WHOLE
    drawn = dict.fromkeys(SIDES, 0.0)
    for photo, pose in facing:
        if photo.scale is not None:
            found = drawn_mm(photo.photo, pose, photo.marks, photo.scale.mm_per_px)
            drawn = {side: drawn[side] + found[side] for side in SIDES}
    side, plain = which_half(seen, drawn)
    if told.tissue is None:
        return WornHalf(side, (_SEEN_FLAG[side],)) if side is not None and plain else WHOLE
    return WornHalf(side or "wearer_right", () if plain else ("half_unsure",))
