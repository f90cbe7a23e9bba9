"""All photos of a fitting solved together: where the points of body and garment lie, and how she stands in each photo.

Unknown are the points (body frame), per view the turn, the lean and the place of the body, and, shared by all views, the numbers of the
statistical body (`body.shape`), the stature, the ease of the garment, the print scale of the card, the focal length and how far each
sticker stands off the skin. Everything known about them enters as whitened rows of one least-squares problem (Gauss-Newton): where
points are seen, where the outlines touch the body, how the points of a body lie together, the card hanging plumb and staying where it
is. Front, side and back agree because one body explains them all. Method: bundle adjustment with weak priors (Triggs et al. 2000,
"Bundle Adjustment - A Modern Synthesis"); robust weights after Huber (1964), and Geman-McClure weights on what is known beforehand.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np

from fitcheck.body.parameters import SHARED_PARAMETERS, VIEW_PARAMETERS, Rows, number_parameters
from fitcheck.body.point_table import body_points
from fitcheck.body.prior_rows import known, tied
from fitcheck.body.shape import BodyShape, Support, body_shape
from fitcheck.body.view_rows import Touch, ViewRows
from fitcheck.body.wild import capped, doubted, huber, strain, weighted
from fitcheck.core.errors import NothingMeasuredError
from fitcheck.core.evidence import Evidence
from fitcheck.core.records import OUTWARDS, Floats, Sighting, View
from fitcheck.core.solution import PointKey, Solution

STATURES = (0.55, 1.35)  # of 1650 mm: no grown person is outside
# Beside what the model leaves over, of a point nobody marked about the model's; of a marked one; how far aside of the midline. Set on 38
# draped fittings in any stance so that doubts are as large as errors, and checked on 60 others.
POINT_SD_MM, FELT_SD_MM, MIDLINE_SD_MM = (0.7, 0.7, 2.0), 1.0, 1.0
ASIDE = 0.3  # cosine to her side from which on an outline lies beside the middle, where beside a half tissue nothing of it is (17 degrees)
POINTER_OFF_MM = (4.0, 2.0)  # a pointer's tip lies on paper, on cloth, above the skin; measured on our draped scenes
PAPER_MM, DOT_MM = 17.0, 10.0  # so far above and below its point a sticker or dot lies on the outline
FEWEST_POINTS = 3  # of a view that is solved for
LONGEST_STEP_MM = 50000.0  # of a round; no room is so large, and longer steps lead nowhere
STRAYED, MOST_STRAYED = 12.0, 0.4  # standard deviations, and the share of points that far off that is no body any more; estimate
HELD, SQUARE_ROUNDS = 8.0, 3  # how much more turns and leans are held at first, and for how many rounds; estimate
ALIKE = 2.0  # neighbouring rows of an outline stray alike: in the misfit so many count as one
ROUNDS = 20  # a fitting takes 4 to 6
STEP_STOP = 0.3  # standard deviations, all unknowns together


def adjust(evidence: Evidence, before: Solution | None = None) -> Solution:
    """Solve all views of a fitting together.

    Parameters
    ----------
    evidence : Evidence
    before : Solution, optional
        Of the same fitting with less to go by, or with other points placed: where to start from.

    Returns
    -------
    Solution

    Raises
    ------
    NothingMeasuredError
        Fewer than three points are seen in every view with a scale, or no body of a person's size fits what is seen.
    """
    return _posed(evidence).solve(before)


def misfit(evidence: Evidence, before: Solution) -> float:
    """`Solution.misfit` of `adjust`, without all else that a solution holds."""
    return _posed(evidence).settled(before)[1].misfit


def foretold_misfit(evidence: Evidence, before: Solution) -> float:
    """What `misfit` will be, as its first round foretells: in a quarter of the time."""
    return _posed(evidence).foretold(before)


def _posed(evidence: Evidence) -> "_Problem":
    usable = [s for s in evidence.sightings if s.view in evidence.scales]
    views = tuple(view for view in evidence.scales if sum(s.view == view for s in usable) >= FEWEST_POINTS)
    if not views:
        raise _not_placed()
    return _Problem(replace(evidence, sightings=[s for s in usable if s.view in views]), views)


def _step(normal: Floats, right: Floats) -> Floats:
    """Solution of the normal equations, by Cholesky (OpenCV's, which is loaded anyway; scipy takes 0.4 s).

    NothingMeasuredError where what is seen contradicts itself so much that there is none.
    """
    found, step = cv2.solve(normal, right, flags=cv2.DECOMP_CHOLESKY)
    if not found:
        raise _not_placed()
    return np.asarray(step[:, 0], np.float64)


def _not_placed() -> NothingMeasuredError:
    return NothingMeasuredError(
        "Neither stickers nor body could be placed in any photo that has a scale.",
        "Take the photos again with the whole body and the scale card in view.",
    )


@dataclass(frozen=True, slots=True)
class _Linearised:
    """The problem about some parameters: normal matrix (P, P) and right side (P,), the weighted rows they are made of, for every
    view how far beyond the body's axis its outline touches, and the sum of the squared residuals, wild ones capped."""

    normal: Floats
    right: Floats
    rows: list[Rows]
    beforehand: tuple[Floats, Floats, Floats]
    depths: list[Floats]
    misfit: float


class _Problem:
    def __init__(self, evidence: Evidence, views: Sequence[View]) -> None:
        self.body, self.ties, self.half = body_shape(), evidence.ties, evidence.half
        self.keys: tuple[PointKey, ...] = (*self.body.keys, *dict.fromkeys(t.point for t in self.ties if t.point not in self.body.keys))
        evidence = replace(evidence, sightings=[s for s in evidence.sightings if (s.name, s.side) in self.keys])
        self.seen = {(s.name, s.side) for s in evidence.sightings}
        self.points_sd = _points_sd(self.body, {(s.name, s.side) for s in evidence.sightings if s.grade != "detected"})
        self.usual_off, papers = _stickers(evidence.sightings)
        normals = {key: point.normal for key, point in body_points().items()}
        self.at = number_parameters(self.keys, views, self.body, self.usual_off, normals)
        self.blocks = [ViewRows(self.at, view, evidence, papers) for view in views]
        self.known = known(self.at, {view: evidence.scales[view] for view in views}, self.ties, self.usual_off)
        self.held = np.array([HELD if source in ("turn", "plumb") else 1.0 for source in self.known.sources])

    def solve(self, before: Solution | None) -> Solution:
        """The solution; `before` as for `adjust`."""
        x, here = self.settled(before)
        if (unlike := self.body.unlikeness(x[self.at.shape])) > 1:  # it stays where it is, but less is known of it
            self.points_sd = self.points_sd * unlike
            here = replace(self._linearised(x, here.depths, square=False, robust=True), misfit=here.misfit)
        return self._solution(x, here)

    def settled(self, before: Solution | None) -> tuple[Floats, _Linearised]:
        """The parameters, and the problem about the last but one."""
        x = self._start() if before is None else self._start_from(before)
        step = np.zeros(self.at.size)
        depths: list[Floats] | None = None
        for turn in range(ROUNDS):
            # at first she is taken to stand squarely, so that a sticker on another spot is not explained by a turn
            square = before is None and turn < SQUARE_ROUNDS
            here = self._linearised(x, depths, square, robust=turn > 1 or before is not None)
            depths = here.depths
            step, last = _step(here.normal, here.right), step
            if not np.abs(step).max() < LONGEST_STEP_MM:
                raise _not_placed()
            if not square and step @ last < 0:  # weights that answer each other let it swing about the answer
                step = step / 2
            x = x + step
            if not square and step @ here.normal @ step < STEP_STOP**2:
                break
        # a picture that is no fitting may lead the body anywhere, also behind the camera, or its points away from any body
        if not STATURES[0] < x[self.at.stature] < STATURES[1] or self._strayed(x) > MOST_STRAYED:
            raise _not_placed()
        return x, here

    def foretold(self, before: Solution) -> float:
        """The misfit where the first step from `before` leads, were the problem as straight as it looks from there."""
        here = self._linearised(self._start_from(before), None, square=False, robust=True)
        return here.misfit - float(here.right @ _step(here.normal, here.right))

    def _linearised(self, x: Floats, depths: list[Floats] | None, square: bool, robust: bool) -> _Linearised:
        """The whole problem about `x`; `square` holds turns and leans, `robust` gives less weight to points far off."""
        residual, factors = self.known.residuals(x)
        weight = self.held if square else np.where(self.known.ties, doubted(residual), 1.0)
        normal, right = self.known.normal(residual, factors, weight)
        body = self._body_rows(x)
        misfit = capped(residual) + capped(body.residuals)
        rows = [body if square else weighted(body, doubted(body.residuals))]
        poses = [block.poses(x) for block in self.blocks]
        for block, pose in zip(self.blocks, poses, strict=True):
            seen = block.point_rows(x, pose)
            misfit += capped(seen.residuals)
            rows.append(weighted(seen, block.point_weights(seen.residuals)) if robust else seen)
            if len(block.sized):
                size = block.size_rows(x, pose)
                misfit += capped(size.residuals)
                rows.append(weighted(size, huber(size.residuals)))
        before: Sequence[Floats | None] = depths or [None] * len(poses)
        touches = [block.touching(pose, depth) for block, pose, depth in zip(self.blocks, poses, before, strict=True)]
        touched = []
        for block, touch, support in zip(self.blocks, touches, self._supports(x, touches), strict=True):
            outline, depth = block.outline_rows(x, touch, support)
            rows.append(weighted(outline, huber(outline.residuals) if square else doubted(outline.residuals)))
            misfit += capped(outline.residuals) / ALIKE
            touched.append(depth)
        for part in rows:
            normal[np.ix_(part.columns, part.columns)] += part.jacobian.T @ part.jacobian
            right[part.columns] += part.jacobian.T @ part.residuals
        return _Linearised(normal, right, rows, (residual, factors, weight), touched, misfit)

    def _supports(self, x: Floats, touches: Sequence[Touch]) -> list[Support]:
        """How far the body reaches where the outline of each view touches it; asked of the model for all views at once."""
        height, direction = (np.concatenate(values) for values in zip(*((t.height[0], t.direction[0]) for t in touches), strict=True))
        shape = x[self.at.shape]
        whole = self.body.support(height / x[self.at.stature], direction, shape, self.body.dressed_mm(shape, x[self.at.cloth]))
        if self.half is not None:
            beside = -OUTWARDS[self.half] * np.cos(direction) > ASIDE
            whole = whole.bare(self.body.support(height / x[self.at.stature], direction, shape, self.body.section_mm(shape)), beside)
        return whole.parted([len(touch.sense) for touch in touches])

    def _solution(self, x: Floats, here: _Linearised) -> Solution:
        rows = [self.known.rows(*here.beforehand), *here.rows]
        design = np.zeros((sum(len(part.residuals) for part in rows), self.at.size))
        first = 0
        for part in rows:
            design[first : first + len(part.residuals), part.columns] = part.jacobian
            first += len(part.residuals)
        sources = [
            *self.known.sources,
            *(["depth"] * (3 * len(self.body.keys))),
            *(s for block in self.blocks for s in (*block.sources, *block.size_sources)),
        ]
        sources += ["outline"] * (len(design) - len(sources))
        shape = x[self.at.shape]
        return Solution(
            keys=self.keys,
            positions_mm=x[: 3 * len(self.keys)].reshape(-1, 3),
            rows=design,
            row_sources=tuple(sources),
            normal=here.normal,
            views={block.view: block.placement(x) for block in self.blocks},
            turn_columns=dict(self.at.views),
            parameters=x,
            misfit=here.misfit,
            strain=strain(here.misfit, sum(2 * len(block.numbers) + len(block.edge_sd_mm) / ALIKE for block in self.blocks)),
            hang=x[self.at.cloth],
            stand_offs_mm={key: float(x[column]) for key, column in self.at.stand_off.items()},
            section_heights_mm=self.body.heights_mm(shape) * x[self.at.stature],
            section_reach_mm=self.body.dressed_mm(shape, x[self.at.cloth]) * x[self.at.stature] + self.body.worn[:, None] * x[self.at.ease],
        )

    def _start(self) -> Floats:
        x = np.zeros(self.at.size)
        x[self.at.stature] = 1.0
        x[: 3 * len(self.body.keys)] = self.body.points.ravel()
        for key, (usual, _) in self.usual_off.items():
            x[self.at.stand_off[key]] = usual
        for tie in self.ties:
            x[3 * self.at.number[tie.point] :][:3] = tied(tie, lambda key: x[3 * self.at.number[key] :][:3])
        for block in self.blocks:
            x[self.at.views[block.view] + 3 :][:3] = block.start_mm(x)
        return x

    def _start_from(self, before: Solution) -> Floats:
        """As `before` was solved; what it did not know starts as usual."""
        x = self._start()
        for key in self.at.number.keys() & set(before.keys):
            x[3 * self.at.number[key] :][:3] = before.position(*key)
        for tie in self.ties:
            if tie.point not in before:
                x[3 * self.at.number[tie.point] :][:3] = tied(tie, lambda key: before.position(*key))
        for view in self.at.views.keys() & before.turn_columns.keys():
            x[self.at.views[view] :][:VIEW_PARAMETERS] = before.parameters[before.turn_columns[view] :][:VIEW_PARAMETERS]
        for key, column in self.at.stand_off.items():
            x[column] = before.stand_offs_mm.get(key, x[column])
        shared = 3 * len(before.keys) + VIEW_PARAMETERS * len(before.turn_columns)
        x[self.at.stature :][:SHARED_PARAMETERS] = before.parameters[shared:][:SHARED_PARAMETERS]
        x[-len(self.at.model) :] = before.parameters[-len(self.at.model) :]
        return x

    def _body_rows(self, x: Floats) -> Rows:
        """The points of a body lie together as the statistical body says."""
        shape, size, n, sd = x[self.at.shape], x[self.at.stature], 3 * len(self.body.keys), self.points_sd
        jacobian = np.column_stack([np.eye(n) / size, -x[:n] / size**2, -self.body.points_basis.reshape(n, -1)])
        residuals = (self.body.points_mm(shape).ravel() - x[:n] / size) / sd
        return Rows(np.r_[:n, self.at.stature, self.at.shape], jacobian / sd[:, None], residuals)

    def _strayed(self, x: Floats) -> float:
        """Share of the points seen that lie where no body has them."""
        points = x[: 3 * len(self.keys)].reshape(-1, 3)
        away = dict(zip(self.body.keys, np.abs(self._body_rows(x).residuals).reshape(-1, 3).max(axis=1), strict=True))
        for tie in self.ties:
            gap = points[self.at.number[tie.point]] - tied(tie, lambda key: points[self.at.number[key]])
            away[tie.point] = float(np.abs(gap / tie.sd_mm).max())
        return float(np.mean([away[key] > STRAYED for key in self.seen]))


def _points_sd(body: BodyShape, felt: set[PointKey]) -> Floats:
    """How far each coordinate of the model's points strays from the model, (3 N,); `felt` are those that were marked or placed."""
    marked = np.array([key in felt for key in body.keys])
    midline = np.array([side is None for _, side in body.keys])
    stray = np.where(marked[:, None], FELT_SD_MM, POINT_SD_MM)
    stray[marked & midline, 0] = MIDLINE_SD_MM
    return np.asarray(np.hypot(body.points_sd, stray).ravel())


def _stickers(sightings: Sequence[Sighting]) -> tuple[dict[PointKey, tuple[float, float]], dict[PointKey, float]]:
    """Of every point with a sticker or dot: how far it stands off the skin (mean, sd), and how far it reaches up and down, mm."""
    off: dict[PointKey, tuple[float, float]] = {}
    reach: dict[PointKey, float] = {}
    for s in sightings:
        point = body_points().get((s.name, s.side))
        if s.grade in ("marker", "dot") and point is not None:
            off[s.name, s.side] = POINTER_OFF_MM if s.kind == "pointer" else point.stand_off_mm
            reach[s.name, s.side] = PAPER_MM if s.grade == "marker" else DOT_MM
    return off, reach
