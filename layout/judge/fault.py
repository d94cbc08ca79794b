"""What the judge reports."""
from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One thing wrong with a plan: a slug, the place (row, piece, board, pipe or offcut), by how much (mm or mm2),
    in words."""

    slug: str
    where: str
    amount: float
    says: str = ""
