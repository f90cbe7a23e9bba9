"""Whether a half tissue is worn, and on which side: as she tells it, else as front and back view show it together."""

from collections.abc import Sequence
from dataclasses import dataclass

from fitcheck.core.fitting import FittingFacts
from fitcheck.core.records import Side
from fitcheck.core.seen import SeenPhoto
from fitcheck.vision.cloth.find_cloth import find_cloth
from fitcheck.vision.cloth.which_half import both_covered, covered, likelier_half, which_half

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
    facing = [(photo.photo, photo.pose) for photo in photos if photo.pose and photo.view in ("front", "back")]
    if told is None and all(both_covered(find_cloth(photo.rgb, pose), pose, photo.view) for photo, pose in facing):
        return WornHalf()
    seen = [covered(photo, pose) for photo, pose in facing]
    side, plain = which_half(seen)
    if told is None:
        return WornHalf() if side is None else WornHalf(side, (_SEEN_FLAG[side],))
    if side is not None and plain:
        return WornHalf(side)
    return WornHalf(likelier_half(seen) if seen else "wearer_right", ("half_unsure",))
