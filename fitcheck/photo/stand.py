"""How high above the floor the scale card is, as the stand shows that carries it: a pole on a flat foot.

All heights hang on the floor. The soles tell where it is in the picture, but not how far she stands from the camera; the foot of the
card's own pole stands at a known depth (`foot.py`). A tape from the floor to the card does the same.

One card tells a camera's pitch to a third of a degree only, and the floor is seen higher or lower by it. But all photos of a fitting show
one floor: where they disagree, the pitch of each is put right.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import cv2
import numpy as np

from fitcheck.core.camera import CardHeight, Photo, Scale
from fitcheck.core.points import card_corners_mm
from fitcheck.core.records import View
from fitcheck.photo.foot import StandFoot, find_foot

LOWEST_EDGE_MM = float(card_corners_mm()[..., 1].min())
TOLD_SD_MM = 3.0  # a tape held upright, a floor not quite even; estimate
BEHIND_SD_MM = 4.0  # of the pole's axis behind the card; estimate
PADS_SD_MM = 1.5  # of the pads; estimate
PITCH_SD_DEG = 0.2  # of a camera as one card tells it; 0.16 on 40 rendered fittings
ALIKE_SD_DEG = 0.1  # of it, alike in all photos of a camera, as the lens is not known quite; with the above 0.13 there
LEVELLED_SD_DEG = 0.1  # of a pitch put right by the floor, against the other photos'; 0.05 on the given scenes
UPRIGHT_SD_DEG = 0.15  # of the pole; estimate
HELD_SD_DEG = 0.25  # of a card against its pole; estimate
AGREE_MM = 12.0  # photos of one fitting


def above_floor(photos: Mapping[View, Photo], scales: Mapping[View, Scale], told_mm: float | None = None) -> dict[View, Scale]:
    """The scales of a fitting, each with how high the card stands above the floor, if anything tells.

    Parameters
    ----------
    photos : mapping of view to Photo
    scales : mapping of view to Scale
        Those that are no card's stay as they are.
    told_mm : float, optional
        What the user measured up to the lower edge of the card's lowest squares.
    """
    cards = {view: scale for view, scale in scales.items() if scale.source == "card"}
    feet = _agreeing({view: foot for view, scale in cards.items() if (foot := find_foot(photos[view].rgb, scale.camera)) is not None})
    height = _by_stand(list(feet.values()))
    if height is not None:
        cards = {view: _levelled(scale, feet.get(view), height.mm, len(feet)) for view, scale in cards.items()}
    if told_mm is not None:
        height = CardHeight(told_mm - LOWEST_EDGE_MM, TOLD_SD_MM)
    return {**scales, **{view: replace(scale, above_floor=height) for view, scale in cards.items()}}


def _agreeing(feet: Mapping[View, StandFoot]) -> dict[View, StandFoot]:
    """Without those that tell another height than most."""
    middle = np.median([foot.card_height_mm for foot in feet.values()]) if feet else 0.0
    return {view: foot for view, foot in feet.items() if abs(foot.card_height_mm - middle) < AGREE_MM}


def _levelled(scale: Scale, foot: StandFoot | None, height_mm: float, feet: int) -> Scale:
    """The scale with its camera pitched about the card's middle until the photo shows the floor where all do together.

    What is left of the pitch is alike in all photos, as if the card hung so.
    """
    hang = float(np.sqrt(HELD_SD_DEG**2 + ALIKE_SD_DEG**2 + PITCH_SD_DEG**2 / feet))
    if foot is None:
        plumb = np.sqrt(scale.plumb_sd_deg**2 - scale.hang_sd_deg**2 + hang**2)
        return replace(scale, hang_sd_deg=hang, plumb_sd_deg=float(plumb))
    up = np.array([(height_mm - foot.card_height_mm) / foot.by_tilt_mm, 0.0, 0.0])
    camera = replace(scale.camera, rotation=cv2.Rodrigues(up)[0] @ scale.camera.rotation)
    return replace(scale, camera=camera, hang_sd_deg=hang, plumb_sd_deg=float(np.hypot(hang, LEVELLED_SD_DEG)))


def _by_stand(feet: Sequence[StandFoot]) -> CardHeight | None:
    """What the feet of all photos of a fitting tell together; the doubt of the pitch is the scales'."""
    if not feet:
        return None
    height, by_tilt = np.mean([(foot.card_height_mm, foot.by_tilt_mm) for foot in feet], axis=0)
    roll = np.median([foot.roll for foot in feet])
    sd = np.hypot(BEHIND_SD_MM * by_tilt / height, PADS_SD_MM)
    return CardHeight(float(height), float(sd), float(by_tilt), float(height), float(roll), float(np.radians(UPRIGHT_SD_DEG)))
