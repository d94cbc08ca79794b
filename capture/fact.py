"""What the facts of every room have in common: a finding, a note, a reason, a purchase, a mend."""
from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """Something worth saying, as quantities; the room's words make a sentence of it, in the unit asked for. A direct
    subclass is a subject, and each of its own subclasses a kind of fact. slug: its short name for programs."""

    slug: ClassVar[str]
