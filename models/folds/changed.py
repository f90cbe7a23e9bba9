"""Stored pictures changed at random, as the network is to bear it: turned, mirrored, nearer or farther, in other light, with noise."""

import torch
from torch import Tensor
from torch.nn import functional

from models.folds.distances import FARTHEST_PX, STEPS
from models.folds.views import HEIGHT_STEPS

WINDOW = (352, 256)  # of what the network sees at a time; SHAPE less what it may be moved
MOVE_PX = (14.0, 18.0)  # sd, across and down
GROW, TURN_RAD = 0.09, 0.12  # sd
LINE_SIGMA = 1.5  # pixels: how a line's target falls to both sides


def changed(told: Tensor, away: Tensor, height: Tensor) -> tuple[Tensor, Tensor, Tensor]:
    """A batch of stored pictures (`views`), changed.

    Returns
    -------
    seen : Tensor, shape (N, 4, *WINDOW)
        What the network sees.
    goal : Tensor, shape (N, 4, *WINDOW)
        1 on crests, low crests, hollows and low hollows, falling to both sides.
    up : Tensor, shape (N, *WINDOW)
        Heights, mm.
    """
    n, device = len(told), told.device
    grow = torch.exp(GROW * torch.randn(n, device=device))
    grid = _grid(told[:, 1] > 0, grow)
    by_size = grow[:, None, None, None]

    def warped(picture: Tensor, mode: str) -> Tensor:
        return functional.grid_sample(picture.float(), grid, mode=mode, padding_mode="zeros", align_corners=True)

    hangs, shows = warped(told[:, 1:3], "nearest").split(1, 1)
    bright, inward = warped(told[:, [0, 3]], "bilinear").split(1, 1)
    near = warped(FARTHEST_PX - away.float() / STEPS, "bilinear")  # 0 beyond the picture: nowhere near a line
    off = torch.where(near <= 0.4, 99.0, (FARTHEST_PX - near) * by_size)
    up = warped(height[:, None], "bilinear") / HEIGHT_STEPS * by_size
    seen = [_in_other_light(bright) * hangs, hangs, shows * hangs, (inward * by_size).clamp(0, 1) * hangs]
    return torch.cat(seen, 1), torch.exp(-(off**2) / (2 * LINE_SIGMA**2)), up[:, 0]


def _grid(hangs: Tensor, grow: Tensor) -> Tensor:
    """Where each pixel of the windows lies in the stored pictures, in the units of `grid_sample`."""
    n, device = len(hangs), hangs.device
    rows, cols = hangs.shape[1:]
    middle = torch.stack([_middle(hangs.any(1)), _middle(hangs.any(2))], 1)
    middle = middle + torch.randn(n, 2, device=device) * torch.tensor(MOVE_PX, device=device)
    turn = TURN_RAD * torch.randn(n, device=device)
    mirror = torch.where(torch.rand(n, device=device) < 0.5, -1.0, 1.0)
    cos, sin = torch.cos(turn), torch.sin(turn)
    move = torch.stack([torch.stack([cos * mirror, -sin], 1), torch.stack([sin * mirror, cos], 1)], 1) / grow[:, None, None]
    y, x = (torch.arange(size, device=device, dtype=torch.float32) - (size - 1) / 2 for size in WINDOW)
    here = torch.stack(torch.meshgrid(x, y, indexing="xy"), -1)
    there = torch.einsum("bij,hwj->bhwi", move, here) + middle[:, None, None]
    return 2 * there / torch.tensor([cols - 1, rows - 1], device=device) - 1


def _middle(some: Tensor) -> Tensor:
    """Halfway between the first and the last place that is true, of each row."""
    place = torch.arange(some.shape[1], device=some.device)
    first, last = torch.where(some, place, some.shape[1]).amin(1), torch.where(some, place, -1).amax(1)
    return (first + last).float() / 2


def _in_other_light(bright: Tensor) -> Tensor:
    """Logarithms of brightness (N, 1, H, W) with contrast, exposure, uneven light and noise changed."""
    n, device = len(bright), bright.device
    contrast, exposure = torch.randn(2, n, 1, 1, 1, device=device)
    uneven, noise = torch.rand(2, n, 1, 1, 1, device=device)
    light = functional.interpolate(torch.randn(n, 1, 4, 3, device=device), size=WINDOW, mode="bicubic", align_corners=False)
    bright = bright * torch.exp(0.2 * contrast) + 0.15 * exposure
    return bright + 0.12 * uneven * light + 0.03 * noise**2 * torch.randn_like(bright)
