"""Many drapes of one dress at once: begun, brought to rest, refused where they are not."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import torch

from ..mesh import Bools, Floats
from . import garment, place
from .cut import Cloth, Worn
from .energy import deformation
from .figure import Figure
from .read import read
from .settle import lead, settle

ROUNDS = 3000
REST_MM = 0.05  # no point moves by more in a hundred rounds
NEARLY_MM = 0.3  # in a hundred rounds: more is refused


@dataclass(frozen=True)
class Draped:
    """Shapes (b, n, 3), which of them rest, the last moves (b,), mm, strain that 99 % of the triangles stay below (b,), rounds."""

    x: Floats
    rests: Bools
    moves: Floats
    strain: Floats
    rounds: int


def drape(
    cloth: Cloth,
    worn: Sequence[Worn],
    figures: Sequence[Figure],
    opened: bool,
    start: Floats | None = None,
    rounds: int = ROUNDS,
    device: str = "cpu",
) -> Draped:
    """Every garment on its body.

    Parameters
    ----------
    start : ndarray, shape (b, n, 3), optional
        Shapes to begin with, such as that of the block before it was altered.
    """
    if start is None:
        start = np.stack([place.start(cloth, one.pieces, one.flat, figures[one.figure]) for one in worn])
    shared = garment.shared(cloth, opened, device)
    batch = garment.batch(cloth, worn, figures, device)
    leading = lead(shared, batch, cloth.size)
    settled = settle(torch.as_tensor(start, device=device), shared, batch, leading, rounds, REST_MM)
    stretch = torch.linalg.svdvals(deformation(settled.x, shared.tris, batch.inverse))[..., 0] - 1
    strain = torch.quantile(stretch, 0.99, dim=1)
    x, moves, strained = (part.cpu().numpy() for part in (settled.x, settled.moves, strain))
    return Draped(x, moves < NEARLY_MM, moves, strained, settled.rounds)


def readings(cloth: Cloth, worn: Sequence[Worn], figures: Sequence[Figure], x: Floats, opened: bool) -> list[dict[str, float]]:
    """Observables of every drape."""
    return [read(shape, cloth, one, figures[one.figure], opened) for shape, one in zip(x, worn, strict=True)]
