"""How far two outlines lie apart once one is laid on the other."""

import numpy as np
from shapely import LineString, Point


def even(points: np.ndarray, step: float = 2.0) -> np.ndarray:
    """Points evenly along a closed line."""
    ring = LineString(np.vstack([points, points[:1]]))
    return np.array([ring.interpolate(s).coords[0] for s in np.arange(0, ring.length, step)])


def apart_mm(one: np.ndarray, two: np.ndarray) -> np.ndarray:
    """Distances both ways, of outlines in one frame."""

    def far(points: np.ndarray, line: np.ndarray) -> np.ndarray:
        ring = LineString(np.vstack([line, line[:1]]))
        return np.array([ring.distance(Point(*p)) for p in even(points)])

    return np.concatenate([far(one, two), far(two, one)])


def laid_on(one: np.ndarray, two: np.ndarray, rounds: int = 12) -> np.ndarray:
    """The first outline turned and shifted (never stretched) until it lies on the second as nearly as it can."""
    ring = LineString(np.vstack([two, two[:1]]))
    moved = one.copy()
    for _ in range(rounds):
        own = even(moved)
        near = np.array([ring.interpolate(ring.project(Point(*p))).coords[0] for p in own])
        a, b = own.mean(axis=0), near.mean(axis=0)
        u, _, vt = np.linalg.svd((near - b).T @ (own - a))
        turn = u @ np.diag([1.0, np.linalg.det(u @ vt)]) @ vt
        moved = (moved - a) @ turn.T + b
    return moved
