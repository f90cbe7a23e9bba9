"""Which stand of a film shows which view."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from fitcheck.body.agreement import looks_like, lying
from fitcheck.core.camera import Photo
from fitcheck.core.pose_joints import LEFT_SHOULDER, RIGHT_SHOULDER
from fitcheck.core.records import VIEWS, Pose, View
from fitcheck.film.mean_picture import Mean
from fitcheck.film.stillness import Stand
from fitcheck.vision.person.pose import find_people
from fitcheck.vision.stickers.find_stickers import find_point_markers

SQUARE: tuple[View, ...] = ("front", "back")  # the pose networks may take one for the other
OFF_SQUARE_DEG = 25.0  # as the pose model's own depths tell it, good to some ten degrees; beyond she stands askew
LONG_ENOUGH_S = 3.0  # a stand is no better for lasting longer
HELD_OF_A_LOOK = 2  # stands that look alike and are held in memory


@dataclass(frozen=True, slots=True)
class Placed:
    """A stand and what it looks like.

    Attributes
    ----------
    view : View or None
        None where she stands askew, or lies, or nobody was found.
    off_deg : float
        How far from square she seems to stand.
    why : str
        What the view was told by, where its look alone did not tell; in words.
    mean : Mean or None
        Its one picture, made as soon as it was over: the pictures of all stands would not fit into memory.
    """

    stand: Stand
    view: View | None
    pose: Pose | None
    off_deg: float
    why: str = ""
    mean: Mean | None = None

    @property
    def worth(self) -> float:
        """For choosing between stands of one view: long, and square to the camera."""
        return min(self.stand.lasts_s, LONG_ENOUGH_S) / LONG_ENOUGH_S - self.off_deg / OFF_SQUARE_DEG


def looked_at(stand: Stand) -> Placed:
    """A stand with the view that the picture in its middle looks like."""
    look = stand.looks[len(stand.looks) // 2]
    photo = Photo("front", "", "", look.rgb, None, "")
    pose = find_people(photo)
    if pose is None or lying(pose):
        return Placed(stand, None, pose, 0.0)
    view = looks_like(pose, find_point_markers(photo, pose=pose))
    return Placed(stand, view, pose, 0.0 if view is None else off_square_deg(pose, view))


def off_square_deg(pose: Pose, view: View) -> float:
    """How far she seems turned from the direction of a view, by the pose model's own guess of depth."""
    across, _, away = pose.points_mm[LEFT_SHOULDER] - pose.points_mm[RIGHT_SHOULDER]
    turn = float(np.degrees(np.arctan2(abs(away), abs(across))))
    return turn if view in SQUARE else 90.0 - turn


def held(placed: Sequence[Placed]) -> list[Placed]:
    """Those worth keeping in memory: of each look the two best, in order of time; askew ones are dropped."""
    best = {
        view: sorted((p for p in placed if p.view == view), key=lambda p: -p.worth)[: HELD_OF_A_LOOK if view in SQUARE else 1]
        for view in VIEWS
    }
    return [p for p in placed if any(p is one for kept in best.values() for one in kept)]


def views_of(film: Iterable[Placed]) -> dict[View, Placed]:
    """The best stand of each view.

    The back of a head may be taken for a face. So where nothing looks like one of front and back, and two stands look like the other
    with a side view between them, the later of these two is the one that is missing: half a turn lies between them.

    Parameters
    ----------
    film : iterable of Placed
        Its stands in order of time.

    Returns
    -------
    dict of view to Placed
        In the usual order of views; those that the film does not show are left out.
    """
    kept: list[Placed] = []
    for placed in film:
        kept = held([*kept, placed])
    named = {view: max(found, key=lambda p: p.worth) for view in VIEWS if (found := [p for p in kept if p.view == view])}
    turned: tuple[tuple[View, View], ...] = (("back", "front"), ("front", "back"))
    for missing, other in turned:
        pair = sorted((p for p in kept if p.view == other), key=lambda p: p.stand.start_s)
        if missing not in named and len(pair) == 2 and any(_between(pair[0], p, pair[1]) for p in kept if p.view not in SQUARE):
            why = f"it looks like the {other} too, but half a turn lies between"
            named[other], named[missing] = pair[0], replace(pair[1], why=why)
    return {view: named[view] for view in VIEWS if view in named}


def _between(first: Placed, one: Placed, last: Placed) -> bool:
    return first.stand.end_s < one.stand.start_s < last.stand.start_s
