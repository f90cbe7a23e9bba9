"""Second stage: what the photos say together. Card, floor and lens; and which of them show one woman from where their names say."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from fitcheck.body.agreement import looks_like, lying, odd_ones_out
from fitcheck.body.even_stance import stands_evenly
from fitcheck.core.camera import Photo, Scale
from fitcheck.core.errors import NothingMeasuredError, PhotoError
from fitcheck.core.floor_sheet import FLOOR_BAR_MM, FLOOR_PRINT_SD
from fitcheck.core.points import CARD_BAR_MM, CARD_PRINT_SD
from fitcheck.core.pose_joints import HEELS, TOES, ankles_seen
from fitcheck.core.records import Floats, View
from fitcheck.core.seen import SeenPhoto
from fitcheck.core.settings import Settings
from fitcheck.photo.card.one_card import FLAG, alike, doubled, painted_over
from fitcheck.photo.card.scale import LONGEST_BAR, scale_from_card, scales_from_cards
from fitcheck.photo.floor.by_floor import Print, scales_by_floor
from fitcheck.photo.floor.find_sheets import find_sheets
from fitcheck.photo.stand.card_height import above_floor, confirmed
from fitcheck.photo.stand.foot import find_foot
from fitcheck.photo.without_card.other_scales import scale_from_corners, scale_from_height
from fitcheck.stages.worn_half import worn_half
from fitcheck.vision.person.torso_colour import torso_colour

APART = {"view_mixed_up", "different_person"}  # flags of photos that are not measured with the others


def card_scales(photos: Sequence[Photo], settings: Settings) -> dict[View, Scale]:
    """What scale card and floor sheets tell in the photos that show them, all together: lens, camera and where the floor is.

    Raises
    ------
    PhotoError
        Two cards are in a photo, and nothing tells which of them stands beside her.
    """
    size, lens = printed(settings.facts.card_bar_mm), (settings.lenses, settings.facts.camera)
    told = (size.share * CARD_BAR_MM, *lens, size.sd)
    found = scales_from_cards(photos, *told)
    of_one = [
        photo if scale is None or FLAG not in scale.flags else _one_card(photo, scale) for photo, scale in zip(photos, found, strict=True)
    ]
    if any(one is not photo for one, photo in zip(of_one, photos, strict=True)):
        again = scales_from_cards(of_one, *told)
        found = [scale and (scale if one is photo else doubled(scale)) for scale, one, photo in zip(again, of_one, photos, strict=True)]
    cards = {photo.view: scale for photo, scale in zip(photos, found, strict=True) if scale is not None}
    scales = above_floor({photo.view: photo for photo in photos}, cards, settings.facts.card_height_mm)
    sheets = {photo.view: seen for photo in photos if (seen := find_sheets(photo.rgb))}
    return scales | scales_by_floor(of_one, scales, sheets, size, *lens) if sheets else scales


def printed(bar_mm: float) -> Print:
    """The size of all prints, by whichever bar she measured: the card's, or the floor sheets' long one."""
    if bar_mm > LONGEST_BAR * CARD_BAR_MM:
        return Print(bar_mm / FLOOR_BAR_MM, FLOOR_PRINT_SD)
    return Print(bar_mm / CARD_BAR_MM, CARD_PRINT_SD)


def _one_card(photo: Photo, first: Scale) -> Photo:
    """A photo of two cards with the one painted over that stands nowhere; as it is where both tell the same."""
    hidden = painted_over(photo, first)
    second = scale_from_card(hidden)
    if second is None or alike(first, second):
        return photo
    stand = [find_foot(photo.rgb, scale.camera) is not None for scale in (first, second)]
    if stand[0] == stand[1]:
        raise PhotoError(
            f"Two scale cards are in {photo.name}, and nothing tells which of them stands beside you.",
            "Take one away, or paint over it in the picture.",
        )
    return painted_over(photo, second) if stand[0] else hidden


def agree(seen: Sequence[SeenPhoto], cards: Mapping[View, Scale], settings: Settings) -> tuple[SeenPhoto, ...]:
    """Give every photo its scale, and tell which photos can be measured together.

    Parameters
    ----------
    seen : sequence of SeenPhoto
    cards : mapping of view to Scale
        As `card_scales` gave them.
    settings : Settings
        What stands in for a card where there is none.

    Raises
    ------
    NothingMeasuredError
        Nobody, or no scale, in any photo; or no photo with both that shows what its name says.
    """
    scaled = _without_a_false_foot([replace(photo, scale=_scale(photo, cards, settings)) for photo in seen], cards)
    _require(scaled, settings)
    poses = {photo.view: photo.pose for photo in scaled if photo.pose is not None}
    scales = {photo.view: photo.scale for photo in scaled if photo.scale is not None and "cropped" not in photo.flags}
    told = settings.facts.worn_told
    odd = odd_ones_out(poses, scales, {photo.view: torso_colour(photo.photo, photo.pose) for photo in scaled if photo.pose is not None})
    if odd and worn_half(scaled, told).side is not None:  # of which one side view shows the tissue, the other what is beneath
        odd = odd_ones_out(poses, scales, {})
    doubted = [photo.doubted(*_codes(photo, odd)) for photo in scaled]
    agreed = tuple(
        replace(photo, usable=photo.scale is not None and photo.pose is not None and not APART & set(photo.flags)) for photo in doubted
    )
    if not any(photo.usable for photo in agreed):
        raise _none_usable(agreed)
    return agreed


def _without_a_false_foot(scaled: Sequence[SeenPhoto], cards: Mapping[View, Scale]) -> list[SeenPhoto]:
    """Where her own feet contradict every foot of the stand that was found, its height counts in no photo: all had it from them."""
    found = {view for view, card in cards.items() if card.foot_mm is not None}
    kept = {photo.view for photo in scaled if photo.scale is not None and photo.scale.foot_mm is not None}
    if not found or found & kept:
        return list(scaled)
    return [photo if photo.scale is None else replace(photo, scale=replace(photo.scale, above_floor=None)) for photo in scaled]


def _scale(seen: SeenPhoto, cards: Mapping[View, Scale], settings: Settings) -> Scale | None:
    """The scale card where there is one, else what the user gave instead."""
    scale, lens = cards.get(seen.view), (settings.lenses, settings.facts.camera)
    if scale is not None and scale.source == "card" and settings.facts.card_height_mm is None:
        scale = confirmed(scale, _feet(seen))
    if scale is None and seen.view in settings.sheets:
        sheet = settings.sheets[seen.view]
        scale = scale_from_corners(seen.photo, sheet.corners_px, sheet.size, *lens)
    if scale is None and seen.pose is not None and settings.facts.height_mm is not None:
        scale = scale_from_height(seen.photo, seen.pose, settings.facts.height_mm, *lens)
    return scale


def _feet(seen: SeenPhoto) -> Floats:
    """Where her feet meet the floor in a photo, shape (N, 2): by the soles, else as the pose model has heels and toes."""
    if seen.soles:
        return np.array([sole.xy_px for sole in seen.soles])
    if seen.pose is None or not ankles_seen(seen.pose):
        return np.zeros((0, 2))
    return np.asarray(seen.pose.points_px[[*HEELS, *TOES]])


def _codes(seen: SeenPhoto, odd: set[View]) -> list[str]:
    codes = [] if seen.scale is not None else ["no_card"]
    if seen.pose is not None and looks_like(seen.pose, seen.stickers) not in (seen.view, None):
        codes.append("view_mixed_up")
    if seen.view in odd:
        codes.append("different_person")
    if seen.view in ("front", "back") and seen.pose and seen.scale and not stands_evenly(seen.pose, seen.scale.mm_per_px):
        codes.append("stance_uneven")
    return codes


def _require(seen: Sequence[SeenPhoto], settings: Settings) -> None:
    unlit = all("dark" in photo.flags for photo in seen)
    if unlit and (all(photo.pose is None for photo in seen) or all(photo.scale is None for photo in seen)):
        raise NothingMeasuredError(
            "The photos are too dark to find wearer and scale card in them.",
            "Face a window or switch on more lamps, no flash, and take them again.",
        )
    if all(photo.pose is None for photo in seen):
        raise NothingMeasuredError(
            "Nobody was found in any photo.", "Stand in the middle of the picture, head to feet, before a plain wall."
        )
    if any(photo.scale is not None for photo in seen):
        return
    if settings.facts.height_mm is not None:
        raise NothingMeasuredError(
            "No scale card was found, and your height cannot stand in for it: no photo shows you from head to feet.",
            "Step back until head and feet are both in the picture, or print a card with 'fitcheck card' and retake.",
        )
    raise NothingMeasuredError(
        "No scale card was found in any photo, so nothing can be measured.",
        "Print one with 'fitcheck card' and retake, or give a sheet's corners (--scale-corners) or your height (--height-mm).",
    )


def _none_usable(seen: Sequence[SeenPhoto]) -> NothingMeasuredError:
    """Why no photo can be measured."""
    if all(lying(photo.pose) for photo in seen if photo.pose is not None):
        return NothingMeasuredError("The photos stand on their heads or lie on their sides.", "Turn them upright and save them so.")
    codes = {code for photo in seen for code in photo.flags}
    problem = "No photo shows both the wearer and a scale."
    if "different_person" in codes:
        problem = "The photos show different people or different clothes."
    if "view_mixed_up" in codes:
        problem = "The photos do not show the views their file names say."
    return NothingMeasuredError(problem, "Check the file names (right: your right side faces the camera) and use photos of one fitting.")
