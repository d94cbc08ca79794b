"""A row's picture for a screen: in the narrowest width that shows it."""
from __future__ import annotations

from itertools import product

from printpack.strip.card_parts import HANDHELD, USUAL, Density
from printpack.strip.row_picture import RowPicture, row_picture
from printpack.strip.row_strip import RowFacts
from printpack.units import Units

#: A phone's width and a wider screen's as drawings see them, mm, and wider ones for what does not go in those.
_HAND_MM, _DESK_MM = (82.0, 100.0, 125.0, 160.0, 210.0, 280.0), (190.0, 240.0, 300.0)


def hand_picture(facts: RowFacts, units: Units) -> RowPicture:
    """On a phone; its figures smaller before it is wider than the screen."""
    return _narrowest(facts, units, _HAND_MM, (USUAL, (HANDHELD,)))


def desk_picture(facts: RowFacts, units: Units) -> RowPicture:
    """On a wider screen."""
    return _narrowest(facts, units, _DESK_MM, (USUAL,))


def _narrowest(facts: RowFacts, units: Units, widths: tuple[float, ...],
               settings: tuple[tuple[Density, ...], ...]) -> RowPicture:
    for width, setting in product(widths, settings):
        picture = row_picture(facts, units, width, ticks=False, settings=setting)
        if picture:
            return picture
    raise AssertionError("no card is wider than the widest drawing")
