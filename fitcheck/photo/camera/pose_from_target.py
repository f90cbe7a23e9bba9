"""Camera pose from the corners of a flat target, with everything that may bend it as an unknown of its own.

One least-squares fit serves the scale card and a plain sheet. Beside the pose it carries four nuisances, each held by a prior:

- inset: light spreads and bright areas grow, so the corners of a black square look a few tenths of a pixel inside it, the same on
  every side;
- k1: the lens bends lines a little even after the camera's own correction; untreated, k1 = -0.03 tips the card's plane by a degree
  (what a calibration says of the higher terms is taken as given);
- the focal length, where the file does not say it;
- the height over width of the print, only when asked for.

The distance is carried as the size of the target in the picture, which the focal length does not disturb: a length at the
target's depth is known far better than the distance is.
"""

import math
from dataclasses import dataclass
from functools import partial

import cv2
import numpy as np

from fitcheck.core.camera import Camera
from fitcheck.core.records import Floats
from fitcheck.photo.camera.flat_target import ASPECT, FOCAL, INSET, K1, SIZE, Corners, Edges, FlatTarget, inward, translation
from fitcheck.photo.camera.lens import FIXED, Lens
from fitcheck.photo.camera.robust_fit import robust_fit

# Priors of the nuisances; all estimates of ours.
INSET_SD_PX = 2.0
PITCH_SD = math.sin(math.radians(8.0))  # cameras are held nearly level, and the target upright
YAW_SD = math.sin(math.radians(15.0))  # and the target is turned towards the camera
# Neighbouring corners err together (shared light, jpeg blocks): on our scenes poses scatter twice as far as independent
# corners would have it.
CORRELATED = 2.0


@dataclass(frozen=True, slots=True)
class FlatPose:
    """What the fit found; standard uncertainties follow the name with `_sd`.

    Attributes
    ----------
    rotation : ndarray, shape (3, 3)
        Target frame (x right, y up, z towards the camera) to camera.
    translation_mm : ndarray, shape (3,)
    matrix : ndarray, shape (3, 3)
    focal_px, focal_sd : float
        focal_sd is relative.
    size_sd : float
        Relative, of lengths at the target.
    pitch_sd_deg : float
        About the picture's horizontal.
    inset_px, k1, aspect : float
    distortion : ndarray, shape (5,)
        k1 k2 p1 p2 k3.
    lens_covariance : ndarray, shape (2, 2)
        Of k1 and the log of the focal length, priors included, corners taken as independent.
    rms_px : float
    """

    rotation: Floats
    translation_mm: Floats
    matrix: Floats
    focal_px: float
    focal_sd: float
    size_sd: float
    pitch_sd_deg: float
    inset_px: float
    k1: float
    distortion: Floats
    aspect: float
    aspect_sd: float
    rms_px: float
    lens_covariance: Floats

    @property
    def camera(self) -> Camera:
        """In the target's frame."""
        return Camera(self.matrix, self.distortion, self.rotation, self.translation_mm)


def fit_flat_pose(
    corners: Corners,
    corner_sd_px: float,
    picture_size: tuple[int, int],
    lens: Lens,
    inset_sd_px: float = INSET_SD_PX,
    aspect_sd: float = FIXED,
    near: FlatPose | None = None,
) -> FlatPose:
    """Fit the pose of a flat target of dark quadrilaterals.

    Starts from both solutions that a plane allows (IPPE: Collins and Bartoli, Int. J. Computer Vision 109, 2014), refines each
    (Levenberg-Marquardt style, soft L1 loss against single bad corners) and keeps the better one.

    Parameters
    ----------
    corners : Corners
    corner_sd_px : float
        Per axis.
    picture_size : (int, int)
        Width, height; the optical axis is taken to meet the middle.
    lens : Lens
        Focal length and first radial term to begin with, with their standard uncertainties; the higher terms are taken as given.
    inset_sd_px, aspect_sd : float
        Standard uncertainties of the priors about 0 (no inset, aspect 1).
    near : FlatPose, optional
        A fit of the same corners under other priors, to start from.
    """
    inwards = inward(corners.px).reshape(-1, 2)
    target = FlatTarget(corners.mm.reshape(-1, 2), corners.px.reshape(-1, 2), inwards, picture_size, lens.focal_px, lens.higher)
    prior = np.array([0.0, lens.k1, 0.0, 0.0])
    starts = _both_poses(target, prior) if near is None else [_unknowns(near, lens.focal_px)]
    return _fit(target, starts, prior, np.array([inset_sd_px, lens.k1_sd, lens.focal_sd, aspect_sd]), corner_sd_px)


