"""The energy of thin cloth that lies on a body, and its gradient, for many drapes at once. Millimetres, newtons.

Cloth is stiff when it is stretched and gives way, by small folds, when it is pressed together (tension field; Pipkin 1986). So a shape has
one rest, not many folded ones, and what is eased in costs nothing. Seams and darts are one line of points; a tape holds neckline and
armhole. Bending: isometric quadratic (Bergou et al. 2006), none across a seam. Contact without friction: what a garment does
once it has been shaken down.
"""

from dataclasses import dataclass

import numpy as np
import torch

from ..mesh import Floats, Ints
from .figure import CELL_MM

STIFF, SLACK = 3.0, 0.05  # N/mm, stretched and pressed together
BENDING = 0.03  # N mm
WEIGHT = 1.5e-6  # N/mm2: 150 g/m2
CONTACT = 4e-4  # N/mm3
THICK_MM = 1.0
TAPE = 40.0  # N a strain of 1, stretched
TAPE_SLACK = 1.0
PULL = 4e-3  # N/mm: what a hand that closes the front draws with


@dataclass(frozen=True)
class Shared:
    """What all drapes of a batch have in common: one mesh.

    Attributes
    ----------
    tris : tensor (m, 3)
    hinges : tensor (h, 4), bends : tensor (h, 4)
        Edge ends and the two points across; what each counts.
    tapes : tensor (t, 2)
    held : tensor (n,)
        1 where a point may not leave x = 0.
    drawn : tensor (n,)
        How much of the open front's edge a point has, mm.
    """

    tris: torch.Tensor
    hinges: torch.Tensor
    bends: torch.Tensor
    tapes: torch.Tensor
    held: torch.Tensor
    drawn: torch.Tensor
    half: bool


@dataclass(frozen=True)
class Batch:
    """What differs, b drapes: rest shapes and bodies.

    Attributes
    ----------
    inverse : tensor (b, m, 2, 2)
        Of the edges of each triangle at rest.
    area : tensor (b, m)
    mass : tensor (b, n)
        Area that hangs on each point, mm2.
    lengths : tensor (b, t)
        Of the tapes.
    fields : tensor (f, x, y, z), corners : tensor (f, 3)
    body : tensor (b,)
        Which field each lies on.
    """

    inverse: torch.Tensor
    area: torch.Tensor
    mass: torch.Tensor
    lengths: torch.Tensor
    fields: torch.Tensor
    corners: torch.Tensor
    body: torch.Tensor

    def some(self, rows: torch.Tensor) -> "Batch":
        """Only some of the drapes."""
        return Batch(self.inverse[rows], self.area[rows], self.mass[rows], self.lengths[rows], self.fields, self.corners, self.body[rows])


def energy(x: torch.Tensor, shared: Shared, batch: Batch) -> tuple[torch.Tensor, torch.Tensor]:
    """Energy (b,) and gradient (b, n, 3) of shapes x (b, n, 3)."""
    gradient = torch.zeros_like(x)
    total = _membrane(x, shared, batch, gradient)
    total = total + _bending(x, shared, gradient) + _tapes(x, shared, batch, gradient)
    total = total + (batch.mass * x[..., 2]).sum(1) * WEIGHT
    gradient[..., 2] += batch.mass * WEIGHT
    total = total + _contact(x, batch, gradient)
    if shared.half:
        beyond = torch.clamp(-x[..., 0], min=0)
        total = total + 0.5 * CONTACT * (batch.mass * beyond**2).sum(1)
        gradient[..., 0] -= CONTACT * batch.mass * beyond
        total = total + PULL * (shared.drawn * x[..., 0]).sum(1)
        gradient[..., 0] += PULL * shared.drawn
        gradient[..., 0] *= 1 - shared.held
    return total, gradient


def deformation(x: torch.Tensor, tris: torch.Tensor, inverse: torch.Tensor) -> torch.Tensor:
    """Gradient of the deformation of each triangle, (b, m, 3, 2)."""
    first = x[:, tris[:, 0]]
    one, two = x[:, tris[:, 1]] - first, x[:, tris[:, 2]] - first
    columns = (one * inverse[..., 0, k, None] + two * inverse[..., 1, k, None] for k in (0, 1))
    return torch.stack(list(columns), -1)


def _membrane(x: torch.Tensor, shared: Shared, batch: Batch, gradient: torch.Tensor) -> torch.Tensor:
    f = deformation(x, shared.tris, batch.inverse)
    u, v = f[..., 0], f[..., 1]
    e11, e22, e12 = ((u * u).sum(-1) - 1) / 2, ((v * v).sum(-1) - 1) / 2, (u * v).sum(-1) / 2
    middle, half = (e11 + e22) / 2, (e11 - e22) / 2
    radius = torch.sqrt(half**2 + e12**2 + 1e-16)
    high, low = middle + radius, middle - radius
    stress_high, stress_low = (torch.where(e > 0, STIFF * e, SLACK * e) for e in (high, low))
    mean, spread = (stress_high + stress_low) / 2, (stress_high - stress_low) / (2 * radius)
    s11, s22, s12 = mean + spread * half, mean - spread * half, spread * e12
    along_u, along_v = u * s11[..., None] + v * s12[..., None], u * s12[..., None] + v * s22[..., None]
    weight = batch.inverse * batch.area[..., None, None]
    one, two = (along_u * weight[..., k, 0, None] + along_v * weight[..., k, 1, None] for k in (0, 1))
    gradient.index_add_(1, shared.tris.T.reshape(-1), torch.cat([-one - two, one, two], 1))
    return (batch.area * (stress_high * high + stress_low * low)).sum(1) / 2


