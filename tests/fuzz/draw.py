"""Choices made from a fuzzer's bytes: the same bytes choose the same, one byte more or less changes little."""
from __future__ import annotations

from collections.abc import Sequence
from typing import TypeVar

T = TypeVar("T")


class Draws:
    """Reads choices from the front of some bytes; when they are used up, every choice is the first."""

    def __init__(self, data: bytes) -> None:
        self._data = data
        self._at = 0

    def whole(self, low: int, high: int) -> int:
        """A whole number from low to high, both included."""
        span = high - low + 1
        count = max(1, ((span - 1).bit_length() + 7) // 8)
        taken = self._data[self._at:self._at + count]
        self._at += count
        return low + int.from_bytes(taken, "little") % span

    def one_of(self, choices: Sequence[T]) -> T:
        return choices[self.whole(0, len(choices) - 1)]
