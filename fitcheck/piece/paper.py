"""Which of what lies on the table is paper: tissue is lighter and paler than what it lies on, whatever that is.

Colours are taken as logarithms, so that a lamp adds the same everywhere; what the lamp does is a smooth surface that is fitted along.
Table and paper are two normal distributions, begun from the picture's rim and from what is paler than it, and refined in turn; what is
like neither (a hand, a pin) is a third thing.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.errors import NothingMeasuredError
from fitcheck.core.points import SHEETS_MM
from fitcheck.core.records import Floats
from fitcheck.piece.cover import Cover
from fitcheck.piece.plane import View
from fitcheck.piece.table import Picture, Table

COARSE_MM = 2.0  # a pixel of the first look
RIM_SHARE = 0.06  # of the picture's extent that is taken for table at first
AT_CARD_MM = 20.0  # of an outline along a card: there the piece ends only as far as it is seen (estimate)
CARD_MARGIN_MM = 25.0  # around the card's squares lies the card's own white
DARKER_SHARE = 0.5  # of the rim, taken for table where all of it tells nothing
ROUNDS = 4
FAR_SD = 3.5  # standard deviations from table and paper alike: something else
DARKEST = 4.0  # grey levels added before the logarithm: below, noise rules
LEAST_CM2 = 60.0  # of a piece; smaller ones are scraps
VALLEY = (
    0.25  # most of the colours half-way, against those of table or paper: real paper 0.015, the two halves of an empty table's grain 1.5
)
NECK_MM, HALF_CM2 = 26.0, 120.0  # two pieces that touch: parts so large joined by less than this
PRINT_MM = 5.0  # lines closer than that are filled
CLOSED_MM = 6.0  # gaps as wide, of printed lines or pins, are no gaps
TIP_MM2 = 250.0  # of a finger's tip on the paper's edge; the head of a pin seems to have 100 at most
SKIN_REACH_MM = 4.0  # around something else, within which an edge is not believed


@dataclass(frozen=True, slots=True)
class Paper:
    """One sheet of paper as seen coarsely.

    Attributes
    ----------
    outline : ndarray, shape (N, 2)
        Closed, clockwise as seen (y downwards), mm.
    hidden : ndarray of bool, shape (N,)
        Where something lies on the edge.
    cut_off : bool
        It reaches the picture's border.
    joined : bool
        A narrow neck joins two large parts.
    under_card : bool
        It goes on beneath a card, or touches it.
    cover : Cover
        What lies half beside the paper, a little widened.
    """

    outline: Floats
    hidden: NDArray[np.bool_]
    cut_off: bool
    joined: bool
    under_card: bool
    cover: Cover


def find_papers(table: Table) -> list[Paper]:
    """Sheets of paper on the table, the largest first.

    Raises
    ------
    NothingMeasuredError
        Nothing paler than the table lies on it.
    """
    low, high = table.box()
    picture = _without_print(table.picture(COARSE_MM / 2, low, high))
    card = _cards(picture, table.views)
    like_paper, something_else = _classes(picture, card)
    if not like_paper.any():  # paper that is cut off lies on the rim too
        like_paper, something_else = _classes(picture, card, DARKER_SHARE)
    closing = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * round(CLOSED_MM / COARSE_MM / 2) + 1,) * 2)
    mask = cv2.morphologyEx(like_paper.astype(np.uint8), cv2.MORPH_OPEN, np.ones((3, 3), np.uint8))
    mask = cv2.morphologyEx(mask, cv2.MORPH_CLOSE, closing)
    something_else = _beside(something_else, mask)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(mask)
    order = sorted(range(1, count), key=lambda i: -int(stats[i, cv2.CC_STAT_AREA]))
    large = [i for i in order if stats[i, cv2.CC_STAT_AREA] * COARSE_MM**2 / 100 > LEAST_CM2]
    if not large:
        raise NothingMeasuredError(
            "No paper can be told from the table.", "Lay the piece flat on a plain table that is darker than the paper, in even light."
        )
    return [_paper(labels == i, picture, something_else, card) for i in large]


def _without_print(fine: Picture) -> Picture:
    """Half as fine, thin dark lines filled: many of them close together make another colour of the paper."""
    size = 2 * round(PRINT_MM / fine.mm_per_px / 2) + 1
    closed = cv2.morphologyEx(fine.rgb, cv2.MORPH_CLOSE, np.ones((size, size), np.uint8))
    rows, columns = (n // 2 for n in fine.seen.shape)
    rgb = cv2.resize(closed[: 2 * rows, : 2 * columns], (columns, rows), interpolation=cv2.INTER_AREA)
    seen = fine.seen[: 2 * rows : 2, : 2 * columns : 2] & fine.seen[1 : 2 * rows : 2, 1 : 2 * columns : 2]
    return Picture(np.asarray(rgb, np.uint8), seen, fine.low + fine.mm_per_px / 2, 2 * fine.mm_per_px)


def _beside(other: NDArray[np.bool_], paper: NDArray[np.uint8]) -> NDArray[np.bool_]:
    """Of what is neither, what lies half beside the paper: dense print lies on it."""
    contours, _ = cv2.findContours(paper, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_SIMPLE)
    filled = cv2.drawContours(np.zeros_like(paper), contours, -1, 1, -1)
    count, labels = cv2.connectedComponents(other.astype(np.uint8))
    whole, within = (np.bincount(labels[where], minlength=count) for where in (other, other & (filled > 0)))
    return np.asarray((within < 0.5 * np.maximum(whole, 1))[labels] & other)


def _cards(picture: Picture, views: Sequence[View]) -> NDArray[np.bool_]:
    """Where a card lies, its white border included."""
    covered = np.zeros(picture.seen.shape, np.uint8)
    half = np.array(SHEETS_MM["a4"]) / 2 + CARD_MARGIN_MM / 2
    corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * half
    for view in views:
        on_table = (corners - view.shift[:, 2]) @ view.shift[:, :2]
        cv2.fillPoly(covered, [np.round(picture.to_px(on_table)).astype(np.int32)], 1)
    return covered > 0


def _classes(picture: Picture, card: NDArray[np.bool_], darker: float = 1.0) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """What is paper, and what is neither paper nor table."""
    usable = picture.seen & ~card
    smooth = cv2.GaussianBlur(picture.rgb, (0, 0), 0.8)
    colour = np.log(smooth.astype(np.float32) + np.float32(DARKEST))
    height, width = usable.shape
    y, x = np.mgrid[:height, :width]
    x, y = (2 * x / width - 1).astype(np.float32), (2 * y / height - 1).astype(np.float32)
    surface = np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=-1)
    depth = cv2.distanceTransform(np.pad(picture.seen.astype(np.uint8), 1), cv2.DIST_L2, 5)[1:-1, 1:-1]
    is_table = usable & (depth < RIM_SHARE * max(height, width))
    if darker < 1 and is_table.any():
        light = colour.sum(axis=-1)
        is_table &= light <= np.quantile(light[is_table], darker)
    lamp = np.zeros(usable.shape, np.float32)
    paper: NDArray[np.bool_] = np.zeros_like(usable)
    far_table = np.zeros(usable.shape, np.float32)
    far_paper = np.zeros(usable.shape, np.float32)
    paper_middle = np.zeros(3)
    for turn in range(ROUNDS):
        flat = colour - lamp[..., None]
        far_table, table_middle = _distance(flat, is_table)
        if turn == 0:
            paper = usable & (flat.sum(axis=-1) > table_middle.sum()) & (far_table > FAR_SD)
            paper = cv2.erode(paper.astype(np.uint8), np.ones((3, 3), np.uint8)) > 0
        if paper.sum() * COARSE_MM**2 / 100 < LEAST_CM2:
            return np.zeros_like(usable), np.zeros_like(usable)
        far_paper, paper_middle = _distance(flat, paper)
        near_table, near_paper = far_table < FAR_SD, far_paper < FAR_SD
        is_table = usable & near_table & (far_table < far_paper)
        paper = usable & near_paper & (far_paper < far_table)
        lamp = _lamp(colour, surface, is_table, table_middle, paper, paper_middle)
    paler = (colour - lamp[..., None]).sum(axis=-1) > paper_middle.sum()  # paper that lies double, or glare
    other = usable & (far_table > FAR_SD) & (far_paper > FAR_SD) & ~paler
    other = cv2.morphologyEx(other.astype(np.uint8), cv2.MORPH_OPEN, np.ones((5, 5), np.uint8)) > 0
    likely = usable & (far_paper < far_table) & ~other
    if not _two_colours(colour - lamp[..., None], usable & ~likely & ~other, likely):
        return np.zeros_like(usable), np.zeros_like(usable)
    return likely, other


def _two_colours(flat: NDArray[np.float32], is_table: NDArray[np.bool_], paper: NDArray[np.bool_]) -> bool:
    """Whether table and paper are two heaps of colours with a valley between them, along the direction that parts them best."""
    if not is_table.any() or not paper.any():
        return False
    one, two = (flat[where][:: max(1, int(where.sum()) // 20000)].astype(float) for where in (is_table, paper))
    middles = [np.median(side, axis=0) for side in (one, two)]
    spread = np.cov((one - middles[0]).T) + np.cov((two - middles[1]).T) + np.eye(3) * 0.01**2
    direction = np.linalg.solve(spread, middles[1] - middles[0])
    step = float(direction @ (middles[1] - middles[0]))
    counts = []
    for level in (0.0, 0.5, 1.0):
        shares = [float((np.abs((side - middles[0]) @ direction / step - level) < 0.1).mean()) for side in (one, two)]
        counts.append(shares[0] * float(is_table.sum()) + shares[1] * float(paper.sum()))
    return step > 0 and counts[1] < VALLEY * min(counts[0], counts[2])


def _distance(colour: NDArray[np.float32], where: NDArray[np.bool_]) -> tuple[NDArray[np.float32], Floats]:
    """Mahalanobis distance from the middle of some pixels, robustly, and that middle."""
    sample = colour[where][:: max(1, int(where.sum()) // 20000)].astype(float)
    middle = np.median(sample, axis=0)
    near = np.abs(sample - middle).sum(axis=1)
    kept = sample[near <= np.percentile(near, 92)]
    spread = np.cov(kept.T) * 1.6 + np.eye(3) * 0.012**2
    root = np.linalg.cholesky(np.linalg.inv(spread))
    return np.asarray(np.linalg.norm((colour - middle.astype(np.float32)) @ root.astype(np.float32), axis=-1)), middle


def _lamp(
    colour: NDArray[np.float32],
    surface: NDArray[np.float32],
    is_table: NDArray[np.bool_],
    table: Floats,
    paper: NDArray[np.bool_],
    paper_middle: Floats,
) -> NDArray[np.float32]:
    """How the light falls off over the table: a surface of the second order through the logarithms."""
    rows, sides = [], []
    for where, middle in ((is_table, table), (paper, paper_middle)):
        step = max(1, int(where.sum()) // 6000)
        rows.append(surface[where][::step])
        sides.append((colour[where][::step] - middle.astype(np.float32)).mean(axis=1))
    a, b = np.vstack(rows), np.concatenate(sides)
    # each class has a level of its own: the surface takes only the form
    own = np.concatenate([np.full(len(rows[0]), 0.0), np.full(len(rows[1]), 1.0)]).astype(np.float32)
    found = np.linalg.lstsq(np.column_stack([a, own]), b, rcond=None)[0]
    return np.asarray(surface[..., 1:] @ found[1:6].astype(np.float32), np.float32)


def _paper(mask: NDArray[np.bool_], picture: Picture, other: NDArray[np.bool_], card: NDArray[np.bool_]) -> Paper:
    filled = mask.astype(np.uint8)
    contours, _ = cv2.findContours(filled, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    contour = max(contours, key=cv2.contourArea).reshape(-1, 2).astype(float)
    if cv2.contourArea(contour.astype(np.float32), True) < 0:
        contour = contour[::-1]
    px = np.round(contour).astype(int)
    reach = 2 * round(SKIN_REACH_MM / COARSE_MM) + 1
    near_other = cv2.dilate(other.astype(np.uint8), np.ones((reach, reach), np.uint8)) > 0
    rim = cv2.erode(np.pad(picture.seen.astype(np.uint8), 1), np.ones((7, 7), np.uint8))[1:-1, 1:-1] == 0
    cut_off = int(rim[px[:, 1], px[:, 0]].sum()) * COARSE_MM > 10.0
    beside_card = cv2.dilate(card.astype(np.uint8), np.ones((5, 5), np.uint8)) > 0
    under_card = int(beside_card[px[:, 1], px[:, 0]].sum()) * COARSE_MM > AT_CARD_MM
    cover = Cover(_large(other), picture.low, picture.mm_per_px)
    return Paper(picture.to_mm(contour), near_other[px[:, 1], px[:, 0]], cut_off, _two_joined(filled), under_card, cover)


def _large(other: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Things no smaller than a finger's tip, a little widened: a pin hides next to nothing."""
    _, labels, stats, _ = cv2.connectedComponentsWithStats(other.astype(np.uint8))
    large = stats[:, cv2.CC_STAT_AREA] * COARSE_MM**2 > TIP_MM2
    large[0] = False
    return np.asarray(cv2.dilate(large[labels].astype(np.uint8), np.ones((3, 3), np.uint8)) > 0)


def _two_joined(mask: NDArray[np.uint8]) -> bool:
    """Whether a narrow neck joins two large parts."""
    size = 2 * round(NECK_MM / COARSE_MM / 2) + 1
    parted = cv2.morphologyEx(np.pad(mask, size), cv2.MORPH_OPEN, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size)))
    _, _, stats, _ = cv2.connectedComponentsWithStats(parted)
    return int((stats[1:, cv2.CC_STAT_AREA] * COARSE_MM**2 / 100 > HALF_CM2).sum()) > 1
