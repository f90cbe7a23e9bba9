"""What one photo says about the body, as whitened rows of the joint adjustment: points seen, and where the outline touches her.

A pixel of the outline is a ray that touches the body. Seen from above it passes the body's axis at a distance that is the support
function of the section at that height, in the direction at right angles to the ray: exact for any perspective and turn, but for rays
that climb along a sloping side (under 0.2 mm at 3 m).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fitcheck.body.parameters import VIEW_PARAMETERS, Columns, Rows
from fitcheck.body.shape import Support
from fitcheck.body.sticker_size import SIDE_MM, SIDE_SD, SIDE_SD_PX, side_px
from fitcheck.body.undistort import undistorted
from fitcheck.body.wild import doubted, huber
from fitcheck.core.camera import Scale
from fitcheck.core.evidence import Evidence
from fitcheck.core.outline import Outline
from fitcheck.core.records import Floats, Sighting, View, X, Y, Z
from fitcheck.core.solution import PointKey, ViewPlacement

NOMINAL_TURN_DEG: dict[View, float] = {"front": 0.0, "right": 90.0, "back": 180.0, "left": -90.0}
STICKER_PLACED_SD_MM = 0.7  # how well a sticker is stuck on its point; estimate
NOT_SEEN_PX = 1e4  # standard deviation of a coordinate that a sighting does not tell: larger than any picture
NEAREST_MM = 200.0  # to the camera, for points that are led behind it for a while
STEP, STEP_MM = 1e-6, 0.01  # of radians and shares, and of lengths, for slopes
CLOTH_SD_MM = 1.0  # how far cloth strays from how the model drapes it, beside what the model leaves over; as POINT_SD_MM in adjust.py
# Levels (`body.shape.KNOTS`) at which the outline is not the trunk's: seen from front or back the upper arm's up to the end of the
# shoulder, from the side the chin's above the pit of the neck.
ARM_LEVELS, CHIN_LEVEL = (3.3, 3.86), 4.08
EDGE_ON = 0.7  # cosine between outline and a sticker's normal from which on the paper is the outline: 3 mm outside the cloth on our scenes


Poses = tuple[Floats, Floats, Floats]


@dataclass(frozen=True, slots=True)
class Touch:
    """M rays before P poses, shapes (P, M): distance from the body's axis, height where they touch, direction; and their sense, (M,)."""

    distance: Floats
    height: Floats
    direction: Floats
    sense: Floats


@dataclass(frozen=True, slots=True)
class _Places:
    """The parameters that take part in some rows, and which of them are each point's own (M, 3), how far its sticker stands off (M,; 0
    where it has none) and the view's pose."""

    columns: NDArray[np.intp]
    own: NDArray[np.intp]
    off: NDArray[np.intp]
    pose: NDArray[np.intp]


