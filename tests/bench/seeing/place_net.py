"""The network that places floor corners and lines: a small U-Net over a piece of 64 by 64 px at the picture's own size.

In: (B, 3, 64, 64) sRGB, -0.5 to 0.5. Out: (B, 9, 16, 16) by cell of 4 px: logit of a corner in the cell, its place from
the cell's middle (x, y, px), natural logarithm of the scale of the error (x, y, px; mean absolute error); logit of a
wall's foot in the cell, its nearest place from the cell's middle (x, y, px), logarithm of that error's scale.
"""
from __future__ import annotations

import torch
from torch import Tensor, nn

from tests.bench.seeing.net import Step, Twice

SIDE, CELL = 64, 4


class PlaceFinder(nn.Module):
    """0.15 million weights."""

    def __init__(self) -> None:
        super().__init__()
        self.second = nn.Sequential(Step(3, 20, 5, 2), Twice(20), Twice(20))
        self.fourth = nn.Sequential(Step(20, 32, stride=2), Twice(32), Twice(32, 2))
        self.low = nn.Sequential(Step(32, 44, stride=2), Twice(44))
        self.up = nn.Sequential(Step(76, 32), Twice(32))
        self.out = nn.Conv2d(32, 9, 1)
        nn.init.constant_(self.out.bias[:1], -4.0)

    def forward(self, x: Tensor) -> Tensor:
        fourth = self.fourth(self.second(x))
        low = nn.functional.interpolate(self.low(fourth), scale_factor=2.0, mode="nearest")
        return self.out(self.up(torch.cat([low, fourth], 1)))
