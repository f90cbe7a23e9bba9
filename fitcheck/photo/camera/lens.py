"""A lens as far as it is known, as a fit of the card begins with it."""

from dataclasses import dataclass

FIXED = 1e-6  # standard uncertainty of what a fit is not to change
K1_SD = 0.03  # of the first radial term of a lens that nobody measured; estimate
NO_HIGHER = (0.0, 0.0, 0.0, 0.0)  # k2 p1 p2 k3 of a lens that nobody measured


@dataclass(frozen=True, slots=True)
class Lens:
    """A lens as far as it is known.

    Attributes
    ----------
    focal_px, focal_sd : float
        focal_sd is relative, and enters the fit of the card.
    known_sd : float or None
        Relative uncertainty where the card's fit is not to change the focal length.
    higher : (float, float, float, float)
        k2 p1 p2 k3.
    guessed : bool
        Neither a calibration nor the file says anything.
    """

    focal_px: float
    focal_sd: float
    known_sd: float | None = None
    k1: float = 0.0
    k1_sd: float = K1_SD
    higher: tuple[float, float, float, float] = NO_HIGHER
    guessed: bool = False
