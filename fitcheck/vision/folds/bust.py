"""Where the bust is fullest, by the shading of the cloth over it: what the network of `fold_maps` says, as sightings."""

import numpy as np

from fitcheck.core.records import SIDES, Sighting, View
from fitcheck.vision.folds.bare_cloth import STEP_MM, BareCloth
from fitcheck.vision.folds.fold_maps import FoldMaps

NAME = "bust_as_shaded"  # see body/landmarks.toml
VAGUE_MM = 12.0  # a map higher than this tells nothing
SHARPER = 0.75  # the true place lies nearer than the map is wide: 0.6 of it, on 40 points the network had not seen


def find_bust(view: View, bare: BareCloth, maps: FoldMaps) -> tuple[Sighting, ...]:
    """Both bust points in the front photo, each at the mean of its map, as exact as the map is narrow from above to below.

    Parameters
    ----------
    view : View
    bare : BareCloth
    maps : FoldMaps

    Returns
    -------
    tuple of Sighting
        None but from the front.
    """
    if view != "front":
        return ()
    found = []
    for side, likely in zip(SIDES, maps.bust, strict=True):
        y, x = (np.arange(size, dtype=float) for size in likely.shape)
        by_row, by_column = likely.sum(axis=1), likely.sum(axis=0)
        middle = np.array([by_column @ x, by_row @ y])
        width = 2 * float(np.sqrt(by_row @ (y - middle[1]) ** 2))  # pixels of the bare cloth, two to a block
        if width * STEP_MM < VAGUE_MM:
            at = bare.in_photo(2 * middle[None] + 0.5)[0]
            found.append(Sighting(NAME, side, view, "detected", at, SHARPER * width / float(bare.zoom[1]), kind="shading"))
    return tuple(found)
