"""How high above the floor the scale card is, as the stand shows that carries it: a pole on a flat foot.

All heights hang on the floor. The soles tell where it is in the picture, but not how far she stands from the camera; the foot of the
card's own pole stands at a known depth (`foot.py`). A tape from the floor to the card does the same.

One card tells a camera's pitch to a third of a degree only, and the floor is seen higher or lower by it. But all photos of a fitting show
one floor: where they disagree, the pitch of each is put right. What is left is alike in all, and so is the lean of the card itself; the
foot's side edges tell of that (`foot_sides.py`).
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import cv2
import numpy as np

from fitcheck.core.camera import CardHeight, Photo, Scale
from fitcheck.core.points import card_corners_mm
from fitcheck.core.records import Floats, View
from fitcheck.photo.stand.foot import StandFoot, find_foot
from fitcheck.photo.stand.foot_sides import convergence, pitch_of_all

LOWEST_EDGE_MM = float(card_corners_mm()[..., 1].min())  # of the lowest squares, from the card's middle
TOLD_SD_MM = 3.0  # a tape held upright, a floor not quite even; estimate
BEHIND_SD_MM = 4.0  # of the pole's axis behind the card; estimate
PADS_SD_MM = 1.5  # of the pads; estimate
PITCH_SD_DEG = 0.2  # of a camera as one card tells it; 0.16 on 40 rendered fittings
ALIKE_SD_DEG = 0.1  # of it, alike in all photos of a camera, as the lens is not known quite; with the above 0.13 there
LEVELLED_SD_DEG = 0.1  # of a pitch put right by the floor, against the other photos'; 0.05 on the given scenes
UPRIGHT_SD_DEG = 0.15  # of the pole; estimate
HELD_SD_DEG = 0.25  # of a card against its pole; estimate
HEIGHT_MM = (700.0, 1700.0)  # of a card's middle that hangs or stands beside her trunk; estimate
# Before or behind the card: 66 behind to 253 before on 20 fittings, 446 and more where the leg of a tripod was taken for the foot.
STANDS_WITHIN_MM = 400.0
LEAST_DOWN = 1e-3  # slope of a ray that still meets the floor
AGREE_MM = 12.0  # photos of one fitting
MOST_SDS = 3.0  # of a lean that the foot's side edges tell, beyond which they are not parallel


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
    told = {view: foot for view, scale in cards.items() if (foot := find_foot(photos[view].rgb, scale.camera)) is not None}
    cards = {view: replace(scale, foot_mm=told[view].card_height_mm) if view in told else scale for view, scale in cards.items()}
    feet = _agreeing(told)
    height, moved, floor_mm = None, {}, 0.0
    if feet:
        floor_mm = float(np.mean([foot.card_height_mm for foot in feet.values()]))
        up = {view: (floor_mm - foot.card_height_mm) / foot.by_tilt_mm for view, foot in feet.items()}
        lean, hang_deg = _lean(photos, cards, feet, up)
        height = _by_stand(list(feet.values()), lean)
        cards = {view: _levelled(scale, up.get(view), lean, hang_deg) for view, scale in cards.items()}
        moved = {view: foot for view, foot in told.items() if view not in feet}
    if told_mm is not None:
        share = next((scale.print_share for scale in cards.values()), 1.0)
        height = CardHeight(told_mm - share * LOWEST_EDGE_MM, TOLD_SD_MM)
    if height is not None:
        cards = {view: _hung(scale, height, moved.get(view), floor_mm) for view, scale in cards.items()}
    return {**scales, **cards}


def _hung(scale: Scale, height: CardHeight, moved: StandFoot | None, floor_mm: float) -> Scale:
    """The scale with its card's height; where the card was moved, with its own and the doubt of a single photo."""
    if moved is None:
        return replace(scale, above_floor=height)
    sd = float(np.hypot(height.sd_mm, moved.by_tilt_mm * np.radians(PITCH_SD_DEG)))
    own = replace(height, mm=height.mm + moved.card_height_mm - floor_mm, sd_mm=sd)
    return replace(scale, above_floor=own, flags=(*scale.flags, "card_moved"))


