"""What a pack is made from. Types and checks only."""
from __future__ import annotations

import datetime
from dataclasses import dataclass, replace

from capture.floor import Floor
from capture.language.dates import long_date
from capture.language.messages import gettext, lazy_gettext
from layout.replan.floor_estimation import Drift
from layout.plan import Plan
from layout.room import Room
from layout.words.plan import PlanWords, plan_words
from layout.words.purchases import Line
from printpack.errors import PrintError
from printpack.units import Units

#: A printer that is further off than this is being scaled by a viewer, and cannot be put right by rescaling.
WORST_SCALE = 0.03


#: What is said of a paper scale that no printer needs.
_TOO_FAR = {
    "across": lazy_gettext(
        "A paper scale of {scale:.3f} across the sheet undoes an error of more than 3 %: the viewer is scaling the "
        "page. Print again at 100 % (“actual size”) and measure once more."),
    "down": lazy_gettext(
        "A paper scale of {scale:.3f} down the sheet undoes an error of more than 3 %: the viewer is scaling the page. "
        "Print again at 100 % (“actual size”) and measure once more.")}


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkedPhoto:
    """A photo of the room for the booklet: JPEG bytes without EXIF, and where points of the floor show in it, as shares
    of its width and height from the top left."""

    name: str
    jpeg: bytes
    width_px: int
    height_px: int
    marks: tuple[tuple[str, float, float], ...]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class PackJob:
    """One job ready to print.

    show: "metric" or "imperial". date: printed on the sheets and written into the files. floor: the solved floor with
    its covariance. survey_notes: sentences on suspect readings and
    next measurements. underlay_mm, underlay_width_mm: its thickness and the width of its sheets (0: none, not known).
    subfloor: "mineral", "timber" or "" (not known). photos: what shows which corner is which. drift: what the floor has
    told while it was laid (None: nothing yet). paper_scale: templates are multiplied by these (across, down) before
    they are tiled, to undo a printer's own error. shared_with: other rooms of the flat that boards are bought with.
    Raises PrintError (unknown-units, printer-scale).
    """

    title: str
    show: str
    date: datetime.date
    floor: Floor
    plan: Plan
    room: Room
    survey_notes: tuple[str, ...] = ()
    underlay_mm: float = 0.0
    underlay_width_mm: float = 0.0
    subfloor: str = ""
    paper_scale: tuple[float, float] = (1.0, 1.0)
    photos: tuple[MarkedPhoto, ...] = ()
    drift: Drift | None = None
    shared_with: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.show not in ("metric", "imperial"):
            raise PrintError("unknown-units", lazy_gettext(
                "Lengths can be shown “metric” or “imperial”, not “{show}”.", show=self.show), where="show")
        for name, scale in zip(("across", "down"), self.paper_scale):
            if not scale > 0 or not abs(1.0 / scale - 1.0) <= WORST_SCALE + 1e-9:
                raise PrintError("printer-scale", _TOO_FAR[name].filled(scale=scale), where="paper_scale")

    @property
    def units(self) -> Units:
        """How lengths are written."""
        return Units(self.show)

    @property
    def said(self) -> PlanWords:
        """What there is to say of the plan, in the units shown."""
        return plan_words(self.plan, self.show)

    @property
    def to_buy(self) -> tuple[Line, ...]:
        """The shopping list; of a room of a flat its share, boards counted one by one."""
        if not self.shared_with:
            return self.said.shopping
        return tuple(replace(line, quantity=self.plan.boards, unit=gettext("boards"), why="")
                     if item.purchase.slug in ("boards", "mixed-boards") else line
                     for item, line in zip(self.plan.shopping, self.said.shopping))

    @property
    def day(self) -> str:
        """The date in words."""
        return long_date(self.date)
