"""A pack's label, pasted whole, into the sizes of its boards: "1285 x 192 x 8 mm, 8 per pack".

The longest size is the length, the next the width, the smallest the thickness. What can be read in two ways, or is no
board, is asked back and never guessed. How labels are worded: common practice, no source.
"""
from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import reduce
from itertools import pairwise

from capture.errors import CaptureError
from capture.language.messages import figure, gettext
from capture.tape import format_length, parse_length

_UNIT = r"(?:mm|cm|m(?![²2\w])|in(?:ch(?:es)?|\.)?(?!\w)|ft|[\"”″]|'')"
#: A blank parts the thousands on French and Spanish labels; no board is 4 m long.
_NUMBER = r"(?:[1-3][ \u00a0\u202f]\d{3}(?![\d/])|\d+/\d+|\d+(?:[ -]\d+/\d+|[.,]\d+)?)"
_SIZE = re.compile(rf"(?P<number>{_NUMBER})\s*(?P<unit>{_UNIT})?", re.IGNORECASE)
_BETWEEN = re.compile(r"\s*(?:[x×*]|by)\s*", re.IGNORECASE)
#: What labels say in English, French, German, Spanish and Dutch.
_SIDE = (r"(?:length|long|width|wide|thickness|thick|height|longueur|largeur|[ée]paisseur|länge|breite|stärke|dicke|"
         r"höhe|longitud|largo|ancho|anchura|espesor|grosor|lengte|breedte|dikte)")
_NAMED = re.compile(rf"\b({_SIDE})\b[^\d\n]{{0,12}}({_NUMBER})\s*({_UNIT})?", re.IGNORECASE)
_THINGS = (r"(?:boards?|planks?|pieces?|panels?|pcs?\.?|lamellas?|lames?|pi[èe]ces?|dielen?|paneele?|bretter|stück|"
           r"stk\.?|tablas?|lamas?|piezas?|planken|panelen|stuks?)")
_PACK = (r"(?:packs?|packets?|boxe?s?|cartons?|bundles?|parcels?|pk|paquets?|bo[iî]tes?|bottes?|colis|pakete?s?|"
         r"packung|ve|paquetes?|cajas?|pak|pakken|doos)")
_EACH = r"(?:per|in an?|an?|each|/|par|pro|je|im|por|en un|la)"
_COUNTS = tuple(re.compile(pattern, re.IGNORECASE) for pattern in (
    rf"\b(\d{{1,3}})\s*{_THINGS}\b", rf"\b(\d{{1,3}})\s*{_EACH}\s*{_PACK}\b",
    rf"\b{_PACK}\s*(?:of|:|contains|holds|content|de|à|mit|con|van|met)\s*:?\s*(\d{{1,3}})\b"
    r"(?!\s*(?:[.,]\d|m|sq|ft))",
    rf"\b{_THINGS}\s*{_EACH}\s*{_PACK}\s*:?\s*(\d{{1,3}})\b"))
_AREA = re.compile(r"(\d+[.,]\d+)\s*(m²|m2|sqm|sq\.? ?m|sq\.? ?ft|ft²|ft2)(?!\w)", re.IGNORECASE)
#: What a board may measure, mm: length, width, thickness. Trade fact sheet of this project, section 1: the usual sizes,
#: with room on both sides.
_MAY_BE = ((250.0, 3000.0), (50.0, 450.0), (3.0, 30.0))
#: How well boards must fill the area that a pack is said to hold.
_FILLS = 0.02
_SQ_FT_MM2 = 304.8**2


class Unreadable(Exception):
    """The label tells no board; its text asks what is missing."""


@dataclass(frozen=True, slots=True)
class Label:
    """Sizes in mm; thickness and pack None where the label does not tell them."""

    length_mm: float
    width_mm: float
    thickness_mm: float | None = None
    pack: int | None = None


