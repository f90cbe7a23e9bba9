"""The network that reads folds, and its way into OpenCV."""

from itertools import pairwise
from pathlib import Path

import torch
from torch import nn

CHANNELS_IN, CHANNELS_OUT, POINTS = 4, 3, 2  # see fitcheck/vision/folds/fold_maps.py
WIDTHS = (24, 32, 48, 64, 64)


class Layer(nn.Module):
    """Convolution, normalisation and rectifier."""

    def __init__(self, before: int, after: int) -> None:
        super().__init__()
        self.c, self.n = nn.Conv2d(before, after, 3, padding=1, bias=False), nn.BatchNorm2d(after)

    def forward(self, x: torch.Tensor) -> torch.Tensor:
        return torch.relu(self.n(self.c(x)))


class Net(nn.Module):
    """U-Net on blocks of 2 x 2 pixels; the mean over the whole garment, which tells where the light comes from, is added at the bottom."""

    def __init__(self, widths: tuple[int, ...] = WIDTHS) -> None:
        super().__init__()
        steps = list(pairwise(widths))
        bottom = widths[-1]
        self.stem = nn.Sequential(Layer(4 * CHANNELS_IN, widths[0]), Layer(widths[0], widths[0]))
        self.down = nn.ModuleList(nn.Sequential(nn.MaxPool2d(2), Layer(a, b), Layer(b, b)) for a, b in steps)
        self.glob = nn.Sequential(nn.AdaptiveAvgPool2d(1), nn.Conv2d(bottom, bottom, 1), nn.ReLU(), nn.Conv2d(bottom, bottom, 1))
        self.red = nn.ModuleList(nn.Conv2d(b, a, 1) for a, b in steps)
        self.up = nn.ModuleList(nn.Sequential(Layer(2 * a, a), Layer(a, a)) for a, _ in steps)
        self.last = nn.Conv2d(widths[0], 4 * CHANNELS_OUT + POINTS, 1)

    def forward(self, x: torch.Tensor) -> tuple[torch.Tensor, torch.Tensor]:
        """(N, 4, H, W) to logits of crest and hollow and the height in units of 3 mm, (N, 3, H, W), and how likely each block is the left
        or the right bust point, (N, 2, H/2, W/2), logits."""
        told = self.blocks(nn.functional.pixel_unshuffle(x, 2))
        return nn.functional.pixel_shuffle(told[:, : 4 * CHANNELS_OUT], 2), told[:, 4 * CHANNELS_OUT :]

    def blocks(self, x: torch.Tensor) -> torch.Tensor:
        """Of each block four channels for each map, one for each point, from four for each channel of the picture."""
        levels = [self.stem(x)]
        for down in self.down:
            levels.append(down(levels[-1]))
        y = levels[-1] + self.glob(levels[-1])
        for i in reversed(range(len(self.up))):
            y = nn.functional.interpolate(self.red[i](y), scale_factor=2, mode="bilinear", align_corners=False)
            y = self.up[i](torch.cat([y, levels[i]], 1))
        return self.last(y)


class _OnBlocks(nn.Module):
    """The same from blocks to blocks: OpenCV takes no block shuffling for pictures of any size, numpy does it as well."""

    def __init__(self, net: Net) -> None:
        super().__init__()
        self.net = net

    def forward(self, x: torch.Tensor) -> torch.Tensor:
        return self.net.blocks(x)


def export(net: Net, file: Path) -> None:
    """Write the network for `vision.folds.fold_maps`: pictures of any size in whole blocks of 32, their own 2 x 2 blocks in channels."""
    picture = torch.zeros(1, 4 * CHANNELS_IN, 160, 112)
    torch.onnx.export(
        _OnBlocks(net.eval()).eval(), picture, str(file), opset_version=13, dynamo=False, input_names=["x"], output_names=["y"]
    )
