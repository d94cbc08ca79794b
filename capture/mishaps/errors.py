"""A survey that a mishap keeps from being solved."""
from __future__ import annotations

from capture.errors import CaptureError
from capture.mishaps.facts import Mishap, OneCorner, OrderMixed, StrangePhoto
from capture.mishaps.wording import mishap_words


class MishapError(CaptureError):
    """The readings make no room as they stand, and one thing explains it: `mishap`."""

    def __init__(self, mishap: Mishap) -> None:
        where = {OrderMixed: "outline", OneCorner: "outline"}.get(type(mishap), "")
        super().__init__(mishap.slug, mishap_words(mishap),
                         where=mishap.photo if isinstance(mishap, StrangePhoto) else where)
        self.mishap = mishap
