"""A fold of the cloth, and folds read together."""

from dataclasses import dataclass
from typing import Literal

from fitcheck.core.records import Floats, Side, View, measurement_key


@dataclass(frozen=True, slots=True)
class Fold:
    """One crest (ridge) or hollow (valley) of the cloth in one photo.

    Attributes
    ----------
    points_px : ndarray, shape (N, 2)
        Centre line, from its upper end.
    direction_deg : float
        From the plumb line, -90 to 90: 0 upright, + when the lower end lies further to image right.
    width_mm : float
        At half height.
    height_mm : float
        Of the crest over its feet as the shading tells; rough (see `vision.folds.trace_folds`).
    strength : float
        1 for a fold 3 mm high and 60 mm long, in proportion to both.
    tension : str
        taut (straight and narrow) | loose.
    take_up_mm, take_up_sd_mm : float or None
        Cloth taken up across the fold; None where nothing is known of heights.
    """

    view: View
    kind: Literal["ridge", "valley"]
    points_px: Floats
    length_mm: float
    direction_deg: float
    width_mm: float
    height_mm: float
    strength: float
    tension: Literal["taut", "loose"]
    take_up_mm: float | None = None
    take_up_sd_mm: float | None = None


@dataclass(frozen=True, slots=True)
class FoldGroup:
    """Folds of one photo that a dressmaker reads together.

    Attributes
    ----------
    id : str
        fold_fan, fold_horizontals, fold_loose_horizontals, fold_verticals, fold_v, fold_diagonal or fold_smiles.
    at : str
        Where it points, lies or runs: bust_point, hip, back_waist, neck_to_armhole ...
    starts_at, ends_at : str
        Named places it runs from and to, "" where it only lies at `at`.
    folds : tuple of int
        Places in `FitCheck.folds`.
    strength : float
        Total over its ridges or its valleys, whichever is more.
    take_up_mm, take_up_sd_mm : float or None
    significant : bool
        Strong enough to be spoken of as a finding.
    says : str
        What such folds usually mean, in plain words.
    """

    id: str
    at: str
    side: Side | None
    view: View
    folds: tuple[int, ...]
    strength: float
    take_up_mm: float | None
    take_up_sd_mm: float | None
    significant: bool
    starts_at: str = ""
    ends_at: str = ""
    says: str = ""

    @property
    def key(self) -> str:
        """As `Measurement.key`."""
        return measurement_key(self.id, self.at, self.side)
