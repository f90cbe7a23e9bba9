"""Colours as sharp as the film's coding left the greys."""

import cv2
import numpy as np
from numpy.typing import NDArray

# Films keep colour at half the width and height (4:2:0), and coding smooths it further: beside photos of the same size, drawn films had
# .65 of the colour in details of 1 to 2 px and .8 in those of 2 to 4 px, but .9 and .96 of the grey. Blurred pen lines and dots look paler
# than they are. This mask brings it to 1 to 1.1.
SIGMA_PX, AMOUNT = 1.6, 1.2


def sharp_colours(rgb: NDArray[np.uint8], reduced: float = 1.0) -> NDArray[np.uint8]:
    """A film's picture with its colours unsharp-masked, its greys as they are.

    To be used on means of several pictures, whose colours have little noise.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (H, W, 3)
    reduced : float
        Its size over that of the film.
    """
    parts = cv2.cvtColor(rgb.astype(np.float32), cv2.COLOR_RGB2YCrCb)  # whole levels would be too coarse to sharpen
    colour = parts[..., 1:]
    parts[..., 1:] = (1 + AMOUNT) * colour - AMOUNT * cv2.GaussianBlur(colour, (0, 0), SIGMA_PX * reduced)
    return np.asarray(np.clip(np.rint(cv2.cvtColor(parts, cv2.COLOR_YCrCb2RGB)), 0, 255), np.uint8)
