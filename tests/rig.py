"""A fitting with known truth for tests: points of an invented body seen by ideal cameras through OpenCV's own projection."""

import cv2
import numpy as np

from fitcheck.body.adjust import POINTER_OFF_MM
from fitcheck.body.point_table import body_points
from fitcheck.body.shape import body_shape
from fitcheck.core.camera import Camera, Scale
from fitcheck.core.outline import Outline
from fitcheck.core.records import Floats, Sighting, View

NOMINAL = {"front": 0.0, "right": 90.0, "back": 180.0, "left": -90.0}
SEEN_IN: dict[View, tuple[tuple[str, str | None], ...]] = {
    "front": (
        ("front_neck_point", None),
        ("bust_point", "wearer_left"),
        ("bust_point", "wearer_right"),
        ("waist_front", None),
        ("shoulder_point", "wearer_left"),
        ("shoulder_point", "wearer_right"),
    ),
    "right": tuple((n, "wearer_right") for n in ("side_neck_point", "shoulder_point", "waist_side", "hip_side")),
    "back": (("back_neck_point", None), ("waist_back", None), ("seat", None)),
    "left": tuple((n, "wearer_left") for n in ("side_neck_point", "shoulder_point", "waist_side", "hip_side")),
}


def scale_at(distance_mm: float = 2900.0, height_mm: float = 1100.0, scale_sd: float = 0.003, focal_sd: float = 0.01) -> Scale:
    """A level camera before a card hanging 1120 mm above the floor and 500 mm to image right of the body."""
    camera = Camera(
        np.array([[3000.0, 0, 749.5], [0, 3000.0, 999.5], [0, 0, 1]]),
        np.zeros(5),
        np.diag([1.0, -1.0, -1.0]),
        np.array([350.0, height_mm - 1120.0, distance_mm]),
    )
    return Scale(camera, "card", 12, distance_mm, 0.2, distance_mm / 3000, 0.0, scale_sd, focal_sd, 0.3)


def body(**moved: Floats) -> dict[tuple[str, str | None], Floats]:
    """The usual body, 1650 mm tall; `name` or `name_L` / `name_R` moves points, mm (x to her left, y up, z forward)."""
    points = {key: point.copy() for key, point in zip(body_shape().keys, body_shape().points, strict=True)}
    for word, by in moved.items():
        name, _, end = word.rpartition("_")
        sides = {"L": ("wearer_left",), "R": ("wearer_right",)}.get(end, (None, "wearer_left", "wearer_right"))
        for side in sides:
            key = (name if end in ("L", "R") else word, side)
            if key in points:
                points[key] = points[key] + np.asarray(by, float)
    return points


def body_of(shape: Floats) -> dict[tuple[str, str | None], Floats]:
    """The body, 1650 mm tall, that the statistical body's numbers describe, with its origin between the shoulder points."""
    found = body_shape().points_mm(shape)
    points = dict(zip(body_shape().keys, found, strict=True))
    middle = (points["shoulder_point", "wearer_left"] + points["shoulder_point", "wearer_right"]) / 2 * [1, 0, 1]
    return {key: point - middle for key, point in points.items()}


def outline(scale: Scale, view: View, shape: Floats, rows_px: Floats, turn_deg: float = 0.0, sd_px: float = 0.5) -> Outline:
    """Edges in the picture of a dressed body: its sections as polygons, drawn by OpenCV, the outermost of each row taken."""
    body = body_shape()
    heights = np.arange(body.heights_mm(shape)[0] + 1, body.heights_mm(shape)[-1] - 1, 4.0)
    around = np.radians(np.arange(0.0, 360.0, 1.5))
    strips = []
    for height in heights:
        s = body.support(np.full(len(around), height), around, shape, body.dressed_mm(shape, np.zeros(body.cloth_basis.shape[2])))
        x = s.mm * np.cos(around) - s.by_direction * np.sin(around)
        z = s.mm * np.sin(around) + s.by_direction * np.cos(around)
        strips.append(pixels(scale, view, np.column_stack([x, np.full(len(around), height), z]), turn_deg))
    seen = np.stack(strips)[::-1]  # from the top of the picture downwards
    columns = np.array([np.interp(rows_px, seen[:, i, 1], seen[:, i, 0], np.nan, np.nan) for i in range(len(around))])
    edges = np.stack([columns.min(axis=0), columns.max(axis=0)])
    return Outline(np.asarray(rows_px, float), edges, np.full(edges.shape, sd_px))


def pixels(scale: Scale, view: View, points_mm: Floats, turn_deg: float = 0.0) -> Floats:
    """Where OpenCV projects body-frame points when she stands turned by `turn_deg` in that view, shape (N, 2)."""
    angle = np.radians(NOMINAL[view] + turn_deg)
    turn = np.array([[np.cos(angle), 0, np.sin(angle)], [0, 1, 0], [-np.sin(angle), 0, np.cos(angle)]])
    stands = {"front": 15.0, "right": -133.0, "back": -15.0, "left": -133.0}[view]
    in_card = np.atleast_2d(points_mm) @ turn.T + [-500.0, -1120.0, stands]
    camera = scale.camera
    rotation, _ = cv2.Rodrigues(camera.rotation)
    seen, _ = cv2.projectPoints(in_card, rotation, camera.translation_mm, camera.matrix, camera.distortion)
    return np.asarray(seen).reshape(-1, 2)


def sightings(
    points: dict[tuple[str, str | None], Floats], scale: Scale, turns: dict[View, float], noise_px: float = 0.0
) -> list[Sighting]:
    """Pointer stickers at the usual points in four views."""
    random = np.random.default_rng(5)
    found = []
    for view, keys in SEEN_IN.items():
        for name, side in keys:
            lifted = points[name, side] + POINTER_OFF_MM[0] * body_points()[name, side].normal
            xy = pixels(scale, view, lifted, turns.get(view, 0.0))[0] + random.normal(0, noise_px, 2)
            found.append(Sighting(name, side, view, "marker", xy, max(noise_px, 0.3), kind="pointer"))
    return found
