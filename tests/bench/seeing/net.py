"""The network that sees floors: a U-Net at half of its input's size, and its export.

In: (B, 5, h, w), h and w multiples of 32: red, green, blue (sRGB, -0.5 to 0.5) and x/f, y/f of each pixel from the lens
centre. Out: (B, 7, h/2, w/2) logits: floor, skirting, wall, other; concave and convex floor corners; floor line along a
wall. Only what OpenCV's importer has known for years is used: Conv, Relu, Add, Concat, Resize by nearest.
"""
from __future__ import annotations

import torch
from torch import Tensor, nn

CHANNELS = 7


class Step(nn.Module):
    """Convolution, batch norm, ReLU."""

    def __init__(self, a: int, b: int, size: int = 3, stride: int = 1, wide: int = 1, *, bare: bool = False) -> None:
        super().__init__()
        self.conv = nn.Conv2d(a, b, size, stride, wide * (size // 2), wide, bias=False)
        self.norm = nn.BatchNorm2d(b)
        self.bare = bare

    def forward(self, x: Tensor) -> Tensor:
        y = self.norm(self.conv(x))
        return y if self.bare else torch.relu(y)


class Twice(nn.Module):
    """Two convolutions beside a short cut."""

    def __init__(self, a: int, wide: int = 1) -> None:
        super().__init__()
        self.one, self.two = Step(a, a, wide=wide), Step(a, a, wide=wide, bare=True)

    def forward(self, x: Tensor) -> Tensor:
        return torch.relu(x + self.two(self.one(x)))


class Segmenter(nn.Module):
    """1.84 million weights."""

    def __init__(self) -> None:
        super().__init__()
        self.second = nn.Sequential(Step(5, 24, 5, 2), Step(24, 24))
        self.fourth = nn.Sequential(Step(24, 48, stride=2), Twice(48))
        self.eighth = nn.Sequential(Step(48, 80, stride=2), Twice(80))
        self.sixteenth = nn.Sequential(Step(80, 112, stride=2), Twice(112))
        self.low = nn.Sequential(Step(112, 144, stride=2), Twice(144, 2), Twice(144, 3))
        self.up16, self.up8 = Step(144 + 112, 88), nn.Sequential(Step(88 + 80, 64), Step(64, 64))
        self.up4, self.up2 = (
            nn.Sequential(Step(64 + 48, 48), Step(48, 48)),
            nn.Sequential(Step(48 + 24, 32), Step(32, 32)),
        )
        self.out = nn.Conv2d(32, CHANNELS, 1)
        # Corners and lines are rare: begin by saying so.
        nn.init.constant_(self.out.bias[4:], -4.0)

    def forward(self, x: Tensor) -> Tensor:
        half = self.second(x)
        quarter = self.fourth(half)
        eighth = self.eighth(quarter)
        sixteenth = self.sixteenth(eighth)
        y = self.up16(torch.cat([_twofold(self.low(sixteenth)), sixteenth], 1))
        y = self.up8(torch.cat([_twofold(y), eighth], 1))
        y = self.up4(torch.cat([_twofold(y), quarter], 1))
        return self.out(self.up2(torch.cat([_twofold(y), half], 1)))


def _twofold(x: Tensor) -> Tensor:
    return nn.functional.interpolate(x, scale_factor=2.0, mode="nearest")
