"""Between reading and solving: a photo that contradicts the others is named and left out."""

import math
from dataclasses import replace

import numpy as np

from fitcheck.body.adjust import adjust
from fitcheck.body.agreement import figure_height_mm
from fitcheck.body.contradiction import Told, contradiction
from fitcheck.core.records import SIDES, View
from fitcheck.core.seen import SeenFitting, SeenPhoto
from fitcheck.core.solution import Solution
from fitcheck.stages.solve import evidence_of
from fitcheck.vision.person.torso_colour import torso_colour

MOST, MOST_OF_CARD = 14.0, 9.0  # squared standard deviations that one of these may count: none alone is another fitting
ODD = "contradicts_others"  # the flag of a photo left out
CUT_OFF = "cut_off"  # of one that shows too little of her to say more
CARD_HEIGHT_SD_MM = 3.0  # of the card above the floor as one photo's foot of the stand tells it; 0.5 to 3 within our scenes
# of the height of her figure in one photo; 10 to 18 on plain scenes, up to 37 with hair down, wide trousers and near phones
FIGURE_SD_MM = 25.0
WELL_AGREED = 30.0  # misfit a photo up to which outlines are as sure as they say: 10 to 25 in plain rooms, 60 to 140 in twelve busy ones
# From this misfit a photo on, what lies below the waist is taken for a skirt or trousers, which the sections of a body cannot fit: leggings
# before plain walls reach 49 (101 fittings, for those from 32 on it makes no difference), skirts and hair 52 to 140 (14 in rooms) ...
SKIRTED = 45.0
HALFWAY = 0.5  # ... from so far down the way from waist to hip: their bands lie there; at .4 and .6 the same
COLOUR_SD = 4.0  # of the colour of her clothes, CIELAB a and b; 0.5 to 3 within our scenes, more in other light


def cross_checked(fitting: SeenFitting) -> SeenFitting:
    """The fitting without the photos that contradict the others, each flagged so, or that it is cut off where that is reason enough.

    Raises
    ------
    NothingMeasuredError
        As `contradiction`.
    """
    again = False
    while fitting.body is not None and (odd := contradiction(evidence_of(fitting.photos), fitting.body, told_alike(fitting), again)):
        photos = tuple(_left_out(photo) if photo.view == odd else photo for photo in fitting.photos)
        fitting, again = replace(fitting, photos=photos, body=adjust(evidence_of(photos), fitting.body)), True
    return as_sure_as_agreed(fitting)


def as_sure_as_agreed(fitting: SeenFitting) -> SeenFitting:
    """The fitting with outlines that no one body explains (hair, furniture) doubted as much as they disagree (Birge 1932), and none of a
    skirt: a body that is given its hips has its waist lower, by 10 mm in rooms where 12 in 14 wear one."""
    body, photos = fitting.body, fitting.photos
    if body is None or _misfit_a_photo(body) <= WELL_AGREED:
        return fitting
    if _misfit_a_photo(body) > SKIRTED:
        photos = tuple(_without_skirt(photo, body) for photo in photos)
        body = adjust(evidence_of(photos), body)
    times = math.sqrt(max(1.0, _misfit_a_photo(body) / WELL_AGREED))
    photos = tuple(photo if photo.outline is None else replace(photo, outline=photo.outline.doubted(times)) for photo in photos)
    return replace(fitting, photos=photos, body=adjust(evidence_of(photos), body))


def _misfit_a_photo(body: Solution) -> float:
    return body.misfit / len(body.views)


def _without_skirt(photo: SeenPhoto, body: Solution) -> SeenPhoto:
    """The photo without its outline from halfway between waist and hip on."""
    if photo.outline is None or photo.view not in body.views:
        return photo
    waist, hip = (np.mean([body.position(name, side) for side in SIDES], axis=0) for name in ("waist_side", "hip_side"))
    row_px = float(body.views[photo.view].project(waist + HALFWAY * (hip - waist))[0, 1])
    return replace(photo, outline=photo.outline.above(row_px))


def _left_out(photo: SeenPhoto) -> SeenPhoto:
    return replace(photo.doubted(CUT_OFF if "cropped" in photo.flags else ODD), usable=False)


def told_alike(fitting: SeenFitting) -> tuple[Told, ...]:
    """What each usable photo tells by itself: card above the floor, height of her figure, colour of her clothes.

    A half tissue leaves what is beneath to be seen, from every side in another share.
    """
    feet, figures, colours = {}, {}, {}
    for photo in fitting.photos:
        if not photo.usable or photo.pose is None or photo.scale is None:
            continue
        view: View = photo.view
        if photo.scale.foot_mm is not None:
            feet[view] = np.array([photo.scale.foot_mm])
        height = None if "cropped" in photo.flags else figure_height_mm(view, photo.pose, photo.scale)
        if height is not None:
            figures[view] = np.array([height])
        if fitting.half is None:
            colours[view] = torso_colour(photo.photo, photo.pose)[1:]
    return Told(feet, CARD_HEIGHT_SD_MM, MOST_OF_CARD), Told(figures, FIGURE_SD_MM, MOST), Told(colours, COLOUR_SD, MOST)