def _bending(x: torch.Tensor, shared: Shared, gradient: torch.Tensor) -> torch.Tensor:
    bend = (x[:, shared.hinges] * shared.bends[None, :, :, None]).sum(2)
    for k in range(4):
        gradient.index_add_(1, shared.hinges[:, k], BENDING * bend * shared.bends[None, :, k, None])
    return 0.5 * BENDING * (bend**2).sum((1, 2))


def _tapes(x: torch.Tensor, shared: Shared, batch: Batch, gradient: torch.Tensor) -> torch.Tensor:
    a, b = shared.tapes.T
    along = x[:, b] - x[:, a]
    length = torch.sqrt((along**2).sum(-1) + 1e-12)
    strain = length / batch.lengths - 1
    stiff = TAPE_SLACK + (TAPE - TAPE_SLACK) * (strain > 0)
    pull = (stiff * strain / length)[..., None] * along
    gradient.index_add_(1, b, pull)
    gradient.index_add_(1, a, -pull)
    return 0.5 * (stiff * strain**2 * batch.lengths).sum(1)


def _contact(x: torch.Tensor, batch: Batch, gradient: torch.Tensor) -> torch.Tensor:
    gap, outwards = distance(x, batch)
    depth = torch.clamp(THICK_MM - gap, min=0)
    gradient -= (CONTACT * batch.mass * depth)[..., None] * outwards
    return 0.5 * CONTACT * (batch.mass * depth**2).sum(1)


def distance(x: torch.Tensor, batch: Batch) -> tuple[torch.Tensor, torch.Tensor]:
    """Distance to the skin (b, n) and its gradient (b, n, 3): quadratic B-splines over the grid, smooth to the first derivative."""
    at = (x - batch.corners[batch.body][:, None]) / CELL_MM
    size = batch.fields.shape[1:]
    at = torch.stack([at[..., k].clamp(1.0, size[k] - 2.0) for k in range(3)], -1)
    base = torch.round(at)
    t = at - base
    weight = torch.stack([(0.5 - t) ** 2 / 2, 0.75 - t**2, (0.5 + t) ** 2 / 2])  # (3, b, n, 3)
    slope = torch.stack([t - 0.5, -2 * t, t + 0.5]) / CELL_MM
    base = base.long()
    flat = batch.fields.reshape(-1)
    step = (size[1] * size[2], size[2], 1)
    first = batch.body[:, None] * (size[0] * step[0]) + (base[..., 0] - 1) * step[0] + (base[..., 1] - 1) * step[1] + base[..., 2] - 1
    value = torch.zeros_like(t[..., 0])
    along = [torch.zeros_like(value) for _ in range(3)]
    for i in range(3):
        for j in range(3):
            row = first + i * step[0] + j * step[1]
            f = torch.stack([flat[row], flat[row + 1], flat[row + 2]])
            in_z = (f * weight[..., 2]).sum(0)
            wx, wy = weight[i, ..., 0], weight[j, ..., 1]
            value = value + wx * wy * in_z
            along[0] = along[0] + slope[i, ..., 0] * wy * in_z
            along[1] = along[1] + wx * slope[j, ..., 1] * in_z
            along[2] = along[2] + wx * wy * (f * slope[..., 2]).sum(0)
    return value, torch.stack(along, -1)


def shared_of(tris: Ints, rest: tuple[Floats, Ints], tapes: Ints, held: Floats, drawn: Floats, half: bool, device: str) -> Shared:
    """Tensors of a mesh.

    Parameters
    ----------
    tris : ndarray of int, shape (m, 3)
        Of the garment's points.
    rest : tuple
        Points on paper (k, 2) and triangles of them, for hinges within pieces.
    """
    flat, paper = rest
    hinges, bends = _hinges(flat, paper, tris)
    places = [torch.as_tensor(part, device=device) for part in (tris, hinges, bends, tapes, held, drawn)]
    return Shared(places[0], places[1], places[2], places[3], places[4], places[5], half)


def _hinges(flat: Floats, paper: Ints, tris: Ints) -> tuple[Ints, Floats]:
    """Inner edges of each piece: four points of the garment, and weights whose sum over the points is how far it bends."""
    sides: dict[tuple[int, int], list[tuple[int, int]]] = {}
    for number, t in enumerate(paper):
        for k in range(3):
            a, b = int(t[k]), int(t[(k + 1) % 3])
            sides.setdefault((min(a, b), max(a, b)), []).append((number, (k + 2) % 3))
    hinges, bends = [], []
    for (a, b), two in sides.items():
        if len(two) != 2:
            continue
        (t1, k1), (t2, k2) = two
        c, d = paper[t1, k1], paper[t2, k2]
        names = [tris[t1][list(paper[t1]).index(a)], tris[t1][list(paper[t1]).index(b)], tris[t1, k1], tris[t2, k2]]

        def cot(tip: int, one: int, other: int) -> float:
            u, v = flat[one] - flat[tip], flat[other] - flat[tip]
            return float((u @ v) / abs(u[0] * v[1] - u[1] * v[0]))

        ac, ad, bc, bd = cot(a, b, c), cot(a, b, d), cot(b, a, c), cot(b, a, d)
        area = sum(abs(np.cross(np.r_[flat[b] - flat[a], 0], np.r_[flat[p] - flat[a], 0])[2]) / 2 for p in (c, d))
        scale = np.sqrt(3 / area)
        hinges.append(names)
        bends.append(scale * np.array([bc + bd, ac + ad, -(ac + bc), -(ad + bd)]))
    return np.array(hinges), np.array(bends)
