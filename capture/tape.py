"""Lengths as people write them, and back.

Text in any of the usual ways ("4.312 m", "4,312 m", "431.2 cm", "3m42", "3 420 mm", 11' 2 3/8", "11 ft 2-3/4 in")
becomes millimetres by exact fractions. Text that can be read in two ways ("3.420") is asked back, never guessed, but
where the reader's own custom and the size of rooms leave one reading (a German's "3.420 mm"). Units are read in
English, German, French, Spanish and Dutch (from memory).
"""
from __future__ import annotations

import re
import unicodedata
from fractions import Fraction
from math import ceil

from capture.errors import CaptureError
from capture.language.messages import Message, figure, lazy_gettext

#: One inch in mm, exact by the international yard and pound agreement of 1959.
INCH_MM = Fraction(254, 10)
_UNIT_MM = {"mm": Fraction(1), "cm": Fraction(10), "m": Fraction(1000), "in": INCH_MM, "ft": 12 * INCH_MM}
_WORDS = {
    "mm": "mm", "millimetre": "mm", "millimetres": "mm", "millimeter": "mm", "millimeters": "mm",
    "cm": "cm", "centimetre": "cm", "centimetres": "cm", "centimeter": "cm", "centimeters": "cm",
    "m": "m", "metre": "m", "metres": "m", "meter": "m", "meters": "m",
    "in": "in", "inch": "in", "inches": "in", '"': "in",
    "ft": "ft", "foot": "ft", "feet": "ft", "'": "ft",
    "zentimeter": "cm", "zoll": "in", "fuß": "ft", "fuss": "ft", "duim": "in", "voet": "ft",
    "millimètre": "mm", "millimètres": "mm", "centimètre": "cm", "centimètres": "cm", "mètre": "m", "mètres": "m",
    "pouce": "in", "pouces": "in", "po": "in", "pied": "ft", "pieds": "ft", "pi": "ft",
    "milímetro": "mm", "milímetros": "mm", "centímetro": "cm", "centímetros": "cm", "metro": "m", "metros": "m",
    "pulgada": "in", "pulgadas": "in", "pie": "ft", "pies": "ft",
}
_LONGEST_MM = 100_000
_LONGEST_TEXT = 80
#: A bare number below this is more likely metres or inches than millimetres.
_SHORTEST_BARE_MM = 10
_GLYPHS = {"’": "'", "‘": "'", "′": "'", "´": "'", "”": '"', "“": '"', "″": '"', "''": '"', "⁄": "/", "−": "-",
           "–": "-"}
_TOKEN = re.compile(r"(?P<fraction>\d+/\d+)|(?P<number>\d+(?:[.,]\d+)*)|(?P<word>[^\W\d_]+\.?|['\"])|(?P<dash>-)")
#: Whole millimetres in thousands, whatever the mark.
_MILLIMETRES = re.compile(r"\s*([1-9]\d{0,2})([.,'’])(\d{3})\s*(mm)?\s*", re.IGNORECASE)
_GROUPED = re.compile(r"(?<![\d.,])(\d{1,3})((?: \d{3})+)(?=[.,]\d|\D|$)(?!/)")


def parse_length(text: str, *, unit: str = "mm", thousands: str = "") -> float:
    """Length in mm from what a person wrote; a bare number is in `unit` ("mm" or "in"). thousands: the mark the reader
    parts thousands with, where there is one: between digits of millimetres it is nothing else, since no tape shows a
    thousandth of one, and read as metres the number means the same.

    Raises CaptureError: "unreadable-length" for text that is no length, "ambiguous-length" for text with two readings;
    the sentence quotes the text and shows how to write it.
    """
    text = "".join(
        " " if letter.isspace() or not letter.isprintable() else letter for letter in text
    )  # what a sentence may quote
    if len(text) > _LONGEST_TEXT:
        raise _unreadable(text[:_LONGEST_TEXT] + "...")
    whole = _MILLIMETRES.fullmatch(text)
    if whole and whole[2] == thousands and (whole[4] or unit == "mm"):
        text = f"{whole[1]}{whole[3]} mm"
    tokens = _tokens(text)
    parts = _parts(text, tokens)
    total = _bare(text, tokens, unit) if parts is None else _sum(text, parts)
    if not 0 < total <= _LONGEST_MM:
        raise _unreadable(text, lazy_gettext("a length must be more than nothing and at most 100 m"))
    return float(total)