class ViewRows:
    """The sightings and the outline of one view, linearised."""

    def __init__(self, columns: Columns, view: View, evidence: Evidence, papers: Mapping[PointKey, float]) -> None:
        """Take what `evidence` holds of this view; `papers` says how far above and below its point a sticker lies on the outline, mm."""
        self.columns, self.view, self.scale = columns, view, evidence.scales[view]
        self.coarse_px = evidence.coarse_px.get(view, 0.0)
        sightings = [s for s in (*evidence.sightings, *evidence.paper_edges) if s.view == view]
        self.paper_faces = np.array([columns.normals[key][[X, Z]] for key in papers]).reshape(-1, 2).T
        self.paper_heights = np.array([3 * columns.number[key] + Y for key in papers], int)
        self.paper_reach = np.array(list(papers.values()))
        self.to_camera = self.scale.camera.rotation @ _aligned(self.scale)
        own = columns.views[view]
        self.pose_columns = np.array([*range(own, own + VIEW_PARAMETERS), columns.print_scale, columns.focal])
        self.outline_columns = np.array([*self.pose_columns, columns.stature, columns.ease, *columns.model])
        self.steps = np.array([STEP] * 3 + [STEP_MM] * 3 + [STEP] * 2)
        self._points(sightings)
        self._sides(() if evidence.sticker_share is None else sightings, evidence.sticker_share or 1.0)
        self._edges(evidence.outlines.get(view))

    def _points(self, sightings: Sequence[Sighting]) -> None:
        columns = self.columns
        self.pixels = undistorted(self.scale.camera, np.array([s.xy_px for s in sightings], float))
        self.numbers = np.array([columns.number[s.name, s.side] for s in sightings])
        self.normals = np.zeros((len(sightings), 3))
        self.off_columns = np.full(len(sightings), -1)
        placed, self.sources = [], []
        for i, s in enumerate(sightings):
            key = (s.name, s.side)
            if key in columns.stand_off:
                self.normals[i], self.off_columns[i] = columns.normals[key], columns.stand_off[key]
            stuck = STICKER_PLACED_SD_MM if s.grade in ("marker", "dot") and key in columns.normals else 0.0
            placed.append(np.hypot(s.sd_mm, stuck) / self.scale.mm_per_px)
            self.sources += ["definition" if placed[-1] > s.sd_px else "pixel"] * 2
        self.sd = np.repeat(np.hypot(np.hypot([s.sd_px for s in sightings], placed), self.coarse_px), 2)
        self.point_places = self._places(np.arange(len(sightings)))
        for i, s in enumerate(sightings):
            if s.kind in ("outline_top", "outline_bottom"):  # where across head or foot it is highest or lowest was not seen
                self.sd[2 * i] = NOT_SEEN_PX
            if s.kind == "edge_on":  # how high its paper lies the outline does not tell
                self.sd[2 * i + 1] = NOT_SEEN_PX
        self.edge_on = np.repeat([s.kind == "edge_on" for s in sightings], 2)

    def _sides(self, sightings: Sequence[Sighting], share: float) -> None:
        sides = {i: side for i, s in enumerate(sightings) if (side := side_px(s, self.scale)) is not None}
        self.sized, sides_px = np.array(list(sides), int), np.array(list(sides.values()))
        self.size_sources = ["scale"] * len(sides)
        self.size_places = self._places(self.sized, self.columns.sticker)
        self.log_sides, self.log_sides_sd = np.log(sides_px / (share * SIDE_MM)), np.hypot(SIDE_SD, SIDE_SD_PX / sides_px)

    def _places(self, which: NDArray[np.intp], *besides: int) -> _Places:
        """Of rows about some of the points seen, in which besides the view's pose other parameters may take part."""
        own, off = 3 * self.numbers[which, None] + np.arange(3), self.off_columns[which]
        columns = np.unique([*own.ravel(), *off[off >= 0], *self.pose_columns, *besides])
        return _Places(columns, *(np.searchsorted(columns, numbers) for numbers in (own, off, self.pose_columns)))

    def _edges(self, outline: Outline | None) -> None:
        side, row = np.nonzero(np.isfinite(outline.edges_px)) if outline else (np.zeros(0, int), np.zeros(0, int))
        self.outwards = np.where(side == 1, 1.0, -1.0)
        if outline and len(side):
            self.edges = undistorted(self.scale.camera, np.column_stack([outline.edges_px[side, row], outline.rows_px[row]]))
            self.edge_sd_mm = np.hypot(outline.sds_px[side, row], self.coarse_px) * self.scale.mm_per_px
        else:
            self.edges, self.edge_sd_mm = np.zeros((0, 2)), np.zeros(0)

    def _world(self, x: Floats) -> Floats:
        off = np.where(self.off_columns >= 0, x[self.off_columns], 0.0)
        return np.asarray(x[: 3 * len(self.columns.number)].reshape(-1, 3)[self.numbers] + off[:, None] * self.normals)

    def poses(self, x: Floats) -> Poses:
        """Rotations (P, 3, 3) and translations (P, 3), body to camera, and focal lengths (P, 2).

        First as the parameters say; then with each of the view's parameters, the print scale and the focal length moved by its step.
        """
        pose = x[self.pose_columns] + np.vstack([np.zeros(len(self.steps)), np.diag(self.steps)])
        turn, forward, sideways = pose[:, :3].T
        camera = self.scale.camera
        rotation = self.to_camera @ _rotation_y(np.radians(NOMINAL_TURN_DEG[self.view]) + turn) @ _lean(forward, sideways)
        lens = 1 + pose[:, VIEW_PARAMETERS + 1]
        card = camera.translation_mm * (1 + pose[:, VIEW_PARAMETERS, None]) * np.column_stack([np.ones((len(pose), 2)), lens])
        return rotation, pose[:, 3:VIEW_PARAMETERS] @ self.to_camera.T + card, np.diag(camera.matrix)[:2] * lens[:, None]

    def placement(self, x: Floats) -> ViewPlacement:
        """How she stands before this camera."""
        rotation, translation, focal = (found[0] for found in self.poses(x))
        matrix = self.scale.camera.matrix.copy()
        matrix[0, 0], matrix[1, 1] = focal
        return ViewPlacement(rotation, translation, matrix)

    def start_mm(self, x: Floats) -> Floats:
        """Place of the body such that its points, moved to the card's depth, fall where they are seen."""
        to_camera = self.to_camera
        rays = _rays(self.pixels, self.scale.camera.matrix, np.diag(self.scale.camera.matrix)[:2])
        rays, centre = rays @ to_camera, -self.scale.camera.translation_mm @ to_camera
        hits = centre - rays * (centre[2] / rays[:, 2])[:, None]
        model = self._world(x) @ _rotation_y(np.radians(np.array([NOMINAL_TURN_DEG[self.view]])))[0].T
        return np.asarray(np.median(hits - model * [1, 1, 0], axis=0))

    def point_rows(self, x: Floats, poses: Poses) -> Rows:
        """Where the points are seen: 2 rows each."""
        rotations, translations, focals = poses
        world = self._world(x)
        cameras = world @ rotations.transpose(0, 2, 1) + translations[:, None]
        seen_from = cameras[..., :2] / cameras[..., 2:] * focals[:, None] + self.scale.camera.matrix[:2, 2]
        rotation, focal, camera, seen = rotations[0], focals[0], cameras[0], seen_from[0]
        n = len(world)
        by_camera = np.zeros((n, 2, 3))
        by_camera[:, 0, 0] = focal[0] / camera[:, 2]
        by_camera[:, 1, 1] = focal[1] / camera[:, 2]
        by_camera[:, :, 2] = -(seen - self.scale.camera.matrix[:2, 2]) / camera[:, 2:]
        by_point = by_camera @ rotation
        places = self.point_places
        jacobian = np.zeros((n, 2, len(places.columns)))
        jacobian[np.arange(n)[:, None], :, places.own] = by_point.transpose(0, 2, 1)
        at = np.flatnonzero(self.off_columns >= 0)
        jacobian[at, :, places.off[at]] = np.einsum("nij,nj->ni", by_point, self.normals)[at]
        jacobian[:, :, places.pose] = ((seen_from[1:] - seen) / self.steps[:, None, None]).transpose(1, 2, 0)
        return Rows(places.columns, jacobian.reshape(2 * n, -1) / self.sd[:, None], (self.pixels - seen).ravel() / self.sd)

    def point_weights(self, residuals: Floats) -> Floats:
        """Weights of the rows of `point_rows` (2 N,): an edge far off is an arm's or a hand's, as on the outline."""
        return np.where(self.edge_on, doubted(residuals), huber(residuals))

    def size_rows(self, x: Floats, poses: Poses) -> Rows:
        """How large the stickers look: one row each, of the logarithm of pixels to the millimetre."""
        rotations, translations, focals = poses
        places, normals = self.size_places, self.normals[self.sized]
        # a point that is not hers may for a while be led behind the camera
        depths = np.maximum(self._world(x)[self.sized] @ rotations[:, 2].T + translations[:, 2], NEAREST_MM)  # (M, P)
        seen = np.log(focals[:, 0] / depths)
        jacobian, every = np.zeros((len(depths), len(places.columns))), np.arange(len(depths))
        by_point = -rotations[0, 2] / depths[:, :1]
        jacobian[every[:, None], places.own] = by_point
        jacobian[every, places.off] = (by_point * normals).sum(1)
        jacobian[:, places.pose] = (seen[:, 1:] - seen[:, :1]) / self.steps
        jacobian[:, np.searchsorted(places.columns, self.columns.sticker)] = 1.0
        residual = self.log_sides - seen[:, 0] - x[self.columns.sticker]
        return Rows(places.columns, jacobian / self.log_sides_sd[:, None], residual / self.log_sides_sd)

    def outline_rows(self, x: Floats, touch: Touch, s: Support) -> tuple[Rows, Floats]:
        """Where the outline touches the body: one row for each edge; and how far beyond the body's axis, (M,).

        Parameters
        ----------
        x : ndarray, shape (P,)
        touch : Touch
            As `touching` gave it at `x`.
        s : Support
            Of the body at `x`, at the heights and in the directions of `touch`.
        """
        c, size = self.columns, x[self.columns.stature]
        distance, height, direction = touch.distance[0], touch.height[0], touch.direction[0]
        # in units of the model's size, as pixels are: in millimetres a smaller body would seem to fit better
        residual = (distance - s.worn * x[c.ease]) / size - s.mm
        by_place = (s.by_height * (touch.height - height) - (touch.distance - distance)) / size
        by_pose = (by_place + s.by_direction * (touch.direction - direction))[1:] / self.steps[:, None]
        by_size = (distance - s.worn * x[c.ease] - s.by_height * height) / size**2
        jacobian = np.column_stack([by_pose.T, by_size, s.worn / size, s.by_shape, s.by_cloth])
        sd = np.sqrt(self.edge_sd_mm**2 + s.sd_mm**2 + (CLOTH_SD_MM * s.worn) ** 2)
        weight = (s.inside & ~self._not_trunk(s.level, direction) & ~self._paper(height, direction, x)) / sd
        return Rows(self.outline_columns, jacobian * weight[:, None], residual * weight), size * s.by_direction * touch.sense

    def _not_trunk(self, level: Floats, direction: Floats) -> NDArray[np.bool_]:
        """Which edges are an arm's or the chin's."""
        if self.view in ("front", "back"):
            return np.asarray((level > ARM_LEVELS[0]) & (level < ARM_LEVELS[1]))
        return np.asarray((level > CHIN_LEVEL) & (np.sin(direction) > 0))

    def _paper(self, height: Floats, direction: Floats, x: Floats) -> NDArray[np.bool_]:
        """Which edges are those of a sticker seen edge-on, wherever it was seen itself."""
        edge_on = np.column_stack([np.cos(direction), np.sin(direction)]) @ self.paper_faces > EDGE_ON
        near = np.abs(height[:, None] - x[self.paper_heights]) < self.paper_reach
        return np.asarray((edge_on & near).any(axis=1))

    def touching(self, poses: Poses, depth: Floats | None = None) -> Touch:
        """Each edge's ray against the body's axis, where it touches `depth` (M,) mm beyond it.

        How far beyond it touches hardly changes from round to round: that of the round before, if there was one, is taken for it.
        """
        depth = np.zeros(len(self.outwards)) if depth is None else depth
        rotations, translations, focals = poses
        eyes = -np.einsum("pij,pi->pj", rotations, translations)
        pixels = (self.edges - self.scale.camera.matrix[:2, 2]) / focals[:, None]
        rays = np.concatenate([pixels, np.ones((*pixels.shape[:2], 1))], axis=2) @ rotations
        flat = np.hypot(rays[..., X], rays[..., Z])
        along_x, along_z = rays[..., X] / flat, rays[..., Z] / flat
        right = rotations[:, 0]  # image right, seen from above
        side = np.sign(along_z * right[:, None, X] - along_x * right[:, None, Z]) * self.outwards
        out_x, out_z = along_z * side, -along_x * side
        height = eyes[:, None, Y] + rays[..., Y] / flat * (depth - along_x * eyes[:, None, X] - along_z * eyes[:, None, Z])
        # the derivative of the outward direction by its angle is the ray's own direction, but for this sign
        sense = np.sign(out_x[0] * along_z[0] - out_z[0] * along_x[0])
        return Touch(out_x * eyes[:, None, X] + out_z * eyes[:, None, Z], height, np.arctan2(out_z, out_x), sense)


