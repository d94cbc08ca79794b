"""A survey that a mishap keeps from being solved."""
from __future__ import annotations

from capture.errors import CaptureError
from capture.mishaps.facts import OneCorner, OrderMixed, StrangePhoto
from capture.mishaps.wording import mishap_message


class MishapError(CaptureError):
    """The readings make no room as they stand, and one thing explains it: `mishap`."""

    def __init__(self, slug: str, mishap: OrderMixed | OneCorner | StrangePhoto, *, where: str) -> None:
        super().__init__(slug, mishap_message(mishap), where=where)
        self.mishap = mishap


def mishap_error(mishap: OrderMixed | OneCorner | StrangePhoto) -> MishapError:
    """The error that says it, with its place in the job."""
    match mishap:
        case OrderMixed():
            return MishapError("order-mixed", mishap, where="outline")
        case OneCorner():
            return MishapError("one-corner", mishap, where="outline")
        case StrangePhoto():
            return MishapError("strange-photo", mishap, where=mishap.photo)
