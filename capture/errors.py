"""What capture refuses, in one sentence a person can act on."""
from __future__ import annotations

from capture.language.messages import Message


class CaptureError(Exception):
    """No honest answer exists for these readings.

    `slug` names the kind of fault (listed in README.md), `where` the place in the job, such as
    ``tape[3]`` or ``photos[0].marks[2]``; the message says what was found, what was needed and the way out,
    in the language of whoever reads it as text.
    """

    def __init__(self, slug: str, message: str | Message, *, where: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.slug = slug
        self.where = where
