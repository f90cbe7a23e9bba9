"""Bring many drapes to rest at once: limited-memory BFGS (Nocedal 1980), led by the inverse of the cloth's own stiffness, which all share."""

from dataclasses import dataclass

import torch

from .energy import STIFF, BENDING, Batch, Shared, energy

MEMORY = 12
SHRINK, ARMIJO, TRIALS = 0.5, 1e-4, 12
REST_MM = 0.01  # no point would still move by more in one step


@dataclass(frozen=True)
class Settled:
    """Shapes (b, n, 3), the last step's largest move (b,), mm, and rounds taken."""

    x: torch.Tensor
    moves: torch.Tensor
    rounds: int


def lead(shared: Shared, batch: Batch, n: int, softer: float = 1.0) -> torch.Tensor:
    """Inverse (n, n) of a stiffness that is about right for every drape: the first one's, every direction stretched."""
    inverse, area = batch.inverse[0], batch.area[0]
    dtype, device = inverse.dtype, inverse.device
    grads = torch.stack([-inverse.sum(1), inverse[:, 0], inverse[:, 1]], 1)  # (m, 3, 2): of the hat functions
    local = STIFF * softer * area[:, None, None] * grads @ grads.transpose(1, 2)
    matrix = torch.zeros(n, n, dtype=dtype, device=device)
    t = shared.tris
    matrix.index_put_((t[:, :, None].expand(-1, 3, 3), t[:, None, :].expand(-1, 3, 3)), local, accumulate=True)
    h, w = shared.hinges, shared.bends
    bend = BENDING * w[:, :, None] * w[:, None, :]
    matrix.index_put_((h[:, :, None].expand(-1, 4, 4), h[:, None, :].expand(-1, 4, 4)), bend, accumulate=True)
    matrix.diagonal().add_(CONTACT_SHARE * batch.mass[0])
    return torch.linalg.inv(matrix)


CONTACT_SHARE = 2e-5  # N/mm3: keeps the inverse finite


def settle(x: torch.Tensor, shared: Shared, batch: Batch, leading: torch.Tensor, rounds: int = 1500, rest_mm: float = REST_MM) -> Settled:
    """Minimise the energy of every drape."""
    free = torch.ones_like(x[0])
    if shared.half:
        free[:, 0] = 1 - shared.held

    def led(g: torch.Tensor) -> torch.Tensor:
        together = (g * free).permute(1, 0, 2).reshape(g.shape[1], -1)
        return (leading @ together).reshape(g.shape[1], len(g), 3).permute(1, 0, 2) * free

    value, gradient = energy(x, shared, batch)
    steps: list[torch.Tensor] = []
    turns: list[torch.Tensor] = []
    inner: list[torch.Tensor] = []
    moves = torch.full_like(value, torch.inf)
    calm = torch.zeros_like(value)
    done = 0
    for done in range(1, rounds + 1):
        q = gradient.clone()
        alphas = []
        for s, y, r in zip(reversed(steps), reversed(turns), reversed(inner), strict=True):
            a = r * (s * q).sum((1, 2))
            alphas.append(a)
            q = q - a[:, None, None] * y
        d = led(q)
        if steps:
            s, y, r = steps[-1], turns[-1], inner[-1]
            along = (y * led(y)).sum((1, 2))
            gamma = torch.where(r > 0, 1 / (r * along).clamp(min=1e-30), torch.ones_like(r))
            d = d * gamma[:, None, None]
        for (s, y, r), a in zip(zip(steps, turns, inner, strict=True), reversed(alphas), strict=True):
            b = r * (y * d).sum((1, 2))
            d = d + (a - b)[:, None, None] * s
        d = -d
        slope = (d * gradient).sum((1, 2))
        downhill = slope < 0
        if not bool(downhill.all()):
            plain = -led(gradient)
            d = torch.where(downhill[:, None, None], d, plain)
            slope = (d * gradient).sum((1, 2))
        size = d.norm(dim=2).amax(1)
        t = torch.clamp(20.0 / size.clamp(min=1e-9), max=1.0)
        ok = torch.zeros_like(downhill)
        best_x, best_value, best_gradient = x, value, gradient
        for _ in range(TRIALS):
            trial = x + t[:, None, None] * d
            v, g = energy(trial, shared, batch)
            good = ~ok & (v <= value + ARMIJO * t * slope + 1e-12 * value.abs())
            pick = good[:, None, None]
            best_x, best_gradient = torch.where(pick, trial, best_x), torch.where(pick, g, best_gradient)
            best_value = torch.where(good, v, best_value)
            ok = ok | good
            if bool(ok.all()):
                break
            t = torch.where(ok, t, t * SHRINK)
        s, y = best_x - x, best_gradient - gradient
        curvature = (s * y).sum((1, 2))
        useful = curvature > 1e-14
        steps.append(s)
        turns.append(y)
        inner.append(torch.where(useful, 1 / curvature.clamp(min=1e-14), torch.zeros_like(curvature)))
        if len(steps) > MEMORY:
            steps.pop(0), turns.pop(0), inner.pop(0)
        moves = s.norm(dim=2).amax(1)
        calm = torch.where(moves < rest_mm, calm + 1, torch.zeros_like(calm))
        x, value, gradient = best_x, best_value, best_gradient
        if done % 10 == 0 and bool((calm > 15).all()):
            break
    return Settled(x, moves, done)
