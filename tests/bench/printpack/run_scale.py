"""True to size on every paper: lines across, down and on both diagonals, over every seam, by two readers of the PDF.

``python -m tests.bench.printpack.run_scale`` puts a 700 x 620 mm net of lines on A4, A3, Letter, Legal and Tabloid as a
template is put there, with and without the correction of a printer's own error, and reads it back: vectors by
pdfplumber, a 600 dpi raster by PDFium (pypdfium2). Sheets are joined as a person joins them, by their registration
crosses alone. Told is the largest distance of a line from where it should be, measured from the crosses, and the
largest step of a diagonal at a seam. Baseline: the same file shrunk to 97 % by a viewer's "fit to page", which matching
crosses do not show.
"""
from __future__ import annotations

import datetime
import io
from itertools import pairwise

import numpy as np
import pdfplumber
import pypdfium2

from printpack.paper import MARGIN_MM, PAPERS, Paper
from printpack.drawing.pdf import pdf_bytes
from printpack.drawing.sheet import Item, Line, Pen, Sheet, mapped, moved
from printpack.fullsize.template_sheets import FOOT_MM, HEAD_MM, LEFT_MM
from printpack.fullsize.tiles import Tile, tile_grid, tile_items

SIZE_MM = (700.0, 620.0)
PITCH_MM = 35.0
DPI = 600
_PEN = Pen(0.25)
_POINT = 25.4 / 72
_CORNER = (MARGIN_MM + LEFT_MM, MARGIN_MM + HEAD_MM)


def net() -> tuple[Item, ...]:
    """Lines across and down every 35 mm, and the two diagonals."""
    (w, h), p = SIZE_MM, PITCH_MM
    lines = [Line((x, 0.0), (x, h), _PEN, "x") for x in np.arange(p / 2, w, p).tolist()]
    lines += [Line((0.0, y), (w, y), _PEN, "y") for y in np.arange(p / 2, h, p).tolist()]
    return (*lines, Line((0.0, 0.0), (w, h), _PEN, "rising"), Line((w, 0.0), (0.0, h), _PEN, "falling"))


def sheets_of(paper: Paper, scale: tuple[float, float]) -> tuple[tuple[Tile, ...], tuple[Sheet, ...]]:
    """The net on sheets, as `template_sheets` lays a template out."""
    items = tuple(mapped(item, *scale, 0.0, 0.0) for item in net())
    tiles = tile_grid((scale[0] * SIZE_MM[0], scale[1] * SIZE_MM[1]),
                      (paper.live_width_mm - LEFT_MM, paper.live_height_mm - HEAD_MM - FOOT_MM))
    return tiles, tuple(Sheet(width_mm=paper.width_mm, height_mm=paper.height_mm,
                              items=tuple(moved(item, *_CORNER) for item in tile_items(items, tile, tiles)))
                        for tile in tiles)


def crosses_of(tile: Tile) -> np.ndarray:
    """(n, 2) places of the tile's registration crosses on paper, as they should be."""
    marks = [item for item in tile_items((), tile, (tile,)) if isinstance(item, Line) and item.start[1] == item.end[1]]
    return np.array([((m.start[0] + m.end[0]) / 2, m.start[1]) for m in marks]) + _CORNER


def clear_crosses(tile: Tile, scale: tuple[float, float]) -> np.ndarray:
    """Those whose arms no line of the net runs along; a person may use any."""
    shift = np.array(_CORNER) - tile.window[:2]
    return np.array([cross for cross in crosses_of(tile) if not _crowded(cross - shift, "", scale)])


class Vectors:
    """Where lines are in the file, by pdfplumber."""

    def __init__(self, pdf: bytes) -> None:
        self.pages = [np.array([[v * _POINT for pair in line["pts"] for v in pair] for line in page.lines
                                if len(line["pts"]) == 2]) for page in pdfplumber.open(io.BytesIO(pdf)).pages]

    def offset(self, page: int, at: np.ndarray, along: np.ndarray) -> float | None:
        """How far the line through a place, in a direction, lies off it (to the left of the direction); None if none
        is near."""
        lines = self.pages[page]
        normal = np.array([-along[1], along[0]])
        a, b = lines[:, :2], lines[:, 2:]
        way = b - a
        length = np.hypot(*way.T)
        same = np.abs(way @ normal) < 2e-3 * length
        inside = ((at - a) * way).sum(1) / length ** 2
        offs = ((a + inside[:, None] * way) - at) @ normal
        near = np.flatnonzero(same & (inside > -0.02) & (inside < 1.02) & (np.abs(offs) < 0.6))
        return float(offs[near[np.argmin(np.abs(offs[near]))]]) if len(near) else None


