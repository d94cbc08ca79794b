"""How wide a text is, from the advance widths of the fonts that are embedded.

No kerning: the PDF writer applies none, so widths here are the printed widths. Lengths in mm; `size_mm` is the em.
"""
from __future__ import annotations

from functools import lru_cache
from importlib.resources import as_file, files
from math import cos, radians, sin
from unicodedata import bidirectional

from anyascii import anyascii
from fontTools.ttLib import TTFont

from printpack.drawing.sheet import Box, Text

FACES = {False: "DejaVuSansCondensed.ttf", True: "DejaVuSansCondensed-Bold.ttf"}

#: Stands for a sign that can be written in no other way.
MISSING = "?"

#: Height of a capital, and reach above and below the baseline, as shares of the em (DejaVu Sans: 1493, 1556 and 483 of
#: 2048).
CAP = 0.73
ASCENT = 0.76
DESCENT = 0.24


@lru_cache(maxsize=2)
def _advances(bold: bool) -> dict[int, float]:
    """Advance by code point, in em."""
    with as_file(files("printpack") / "fonts" / FACES[bold]) as path, TTFont(path, lazy=True) as font:
        em = font["head"].unitsPerEm
        table, names = font["hmtx"].metrics, font.getBestCmap()
        return {code: table[name][0] / em for code, name in names.items()}


def text_width(text: str, size_mm: float, *, bold: bool = False) -> float:
    """Printed width in mm."""
    return size_mm * _ems(text, bold)


@lru_cache(maxsize=8192)
def _ems(text: str, bold: bool) -> float:
    """Printed width in em: the same words are set and measured again and again until a page is full."""
    advances = _advances(bold)
    return sum(advances[ord(letter)] for letter in printable(text, bold=bold))


def printable(text: str, *, bold: bool = False) -> str:
    """The text as it is printed: a letter the font has not (Chinese, emoji), or that runs from right to left, which the
    writer cannot do, is written in Latin letters."""
    return "".join(_stand_in(letter, bold) for letter in text)


@lru_cache(maxsize=4096)
def _stand_in(letter: str, bold: bool) -> str:
    advances = _advances(bold)
    if ord(letter) in advances and bidirectional(letter) not in ("R", "AL"):
        return letter
    latin = "" if 0xd800 <= ord(letter) <= 0xdfff else anyascii(letter)
    return latin if latin and all(ord(sign) in advances for sign in latin) else MISSING


def text_box(item: Text) -> Box:
    """(left, top, right, bottom) of the upright rectangle round a text, mm."""
    width = text_width(item.text, item.size_mm, bold=item.bold)
    left = {"start": 0.0, "middle": -width / 2, "end": -width}[item.anchor]
    corners = [(x, y) for x in (left, left + width) for y in (-ASCENT * item.size_mm, DESCENT * item.size_mm)]
    c, s = cos(radians(item.turn_deg)), sin(radians(item.turn_deg))
    xs = [item.at[0] + c * x + s * y for x, y in corners]
    ys = [item.at[1] - s * x + c * y for x, y in corners]
    return min(xs), min(ys), max(xs), max(ys)


def wrapped(text: str, size_mm: float, width_mm: float, *, bold: bool = False) -> tuple[str, ...]:
    """The text broken into lines no wider than `width_mm`, at plain spaces; a word that is wider is broken inside.

    No-break spaces hold lengths together.
    """
    lines: list[str] = []
    current = ""
    for word in text.split(" "):
        joined = f"{current} {word}".strip()
        if text_width(joined, size_mm, bold=bold) <= width_mm:
            current = joined
            continue
        if current:
            lines.append(current)
        *whole, current = _broken(word, size_mm, width_mm, bold)
        lines += whole
    return (*lines, current) if current or not lines else tuple(lines)


def widest_word(text: str, size_mm: float, *, bold: bool = False) -> float:
    """Printed width of the longest word, mm."""
    return max(text_width(word, size_mm, bold=bold) for word in text.split(" "))


def shortened(text: str, size_mm: float, width_mm: float, *, bold: bool = False) -> str:
    """The text, ended with an ellipsis if it is wider than `width_mm`."""
    if text_width(text, size_mm, bold=bold) <= width_mm:
        return text
    while text and text_width(text + "…", size_mm, bold=bold) > width_mm:
        text = text[:-1]
    return text.rstrip() + "…"


def _broken(word: str, size_mm: float, width_mm: float, bold: bool) -> list[str]:
    """The word in parts that fit; each part has at least one letter."""
    parts = [""]
    for letter in word:
        if parts[-1] and text_width(parts[-1] + letter, size_mm, bold=bold) > width_mm:
            parts.append("")
        parts[-1] += letter
    return parts
