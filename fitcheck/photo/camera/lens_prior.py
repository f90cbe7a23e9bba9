"""What is believed of a photo's lens before its scale card is fitted: the calibrated profile, else the file, else a guess."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from fitcheck.core.camera import FULL_FRAME_DIAGONAL_MM, LensProfile, Photo
from fitcheck.photo.camera.lens import FIXED, K1_SD, Lens
from fitcheck.photo.camera.lens_profiles import diagonal_px, lens_for
from fitcheck.photo.camera.pose_from_target import CORRELATED, FlatPose

FOCAL_SD = 0.01  # the 35 mm equivalent is written in whole millimetres, 2 to 4 % of it apart (EXIF 2.32); estimate
USUAL_EQUIVALENT_MM = 26.0  # main lens of most phones (common practice)
UNKNOWN_FOCAL_SD = 0.35  # relative, of that guess; estimate
FOCUS_SD = 0.005  # focusing from the card in the hand to the wearer at 3 m changes the focal length by about that; estimate


def lens_prior(photo: Photo, lenses: Iterable[LensProfile] = (), camera: str = "") -> Lens:
    """The lens of a photo: calibrated where its camera is, else as the file says (the focal length is then held), else free.

    Parameters
    ----------
    photo : Photo
    lenses : iterable of LensProfile
    camera : str
        The camera's name where the file no longer says it.
    """
    profile = lens_for(photo, lenses, camera)
    if profile is not None:
        sd = math.hypot(profile.focal_sd, FOCUS_SD)
        higher = (profile.k2, profile.p1, profile.p2, profile.k3)
        return Lens(profile.focal * diagonal_px(photo), sd, None, profile.k1, min(profile.k1_sd, K1_SD), higher)
    if photo.focal_px is not None:
        return Lens(photo.focal_px, FIXED, FOCAL_SD)
    return Lens(USUAL_EQUIVALENT_MM * diagonal_px(photo) / FULL_FRAME_DIAGONAL_MM, UNKNOWN_FOCAL_SD, guessed=True)


def shared_lens(first: Lens, fits: Sequence[FlatPose]) -> Lens:
    """Multiply what the photos say of the lens (normal distributions), counting the prior that each of them holds only once."""
    prior = np.diag([first.k1_sd**-2, first.focal_sd**-2])
    known = [np.linalg.inv(fit.lens_covariance) for fit in fits]
    together = sum(known) - (len(fits) - 1) * prior
    if np.linalg.eigvalsh(together)[0] <= 0:  # cards that fit so badly tell less than nothing of the lens
        return first
    covariance = np.linalg.inv(together)
    # both as differences from the prior's own mean, which the sum then counts once
    said = [np.array([fit.k1 - first.k1, math.log(fit.focal_px / first.focal_px)]) for fit in fits]
    k1, log_focal = covariance @ sum(information @ values for information, values in zip(known, said, strict=True))
    k1_sd, focal_sd = np.sqrt(np.diag(covariance))
    return replace(
        first,
        focal_px=first.focal_px * math.exp(log_focal),
        focal_sd=min(CORRELATED * float(focal_sd), first.focal_sd),
        k1=first.k1 + float(k1),
        k1_sd=float(k1_sd),
    )
