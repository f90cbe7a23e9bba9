"""Whether a half tissue is worn, and on which side: as she tells it, else as front and back view show it together."""

from collections.abc import Sequence
from dataclasses import dataclass

from fitcheck.core.fitting import FittingFacts
from fitcheck.core.records import SIDES, Side
from fitcheck.core.seen import SeenPhoto
from fitcheck.vision.cloth.find_cloth import find_cloth
from fitcheck.vision.cloth.which_half import both_covered, covered, one_sided, which_half
from fitcheck.vision.lines.half_drawn import drawn_mm

_SEEN_FLAG: dict[Side, str] = {"wearer_right": "half_right", "wearer_left": "half_left"}


@dataclass(frozen=True, slots=True)
class WornHalf:
    """The side of a half tissue, None for a whole garment, with what is to be said of it."""

    side: Side | None = None
    flags: tuple[str, ...] = ()


def worn_half(photos: Sequence[SeenPhoto], facts: FittingFacts) -> WornHalf:
    """Which half is worn.

    Parameters
    ----------
    photos : sequence of SeenPhoto
        Of one fitting; only a front or back view tells.
    facts : FittingFacts
        Where a whole garment or the side of a half is told, that counts.
    """
    told = facts.tissue_told
    if told == "full":
        return WornHalf()
    if facts.half_side is not None:
        return WornHalf(facts.half_side)
    facing = [(photo, photo.pose) for photo in photos if photo.pose and photo.view in ("front", "back")]
    if told is None and all(both_covered(find_cloth(photo.photo.rgb, pose), pose, photo.view) for photo, pose in facing):
        return WornHalf()
    seen = [covered(photo.photo, pose) for photo, pose in facing]
    if told is None and not one_sided(seen):
        return WornHalf()
    drawn = dict.fromkeys(SIDES, 0.0)
    for photo, pose in facing:
        if photo.scale is not None:
            found = drawn_mm(photo.photo, pose, photo.marks, photo.scale.mm_per_px)
            drawn = {side: drawn[side] + found[side] for side in SIDES}
    side, plain = which_half(seen, drawn)
    if told is None:
        return WornHalf(side, (_SEEN_FLAG[side],)) if side is not None and plain else WornHalf()
    return WornHalf(side or "wearer_right", () if plain else ("half_unsure",))