class Raster:
    """Where lines are in a picture of the page, by PDFium at 600 dpi: the centre of the ink across a line."""

    def __init__(self, pdf: bytes) -> None:
        self.document = pypdfium2.PdfDocument(pdf)
        self.number, self.dark, self.per_mm = -1, np.zeros((0, 0)), (1.0, 1.0)

    def offset(self, page: int, at: np.ndarray, along: np.ndarray) -> float | None:
        """As `Vectors.offset`. The mean over 2 mm of the line's length."""
        if page != self.number:
            sheet = self.document[page]
            grey = sheet.render(scale=DPI / 72, grayscale=True).to_numpy().squeeze()
            self.number, self.dark = page, 255 - grey
            self.per_mm = (grey.shape[1] / (sheet.get_width() * _POINT), grey.shape[0] / (sheet.get_height() * _POINT))
        normal = np.array([-along[1], along[0]])
        across = np.arange(-0.6, 0.6, 0.01)
        found = []
        for s in np.arange(-1.0, 1.0, 0.2):
            ink = self._sample(at + s * along + across[:, None] * normal)
            if ink.max() > 100:
                found.append(float((ink * across).sum() / ink.sum()))
        return float(np.mean(found)) if found else None

    def _sample(self, spots: np.ndarray) -> np.ndarray:
        """Bilinear; a pixel's value stands for its middle."""
        x, y = spots[:, 0] * self.per_mm[0] - 0.5, spots[:, 1] * self.per_mm[1] - 0.5
        i, j = np.floor(x).astype(int), np.floor(y).astype(int)
        fx, fy = x - i, y - j
        d = self.dark[j.min():j.max() + 2, i.min():i.max() + 2].astype(float)
        i, j = i - i.min(), j - j.min()
        return (d[j, i] * (1 - fx) + d[j, i + 1] * fx) * (1 - fy) + (d[j + 1, i] * (1 - fx) + d[j + 1, i + 1] * fx) * fy


def stations(tile: Tile, scale: tuple[float, float]) -> list[tuple[str, np.ndarray, np.ndarray]]:
    """(kind, place on paper, direction) of spots to look at on one sheet, clear of crossings and of the registration
    crosses."""
    left, top, right, bottom = tile.window
    shift = np.array(_CORNER) - (left, top)
    crosses = crosses_of(tile) - shift
    found = []
    for line in net():
        a, b = (np.array(end) * scale for end in (line.start, line.end))
        along = (b - a) / np.hypot(*(b - a))
        for share in (np.arange(0.0, 1.0, PITCH_MM / np.hypot(*(b - a))) + 0.13 * PITCH_MM / np.hypot(*(b - a))):
            spot = a + min(share, 1.0) * (b - a)
            clear = all(np.hypot(*(spot - cross)) > 8.0 for cross in crosses)
            if (
                left + 2 < spot[0] < right - 2
                and top + 2 < spot[1] < bottom - 2
                and clear
                and not _crowded(spot, line.layer, scale)
            ):
                found.append((line.layer, spot + shift, along))
    return found


def _crowded(spot: np.ndarray, layer: str, scale: tuple[float, float]) -> bool:
    """Whether another line of the net passes within 2.5 mm."""
    for other in net():
        if other.layer == layer:
            continue
        a, b = (np.array(end) * scale for end in (other.start, other.end))
        way = (b - a) / np.hypot(*(b - a))
        if abs((spot - a) @ np.array([-way[1], way[0]])) < 2.5:
            return True
    return False


def measure(reader: Vectors | Raster, tiles: tuple[Tile, ...], scale: tuple[float, float]) -> dict[str, float]:
    """Largest error of each kind of line, mm, measured from each sheet's crosses; "seam": the largest step of a line
    that goes on from one sheet to the next, joined cross on cross."""
    worst: dict[str, float] = {}
    ends: dict[tuple[str, str], list[float]] = {}
    for page, tile in enumerate(tiles):
        marks = [np.array([reader.offset(page, cross + 2.5 * way, way) for way in np.eye(2)])
                 for cross in clear_crosses(tile, scale)]
        # Off a line along x is +y on paper, off a line along y is -x.
        drift = np.array([[-m[1], m[0]] for m in marks], dtype=float).mean(axis=0) if marks else np.zeros(2)
        for kind, spot, along in stations(tile, scale):
            off = reader.offset(page, spot, along)
            if off is None:
                raise ValueError(f"no {kind} line at {spot} on sheet {tile.name}")
            off -= float(drift @ np.array([-along[1], along[0]]))
            worst[kind] = max(worst.get(kind, 0.0), abs(off))
            ends.setdefault((kind, tile.name), []).append(off)
    means = {key: float(np.mean(values)) for key, values in ends.items()}
    steps = [abs(means[kind, tile.name] - means[kind, other]) for kind in ("rising", "falling", "x", "y")
             for tile in tiles for other in tile.neighbours().values() if (kind, tile.name) in means
             and (kind, other) in means]
    return worst | {"seam": max(steps, default=0.0)}


def main() -> None:
    print("largest error, mm: across / down / diagonals / step at a seam")
    for paper in PAPERS:
        for scale in ((1.0, 1.0), (1 / 0.996, 1 / 1.004)):
            tiles, sheets = sheets_of(paper, scale)
            pdf = pdf_bytes(sheets, title="net", date=datetime.date(2026, 3, 5))
            for name, reader in (("pdfplumber", Vectors(pdf)), ("PDFium 600 dpi", Raster(pdf))):
                found = measure(reader, tiles, scale)
                print(f"{paper.name}, {len(tiles)} sheets, scale {scale[0]:.3f} {scale[1]:.3f}, {name}: "
                      f"{found['x']:.4f} / {found['y']:.4f} /"
                      f" {max(found['rising'], found['falling']):.4f} / {found['seam']:.4f}", flush=True)
    crosses = crosses_of(sheets_of(PAPERS[0], (1.0, 1.0))[0][4])
    spread = max(np.hypot(*(b - a)) for a, b in pairwise(crosses))
    print(f"baseline, shrunk to 97 %: crosses still match, {spread:.0f} mm between two of them are {0.03 * spread:.1f} "
          "mm short")


if __name__ == "__main__":
    main()