def fit_flat_edges(edges: Edges, edge_sd_px: float, picture_size: tuple[int, int], lens: Lens, near: FlatPose) -> FlatPose:
    """Fit the pose of a flat target of straight edges, each known across its run only.

    Parameters
    ----------
    edges : Edges
    edge_sd_px : float
        Across.
    picture_size, lens
        As for `fit_flat_pose`.
    near : FlatPose
        To start from.
    """
    target = FlatTarget(edges.middles_mm, edges.found_px, -edges.normals, picture_size, lens.focal_px, lens.higher, edges.normals)
    prior, prior_sd = np.array([0.0, lens.k1, 0.0, 0.0]), np.array([INSET_SD_PX, lens.k1_sd, lens.focal_sd, FIXED])
    return _fit(target, [_unknowns(near, lens.focal_px)], prior, prior_sd, edge_sd_px)


def _fit(target: FlatTarget, starts: list[tuple[Floats, float]], prior: Floats, prior_sd: Floats, seen_sd_px: float) -> FlatPose:
    """Refine each start and keep the better one; prior of inset, k1, log focal length and log aspect."""

    by_priors = np.column_stack([np.zeros((4, INSET)), np.diag(1 / prior_sd)])

    def rows(x: Floats, depth_mm: float) -> tuple[Floats, Floats]:
        misfit, by = target.misfit(x, depth_mm)
        lean, by_lean = _leaning(x)
        residuals = np.concatenate([misfit / seen_sd_px, (x[INSET:] - prior) / prior_sd, lean])
        return residuals, np.concatenate([by / seen_sd_px, by_priors, by_lean])

    fits = [(robust_fit(partial(rows, depth_mm=depth_mm), start), depth_mm) for start, depth_mm in starts]
    fit, depth_mm = min(fits, key=lambda pair: pair[0].cost)
    x, covariance = fit.x, np.asarray(np.linalg.inv(fit.normal), np.float64)
    sd = CORRELATED * np.sqrt(np.diag(covariance))
    return FlatPose(
        rotation=np.asarray(cv2.Rodrigues(x[:3])[0], np.float64),
        translation_mm=translation(x, depth_mm),
        matrix=target.matrix(x[FOCAL]),
        focal_px=target.focal_px * math.exp(x[FOCAL]),
        focal_sd=float(min(sd[FOCAL], prior_sd[FOCAL - INSET])),
        size_sd=float(sd[SIZE]),
        pitch_sd_deg=math.degrees(sd[0]),
        inset_px=float(x[INSET]),
        k1=float(x[K1]),
        distortion=target.lens(x[K1]),
        aspect=math.exp(x[ASPECT]),
        aspect_sd=float(sd[ASPECT]),
        rms_px=float(np.sqrt((target.misfit(x, depth_mm)[0] ** 2).sum() / len(target.seen))),
        lens_covariance=covariance[K1 : FOCAL + 1, K1 : FOCAL + 1],
    )


def _both_poses(target: FlatTarget, prior: Floats) -> list[tuple[Floats, float]]:
    """Unknowns and depth of the two poses that a plane allows."""
    _, turns, shifts, _ = cv2.solvePnPGeneric(target.solid(0.0), target.seen, target.matrix(0.0), None, flags=cv2.SOLVEPNP_IPPE)
    depths = [float(shift[2, 0]) for shift in shifts]
    return [
        (np.concatenate([_facing(turn).ravel(), shift[:2, 0] / depth, [0.0], prior]), depth)
        for turn, shift, depth in zip(turns, shifts, depths, strict=True)
    ]


def _facing(turn: Floats) -> Floats:
    """The turn of a target that faces the camera: of exactly half a turn about the picture's horizontal OpenCV makes none at all."""
    rotation = cv2.Rodrigues(turn)[0]
    return turn if rotation[2, 2] < 0 else np.asarray(cv2.Rodrigues(rotation @ np.diag([1.0, -1.0, -1.0]))[0], np.float64)


def _unknowns(pose: FlatPose, focal_px: float) -> tuple[Floats, float]:
    """Unknowns and depth of a pose already found."""
    longer = math.log(pose.focal_px / focal_px)
    depth = float(pose.translation_mm[2]) / math.exp(longer)
    turn = cv2.Rodrigues(pose.rotation)[0].ravel()
    return np.array([*turn, *(pose.translation_mm[:2] / depth), 0.0, pose.inset_px, pose.k1, longer, math.log(pose.aspect)]), depth


def _leaning(x: Floats) -> tuple[Floats, Floats]:
    """Priors on the turn, and their slopes: the target's upright lies in the picture's plane, its face squarely to the camera."""
    rotation, by_turn = cv2.Rodrigues(x[:3])  # by_turn[i, 3 r + c]: rotation[r, c] by x[i]
    ray = x[3:5] * math.exp(-x[FOCAL])
    off = np.array([rotation[2, 1] / PITCH_SD, (rotation[2, 0] + rotation[:2, 0] @ ray) / YAW_SD])
    slopes = np.zeros((2, len(x)))
    slopes[0, :3] = by_turn[:, 7] / PITCH_SD
    slopes[1, :3] = (by_turn[:, 6] + by_turn[:, [0, 3]] @ ray) / YAW_SD
    slopes[1, 3:5] = rotation[:2, 0] * math.exp(-x[FOCAL]) / YAW_SD
    slopes[1, FOCAL] = -rotation[:2, 0] @ ray / YAW_SD
    return off, slopes
