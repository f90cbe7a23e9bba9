"""A whole FitCheck as the pipeline would hand it over: the photos and pixel positions of a sample fitting, invented numbers."""

import json
from functools import cache
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest
from PIL import Image, ImageDraw

from fitcheck.core.advice import Amount, Expectation, Explanation, Finding, Round, RoundStep
from fitcheck.core.camera import Camera, Photo, Scale
from fitcheck.core.check import FitCheck, PhotoResult, PostureValue
from fitcheck.core.points import card_corners_mm
from fitcheck.core.records import VIEWS, Landmark, Measurement, Pose, SeamLine, Side, Sighting, Standing, Unmeasured, View

FOLDER = Path(__file__).parents[2] / "sample_images" / "forward_shoulder"
NAMES = {
    "back_neck": "back_neck_point",
    "front_neck": "front_neck_point",
    "side_neck": "side_neck_point",
    "underarm": "underarm_point",
    "seat_back": "seat",
}
SIDES: dict[str, Side] = {"L": "wearer_left", "R": "wearer_right"}


def split(name: str) -> tuple[str, Side | None]:
    """`side_L` of the truth file as name and side."""
    stem, _, last = name.rpartition("_")
    return (stem, SIDES[last]) if last in SIDES else (name, None)


@cache
def truth() -> dict[str, Any]:
    return json.loads((FOLDER / "truth.json").read_text("utf-8"))


def _scale(view: dict[str, Any]) -> Scale:
    corners = view["card"]["corners_px"]
    ids = sorted(int(number) for number in corners)
    matrix, distortion = np.array(view["camera"]["K"]), np.array(view["camera"]["dist"])
    board = card_corners_mm()[ids].reshape(-1, 3)
    seen = np.array([corners[str(number)] for number in ids]).reshape(-1, 2)
    found, turn, shift = cv2.solvePnP(board, seen, matrix, distortion)
    assert found
    camera = Camera(matrix, distortion, cv2.Rodrigues(turn)[0], shift.ravel())
    distance = float(np.linalg.norm(shift))
    return Scale(camera, "card", len(ids), distance, 0.31, distance / matrix[0, 0], 1.2, 0.002, 0.01, 0.4, 15.0)


def _pose(view: dict[str, Any], size: tuple[int, int]) -> Pose:
    points = np.array([mark["px"] for mark in view["landmarks"].values()] + [p for s in view["seams"].values() for p in s["px"]])
    hull = cv2.convexHull(points.astype(np.float32))[:, 0]
    mask = Image.new("1", size)
    ImageDraw.Draw(mask).polygon([tuple(p) for p in hull], fill=1)
    return Pose(np.zeros((33, 2)), np.zeros((33, 3)), np.ones(33), np.array(mask))


def _sightings(name: View, view: dict[str, Any]) -> tuple[Sighting, ...]:
    """Points that show or whose sticker does, and the underarm points, guessed, in the side views."""
    found = []
    for key, mark in view["landmarks"].items():
        stem, side = split(key)
        guessed = stem == "underarm" and side == f"wearer_{name}"
        sticker = view["point_markers"].get(key)
        if sticker is not None and (mark["visible"] or sticker["visible"]):
            found.append(Sighting(NAMES.get(stem, stem), side, name, "marker", np.array(mark["px"]), 0.5))
        elif guessed:
            found.append(Sighting(NAMES[stem], side, name, "detected", np.array(mark["px"]), 4.0, flags=("marker_missing",)))
    return tuple(found)


def _seams(name: View, view: dict[str, Any]) -> tuple[SeamLine, ...]:
    found = []
    for key, seam in view["seams"].items():
        stem, side = split(key)
        points = np.array([p for p, seen in zip(seam["px"], seam["visible"], strict=True) if seen])
        if len(points) > 3:
            found.append(SeamLine(stem, side, name, points, 0.5, "blue"))
    return tuple(found)


def photo_result(name: View) -> PhotoResult:
    """One photo with what was found in it."""
    view = truth()["views"][name]
    rgb = np.asarray(Image.open(FOLDER / f"{name}.jpg").convert("RGB"))
    photo = Photo(name, f"{name}.jpg", "ab" * 32, rgb, view["camera"]["K"][0][0], "Scene Maker")
    size = (rgb.shape[1], rgb.shape[0])
    turned = name == "left"
    standing = Standing(name, 3.4 if turned else float(view["yaw_err_deg"]), 0.6, ("turned",) if turned else ())
    return PhotoResult(photo, _scale(view), _pose(view, size), standing, _sightings(name, view), _seams(name, view), standing.flags)


def _measurement(
    id: str, at: str, side: Side | None, view: View, value: float, ends: tuple[Any, Any] | None, **sources: float
) -> Measurement:
    sd = float(np.sqrt(sum(part * part for part in sources.values())))
    unit = "deg" if id.endswith(("tilt", "excess")) else "mm"
    start, end = (np.array(p, dtype=float) for p in ends) if ends else (None, None)
    return Measurement(id, at, side, view, value, unit, sd, sources, (), start, end)


