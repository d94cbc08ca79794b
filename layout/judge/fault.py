"""What the judge reports."""
from __future__ import annotations

from dataclasses import dataclass

from capture.language.messages import Message


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One thing wrong with a plan: a slug, the place (row, piece, board, pipe or offcut), by how much (mm or mm2),
    and the words for it, to be worded where they are read."""

    slug: str
    where: str
    amount: float
    says: Message | str = ""