def format_length(length_mm: float, *, show: str = "metric", decimals: int = 0) -> str:
    """"412 mm", or feet and inches to the nearest 1/16 in (1' 4 1/4", 1' 0 5/8") when `show` is "imperial".

    Half a sixteenth rounds up; `decimals` holds for metric only.
    """
    if show != "imperial":
        return f"{figure(length_mm, f'.{decimals}f')} mm".replace("-0 mm", "0 mm")
    sign, sixteenths = ("-" if length_mm < 0 else ""), int(abs(length_mm) / 25.4 * 16 + 0.5)
    feet, rest = divmod(sixteenths, 192)
    inches, part = divmod(rest, 16)
    fraction = f"{Fraction(part, 16)}" if part else ""
    # After feet a nought keeps 1 ft 5/8 in from being read as 1 5/8.
    small = " ".join(t for t in (str(inches) if inches or feet or not part else "", fraction) if t) + '"'
    return f"{sign}{feet}' {small}" if feet else sign + small


def format_spread(mm: float, *, show: str = "metric") -> str:
    """The size of an uncertainty: to 0.1 mm, or up to the next 1/16 in."""
    return format_length(mm, decimals=1) if show != "imperial" else format_length(ceil(mm * 16 / 25.4 - 1e-9) * 25.4
                                                                                  / 16, show=show)


def _tokens(text: str) -> list[tuple[str, str]]:
    """Kinds and texts of the pieces of a length; refuses anything else that stands in it."""
    plain = text.strip()
    for glyph in plain:
        if unicodedata.category(glyph) == "No":
            plain = plain.replace(glyph, f" {unicodedata.normalize('NFKC', glyph)} ")
    for old, new in _GLYPHS.items():
        plain = plain.replace(old, new)
    plain = re.sub(r"\s+", " ", plain).strip().lower()
    plain = _GROUPED.sub(lambda m: m.group(1) + m.group(2).replace(" ", ""), plain)
    found: list[tuple[str, str]] = []
    at = 0
    for match in _TOKEN.finditer(plain):
        if plain[at:match.start()].strip():
            raise _unreadable(text)
        found.append((match.lastgroup or "", match.group()))
        at = match.end()
    if plain[at:].strip() or not found:
        raise _unreadable(text)
    return found


def _parts(text: str, tokens: list[tuple[str, str]]) -> list[tuple[Fraction, str, str]] | None:
    """(value, unit, number as written) of each part; None if the text has no unit at all."""
    if not any(kind == "word" for kind, _ in tokens):
        return None
    parts: list[tuple[Fraction, str, str]] = []
    value, written = None, ""
    for kind, token in tokens:
        if kind == "dash":
            # "11ft 2-3/4in": the dash joins whole inches and a fraction; anywhere else it would be a minus.
            if value is None:
                raise _unreadable(text, lazy_gettext("a length cannot be negative"))
        elif kind == "word":
            unit = _WORDS.get(token.rstrip("."))
            if unit is None or value is None:
                raise _unreadable(text)
            parts.append((value, unit, written))
            value, written = None, ""
        else:
            value, written = _add_number(text, value, written, kind, token)
    if value is not None:
        parts.append(_tail(text, parts, value, written))
    return parts


def _add_number(text: str, value: Fraction | None, written: str, kind: str, token: str) -> tuple[Fraction, str]:
    """A number, or a fraction behind a whole number."""
    if kind == "fraction":
        top, bottom = (int(n) for n in token.split("/"))
        if not 0 < top < bottom or bottom > 64 or (value is not None and value.denominator != 1):
            raise _unreadable(text, lazy_gettext("'{token}' is not a fraction of an inch", token=token))
        return (value or Fraction(0)) + Fraction(top, bottom), f"{written} {token}".strip()
    if value is not None:
        raise _unreadable(text)
    return _decimal(text, token), token


def _tail(
    text: str, parts: list[tuple[Fraction, str, str]], value: Fraction, written: str
) -> tuple[Fraction, str, str]:
    """The number behind the last unit: "3m42" is 3.42 m, "3m420" is 3.420 m, 11' 2 is 11 feet 2 inches."""
    last = parts[-1][1] if parts else ""
    if last == "m" and len(parts) == 1 and parts[0][0].denominator == 1 and written.isdigit():
        if len(written) == 2:
            return value, "cm", written
        if len(written) == 3:
            return value, "mm", written
        raise _ambiguous(text, lazy_gettext(
            "'{text}' can be read in two ways; write it with one unit, such as '3.42 m' or '342 cm'",
            text=text.strip()))
    if last == "ft" and len(parts) == 1:
        return value, "in", written
    raise _unreadable(text)