def read_label(text: str, *, show: str = "metric") -> Label:
    """The board of a label. show: "imperial" takes sizes without any unit for inches where they are small enough.

    Raises Unreadable.
    """
    found = list(dict.fromkeys(label for sizes in (*_chains(text), _named(text)) if (label := _board(sizes, show))))
    if not found:
        raise Unreadable(gettext("No board's size was found in it. Type it like 1285 x 192 x 8 mm, 8 per pack."))
    thick = [label for label in found if label.thickness_mm]
    found = thick or found
    if len(found) > 1:
        sizes = reduce(lambda before, size: gettext("{sizes} or {size}", sizes=before, size=size),
                       [_size_words(label, show) for label in found[:3]])
        raise Unreadable(gettext("It tells more than one board: {sizes}. Leave only the size of yours.", sizes=sizes))
    return replace(found[0], pack=_pack(text, found[0]))


def label_words(label: Label, show: str) -> str:
    """What was read."""
    size, pack = _size_words(label, show), label.pack
    if label.thickness_mm and pack:
        return gettext("Read as boards of {size}, {pack} in a pack.", size=size, pack=pack)
    if label.thickness_mm:
        return gettext("Read as boards of {size}; the label does not say how many a pack holds.", size=size)
    if pack:
        return gettext("Read as boards of {size} (how thick they are it does not say), {pack} in a pack.", size=size,
                       pack=pack)
    return gettext("Read as boards of {size} (how thick they are it does not say); the label does not say how many a "
                   "pack holds.", size=size)


def _size_words(label: Label, show: str) -> str:
    sizes = (label.length_mm, label.width_mm, label.thickness_mm)
    if show == "imperial":
        return " x ".join(format_length(size, show=show) for size in sizes if size)
    return " x ".join(figure(size, "g") for size in sizes if size) + " mm"


_Sizes = list[tuple[str, str]]


def _chains(text: str) -> Iterator[_Sizes]:
    """(number, unit) of each run of two or three sizes with a cross between them."""
    sizes = list(_SIZE.finditer(text))
    run = sizes[:1]
    for before, size in pairwise([*sizes, None]):
        assert before is not None, "only the last has none after it"
        if size is not None and _BETWEEN.fullmatch(text, before.end(), size.start()):
            run.append(size)
            continue
        if len(run) in (2, 3):
            yield [(one["number"], one["unit"] or "") for one in run]
        run = [size] if size is not None else []


def _named(text: str) -> _Sizes:
    """The sizes that the label calls length, width and thickness."""
    return [(number, unit or "") for _, number, unit in _NAMED.findall(text)][:3]


def _board(sizes: _Sizes, show: str) -> Label | None:
    """The board of such sizes; None if they are none's. A unit holds for the sizes before it that have none."""
    if len(sizes) < 2:
        return None
    units = [unit for _, unit in sizes if unit]
    usual = units[-1] if units else "in" if show == "imperial" else "mm"
    try:
        found = sorted((_mm(number, unit or usual) for number, unit in sizes), reverse=True)
    except CaptureError:
        return None
    if not all(least <= size <= most for size, (least, most) in zip(found, _MAY_BE)):
        return None
    length, width, *thick = (round(size, 2) for size in found)
    return Label(length, width, thick[0] if thick else None)


def _mm(number: str, unit: str) -> float:
    """A size; a comma before three digits parts thousands in millimetres, where boards have no thousandths."""
    number = re.sub(r"^(\d)[ \u00a0\u202f](\d{3})$", r"\1\2", number)
    if unit.lower() == "mm":
        number = re.sub(r"^(\d)[.,](\d{3})$", r"\1\2", number)
    return parse_length(f"{number} {unit}".replace("''", '"'))


def _pack(text: str, label: Label) -> int | None:
    """How many boards a pack holds: as the label counts them, else by the area it tells; None if neither."""
    counts = {int(match[1]) for pattern in _COUNTS for match in pattern.finditer(text)}
    if len(counts) == 1:
        return counts.pop() or None
    area = _AREA.search(text)
    if area is None:
        return None
    mm2 = float(area[1].replace(",", ".")) * (_SQ_FT_MM2 if "ft" in area[2].lower() else 1e6)
    boards = mm2 / (label.length_mm * label.width_mm)
    whole = round(boards)
    return whole if 1 <= whole <= 60 and abs(boards - whole) <= _FILLS * whole else None
