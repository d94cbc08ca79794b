"""A large drawing on several sheets: windows, neighbours, registration crosses.

Frame: the drawing's own mm, already multiplied by the paper scale; windows count from its top left corner.
Two neighbours overlap by exactly `overlap_mm`; two crosses stand in the middle of every overlap at fixed places of the
drawing, so sheets are joined by crosses, never by the paper's edge (ISO 216 lets a sheet be 2 mm off).
"""
from __future__ import annotations

from dataclasses import dataclass, replace

from printpack.drawing.clip import clipped, inside
from capture.language.messages import lazy_gettext
from printpack.errors import PrintError
from printpack.drawing.metrics import text_box
from printpack.drawing.sheet import Box, Item, Line, Pen, Text, moved

OVERLAP_MM = 10.0
CROSS_MM = 8.0
_MARK = Pen(0.2)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tile:
    """One sheet's window. column, row: from 0; columns, rows: of the whole drawing."""

    column: int
    row: int
    columns: int
    rows: int
    window: Box

    @property
    def name(self) -> str:
        """B2: second sheet across, second down."""
        return tile_name(self.column, self.row)

    @property
    def last_name(self) -> str:
        """Name of the last sheet of the drawing."""
        return tile_name(self.columns - 1, self.rows - 1)

    def neighbours(self) -> dict[str, str]:
        """Names of the sheets at "left", "right", "top", "bottom", where there are any."""
        places = {"left": (self.column - 1, self.row), "right": (self.column + 1, self.row),
                  "top": (self.column, self.row - 1), "bottom": (self.column, self.row + 1)}
        return {side: tile_name(c, r) for side, (c, r) in places.items() if 0 <= c < self.columns
                and 0 <= r < self.rows}


def tile_name(column: int, row: int) -> str:
    """A1 for the first sheet; letters count across (A ... Z, AA ...), numbers down."""
    letters, rest = "", column + 1
    while rest:
        rest, digit = divmod(rest - 1, 26)
        letters = chr(ord("A") + digit) + letters
    return f"{letters}{row + 1}"


def tile_grid(size_mm: tuple[float, float], room_mm: tuple[float, float], *,
              overlap_mm: float = OVERLAP_MM) -> tuple[Tile, ...]:
    """Windows of `room_mm` that cover a drawing of `size_mm`, row by row from the top left.

    A drawing smaller than one window is put in its middle. Raises PrintError (overlap-too-large) if a window is not
    wider and taller than twice the overlap.
    """
    if min(room_mm) <= 2 * overlap_mm:
        raise PrintError("overlap-too-large", lazy_gettext(
            "A sheet with {room:.0f} mm of room cannot be joined with an overlap of {overlap:.0f} mm: choose a larger "
            "paper.", room=min(room_mm), overlap=overlap_mm), where="paper")
    counts, starts = [], []
    for size, room in zip(size_mm, room_mm):
        step = room - overlap_mm
        count = max(1, -(-int((size - overlap_mm) * 1000) // int(step * 1000)))
        counts.append(count)
        starts.append([(size - room) / 2] if count == 1 else [k * step for k in range(count)])
    return tuple(Tile(column=i, row=j, columns=counts[0], rows=counts[1], window=(x, y, x + room_mm[0], y + room_mm[1]))
                 for j, y in enumerate(starts[1]) for i, x in enumerate(starts[0]))


def crosses(tile: Tile, *, overlap_mm: float = OVERLAP_MM) -> tuple[Line, ...]:
    """The registration crosses of one sheet: two at each edge it shares, a quarter and three quarters along."""
    left, top, right, bottom = tile.window
    half = overlap_mm / 2
    seams = {"left": (left + half, None), "right": (right - half, None), "top": (None, top + half),
             "bottom": (None, bottom - half)}
    lines: list[Line] = []
    for side in tile.neighbours():
        sx, sy = seams[side]
        for share in (0.25, 0.75):
            x = left + share * (right - left) if sx is None else sx
            y = top + share * (bottom - top) if sy is None else sy
            lines += [Line((x - CROSS_MM / 2, y), (x + CROSS_MM / 2, y), _MARK, "mark"),
                      Line((x, y - CROSS_MM / 2), (x, y + CROSS_MM / 2), _MARK, "mark")]
    return tuple(lines)


def tile_items(items: tuple[Item, ...], tile: Tile, tiles: tuple[Tile, ...]) -> tuple[Item, ...]:
    """What a sheet shows of the drawing, with the window's top left corner as (0, 0)."""
    shown: list[Item] = []
    for item in items:
        shown += _text_on(item, tile, tiles) if isinstance(item, Text) else clipped(item, tile.window)
    return tuple(moved(item, -tile.window[0], -tile.window[1]) for item in (*shown, *crosses(tile)))


def _text_on(text: Text, tile: Tile, tiles: tuple[Tile, ...]) -> tuple[Text, ...]:
    """The text where it fits whole; a text that fits on no sheet is pushed into the sheet that holds its middle."""
    box = text_box(text)
    if inside(box, tile.window):
        return (text,)
    if any(inside(box, other.window) for other in tiles):
        return ()
    middle = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
    home = next((t for t in tiles if t.window[0] <= middle[0] <= t.window[2]
                 and t.window[1] <= middle[1] <= t.window[3]), None)
    if home is not tile:
        return ()
    dx = max(tile.window[0] - box[0], 0.0) or min(tile.window[2] - box[2], 0.0)
    dy = max(tile.window[1] - box[1], 0.0) or min(tile.window[3] - box[3], 0.0)
    return (replace(text, at=(text.at[0] + dx, text.at[1] + dy)),)
