"""How pictures are coded."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

GAMMA = 2.2  # of the display that pictures are coded for (IEC 61966-2-1, nearly): light is a picture's value, 0 to 1, to this power
FULL = 255  # grey level of full light, in 8 bits


def light_of(levels: NDArray[Any]) -> NDArray[np.float64]:
    """Light, 0 to 1, of grey levels."""
    return np.asarray((levels / FULL) ** GAMMA, np.float64)