def _rays(pixels: Floats, matrix: Floats, focal: Floats) -> Floats:
    """Directions (N, 3) of pixels in the camera frame."""
    return np.column_stack([(pixels - matrix[:2, 2]) / focal, np.ones(len(pixels))])


def _aligned(scale: Scale) -> Floats:
    """Rotation (3, 3) to the card frame from the plumb frame that squarely faces the camera, so that turns are against the camera."""
    forward = scale.camera.rotation[2]  # optical axis in the card frame
    z = -forward * [1, 0, 1]
    z = z / np.linalg.norm(z)
    return np.column_stack([np.cross([0.0, 1.0, 0.0], z), [0.0, 1.0, 0.0], z])


def _rotation_y(angles: Floats) -> Floats:
    """Rotations (P, 3, 3) about the upright."""
    c, s, o, i = np.cos(angles), np.sin(angles), np.zeros_like(angles), np.ones_like(angles)
    return np.array([c, o, s, o, i, o, -s, o, c]).T.reshape(-1, 3, 3)


def _lean(forward: Floats, sideways: Floats) -> Floats:
    """Small rotations (P, 3, 3) about the body's z axis (top to her right), then about its x axis (top forward)."""
    o = np.zeros_like(forward)
    cx, sx, cz, sz = np.cos(forward), np.sin(forward), np.cos(sideways), np.sin(sideways)
    return np.array([cz, -sz, o, cx * sz, cx * cz, -sx, sx * sz, sx * cz, cx]).T.reshape(-1, 3, 3)
