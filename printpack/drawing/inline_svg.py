"""Items as a small SVG element to stand within a web page: no size of its own, lines of one pen joined into one path.

`svg` writes documents true to size; this writes drawings to look at, in a tenth of the bytes.
"""
from __future__ import annotations

from html import escape
from itertools import groupby

from printpack.drawing.sheet import Circle, Item, Line, Pen, Point, Poly, Text


def inline_svg(items: tuple[Item, ...], width_mm: float, height_mm: float, *, label: str) -> str:
    """One svg element with viewBox (0, 0, width, height); `label` says to those who cannot see it what it shows."""
    drawn = "".join(_group(list(same)) for _, same in groupby(items, key=_kind))
    return (f'<svg viewBox="0 0 {_number(width_mm)} {_number(height_mm)}" role="img" '
            f'aria-label="{escape(label)}">{drawn}</svg>')


def _kind(item: Item) -> tuple[object, ...]:
    """Equal for neighbours that may share one element."""
    return ("line", item.pen) if isinstance(item, Line) else ("one", id(item))


def _group(items: list[Item]) -> str:
    first = items[0]
    if isinstance(first, Line):
        return _path("".join(f"M{_pair(line.start)}L{_pair(line.end)}" for line in items if isinstance(line, Line)),
                     first.pen, None)
    return _single(first)


def _single(item: Poly | Circle | Text) -> str:
    if isinstance(item, Poly):
        return _path("M" + "L".join(map(_pair, item.points)) + "Z" * item.closed, item.pen, item.fill)
    if isinstance(item, Circle):
        return (f'<circle cx="{_number(item.centre[0])}" cy="{_number(item.centre[1])}" '
                f'r="{_number(item.radius_mm)}"{_look(item.pen, item.fill)}/>')
    return _text(item)


def _path(way: str, pen: Pen, fill: float | None) -> str:
    return f'<path d="{way}"{_look(pen, fill)}/>'


def _text(item: Text) -> str:
    x, y = _number(item.at[0]), _number(item.at[1])
    more = f' text-anchor="{item.anchor}"' if item.anchor != "start" else ""
    more += ' font-weight="bold"' if item.bold else ""
    more += f' transform="rotate({_number(-item.turn_deg)} {x} {y})"' if item.turn_deg else ""
    return f'<text x="{x}" y="{y}" font-size="{_number(item.size_mm)}"{more}>{escape(item.text)}</text>'


def _look(pen: Pen, fill: float | None) -> str:
    look = ' fill="none"' if fill is None else f' fill="{_grey(fill)}"'
    if pen.width_mm > 0:
        look += f' stroke="{_grey(pen.grey)}" stroke-width="{pen.width_mm:g}"'
        look += f' stroke-dasharray="{" ".join(map(_number, pen.dash))}"' if pen.dash else ""
    return look


def _grey(level: float) -> str:
    return "#" + 3 * f"{round(255 * level):02x}"


def _pair(point: Point) -> str:
    return f"{_number(point[0])} {_number(point[1])}"


def _number(value: float) -> str:
    """To a tenth of a millimetre: a drawing to look at."""
    return f"{value:.1f}".removesuffix(".0") if round(value, 1) else "0"
