"""Sheets as PDF bytes.

Only primitive drawing calls of fpdf2, in mm. Coordinates are written in hundredths of a point (0.0035 mm).
The file asks viewers not to scale it (ViewerPreferences, PrintScaling None); that is a hint only, so the sheets
themselves carry check lines. Same sheets, title and date give the same bytes.
"""
from __future__ import annotations

import datetime
from contextlib import ExitStack
from importlib.resources import as_file, files
from io import BytesIO

from fpdf import FPDF, ViewerPreferences

from printpack.drawing.metrics import FACES, printable, text_width
from printpack.drawing.sheet import Circle, Item, Line, Pen, Poly, Sheet, Text, clean

FAMILY = "DejaVu"
_POINT_MM = 25.4 / 72


def pdf_bytes(sheets: tuple[Sheet, ...], *, title: str, date: datetime.date) -> bytes:
    """One page a sheet, each in its own size, with outline entries for sheets that have a bookmark."""
    with ExitStack() as fonts:
        pdf = _blank(title, date, fonts)
        for sheet in sheets:
            pdf.add_page(format=(sheet.width_mm, sheet.height_mm))
            if sheet.bookmark:
                pdf.start_section(sheet.bookmark)
            for picture in sheet.pictures:
                pdf.image(BytesIO(picture.jpeg), *picture.box)
            _Pencil(pdf).draw(sheet.items)
        return bytes(pdf.output())


def _blank(title: str, date: datetime.date, fonts: ExitStack) -> FPDF:
    pdf = FPDF(unit="mm")
    pdf.set_creation_date(datetime.datetime(date.year, date.month, date.day, tzinfo=datetime.UTC))
    pdf.set_title(clean(title))
    pdf.set_lang("en-GB")
    pdf.set_creator("Tape & Groove")
    pdf.viewer_preferences = ViewerPreferences(print_scaling="None", display_doc_title=True)
    pdf.set_auto_page_break(False)
    pdf.set_margin(0)
    for bold, face in FACES.items():
        path = fonts.enter_context(as_file(files("printpack") / "fonts" / face))
        pdf.add_font(FAMILY, "B" if bold else "", path)
    return pdf


class _Pencil:
    """Draws items on the current page, changing the pen only when it must."""

    def __init__(self, pdf: FPDF) -> None:
        self.pdf = pdf
        self.pen: Pen | None = None

    def draw(self, items: tuple[Item, ...]) -> None:
        for item in items:
            match item:
                case Line():
                    self._line(item)
                case Poly():
                    self._poly(item)
                case Circle():
                    self._circle(item)
                case Text():
                    self._text(item)

    def _take(self, pen: Pen) -> None:
        if pen == self.pen or pen.width_mm <= 0:
            return
        self.pdf.set_draw_color(round(255 * pen.grey))
        self.pdf.set_line_width(pen.width_mm)
        self.pdf.set_dash_pattern(*pen.dash[:2]) if pen.dash else self.pdf.set_dash_pattern()
        self.pen = pen

    def _style(self, pen: Pen, fill: float | None) -> str:
        self._take(pen)
        if fill is not None:
            self.pdf.set_fill_color(round(255 * fill))
        return ("D" if pen.width_mm > 0 else "") + ("F" if fill is not None else "")

    def _line(self, line: Line) -> None:
        if line.pen.width_mm > 0:
            self._take(line.pen)
            self.pdf.line(*line.start, *line.end)

    def _poly(self, poly: Poly) -> None:
        style = self._style(poly.pen, poly.fill)
        if style:
            (self.pdf.polygon if poly.closed else self.pdf.polyline)(poly.points, style=style)

    def _circle(self, circle: Circle) -> None:
        style = self._style(circle.pen, circle.fill)
        if style:
            self.pdf.circle(*circle.centre, circle.radius_mm, style=style)

    def _text(self, text: Text) -> None:
        if not text.text.strip():
            return
        self.pdf.set_font(FAMILY, "B" if text.bold else "", text.size_mm / _POINT_MM)
        self.pdf.set_text_color(round(255 * text.grey))
        words = printable(text.text, bold=text.bold)
        if not text.turn_deg:
            self.pdf.text(text.at[0] - self._lead(text), text.at[1], words)
            return
        with self.pdf.rotation(text.turn_deg, *text.at):
            self.pdf.text(text.at[0] - self._lead(text), text.at[1], words)
        self.pen = None

    @staticmethod
    def _lead(text: Text) -> float:
        share = {"start": 0.0, "middle": 0.5, "end": 1.0}[text.anchor]
        return share * text_width(text.text, text.size_mm, bold=text.bold) if share else 0.0
