"""What contradicts the rest: a sheet or card that was moved between the photos, a sheet that was printed to another size.

One floor and things that stay where they are explain every photo to a few tenths of a pixel. Where they do not, each thing in turn is
taken to have been moved before each photo, or for one photo alone, or to be printed otherwise; what explains most is believed and said.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import cv2
import numpy as np

from fitcheck.core.records import View
from fitcheck.photo.floor.floor_fit import fit_floor
from fitcheck.photo.floor.one_floor import FloorFit, Setting, Thing

SUSPECT = 1.0  # half a squared standard deviation an edge, from which on something is wrong; 0.1 to 0.4 where nothing is (our scenes)
SIZE_TOLD = (
    12.0  # by how much the misfit must fall for a sheet to be printed otherwise; up to 3 where none is, 30 to 40 for 1.5 % (our scenes)
)
SIZES_DIFFER = 0.005  # of two sheets, as a share, from which on it matters
MUCH_BETTER = 0.6  # of the misfit that must be left at most, where a suspicion is right (estimate)
AS_GOOD = 1.15  # of the best one's misfit: explanations that the photos do not tell apart
MOST_MOVES = 3  # that are looked for


@dataclass(frozen=True, slots=True)
class Moved:
    """A thing lies elsewhere in one photo than in the one before it."""

    thing: Thing
    before: View
    after: View


@dataclass(frozen=True, slots=True)
class Agreed:
    """A fit that nothing contradicts any more, and what had to be allowed for."""

    setting: Setting
    fit: FloorFit
    moved: tuple[Moved, ...] = ()
    other_size: Thing | None = None


def agreed(setting: Setting) -> Agreed | None:
    """Solve for one floor, and allow for what contradicts it.

    Parameters
    ----------
    setting : Setting
        Photos in the order in which they were taken.

    Returns
    -------
    Agreed or None
        As `fit_floor`.
    """
    fit = fit_floor(setting)
    if fit is None:
        return None
    for _ in range(MOST_MOVES):
        if not _suspicious(setting, fit):
            break
        tried = [(other, found) for other in _suspicions(setting) if (found := fit_floor(other, fit)) is not None]
        if not tried:
            break
        least = min(found.cost for _, found in tried)
        if least > MUCH_BETTER * fit.cost:
            break
        # which of two things moved only the camera can tell, as far as it stood still
        setting, fit = min((pair for pair in tried if pair[1].cost < AS_GOOD * least), key=lambda pair: _wandered(pair[1]))
        afresh = fit_floor(setting)  # the first fit may have been led far off by what had been moved
        if afresh is not None and afresh.cost < fit.cost:
            fit = afresh
    setting, fit = _otherwise_printed(setting, fit)
    return Agreed(setting, fit, tuple(_moves(setting)), setting.other_size)


def _otherwise_printed(setting: Setting, fit: FloorFit) -> tuple[Setting, FloorFit]:
    """With one of two sheets of another size, where that explains much: a smaller one looks like a floor that slopes aside.

    Which of them it is a card tells, printed with the others; without one it is the right one by choice.
    """
    if not {"left", "right"} <= fit.sizes.keys():
        return setting, fit
    things: tuple[Thing, ...] = ("right", "left") if "card" in fit.sizes else ("right",)
    others = [replace(setting, other_size=thing) for thing in things]
    tried = [(other, found) for other in others if (found := fit_floor(other, fit)) is not None]
    if not tried:
        return setting, fit
    other, found = min(tried, key=lambda pair: pair[1].cost)
    if fit.cost - found.cost < SIZE_TOLD or abs(np.log(found.sizes["right"] / found.sizes["left"])) < SIZES_DIFFER:
        return setting, fit
    return other, found


def _suspicious(setting: Setting, fit: FloorFit) -> bool:
    edges = sum(len(s.edges.normals) for s in setting.seen)
    return fit.cost > SUSPECT * edges


def _suspicions(setting: Setting) -> Iterator[Setting]:
    views = list(dict.fromkeys(s.view for s in setting.seen))
    for thing in dict.fromkeys(s.thing for s in setting.seen):
        shown = [view for view in views if any(s.view == view and s.thing == thing for s in setting.seen)]
        times = [setting.moved.get((view, thing), 0) for view in shown]
        for first in range(1, len(shown)):
            yield _with(setting, thing, shown, [n + (k >= first) for k, n in enumerate(times)])
        for alone in range(1, len(shown) - 1):
            yield _with(setting, thing, shown, [max(times) + 1 if k == alone else n for k, n in enumerate(times)])


def _with(setting: Setting, thing: Thing, views: Sequence[View], times: Sequence[int]) -> Setting:
    return replace(setting, moved={**setting.moved, **{(view, thing): n for view, n in zip(views, times, strict=True)}})


def _wandered(fit: FloorFit) -> float:
    """How far the cameras stand from their middle, mm."""
    eyes = np.array([-cv2.Rodrigues(pose[:3])[0].T @ pose[3:] for pose in fit.poses.values()])
    return float(np.linalg.norm(eyes - eyes.mean(axis=0), axis=1).max())


def _moves(setting: Setting) -> Iterator[Moved]:
    for thing in dict.fromkeys(s.thing for s in setting.seen):
        shown = [s.view for s in setting.seen if s.thing == thing]
        for before, after in pairwise(shown):
            if setting.moved.get((before, thing), 0) != setting.moved.get((after, thing), 0):
                yield Moved(thing, before, after)
