"""Bring many drapes to rest at once: limited-memory BFGS (Nocedal 1980), led by the inverse of the cloth's own stiffness, which all share.

One trial a round and no branch: a drape whose trial is not better keeps its shape and tries half the step in the next round. So a round is
the same list of operations for all drapes, and a GPU can replay it as one graph.
"""

from collections.abc import Callable
from dataclasses import dataclass

import torch

from .energy import BENDING, STIFF, Batch, Shared, energy

MEMORY = 16
SHRINK, ARMIJO, LEAST_STEP = 0.35, 1e-4, 1e-4
FURTHEST_MM = 20.0  # a point moves in one round
LOOSE = 4e-6  # N/mm3: holds each point a little where it is, so that the inverse is finite; more, and a garment slides to rest too slowly
LOOK_EVERY = 100  # rounds
NOISE = 1e-12  # of the energy: rounding


@dataclass(frozen=True)
class Settled:
    """Shapes (b, n, 3), the largest move of the last rounds (b,), mm, and rounds taken."""

    x: torch.Tensor
    moves: torch.Tensor
    rounds: int


@dataclass(frozen=True)
class _State:
    """What a round changes, in place: shapes, energies, gradients, step lengths, and the last moves with their changes of the gradient."""

    x: torch.Tensor
    value: torch.Tensor
    gradient: torch.Tensor
    step: torch.Tensor
    moves: torch.Tensor  # (memory, b, n, 3)
    turns: torch.Tensor
    inner: torch.Tensor  # (memory, b): one over their product, 0 where there is none yet


def lead(shared: Shared, batch: Batch, n: int) -> torch.Tensor:
    """Inverse (n, n) of a stiffness that is about right for every drape: the first one's, every direction stretched."""
    inverse, area = batch.inverse[0], batch.area[0]
    grads = torch.stack([-inverse.sum(1), inverse[:, 0], inverse[:, 1]], 1)  # (m, 3, 2): of the hat functions
    local = STIFF * area[:, None, None] * grads @ grads.transpose(1, 2)
    matrix = torch.zeros(n, n, dtype=inverse.dtype, device=inverse.device)
    t = shared.tris
    matrix.index_put_((t[:, :, None].expand(-1, 3, 3), t[:, None, :].expand(-1, 3, 3)), local, accumulate=True)
    h, w = shared.hinges, shared.bends
    bend = BENDING * w[:, :, None] * w[:, None, :]
    matrix.index_put_((h[:, :, None].expand(-1, 4, 4), h[:, None, :].expand(-1, 4, 4)), bend, accumulate=True)
    matrix.diagonal().add_(LOOSE * batch.mass[0])
    return torch.linalg.inv(matrix)


def settle(x: torch.Tensor, shared: Shared, batch: Batch, leading: torch.Tensor, rounds: int, rest_mm: float) -> Settled:
    """Minimise the energy of every drape, until none moves by more than `rest_mm` in a hundred rounds."""
    b = len(x)
    value, gradient = energy(x, shared, batch)
    memory = torch.zeros(MEMORY, *x.shape, dtype=x.dtype, device=x.device)
    inner = torch.zeros(MEMORY, b, dtype=x.dtype, device=x.device)
    state = _State(x.clone(), value, gradient, torch.ones_like(value), memory, memory.clone(), inner)
    again = _repeated(lambda: _round(state, shared, batch, leading))
    moved = torch.full_like(value, torch.inf)
    done = 0
    while done < rounds and bool((moved > rest_mm).any()):
        before = state.x.clone()
        for _ in range(LOOK_EVERY):
            again()
        moved = (state.x - before).norm(dim=2).amax(1)
        done += LOOK_EVERY
    return Settled(state.x, moved, done)


def _repeated(work: Callable[[], None]) -> Callable[[], None]:
    """On a GPU the work is recorded once and replayed, which spares its many small starts."""
    if not torch.cuda.is_available():
        return work
    beside = torch.cuda.Stream()
    beside.wait_stream(torch.cuda.current_stream())
    with torch.cuda.stream(beside):
        for _ in range(3):
            work()
    torch.cuda.current_stream().wait_stream(beside)
    graph = torch.cuda.CUDAGraph()
    with torch.cuda.graph(graph):
        work()

    def again() -> None:
        graph.replay()

    return again


def _round(state: _State, shared: Shared, batch: Batch, leading: torch.Tensor) -> None:
    d = -_direction(state, shared, leading)
    slope = (d * state.gradient).sum((1, 2))
    plain = -_led(state.gradient, shared, leading)
    downhill = slope < 0
    d = torch.where(downhill[:, None, None], d, plain)
    slope = (d * state.gradient).sum((1, 2))
    t = torch.minimum(state.step, FURTHEST_MM / d.norm(dim=2).amax(1).clamp(min=1e-9))
    trial = state.x + t[:, None, None] * d
    value, gradient = energy(trial, shared, batch)
    better = value <= state.value + ARMIJO * t * slope + NOISE * state.value.abs()
    move, turn = trial - state.x, gradient - state.gradient
    product = (move * turn).sum((1, 2))
    keep = better & (product > 1e-14)
    pick = keep[None, :, None, None]
    for held, new in ((state.moves, move), (state.turns, turn)):
        held.copy_(torch.where(pick, torch.cat([held[1:], new[None]]), held))
    newest = torch.cat([state.inner[1:], (1 / product.clamp(min=1e-14))[None]])
    state.inner.copy_(torch.where(keep[None], newest, state.inner))
    chosen = better[:, None, None]
    state.x.copy_(torch.where(chosen, trial, state.x))
    state.gradient.copy_(torch.where(chosen, gradient, state.gradient))
    state.value.copy_(torch.where(better, value, state.value))
    tried = torch.where(better, torch.ones_like(t), t * SHRINK)
    stuck = tried < LEAST_STEP  # what was learnt is of no use here: begin anew
    state.inner.mul_((~stuck)[None])
    state.step.copy_(torch.where(stuck, torch.ones_like(t), tried))


def _led(g: torch.Tensor, shared: Shared, leading: torch.Tensor) -> torch.Tensor:
    n = g.shape[1]
    free = torch.stack([1 - shared.held, torch.ones_like(shared.held), torch.ones_like(shared.held)], -1)
    together = (g * free).permute(1, 0, 2).reshape(n, -1)
    return (leading @ together).reshape(n, len(g), 3).permute(1, 0, 2) * free


def _direction(state: _State, shared: Shared, leading: torch.Tensor) -> torch.Tensor:
    """The inverse of what has been learnt of the curvature, times the gradient (two loops)."""
    q = state.gradient
    shares: list[torch.Tensor] = []
    for s, y, r in zip(state.moves.flip(0).unbind(), state.turns.flip(0).unbind(), state.inner.flip(0).unbind(), strict=True):
        shares.append(r * (s * q).sum((1, 2)))
        q = q - shares[-1][:, None, None] * y
    d = _led(q, shared, leading)
    y, r = state.turns[-1], state.inner[-1]
    along = (y * _led(y, shared, leading)).sum((1, 2))
    scale = torch.where(r > 0, 1 / (r * along).clamp(min=1e-30), torch.ones_like(r))
    d = d * scale[:, None, None]
    for s, y, r, a in zip(state.moves.unbind(), state.turns.unbind(), state.inner.unbind(), reversed(shares), strict=True):
        d = d + (a - r * (y * d).sum((1, 2)))[:, None, None] * s
    return d
