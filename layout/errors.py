"""What layout refuses, in one sentence a person can act on."""
from __future__ import annotations

from functools import partial
from typing import Any

from capture.language.messages import Message


class LayoutError(Exception):
    """No plan exists for this floor and these boards. `slug` names the kind of fault, `where` its place in the job."""

    def __init__(self, slug: str, message: str | Message, *, where: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.slug = slug
        self.where = where

    def __reduce__(self) -> tuple[Any, ...]:
        """Refusals travel between processes with what was put together without them."""
        return partial(LayoutError, where=self.where), (self.slug, self.message)
