"""All photos of a fitting solved together: where the points of body and garment lie, and how she stands in each photo.

Unknown are the points (body frame), per view the turn, the lean and the place of the body, and, shared by all views, the stature, the
print scale of the card, the focal length and how far each sticker stands off the skin. Everything known about them enters as
whitened rows of one least-squares problem (Gauss-Newton): where points are seen, the usual body proportions, the symmetry of a
body, the card hanging plumb and staying where it is. A point seen in one view only gets its depth from the proportions, and an
uncertainty to match. Method: bundle adjustment with weak priors (Triggs et al. 2000, "Bundle Adjustment - A Modern
Synthesis"); robust weights after Huber (1964), and
Geman-McClure weights on what is known beforehand.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import cv2
import numpy as np

from fitcheck.body.proportions import body_points
from fitcheck.core.errors import NothingMeasuredError
from fitcheck.core.records import Floats, Scale, Sighting, View
from fitcheck.core.solution import PointKey, Solution, Tie, ViewPlacement

NOMINAL_TURN_DEG: dict[View, float] = {"front": 0.0, "right": 90.0, "back": 180.0, "left": -90.0}

TURN_SD_DEG = 2.0  # feet on a taped line, common practice; estimate
LEAN_SD_DEG = 0.4  # sway while standing still; estimate
CARD_HEIGHT_SD_MM = 4.0  # the card stays where it is between the photos
STATURE_SD = 0.05
STATURES = (0.55, 1.35)  # of the table's 1650 mm: no grown person is outside
# She stands with the side seam (in side views the nearer one) at the depth of the card, so the middle of the body lies this far before it.
STANDS_AT_MM: dict[View, float] = {"front": 15.0, "right": -133.0, "back": -15.0, "left": -133.0}
STANDS_SD_MM = 50.0  # how well that is followed; estimate
ANYWHERE_MM = 5000.0
SYMMETRY_SD_MM = np.array([5.0, 12.0, 5.0])  # left against right; |L-R| acromion height 8.8 (10.5) mm, Anthropometry 1.20
MIDLINE_SD_MM = 3.0
STICKER_PLACED_SD_MM = 0.7  # how well a sticker is stuck on its point; estimate
NOT_SEEN_PX = 1e4
POINTER_OFF_MM = (4.0, 2.0)  # a pointer's tip lies on paper, on cloth, above the skin; measured on our draped scenes
HUBER = 3.0
REDESCEND = 3.5  # what is known beforehand counts less the more it is contradicted
HELD, SQUARE_ROUNDS = 8.0, 3
ROUNDS = 20
STEP_STOP = 0.01
VIEW_PARAMETERS = 6  # turn, lean forward, lean sideways (radians), x, y, z (mm)


@dataclass(frozen=True, slots=True)
class _Row:
    columns: tuple[int, ...]
    factors: tuple[float, ...]
    target: float
    sd: float
    source: str
    wild: bool  # whether it may be plainly wrong: a sticker on another spot, an unusual body


def adjust(scales: Mapping[View, Scale], sightings: Sequence[Sighting], ties: Sequence[Tie] = ()) -> Solution:
    """Solve all views of a fitting together.

    Parameters
    ----------
    scales : mapping of view to Scale
        Views without one are left out.
    sightings : sequence of Sighting
        Of body points (`landmarks.toml`) and of garment points named in `ties`.
    ties : sequence of Tie

    Returns
    -------
    Solution

    Raises
    ------
    NothingMeasuredError
        Fewer than three points are seen in every view with a scale, or no body of a person's size fits what is seen.
    """
    usable = [s for s in sightings if s.view in scales]
    views = tuple(view for view in scales if sum(s.view == view for s in usable) >= 3)
    if not views:
        raise _not_placed()
    return _Problem(scales, views, [s for s in usable if s.view in views], ties).solve()


def _solved(normal: Floats, right: Floats) -> Floats:
    """normal^-1 right; NothingMeasuredError where what is seen contradicts itself so much that there is no answer."""
    try:
        found = np.linalg.solve(normal, right)
    except np.linalg.LinAlgError:
        raise _not_placed() from None
    if not np.isfinite(found).all():
        raise _not_placed()
    return np.asarray(found, np.float64)


def _not_placed() -> NothingMeasuredError:
    return NothingMeasuredError(
        "Neither stickers nor body could be placed in any photo that has a scale.",
        "Take the photos again with the whole body and the scale card in view.",
    )


class _Problem:
    def __init__(self, scales: Mapping[View, Scale], views: Sequence[View], sightings: Sequence[Sighting], ties: Sequence[Tie]) -> None:
        self.table = body_points()
        self.views = tuple(views)
        self.keys: tuple[PointKey, ...] = (*self.table, *dict.fromkeys(tie.point for tie in ties if tie.point not in self.table))
        self.number = {key: i for i, key in enumerate(self.keys)}
        self.sightings = [s for s in sightings if (s.name, s.side) in self.number]
        self.scales = scales
        points = 3 * len(self.keys)
        self.view_column = {view: points + VIEW_PARAMETERS * i for i, view in enumerate(self.views)}
        self.stature, self.print_scale, self.focal = (points + VIEW_PARAMETERS * len(self.views) + i for i in range(3))
        self.stand_off: dict[PointKey, int] = {}
        self.usual_off: dict[PointKey, tuple[float, float]] = {}
        for s in self.sightings:
            if s.grade in ("marker", "dot") and (s.name, s.side) in self.table:
                self.stand_off.setdefault((s.name, s.side), self.focal + 1 + len(self.stand_off))
                self.usual_off[s.name, s.side] = POINTER_OFF_MM if s.kind == "pointer" else self.table[s.name, s.side].stand_off_mm
        self.size = self.focal + 1 + len(self.stand_off)
        self.aligned = {view: _aligned(scales[view]) for view in self.views}
        self.blocks = [_ViewBlock(self, view) for view in self.views]
        self.tied = list(ties)
        self.fixed = self._prior_rows()

    def solve(self) -> Solution:
        x = self._start()
        prior, target, sources = self._prior_matrix()
        held = np.array([HELD if row.source in ("turn", "plumb") else 1.0 for row in self.fixed])
        wild = np.array([row.wild for row in self.fixed])
        for turn in range(ROUNDS):
            residual = target - prior @ x
            # at first she is taken to stand squarely, so that a sticker on another spot is not explained by a turn
            weight = held if turn < SQUARE_ROUNDS else np.where(wild, 1 / (1 + (residual / REDESCEND) ** 2), 1.0)
            rows, residuals = [prior * weight[:, None]], [residual * weight]
            for block in self.blocks:
                jacobian, residual = block.linearise(x)
                weight = np.minimum(1.0, HUBER / np.maximum(np.abs(residual), 1e-9)) ** 0.5 if turn > 1 else np.ones(len(residual))
                rows.append(jacobian * weight[:, None])
                residuals.append(residual * weight)
            design, residual = np.concatenate(rows), np.concatenate(residuals)
            step = _solved(design.T @ design, design.T @ residual)
            x = x + step
            if np.abs(step).max() < STEP_STOP and turn > SQUARE_ROUNDS:
                break
        for block in self.blocks:
            sources = sources + block.sources
        inverse_normal = _solved(design.T @ design, np.eye(self.size))
        # a picture that is no fitting may lead the body anywhere, also behind the camera
        if not STATURES[0] < x[self.stature] < STATURES[1] or (np.diag(inverse_normal) < 0).any():
            raise _not_placed()
        return Solution(
            keys=self.keys,
            positions_mm=x[: 3 * len(self.keys)].reshape(-1, 3),
            rows=design,
            row_sources=tuple(sources),
            inverse_normal=inverse_normal,
            views={block.view: block.placement(x) for block in self.blocks},
            turn_columns=dict(self.view_column),
            parameters=x,
        )

    def _start(self) -> Floats:
        x = np.zeros(self.size)
        x[self.stature] = 1.0
        for key, point in self.table.items():
            x[3 * self.number[key] :][:3] = point.position_mm
            if key in self.stand_off:
                x[self.stand_off[key]] = self.usual_off[key][0]
        for tie in self.tied:
            x[3 * self.number[tie.point] :][:3] = x[3 * self.number[tie.anchor] :][:3] + tie.offset_mm
        for block in self.blocks:
            x[self.view_column[block.view] + 3 :][:3] = block.start_mm(x)
        return x

    def _prior_rows(self) -> list[_Row]:
        rows: list[_Row] = []

        def add(columns: Sequence[int], factors: Sequence[float], target: float, sd: float, source: str, wild: bool = False) -> None:
            rows.append(_Row(tuple(columns), tuple(factors), target, sd, source, wild))

        for key, point in self.table.items():
            for axis in range(3):
                column = 3 * self.number[key] + axis
                add((column, self.stature), (1.0, -point.position_mm[axis]), 0.0, point.spread_mm[axis], "depth", True)
            if point.side == "wearer_left":
                other = self.number[point.name, "wearer_right"]
                for axis, sd in enumerate(SYMMETRY_SD_MM):
                    add((3 * self.number[key] + axis, 3 * other + axis), (1.0, 1.0 if axis == 0 else -1.0), 0.0, sd, "symmetry", True)
            if point.side is None:
                add((3 * self.number[key],), (1.0,), 0.0, MIDLINE_SD_MM, "symmetry", True)
            if key in self.stand_off:
                add((self.stand_off[key],), (1.0,), *self.usual_off[key], "definition")
        shoulders = [3 * self.number["shoulder_point", side] for side in ("wearer_left", "wearer_right")]
        for axis in (0, 2):  # the origin lies between the shoulder points
            add([c + axis for c in shoulders], (0.5, 0.5), 0.0, 0.05, "frame")
        for tie in self.tied:
            for axis in range(3):
                columns = (3 * self.number[tie.point] + axis, 3 * self.number[tie.anchor] + axis)
                add(columns, (1.0, -1.0), float(tie.offset_mm[axis]), float(tie.sd_mm[axis]), "depth", True)
        add((self.stature,), (1.0,), 1.0, STATURE_SD, "depth")
        scales = [self.scales[view] for view in self.views]
        add((self.print_scale,), (1.0,), 0.0, max(s.scale_sd for s in scales), "scale")
        add((self.focal,), (1.0,), 0.0, max(s.focal_sd for s in scales), "focal")
        first = self.view_column[self.views[0]]
        for view in self.views:
            column = self.view_column[view]
            add((column,), (1.0,), 0.0, np.radians(TURN_SD_DEG), "turn")
            plumb = float(np.hypot(LEAN_SD_DEG, self.scales[view].plumb_sd_deg))
            for lean in (1, 2):
                add((column + lean,), (1.0,), 0.0, np.radians(plumb), "plumb")
            add((column + 3,), (1.0,), 0.0, ANYWHERE_MM, "depth")
            add((column + 5,), (1.0,), STANDS_AT_MM[view], float(np.hypot(STANDS_SD_MM, self.scales[view].depth_sd_mm)), "depth")
            if column != first:
                add((column + 4, first + 4), (1.0, -1.0), 0.0, CARD_HEIGHT_SD_MM, "scale")
        return rows

    def _prior_matrix(self) -> tuple[Floats, Floats, list[str]]:
        matrix, target = np.zeros((len(self.fixed), self.size)), np.zeros(len(self.fixed))
        for i, row in enumerate(self.fixed):
            matrix[i, list(row.columns)] = np.array(row.factors) / row.sd
            target[i] = row.target / row.sd
        return matrix, target, [row.source for row in self.fixed]


class _ViewBlock:
    """The sightings of one view, linearised."""

    def __init__(self, problem: _Problem, view: View) -> None:
        self.problem, self.view, self.scale = problem, view, problem.scales[view]
        chosen = [s for s in problem.sightings if s.view == view]
        camera = self.scale.camera
        pixels = np.array([s.xy_px for s in chosen], float).reshape(-1, 1, 2)
        self.pixels = cv2.undistortPoints(pixels, camera.matrix, camera.distortion, P=camera.matrix).reshape(-1, 2)
        self.points = [problem.number[s.name, s.side] for s in chosen]
        self.normals = np.zeros((len(chosen), 3))
        self.off_columns = np.full(len(chosen), -1)
        placed, self.sources = [], []
        for i, s in enumerate(chosen):
            key = (s.name, s.side)
            if key in problem.stand_off:
                self.normals[i], self.off_columns[i] = problem.table[key].normal, problem.stand_off[key]
            stuck = STICKER_PLACED_SD_MM if s.grade in ("marker", "dot") and key in problem.table else 0.0
            placed.append(np.hypot(s.sd_mm, stuck) / self.scale.mm_per_px)
            self.sources += ["definition" if placed[-1] > s.sd_px else "pixel"] * 2
        self.sd = np.repeat(np.hypot([s.sd_px for s in chosen], placed), 2)
        for i, s in enumerate(chosen):
            if s.kind == "outline":  # its height was chosen, not seen
                self.sd[2 * i + 1] = NOT_SEEN_PX
            elif s.kind == "outline_top":
                self.sd[2 * i] = NOT_SEEN_PX

    def _world(self, x: Floats) -> Floats:
        off = np.where(self.off_columns >= 0, x[self.off_columns], 0.0)
        return np.asarray(x[: 3 * len(self.problem.keys)].reshape(-1, 3)[self.points] + off[:, None] * self.normals)

    def _pose(self, x: Floats) -> tuple[Floats, Floats, Floats]:
        """Rotation and translation, body to camera, and focal lengths, as the parameters say."""
        turn, forward, sideways, *place = x[self.problem.view_column[self.view] :][:VIEW_PARAMETERS]
        camera = self.scale.camera
        to_camera = camera.rotation @ self.problem.aligned[self.view]
        rotation = to_camera @ _rotation_y(np.radians(NOMINAL_TURN_DEG[self.view]) + turn) @ _lean(forward, sideways)
        translation = to_camera @ np.array(place) + camera.translation_mm * (1 + x[self.problem.print_scale]) * np.array(
            [1, 1, 1 + x[self.problem.focal]]
        )
        return rotation, translation, np.diag(camera.matrix)[:2] * (1 + x[self.problem.focal])

    def placement(self, x: Floats) -> ViewPlacement:
        rotation, translation, focal = self._pose(x)
        matrix = self.scale.camera.matrix.copy()
        matrix[0, 0], matrix[1, 1] = focal
        return ViewPlacement(rotation, translation, matrix)

    def start_mm(self, x: Floats) -> Floats:
        """Place of the body such that its points, moved to the card's depth, fall where they are seen."""
        to_camera = self.scale.camera.rotation @ self.problem.aligned[self.view]
        rays = np.column_stack(
            [(self.pixels - self.scale.camera.matrix[:2, 2]) / np.diag(self.scale.camera.matrix)[:2], np.ones(len(self.pixels))]
        )
        rays, centre = rays @ to_camera, -self.scale.camera.translation_mm @ to_camera
        hits = centre - rays * (centre[2] / rays[:, 2])[:, None]
        model = self._world(x) @ _rotation_y(np.radians(NOMINAL_TURN_DEG[self.view])).T
        return np.asarray(np.median(hits - model * [1, 1, 0], axis=0))

    def linearise(self, x: Floats) -> tuple[Floats, Floats]:
        """Whitened Jacobian, shape (2 n, P), and residuals, shape (2 n,)."""
        problem = self.problem
        rotation, translation, focal = self._pose(x)
        world = self._world(x)
        camera = world @ rotation.T + translation
        seen = self._to_pixels(camera, focal)
        n = len(world)
        by_camera = np.zeros((n, 2, 3))
        by_camera[:, 0, 0] = focal[0] / camera[:, 2]
        by_camera[:, 1, 1] = focal[1] / camera[:, 2]
        by_camera[:, :, 2] = -(seen - self.scale.camera.matrix[:2, 2]) / camera[:, 2:]
        by_point = by_camera @ rotation
        jacobian = np.zeros((2 * n, problem.size))
        for i, number in enumerate(self.points):
            jacobian[2 * i : 2 * i + 2, 3 * number : 3 * number + 3] = by_point[i]
            if self.off_columns[i] >= 0:
                jacobian[2 * i : 2 * i + 2, self.off_columns[i]] = by_point[i] @ self.normals[i]
        column = problem.view_column[self.view]
        for parameter in (*range(column, column + VIEW_PARAMETERS), problem.print_scale, problem.focal):
            moved = x.copy()
            step = 0.01 if column + 3 <= parameter < column + VIEW_PARAMETERS else 1e-6
            moved[parameter] += step
            r, t, f = self._pose(moved)
            jacobian[:, parameter] = ((self._to_pixels(world @ r.T + t, f) - seen) / step).ravel()
        return jacobian / self.sd[:, None], (self.pixels - seen).ravel() / self.sd

    def _to_pixels(self, camera: Floats, focal: Floats) -> Floats:
        return np.asarray(camera[:, :2] / camera[:, 2:] * focal + self.scale.camera.matrix[:2, 2])


def _aligned(scale: Scale) -> Floats:
    """Rotation (3, 3) to the card frame from the plumb frame that squarely faces the camera, so that turns are against the camera."""
    forward = scale.camera.rotation[2]  # optical axis in the card frame
    z = -forward * [1, 0, 1]
    z = z / np.linalg.norm(z)
    return np.column_stack([np.cross([0.0, 1.0, 0.0], z), [0.0, 1.0, 0.0], z])


def _rotation_y(angle: float) -> Floats:
    c, s = np.cos(angle), np.sin(angle)
    return np.array([[c, 0, s], [0, 1, 0], [-s, 0, c]])


def _lean(forward: float, sideways: float) -> Floats:
    """Small rotations about the body's x axis (top forward) and z axis (top to her right)."""
    cx, sx, cz, sz = np.cos(forward), np.sin(forward), np.cos(sideways), np.sin(sideways)
    about_x = np.array([[1, 0, 0], [0, cx, -sx], [0, sx, cx]])
    about_z = np.array([[cz, -sz, 0], [sz, cz, 0], [0, 0, 1]])
    return np.asarray(about_x @ about_z)
