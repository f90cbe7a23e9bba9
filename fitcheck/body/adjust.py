"""All photos of a fitting solved together: where the points of body and garment lie, and how she stands in each photo.

Unknown are the points (body frame), per view the turn, the lean and the place of the body, and, shared by all views, the numbers of the
statistical body (`body.shape`), the stature, the ease of the garment, the print scale of the card, the focal length and how far each
sticker stands off the skin. Everything known about them enters as whitened rows of one least-squares problem (Gauss-Newton): where
points are seen, where the outlines touch the body, how the points of a body lie together, the card hanging plumb and staying where it
is. Front, side and back agree because one body explains them all. Method: bundle adjustment with weak priors (Triggs et al. 2000,
"Bundle Adjustment - A Modern Synthesis"); robust weights after Huber (1964), and Geman-McClure weights on what is known beforehand.
"""

from collections.abc import Mapping, Sequence

import numpy as np
from scipy.linalg import LinAlgError, cho_solve, cholesky

from fitcheck.body.point_table import body_points
from fitcheck.body.prior_rows import known, tied
from fitcheck.body.shape import body_shape
from fitcheck.body.view_rows import VIEW_PARAMETERS, Columns, Rows, ViewRows
from fitcheck.core.camera import Scale
from fitcheck.core.errors import NothingMeasuredError
from fitcheck.core.outline import Outline
from fitcheck.core.records import Floats, Sighting, View
from fitcheck.core.solution import PointKey, Solution, Tie

STATURES = (0.55, 1.35)  # of 1650 mm: no grown person is outside
POINT_SD_MM = (1.0, 1.0, 2.0)  # of a point nobody marked about the model's, beside what the model leaves over; set on 40 draped fittings
FELT_SD_MM, MIDLINE_SD_MM = 1.5, 1.5  # the same of a marked point, and how far aside of the midline; estimate
POINTER_OFF_MM = (4.0, 2.0)  # a pointer's tip lies on paper, on cloth, above the skin; measured on our draped scenes
PAPER_MM, DOT_MM = 17.0, 10.0  # so far above and below its point a sticker or dot lies on the outline
LONGEST_STEP_MM = 50000.0  # of a round; longer ones lead nowhere
HUBER = 3.0
REDESCEND = 3.5  # what is known beforehand counts less the more it is contradicted
STRAYED, MOST_STRAYED = 12.0, 0.4  # standard deviations, and the share of points that far off that is no body any more; estimate
HELD, SQUARE_ROUNDS = 8.0, 3
ROUNDS = 20
STEP_STOP = 0.3  # standard deviations, all unknowns together


