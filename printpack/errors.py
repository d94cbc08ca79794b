"""What printpack refuses, in one sentence a person can act on."""
from __future__ import annotations

from capture.language.messages import Message


class PrintError(Exception):
    """This pack cannot be printed honestly. `slug` names the kind of fault, `where` its place in the job or the
    option."""

    def __init__(self, slug: str, message: str | Message, *, where: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.slug = slug
        self.where = where