def measurements() -> tuple[Measurement, ...]:
    """Values near the truth of the sample, uncertainties invented; the ends are body point and garment point, as measure/ gives them."""
    views, found = truth()["views"], []
    front = views["front"]
    for letter, side in SIDES.items():
        name: View = "left" if letter == "L" else "right"
        body, garment = views[name]["landmarks"], views[name]["garment_marks"]
        seam = np.array(views[name]["seams"][f"side_{letter}"]["px"])
        tip = (body[f"shoulder_point_{letter}"]["px"], garment[f"shoulder_seam_tip_end_{letter}"]["px"])
        neck = (body[f"side_neck_{letter}"]["px"], garment[f"shoulder_seam_neck_end_{letter}"]["px"])
        bust = (front["landmarks"][f"bust_point_{letter}"]["px"], front["garment_marks"][f"bust_mark_{letter}"]["px"])
        found += [
            _measurement("shoulder_seam_behind", "tip", side, name, 10.2, tip, pixel=0.4, scale=0.1, depth=0.3, turn=1.3, definition=0.6),
            _measurement("shoulder_seam_behind", "neck", side, name, 5.6, neck, pixel=0.5, turn=1.2, definition=1.4),
            _measurement("side_seam_tilt", "", side, name, -1.3, None, pixel=0.1, plumb=0.4),
            _measurement("bust_mark_above", "", side, "front", 1.4, bust, pixel=0.5, depth=0.9, definition=1.5),
            _measurement("bust_mark_outside", "", side, "front", 1.3, bust, pixel=0.5, depth=0.4, definition=1.5),
        ]
        for at, value, row in (("bust", -5.3, 615), ("waist", -11.4, 800), ("hip", -13.3, 970)):
            ends = (body[f"underarm_{letter}"]["px"], seam[np.argmin(abs(seam[:, 1] - row))])
            found.append(_measurement("side_seam_forward", at, side, name, value, ends, pixel=0.6, turn=2.1, definition=4.0))
    waist = front["landmarks"]["waist_front"]["px"]
    below = (waist[0], waist[1] + 4.2)
    found.append(
        _measurement("waist_mark_above", "front", None, "front", -4.0, (waist, below), pixel=0.5, focal=1.2, definition=3.0),
    )
    found.append(_measurement("shoulder_height_difference", "", None, "back", -0.1, None, pixel=0.5, plumb=1.9))
    return tuple(found)


def _round() -> Round:
    amount = Amount("forward_shoulder", "both", 10.1, 1.4, 0.97)
    step = RoundStep(
        amount,
        "forward shoulder",
        1,
        "Both shoulder seams lie behind the shoulder bone, more at the tip than at the neck.",
        (
            "On the back, draw a new shoulder seam {amount} higher at the armhole, running to nothing at the neck.",
            "On the front, take {amount} off at the armhole, running to nothing at the neck.",
            "Pin the new seam, points of the pins down.",
        ),
        ("Move the sleeve-cap notch {amount} forward.", "The front drops by about {half_amount} at the bust."),
        (
            Expectation("shoulder_seam_behind_tip_R", 10.2, 0.1),
            Expectation("shoulder_seam_behind_tip_L", 10.2, 0.1),
            Expectation("bust_mark_above_R", 1.4, -3.6),
        ),
        ("shoulder_seam_behind_tip_R", "shoulder_seam_behind_tip_L", "shoulder_seam_behind_neck_R"),
        where="both sides",
    )
    return Round(
        (step,),
        "Your shoulder seams lie {mm:10.2} behind the shoulder bone. Bring them forward first; the rest is looked at again afterwards.",
        ("The bust mark: it sinks a little when the front drops.", "The side seams, which lean {deg:1.3} back."),
        ("A sticker on each underarm point would settle whether the side seams hang plumb.",),
        (Amount("sway_back", "both", 8.0, 4.0, 0.55),),
    )


def _landmarks(photos: tuple[PhotoResult, ...]) -> tuple[Landmark, ...]:
    found = []
    for key, xyz in truth()["landmarks"].items():
        stem, side = split(key)
        name = NAMES.get(stem, stem)
        seen = tuple(s for photo in photos for s in photo.sightings if (s.name, s.side) == (name, side))
        x, depth, height = xyz
        found.append(Landmark(name, side, np.array([x, height, -depth]), np.array([0.8, 0.9, 1.4]), seen))
    return tuple(found)


@pytest.fixture(scope="session")
def check() -> FitCheck:
    """The example; its records are frozen, so one serves all tests."""
    return fit_check()


@pytest.fixture(scope="session")
def right(check: FitCheck) -> PhotoResult:
    """The photo in which her right side faces the camera."""
    return check.photos[1]


def fit_check() -> FitCheck:
    """Build the example."""
    photos = tuple(photo_result(name) for name in VIEWS)
    tips = ("shoulder_seam_behind_tip_R", "shoulder_seam_behind_tip_L", "shoulder_seam_behind_neck_R", "shoulder_seam_behind_neck_L")
    leans = ("side_seam_forward_hip_R", "side_seam_forward_waist_R")
    return FitCheck(
        photos,
        _landmarks(photos),
        measurements(),
        (
            Unmeasured("underarm_gap", "", "wearer_right", "The arm covers the underarm point."),
            Unmeasured("centre_front_short", "bust", None, "The front is closed, so its edges cannot be seen."),
        ),
        (
            Finding("shoulder_seam_behind", "both", "The shoulder seams lie {mm:10.2} behind the shoulder bone.", "present", tips),
            Finding(
                "side_seam_back",
                "wearer_right",
                "The side seam may run {mm:13.3} behind the plumb line at the hip.",
                "unclear",
                leans,
                ("marker_missing",),
            ),
            Finding(
                "bust_mark_high", "both", "The bust marks lie on the bust points.", "absent", ("bust_mark_above_R", "bust_mark_above_L")
            ),
        ),
        (
            Explanation(0.82, (Amount("forward_shoulder", "both", 10.1, 1.4),), ("side_seam_forward_hip_R",)),
            Explanation(0.14, (Amount("forward_shoulder", "both", 9.1, 1.6), Amount("sway_back", "both", 8.0, 4.0)), ()),
        ),
        _round(),
        (PostureValue("craniovertebral_angle", "wearer_right", 46.9, "deg", 1.1),),
        {"wearer": "Ada", "garment": "Block bodice"},
    )