def adjust(
    scales: Mapping[View, Scale],
    sightings: Sequence[Sighting],
    ties: Sequence[Tie] = (),
    outlines: Mapping[View, Outline] | None = None,
    before: Solution | None = None,
    sticker_sizes: bool = False,
) -> Solution:
    """Solve all views of a fitting together.

    Parameters
    ----------
    scales : mapping of view to Scale
        Views without one are left out.
    sightings : sequence of Sighting
        Of body points (`landmarks.toml`) and of garment points named in `ties`.
    ties : sequence of Tie
    outlines : mapping of view to Outline, optional
    before : Solution, optional
        Of the same views and stickers with less to go by: where to start from.
    sticker_sizes : bool
        Whether the size of the printed stickers may tell how near she stands (`body.sticker_size`).

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
    return _Problem(scales, views, [s for s in usable if s.view in views], ties, outlines or {}, sticker_sizes).solve(before)


def _factor(normal: Floats) -> Floats:
    """Cholesky factor (lower); NothingMeasuredError where what is seen contradicts itself so much that there is no answer."""
    try:
        return np.asarray(cholesky(normal, lower=True, check_finite=False), np.float64)
    except LinAlgError:
        raise _not_placed() from None


def _not_placed() -> NothingMeasuredError:
    return NothingMeasuredError(
        "Neither stickers nor body could be placed in any photo that has a scale.",
        "Take the photos again with the whole body and the scale card in view.",
    )


class _Problem:
    def __init__(
        self,
        scales: Mapping[View, Scale],
        views: Sequence[View],
        sightings: Sequence[Sighting],
        ties: Sequence[Tie],
        outlines: Mapping[View, Outline],
        sticker_sizes: bool = False,
    ) -> None:
        self.body, self.ties = body_shape(), ties
        self.keys: tuple[PointKey, ...] = (*self.body.keys, *dict.fromkeys(tie.point for tie in ties if tie.point not in self.body.keys))
        number = {key: i for i, key in enumerate(self.keys)}
        seen = [s for s in sightings if (s.name, s.side) in number]
        self.seen = {(s.name, s.side) for s in seen}
        felt = {(s.name, s.side) for s in seen if s.grade != "detected"}
        marked = np.array([key in felt for key in self.body.keys])
        midline = np.array([side is None for _, side in self.body.keys])
        stray = np.where(marked[:, None], FELT_SD_MM, POINT_SD_MM)
        stray[marked & midline, 0] = MIDLINE_SD_MM
        self.points_sd = np.hypot(self.body.points_sd, stray).ravel()
        table = body_points()
        self.usual_off: dict[PointKey, tuple[float, float]] = {}
        papers: dict[PointKey, float] = {}
        for s in seen:
            key = (s.name, s.side)
            if s.grade in ("marker", "dot") and key in table:
                self.usual_off[key] = POINTER_OFF_MM if s.kind == "pointer" else table[key].stand_off_mm
                papers[key] = PAPER_MM if s.grade == "marker" else DOT_MM
        first = 3 * len(self.keys)
        after = first + VIEW_PARAMETERS * len(views)
        off = after + 8
        shape = off + len(self.usual_off)
        cloth = shape + self.body.size
        end = cloth + self.body.cloth_basis.shape[2]
        self.at = Columns(
            number=number,
            views={view: first + VIEW_PARAMETERS * i for i, view in enumerate(views)},
            stature=after,
            print_scale=after + 1,
            focal=after + 2,
            ease=after + 3,
            sticker=after + 4,
            card_depth=after + 5,
            hang=after + 6,
            stand_off={key: off + i for i, key in enumerate(self.usual_off)},
            normals={key: point.normal for key, point in table.items()},
            shape=slice(shape, cloth),
            cloth=slice(cloth, end),
            size=end,
        )
        self.blocks = [
            ViewRows(self.at, self.body, view, scales[view], [s for s in seen if s.view == view], outlines.get(view), papers, sticker_sizes)
            for view in views
        ]
        self.known = known(self.at, {view: scales[view] for view in views}, ties, self.usual_off)

    def solve(self, before: Solution | None) -> Solution:
        x = self._start() if before is None else self._start_from(before)
        step = np.zeros(self.at.size)
        held = np.array([HELD if source in ("turn", "plumb") else 1.0 for source in self.known.sources])
        for turn in range(ROUNDS):
            # at first she is taken to stand squarely, so that a sticker on another spot is not explained by a turn
            square = before is None and turn < SQUARE_ROUNDS
            residual, factors = self.known.residuals(x)
            weight = held if square else np.where(self.known.ties, _doubted(residual), 1.0)
            normal, right = self.known.normal(residual, factors, weight)
            body = self._body_rows(x)
            rows = [body if square else _weighted(body, _doubted(body.residuals))]
            poses = [block.poses(x) for block in self.blocks]
            for block, pose in zip(self.blocks, poses, strict=True):
                seen = block.point_rows(x, pose)
                rows.append(_weighted(seen, _huber(seen.residuals)) if turn > 1 or before is not None else seen)
                size = block.size_rows(x, pose)
                rows.append(_weighted(size, _huber(size.residuals)))
            for block, pose in zip(self.blocks, poses, strict=True):
                outline = block.outline_rows(x, pose)
                rows.append(_weighted(outline, _huber(outline.residuals) if square else _doubted(outline.residuals)))
            for part in rows:
                normal[np.ix_(part.columns, part.columns)] += part.jacobian.T @ part.jacobian
                right[part.columns] += part.jacobian.T @ part.residuals
            factor = _factor(normal)
            step, last = cho_solve((factor, True), right, check_finite=False), step
            if not np.abs(step).max() < LONGEST_STEP_MM:
                raise _not_placed()
            if not square and step @ last < 0:  # weights that answer each other let it swing about the answer
                step = step / 2
            x = x + step
            if not square and step @ normal @ step < STEP_STOP**2:
                break
        inverse_normal = cho_solve((factor, True), np.eye(self.at.size), check_finite=False)
        # a picture that is no fitting may lead the body anywhere, also behind the camera, or its points away from any body
        if not STATURES[0] < x[self.at.stature] < STATURES[1] or self._strayed(x) > MOST_STRAYED:
            raise _not_placed()
        rows.insert(0, self.known.rows(residual, factors, weight))
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
            inverse_normal=inverse_normal,
            views={block.view: block.placement(x) for block in self.blocks},
            turn_columns=dict(self.at.views),
            parameters=x,
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
            x[3 * self.at.number[tie.point] :][:3] = tied(tie, x[3 * self.at.number[tie.anchor] :][:3])
        for block in self.blocks:
            x[self.at.views[block.view] + 3 :][:3] = block.start_mm(x)
        return x

    def _start_from(self, before: Solution) -> Floats:
        x = np.zeros(self.at.size)
        x[3 * len(self.keys) :] = before.parameters[3 * len(before.keys) :]
        for key in self.at.number.keys() & set(before.keys):
            x[3 * self.at.number[key] :][:3] = before.position(*key)
        for tie in self.ties:
            if tie.point not in before:
                x[3 * self.at.number[tie.point] :][:3] = tied(tie, before.position(*tie.anchor))
        return x

    def _body_rows(self, x: Floats) -> Rows:
        """The points of a body lie together as the statistical body says."""
        shape, size, n = x[self.at.shape], x[self.at.stature], 3 * len(self.body.keys)
        sd = self.points_sd
        at_model_size = x[:n] / size
        columns = np.r_[:n, self.at.stature, self.at.shape]
        jacobian = np.column_stack([np.eye(n) / size, -at_model_size / size, -self.body.points_basis.reshape(n, -1)])
        return Rows(columns, jacobian / sd[:, None], (self.body.points_mm(shape).ravel() - at_model_size) / sd)

    def _strayed(self, x: Floats) -> float:
        """Share of the points seen that lie where no body has them."""
        points = x[: 3 * len(self.keys)].reshape(-1, 3)
        away = dict(zip(self.body.keys, np.abs(self._body_rows(x).residuals).reshape(-1, 3).max(axis=1), strict=True))
        for tie in self.ties:
            gap = points[self.at.number[tie.point]] - tied(tie, points[self.at.number[tie.anchor]])
            away[tie.point] = float(np.abs(gap / tie.sd_mm).max())
        return float(np.mean([away[key] > STRAYED for key in self.seen]))


def _weighted(rows: Rows, weight: Floats) -> Rows:
    return Rows(rows.columns, rows.jacobian * weight[:, None], rows.residuals * weight)


def _doubted(residual: Floats) -> Floats:
    return np.asarray(1 / (1 + (residual / REDESCEND) ** 2))


def _huber(residual: Floats) -> Floats:
    return np.asarray(np.minimum(1.0, HUBER / np.maximum(np.abs(residual), 1e-9)) ** 0.5)
