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


def changed(told: Tensor, away: Tensor, height: Tensor, bust: Tensor) -> tuple[Tensor, Tensor, Tensor, Tensor]:
    """A batch of stored pictures (`views`), changed.

    Returns
    -------
    seen : Tensor, shape (N, 4, *WINDOW)
        What the network sees.
    goal : Tensor, shape (N, 4, *WINDOW)
        1 on crests, low crests, hollows and low hollows, falling to both sides.
    up : Tensor, shape (N, *WINDOW)
        Heights, mm.
    bust : Tensor, shape (N, 2, 3)
        Pixels of her left and right bust point, and 1 where it may be learnt from.
    """
    n, device = len(told), told.device
    grow = torch.exp(GROW * torch.randn(n, device=device))
    move, middle, mirrored = _moves(told[:, 1] > 0, grow)
    grid = _grid(move, middle, told.shape[2:])
    by_size = grow[:, None, None, None]

    def warped(picture: Tensor, mode: str) -> Tensor:
        return functional.grid_sample(picture.float(), grid, mode=mode, padding_mode="zeros", align_corners=True)

    hangs, shows = warped(told[:, 1:3], "nearest").split(1, 1)
    bright, inward = warped(told[:, [0, 3]], "bilinear").split(1, 1)
    near = warped(FARTHEST_PX - away.float() / STEPS, "bilinear")  # 0 beyond the picture: nowhere near a line
    off = torch.where(near <= 0.4, 99.0, (FARTHEST_PX - near) * by_size)
    up = warped(height[:, None], "bilinear") / HEIGHT_STEPS * by_size
    seen = [_in_other_light(bright) * hangs, hangs, shows * hangs, (inward * by_size).clamp(0, 1) * hangs]
    at = (
        torch.einsum("bij,bkj->bki", torch.linalg.inv(move), bust[..., :2] - middle[:, None])
        + (torch.tensor(WINDOW[::-1], device=device) - 1) / 2
    )
    there = torch.cat([at, bust[..., 2:]], 2)
    there = torch.where(mirrored[:, None, None], there.flip(1), there)  # her left is her right in a mirror
    return torch.cat(seen, 1), torch.exp(-(off**2) / (2 * LINE_SIGMA**2)), up[:, 0], there


def _moves(hangs: Tensor, grow: Tensor) -> tuple[Tensor, Tensor, Tensor]:
    """From windows to stored pictures: matrices (N, 2, 2) about the window's middle, where that lies (N, 2), and which are mirrored."""
    n, device = len(hangs), hangs.device
    middle = torch.stack([_middle(hangs.any(1)), _middle(hangs.any(2))], 1)
    middle = middle + torch.randn(n, 2, device=device) * torch.tensor(MOVE_PX, device=device)
    turn = TURN_RAD * torch.randn(n, device=device)
    mirror = torch.where(torch.rand(n, device=device) < 0.5, -1.0, 1.0)
    cos, sin = torch.cos(turn), torch.sin(turn)
    move = torch.stack([torch.stack([cos * mirror, -sin], 1), torch.stack([sin * mirror, cos], 1)], 1) / grow[:, None, None]
    return move, middle, mirror < 0


def _grid(move: Tensor, middle: Tensor, shape: torch.Size) -> Tensor:
    """Where each pixel of the windows lies in the stored pictures, in the units of `grid_sample`."""
    (rows, cols), device = shape, move.device
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
