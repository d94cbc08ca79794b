"""Sheets of paper, portrait, mm.

Sizes: ISO 216 for A3 and A4; ANSI/ASME Y14.1 sizes A and B for Letter and Tabloid, Legal by US custom (inches x 25.4).
"""
from __future__ import annotations

from dataclasses import dataclass

from capture.language.messages import lazy_gettext
from printpack.errors import PrintError

#: Kept clear on all four sides, mm; wider than the unprintable strip of most home printers (6.35 is common practice).
MARGIN_MM = 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """One sheet: name, width and height in mm (portrait); usual_in: the units ("metric", "imperial") whose readers
    mostly have it, "" for one to be chosen."""

    name: str
    width_mm: float
    height_mm: float
    usual_in: str = ""

    @property
    def turned(self) -> Paper:
        """The same sheet with its other side up."""
        return Paper(name=self.name, width_mm=self.height_mm, height_mm=self.width_mm)

    @property
    def live_width_mm(self) -> float:
        """Width between the margins."""
        return self.width_mm - 2 * MARGIN_MM

    @property
    def live_height_mm(self) -> float:
        """Height between the margins."""
        return self.height_mm - 2 * MARGIN_MM


A4 = Paper(name="A4", width_mm=210.0, height_mm=297.0, usual_in="metric")
A3 = Paper(name="A3", width_mm=297.0, height_mm=420.0)
LETTER = Paper(name="Letter", width_mm=215.9, height_mm=279.4, usual_in="imperial")
LEGAL = Paper(name="Legal", width_mm=215.9, height_mm=355.6)
TABLOID = Paper(name="Tabloid", width_mm=279.4, height_mm=431.8)

#: In the order they are offered.
PAPERS = (A4, LETTER, A3, LEGAL, TABLOID)


def paper_named(text: str) -> Paper:
    """The sheet of that name, in any case. Raises PrintError (unknown-paper) naming the sheets there are."""
    wanted = text.strip().lower()
    for paper in PAPERS:
        if paper.name.lower() == wanted:
            return paper
    known = ", ".join(paper.name for paper in PAPERS)
    raise PrintError("unknown-paper", lazy_gettext(
        "Paper “{paper}” is not known here: choose one of {known}.", paper=text, known=known), where="paper")
