"""Fifth stage: the solved fitting in numbers. How the garment lies, her points, posture and stance, and the folds read together."""

from dataclasses import dataclass

import numpy as np

from fitcheck.body.landmarks import landmarks
from fitcheck.body.posture import posture
from fitcheck.core.check import PostureValue
from fitcheck.core.folds import Fold, FoldGroup
from fitcheck.core.records import Landmark, Measurement, Standing, Unmeasured, View
from fitcheck.core.seen import SeenFitting
from fitcheck.core.solution import Solution
from fitcheck.measure.fold_frame import places_in
from fitcheck.measure.folds import group_folds
from fitcheck.measure.observables import measure
from fitcheck.stages.solve import Solved

TURN_SD_DEG = 0.4  # beside the solution's own: in a side photo a fuller bust than the model's looks like a turn; from 40 rendered fittings
BY_STANCE = ("shoulder_height_difference", "hip_height_difference")  # left and right differ in them by how she stands
TURNED_DEG = 3.0  # a photo turned by more is flagged; common practice is to stand square within that


@dataclass(frozen=True, slots=True)
class Measured:
    """What was measured.

    Attributes
    ----------
    measurements, unmeasured : tuple
        Observables, and those that could not be had, with the reason.
    landmarks : tuple of Landmark
    posture : tuple of PostureValue
    standing : dict of view to Standing
    folds : tuple of Fold
        Of all photos.
    fold_groups : tuple of FoldGroup
        Not yet in words.
    marked : bool
        Whether any point was marked or placed, so that her posture at least is known.
    lines_unseen : bool
        Whether her cloth hides any lines that may be drawn on it.
    """

    measurements: tuple[Measurement, ...]
    unmeasured: tuple[Unmeasured, ...]
    landmarks: tuple[Landmark, ...]
    posture: tuple[PostureValue, ...]
    standing: dict[View, Standing]
    folds: tuple[Fold, ...]
    fold_groups: tuple[FoldGroup, ...]
    marked: bool
    lines_unseen: bool = False


def measure_fitting(fitting: SeenFitting, solved: Solved) -> Measured:
    """Measure a solved fitting."""
    body, seen = solved.body, solved.evidence.sightings
    found, missing = measure(body, seen, fitting.half)
    even = all("stance_uneven" not in photo.flags for photo in fitting.photos if photo.usable)
    if not even:
        found, missing = _but_shoulder_heights(found, missing)
    folds = tuple(fold for photo in fitting.photos for fold in photo.garment.folds)
    return Measured(
        measurements=found,
        unmeasured=missing,
        landmarks=landmarks(body, seen),
        posture=tuple(value for value in posture(body) if even or value.id not in BY_STANCE),
        standing={view: _standing(body, view) for view in body.views},
        folds=folds,
        fold_groups=group_folds(folds, places_in(body)),
        marked=any(sighting.grade != "detected" for sighting in seen),
        lines_unseen=any("lines_unseen" in photo.flags for photo in fitting.photos if photo.usable),
    )


def _but_shoulder_heights(
    found: tuple[Measurement, ...], missing: tuple[Unmeasured, ...]
) -> tuple[tuple[Measurement, ...], tuple[Unmeasured, ...]]:
    """The observables without what a casual stance changes more than any figure does."""
    gone = [Unmeasured(m.id, m.at, m.side, "You did not stand evenly, so this tells nothing.") for m in found if m.id in BY_STANCE]
    return tuple(m for m in found if m.id not in BY_STANCE), (*gone, *missing)


def _standing(body: Solution, view: View) -> Standing:
    turn = body.turn_deg(view)
    return Standing(view, turn.value, float(np.hypot(turn.sd, TURN_SD_DEG)), ("turned",) if abs(turn.value) > TURNED_DEG else ())