def _agreeing(feet: Mapping[View, StandFoot]) -> dict[View, StandFoot]:
    """Without those that tell another height than most."""
    middle = np.median([foot.card_height_mm for foot in feet.values()]) if feet else 0.0
    return {view: foot for view, foot in feet.items() if abs(foot.card_height_mm - middle) < AGREE_MM}


def _lean(
    photos: Mapping[View, Photo], cards: Mapping[View, Scale], feet: Mapping[View, StandFoot], up: Mapping[View, float]
) -> tuple[float, float]:
    """How far all cameras, levelled, are to be pitched up together, and its doubt in degrees.

    A card is held nearly plumb; the foot's side edges say more. A foot that says what no stand lets a card do is not rectangular.

    Parameters
    ----------
    up : mapping of view to float
        Radians that level each photo with the others.
    """
    hang_deg = float(np.sqrt(HELD_SD_DEG**2 + ALIKE_SD_DEG**2 + PITCH_SD_DEG**2 / len(feet)))
    told = [
        replace(seen, pitch=seen.pitch - up[view])
        for view, foot in feet.items()
        if (seen := convergence(photos[view].rgb, cards[view].camera, foot)) is not None
    ]
    if not told:
        return 0.0, hang_deg
    pitch, sd = pitch_of_all(told)
    held = np.radians(hang_deg)
    if abs(pitch) > MOST_SDS * np.hypot(held, sd):
        return 0.0, hang_deg
    heeded = held**2 / (held**2 + sd**2)
    return float(heeded * pitch), float(np.degrees(sd * np.sqrt(heeded)))


def _levelled(scale: Scale, up: float | None, lean: float, hang_deg: float) -> Scale:
    """The scale with its camera pitched about the card's middle until the photo shows the floor where all do together, upright.

    What is left of the pitch is alike in all photos, as if the card hung so.
    """
    own_deg = np.sqrt(scale.plumb_sd_deg**2 - scale.hang_sd_deg**2) if up is None else LEVELLED_SD_DEG
    turn = cv2.Rodrigues(np.array([(up or 0.0) + lean, 0.0, 0.0]))[0]
    camera = replace(scale.camera, rotation=turn @ scale.camera.rotation)
    return replace(scale, camera=camera, hang_sd_deg=hang_deg, plumb_sd_deg=float(np.hypot(hang_deg, own_deg)))


def _by_stand(feet: Sequence[StandFoot], lean: float) -> CardHeight:
    """What the feet of all photos of a fitting tell together; the doubt of the pitch is the scales'."""
    height, by_tilt = np.mean([(foot.card_height_mm + lean * foot.by_tilt_mm, foot.by_tilt_mm) for foot in feet], axis=0)
    roll = np.median([foot.roll for foot in feet])
    sd = np.hypot(BEHIND_SD_MM * by_tilt / height, PADS_SD_MM)
    return CardHeight(float(height), float(sd), float(by_tilt), float(height), float(roll), float(np.radians(UPRIGHT_SD_DEG)))


def confirmed(scale: Scale, feet_px: Floats) -> Scale:
    """The scale, without a card's height that a stand's foot told if her own feet contradict it: some other thing was taken for the foot.

    Parameters
    ----------
    scale : Scale
    feet_px : ndarray, shape (N, 2)
        Where her feet meet the floor; none where they are not seen. On a floor as low as the foot tells they would stand somewhere: that
        must be about as far from the camera as the card does.
    """
    told = scale.above_floor
    if told is None or scale.foot_mm is None or told.by_tilt_mm == 0:
        return scale
    likely = HEIGHT_MM[0] < told.mm < HEIGHT_MM[1]
    if len(feet_px) and likely:
        camera = scale.camera
        rays = cv2.undistortPoints(feet_px[:, None].astype(np.float64), camera.matrix, camera.distortion)[:, 0]
        ways = np.concatenate([rays, np.ones((len(rays), 1))], axis=1) @ camera.rotation  # in the card's frame
        drop = camera.eye_mm[1] + told.mm
        down = np.maximum(-ways[:, 1], LEAST_DOWN)
        before = camera.eye_mm[2] + drop * ways[:, 2] / down
        likely = bool(abs(float(np.median(before))) < STANDS_WITHIN_MM)
    return scale if likely else replace(scale, above_floor=None, foot_mm=None)
