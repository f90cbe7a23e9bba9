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
    grey, red, blue = cv2.split(cv2.cvtColor(rgb, cv2.COLOR_RGB2YCrCb))
    sharp = (cv2.addWeighted(c, 1 + AMOUNT, cv2.GaussianBlur(c, (0, 0), SIGMA_PX * reduced), -AMOUNT, 0) for c in (red, blue))
    return np.asarray(cv2.cvtColor(cv2.merge([grey, *sharp]), cv2.COLOR_YCrCb2RGB), np.uint8)
