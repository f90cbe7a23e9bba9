"""A half dress ready to be draped: what all drapes share, and what differs in each."""

from collections.abc import Sequence

import numpy as np
import torch

from fitcheck.pattern.piece import Pieces

from ..mesh import Floats, Ints
from .cut import Cloth, Worn, doubled_areas
from .energy import Batch, Shared, shared_of
from .figure import Figure

TAPED = ("neck", "armhole")


def shared(cloth: Cloth, opened: bool, device: str = "cpu") -> Shared:
    """Of half a dress; the centre back lies on the middle of the body, the centre front too unless it is opened."""
    n = cloth.size
    held, drawn = np.zeros(n), np.zeros(n)
    for name in cloth.names:
        if any(name == piece and edge == "centre" for piece, edge in cloth.border):
            line = cloth.along(name, "centre")
            if name == "back" or not opened:
                held[line] = 1
            else:
                length = np.hypot(*np.diff(cloth.flat[cloth.border[name, "centre"]], axis=0).T)
                drawn[line] += np.r_[length / 2, 0] + np.r_[0, length / 2]
    return shared_of(cloth.sewn_tris, (cloth.flat, cloth.tris), tapes(cloth)[0], held, drawn, True, device)


def tapes(cloth: Cloth) -> tuple[Ints, Ints, list[tuple[str, str]]]:
    """Ends of every tape on the garment and on the paper, and which edge each lies on."""
    sewn, paper, edges = [], [], []
    for (name, edge), line in cloth.border.items():
        if edge in TAPED:
            paper.append(np.stack([line[:-1], line[1:]], 1))
            sewn.append(cloth.sewn_to[paper[-1]])
            edges += [(name, edge)] * (len(line) - 1)
    return np.concatenate(sewn), np.concatenate(paper), edges


def batch(cloth: Cloth, worn: Sequence[Worn], figures: Sequence[Figure], device: str = "cpu") -> Batch:
    """Rest shapes and bodies of many drapes."""
    ends, edges = tapes(cloth)[1:]
    inverse, area, mass, lengths = [], [], [], []
    for one in worn:
        flat = one.flat
        a, b = flat[cloth.tris[:, 1]] - flat[cloth.tris[:, 0]], flat[cloth.tris[:, 2]] - flat[cloth.tris[:, 0]]
        inverse.append(np.linalg.inv(np.stack([a, b], -1)))
        area.append(np.abs(doubled_areas(flat, cloth.tris)) / 2)
        mass.append(np.bincount(cloth.sewn_tris.ravel(), np.repeat(area[-1] / 3, 3), cloth.size))
        whole = np.hypot(*(flat[ends[:, 1]] - flat[ends[:, 0]]).T)
        left = np.array([1 - one.pieces[name].taken.get(edge, 0.0) / _long(one.pieces, name, edge) for name, edge in edges])
        lengths.append(whole * left)
    shape = np.max([one.field.shape for one in figures], axis=0)
    fields = np.stack([_filled(one.field, shape) for one in figures])

    def tensor(part: object) -> torch.Tensor:
        return torch.as_tensor(part, device=device)

    return Batch(
        tensor(np.stack(inverse)),
        tensor(np.stack(area)),
        tensor(np.stack(mass)),
        tensor(np.stack(lengths)),
        tensor(fields),
        tensor(np.stack([one.corner for one in figures])),
        tensor([one.figure for one in worn]),
    )


def _long(pieces: Pieces, name: str, edge: str) -> float:
    return pieces[name].length(edge) + pieces[name].taken.get(edge, 0.0)


def _filled(field: Floats, shape: Ints) -> Floats:
    return np.pad(field, [(0, int(more)) for more in shape - field.shape], mode="edge")
