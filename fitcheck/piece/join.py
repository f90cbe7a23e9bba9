"""Photos of one large piece brought into one frame: what they show alike (print, grain of the table) tells how the card was moved."""

from collections.abc import Sequence
from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.errors import NothingMeasuredError, PhotoError
from fitcheck.core.points import SHEETS_MM
from fitcheck.core.records import Floats
from fitcheck.piece.plane import View
from fitcheck.piece.table import Picture, Table

MM_PER_PX = 0.8
FEATURES, RATIO = 4000, 0.75  # most of a photo; nearest against second nearest (Lowe 2004)
NEAR_MM = 1.5  # of a match to the movement that most agree on
LEAST_MATCHES = 15
LEAST_SPREAD_MM = 60.0  # of the matches, or the turn is not known
ODD_SCALE = 0.008  # by which two photos may differ in size: cards lie in one plane (estimate)
CARD_MARGIN_MM = 12.0
FLIP = np.array([[1.0, 0.0], [0.0, -1.0]])


def joined_views(views: Sequence[View]) -> list[View]:
    """The views in the frame of the first one's card.

    Raises
    ------
    NothingMeasuredError
        Two photos have nothing in common.
    PhotoError
        They disagree about sizes: a card does not lie in the paper's plane.
    """
    found = [views[0]]
    waiting = list(views[1:])
    while waiting:
        tries = [(view, _move(Table(found), view)) for view in waiting]
        best = max(tries, key=lambda pair: -1 if pair[1] is None else pair[1][1])
        view, moved = best
        if moved is None:
            raise NothingMeasuredError(
                f"{view.photo.name} shows too little of what the other photos show.",
                "Let neighbouring photos overlap by a third of the piece.",
            )
        found.append(replace(view, shift=FLIP @ moved[0]))
        waiting = [other for other in waiting if other is not view]
    return found


def _move(table: Table, view: View) -> tuple[Floats, int] | None:
    """Turn and shift, shape (2, 3), from the table's frame to a view's card (y downwards), and how many places agree on it."""
    known, own = _looked_at(table), _looked_at(Table([view]))
    matches = _matches(known, own)
    if len(matches) < LEAST_MATCHES:
        return None
    one, two = matches[:, 0], matches[:, 1]
    similar, agree = cv2.estimateAffinePartial2D(
        np.ascontiguousarray(one),
        np.ascontiguousarray(two),
        method=cv2.RANSAC,
        ransacReprojThreshold=NEAR_MM,
        maxIters=5000,
        confidence=0.999,
    )
    kept = np.ravel(agree).astype(bool) if agree is not None else np.zeros(len(one), bool)
    if kept.sum() < LEAST_MATCHES or np.ptp(one[kept], axis=0).max() < LEAST_SPREAD_MM:
        return None
    scale = float(np.hypot(similar[0, 0], similar[1, 0]))
    if abs(scale - 1) > ODD_SCALE:
        than = "larger" if scale > 1 else "smaller"
        raise PhotoError(
            f"{view.photo.name} shows everything {abs(scale - 1) * 100:.1f} % {than} than the other photos do.",
            "Lay the card flat on the table beside the paper in every photo, on nothing else.",
        )
    return _rigid(one[kept], two[kept]), int(kept.sum())


def _rigid(one: Floats, two: Floats) -> Floats:
    """The turn and shift that bring places nearest to others (Kabsch 1976), shape (2, 3)."""
    middle, other = one.mean(axis=0), two.mean(axis=0)
    u, _, vt = np.linalg.svd((two - other).T @ (one - middle))
    turn = u @ np.diag([1.0, np.linalg.det(u @ vt)]) @ vt
    return np.column_stack([turn, other - turn @ middle])


def _looked_at(table: Table) -> tuple[Picture, NDArray[np.uint8]]:
    low, high = table.box()
    picture = table.picture(MM_PER_PX, low, high)
    mask = cv2.erode(picture.seen.astype(np.uint8), np.ones((9, 9), np.uint8))
    corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * (np.array(SHEETS_MM["a4"]) / 2 + CARD_MARGIN_MM)
    for view in table.views:  # a card moves between photos
        on_table = (corners - view.shift[:, 2]) @ view.shift[:, :2]
        cv2.fillPoly(mask, [np.round(picture.to_px(on_table)).astype(np.int32)], 0)
    return picture, mask


def _matches(known: tuple[Picture, NDArray[np.uint8]], own: tuple[Picture, NDArray[np.uint8]]) -> Floats:
    """Places that look alike, mm, shape (N, 2, 2)."""
    finder = cv2.SIFT.create(nfeatures=FEATURES)
    seen = []
    for picture, mask in (known, own):
        grey = cv2.createCLAHE(3.0, (12, 12)).apply(cv2.cvtColor(picture.rgb, cv2.COLOR_RGB2GRAY))
        points, descriptors = finder.detectAndCompute(grey, mask)
        if descriptors is None or len(points) < LEAST_MATCHES:
            return np.empty((0, 2, 2))
        seen.append((picture.to_mm(np.array([point.pt for point in points])), descriptors))
    pairs = cv2.BFMatcher(cv2.NORM_L2).knnMatch(seen[0][1], seen[1][1], k=2)
    good = [(m.queryIdx, m.trainIdx) for m, n in (pair for pair in pairs if len(pair) == 2) if m.distance < RATIO * n.distance]
    return np.array([[seen[0][0][i], seen[1][0][j]] for i, j in good]).reshape(-1, 2, 2)