def _sum(text: str, parts: list[tuple[Fraction, str, str]]) -> Fraction:
    """Total in mm of parts in falling units, all metric or all feet and inches."""
    units = [unit for _, unit, _ in parts]
    order = ["m", "cm", "mm"] if units[0] in ("m", "cm", "mm") else ["ft", "in"]
    if any(u not in order for u in units):
        raise _unreadable(text, lazy_gettext("metric and feet or inches are mixed"))
    places = [order.index(u) for u in units]
    if places != sorted(set(places)):
        raise _unreadable(text)
    if any(value.denominator != 1 for value, _, _ in parts[:-1]):
        raise _unreadable(text, lazy_gettext("only the last part may have a fraction"))
    if units == ["ft", "in"] and parts[1][0] >= 12:
        raise _unreadable(text, lazy_gettext("after feet, inches must be less than 12"))
    for value, unit, written in parts:
        if unit in ("mm", "cm") and _thousands_like(written):
            digits = re.sub(r"[.,]", "", written)
            raise _ambiguous(text, lazy_gettext(
                "'{text}' could be {value:g} {unit} or {digits} {unit}; write '{digits} {unit}', or '{value:g} m' "
                "if you meant metres", text=text.strip(), value=float(value), unit=unit, digits=digits))
    return sum((value * _UNIT_MM[unit] for value, unit, _ in parts), Fraction(0))


def _bare(text: str, tokens: list[tuple[str, str]], unit: str) -> Fraction:
    """A number with no unit, in the job's own unit; refused where another unit is as likely."""
    if tokens[0][0] == "dash" or tokens[-1][0] == "dash":
        raise _unreadable(text, lazy_gettext("a length cannot be negative"))
    value: Fraction | None = None
    written = ""
    for kind, token in tokens:
        if kind != "dash":
            value, written = _add_number(text, value, written, kind, token)
    if value is None:
        raise _unreadable(text)
    shown = text.strip()
    if _thousands_like(written):
        digits = re.sub(r"[.,]", "", written)
        raise _ambiguous(text,
                         lazy_gettext(
            "'{shown}' could be {digits} mm or {value:g}; write '{digits} mm' or '{written} m'", shown=shown,
            digits=digits, value=float(value), written=written))
    if unit == "mm" and ("/" in written or 0 < value < _SHORTEST_BARE_MM or (value < 100 and value.denominator != 1)):
        raise _ambiguous(text, lazy_gettext(
            "'{shown}' has no unit; write '{shown} m', '{shown} cm', '{shown} mm' or '{shown} in'", shown=shown))
    return value * _UNIT_MM[unit]


def _thousands_like(written: str) -> bool:
    """One mark with just three digits behind it: a decimal, or thousands?"""
    return re.fullmatch(r"[1-9]\d{0,2}[.,]\d{3}", written) is not None


def _decimal(text: str, written: str) -> Fraction:
    """A number with point or comma as decimal mark; with both, the last is the decimal mark and the others group by
    three."""
    marks = re.findall(r"[.,]", written)
    if len(marks) <= 1:
        return Fraction(written.replace(",", "."))
    whole, _, part = written.rpartition(marks[-1])
    groups = re.split(r"[.,]", whole)
    if len(set(marks)) != 2 or marks[:-1].count(marks[-1]) or any(len(g) != 3
                                                                  for g in groups[1:]) or len(groups[0]) > 3:
        raise _unreadable(text)
    return Fraction("".join(groups) + "." + part)


def _unreadable(text: str, why: Message | None = None) -> CaptureError:
    if why is None:
        return CaptureError("unreadable-length", lazy_gettext(
            "'{text}' is not a length this tool can read; write it like 3412 mm, 3.412 m or 11' 2 3/8\"",
            text=text.strip()))
    return CaptureError("unreadable-length", lazy_gettext(
        "'{text}' is not a length this tool can read ({why}); write it like 3412 mm, 3.412 m or 11' 2 3/8\"",
        text=text.strip(), why=why))


def _ambiguous(text: str, message: Message) -> CaptureError:
    return CaptureError("ambiguous-length", message)
