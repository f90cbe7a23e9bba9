"""The whole result of one fitting."""

from dataclasses import dataclass, field
from typing import Any

from fitcheck.core.advice import Explanation, Finding, Round
from fitcheck.core.camera import Photo, Scale
from fitcheck.core.folds import Fold, FoldGroup
from fitcheck.core.records import Landmark, Measurement, Pose, SeamLine, Side, Sighting, Standing, Unmeasured


@dataclass(frozen=True, slots=True)
class PostureValue:
    """One posture number; tracked, never diagnosed."""

    id: str
    side: Side | None
    value: float
    unit: str
    sd: float


@dataclass(frozen=True, slots=True)
class TapeCheck:
    """One of the wearer's tape measurements against the same length out of the photos.

    Attributes
    ----------
    id : str
        bust, waist, hip, shoulder_length, back_waist_length, bust_span or height.
    agrees : bool
        The difference lies within the joint 95 % uncertainty.
    """

    id: str
    tape_mm: float
    own_mm: float
    own_sd_mm: float
    tape_sd_mm: float
    agrees: bool


@dataclass(frozen=True, slots=True)
class PhotoResult:
    """Everything about one photo that the report shows."""

    photo: Photo
    scale: Scale | None
    pose: Pose | None
    standing: Standing | None
    sightings: tuple[Sighting, ...]
    seams: tuple[SeamLine, ...]
    flags: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class FitCheck:
    """The whole result of one fitting."""

    photos: tuple[PhotoResult, ...]
    landmarks: tuple[Landmark, ...]
    measurements: tuple[Measurement, ...]
    unmeasured: tuple[Unmeasured, ...]
    findings: tuple[Finding, ...]
    explanations: tuple[Explanation, ...]
    round: Round
    posture: tuple[PostureValue, ...] = ()
    settings: dict[str, Any] = field(default_factory=dict)
    flags: tuple[str, ...] = ()
    tape: tuple[TapeCheck, ...] = ()
    folds: tuple[Fold, ...] = ()
    fold_groups: tuple[FoldGroup, ...] = ()
