"""Where texts may stand without overprinting one another."""
from __future__ import annotations

from collections.abc import Iterable

from printpack.drawing.clip import inside
from printpack.drawing.metrics import text_box
from printpack.drawing.sheet import Box, Text


class Placer:
    """Accepts a text only inside its window and clear of everything it was told of before."""

    def __init__(self, window: Box) -> None:
        self.window = window
        self.taken: list[Box] = []

    def block(self, box: Box) -> None:
        """Keep a box free of texts."""
        self.taken.append(box)

    def put(self, text: Text) -> tuple[Text, ...]:
        """(text,) if it stands free, else ()."""
        box = text_box(text)
        free = all(box[2] <= t[0] or t[2] <= box[0] or box[3] <= t[1] or t[3] <= box[1] for t in self.taken)
        if not free or not inside(box, self.window):
            return ()
        self.taken.append(box)
        return (text,)

    def first(self, candidates: Iterable[Text]) -> tuple[Text, ...]:
        """The first candidate that stands free, or ()."""
        for text in candidates:
            put = self.put(text)
            if put:
                return put
        return ()
