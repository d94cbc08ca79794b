"""Things of known size that are laid beside a casing or a pipe. Door for other rooms: names and sizes only.

Sheets: ISO 216 (A4 210 x 297, each side within 2 mm; in practice far closer), ANSI Letter 8 1/2 x 11 in. Card: ISO/IEC
7810 ID-1, 85.60 x 53.98 mm, 0.76 thick, corners rounded 2.88 to 3.48: its edges are used, never its corners.
"""
from __future__ import annotations

from dataclasses import dataclass

from capture.errors import CaptureError
from capture.language.messages import Message, lazy_gettext


@dataclass(frozen=True, slots=True, kw_only=True)
class Reference:
    """A flat rectangle: long and short side, how far each side is trusted (one standard deviation), radius of its
    corners, thickness, mm.

    alike: other things of the same shape and another size, which no photo can tell from it.
    """

    name: str
    says: Message
    sides_mm: tuple[float, float]
    side_sd_mm: float
    radius_mm: float = 0.0
    thick_mm: float = 0.1
    alike: Message | None = None


#: A sheet's side: trade fact sheet, section 9 has the card's limits; the spread of sheets is common practice, no
#: source.
A4 = Reference(name="a4", says=lazy_gettext("A4 sheet"), sides_mm=(297.0, 210.0), side_sd_mm=0.4,
               alike=lazy_gettext("an A5 or A3 sheet or a C5 envelope"))
#: Halving a Letter sheet twice gives its shape again (ANSI/ASME Y14.1: sizes A and C).
LETTER = Reference(name="letter", says=lazy_gettext("Letter sheet"), sides_mm=(279.4, 215.9), side_sd_mm=0.4,
                   alike=lazy_gettext("a quarter of a Letter sheet or a 17 x 22 in sheet"))
CARD = Reference(name="card", says=lazy_gettext("bank-card-sized card"), sides_mm=(85.60, 53.98), side_sd_mm=0.05,
                 radius_mm=3.48, thick_mm=0.76)
KNOWN = (A4, LETTER, CARD)
#: A printed target is as large as its print: printers differ by 0.1 to 1 % (trade fact sheet, section 8).
_PRINT_SHARE = 0.003


def reference_named(name: str) -> Reference:
    """The reference of that name. Raises CaptureError (slug unknown-reference)."""
    for reference in KNOWN:
        if reference.name == name:
            return reference
    raise CaptureError("unknown-reference", lazy_gettext(
        "“{name}” is nothing this tool knows the size of; lay an A4 or Letter sheet, a card or a printed floor "
        "target beside it.", name=name))


def target_reference(side_mm: float) -> Reference:
    """A printed floor target's black square, measured on paper as `side_mm` wide."""
    return Reference(name="target", says=lazy_gettext("printed floor target"), sides_mm=(side_mm, side_mm),
                     side_sd_mm=max(0.15, _PRINT_SHARE * side_mm))
