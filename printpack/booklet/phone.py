"""The booklet as one self-contained web page for the phone: large type, one section a row, tick boxes that remember.

The words are those of the printed booklet. Nothing is fetched and nothing sent: the page's own policy forbids it. Ticks
are kept by the browser under a name made from the page itself, so that a new plan starts with empty boxes.
"""
from __future__ import annotations

import re
from collections.abc import Iterable
from hashlib import sha256
from html import escape

from layout.plan import Piece, Row
from printpack.booklet.cover_page import key_figures, sureness
from printpack.booklet.finishing import FIRE_DOORS, MITRES, beading_rows, door_points, finishing_points
from printpack.words.tolerances import Fit
from printpack.drawing.inline_svg import inline_svg
from printpack.job import PackJob
from printpack.booklet.legend import board_picture
from printpack.booklet.lists import board_words, offcut_rows, summary_points
from printpack.booklet.phone_assets import SCRIPT, STYLE
from printpack.booklet.plan_view import plan_drawing, row_map
from printpack.booklet.row_page import row_bands
from printpack.words.row_words import at_wall, laying_order, pencil_words, piece_words, row_checks, row_facts
from printpack.booklet.safety import FIRST_OF_ALL, preparation_points, safety_points, tool_points

#: A phone's width as drawings see it, mm; texts of 9 pt and more stay readable.
_WIDTH_MM = 82.0
_UNPRINTABLE = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff]")
_POLICY = "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'"


def phone_page(job: PackJob, templates: dict[str, tuple[str, ...]]) -> str:
    """The whole page. `templates`: names of the templates each piece needs, by piece id."""
    fit = Fit(job)
    before = [_section("before", "Before you start", _safety(job)),
              _section("ready", "Preparation and tools", _preparation(job)),
              _section("buy", "Shopping list", _shopping(job)), *_doors(job)]
    rows = [_row(job, row, templates, fit) for row in job.plan.rows]
    after = [_section("offcuts", "Offcuts", _offcuts(job)), _section("end", "Finishing", _finishing(job))]
    body = _UNPRINTABLE.sub(" ", "".join((_top(job), *before, *rows, *after)))
    name = f"tapegroove-{sha256(body.encode()).hexdigest()[:16]}"
    return ('<!doctype html>\n<html lang="en-GB"><head><meta charset="utf-8"><meta name="viewport" '
            'content="width=device-width, initial-scale=1">'
            f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">'
            f'<title>{escape(_UNPRINTABLE.sub(" ", job.title))}: laying booklet</title>'
            f'<style>{STYLE}</style></head><body data-name="{name}">{body}<script>{SCRIPT}</script></body></html>\n')


def _top(job: PackJob) -> str:
    """Title, figures, plan, and the way to each row."""
    figures = "".join(f"<dt>{escape(name)}</dt><dd>{escape(value)}</dd>" for name, value, _ in key_figures(job))
    wide, tall = 130.0, 120.0
    plan = inline_svg(plan_drawing(job, 0.0, 0.0, wide, tall), wide, tall,
                      label="Plan of the floor with every piece's number, start wall at the top")
    chips = "".join(f'<li data-of="row-{row.number}"><a href="#row-{row.number}">{row.number}</a></li>'
                    for row in job.plan.rows)
    return (f'<h1 id="top">{escape(job.title)}</h1><p>Laying booklet, {escape(job.day)}. {escape(sureness(job))}</p>'
            '<p class="kept" hidden>This browser does not keep the ticks: they are gone when the page is closed.</p>'
            '<p><button type="button" hidden>Go on where I stopped</button></p><nav '
            f'aria-label="Rows"><h3>Rows</h3><ol>{chips}</ol></nav>'
            f"{plan}<dl>{figures}</dl>{_list(summary_points(job))}")


def _section(key: str, title: str, inner: str, *, extra: str = "", small: str = "") -> str:
    return (f'<section id="{key}"{extra}><h2>{escape(title)}{small}<a href="#top">top</a></h2>{inner}</section>')


def _list(texts: Iterable[str]) -> str:
    return "<ul>" + "".join(f'<li class="line">{escape(text)}</li>' for text in texts) + "</ul>"


def _ticks(key: str, lines: Iterable[tuple[str, str]]) -> str:
    """A tick box to each (lead or "", text)."""
    return "<ul>" + "".join(
        f'<li class="line"><label><input type="checkbox" id="{key}-{k}"><span>'
        f'{f"<b>{escape(lead)}</b> " if lead else ""}{escape(text)}</span></label></li>'
        for k, (lead, text) in enumerate(lines)) + "</ul>"


def _safety(job: PackJob) -> str:
    return f'<p class="bold">{escape(FIRST_OF_ALL)}</p>{_ticks("safe", safety_points(job))}'


def _preparation(job: PackJob) -> str:
    notes = (
        f"<h3>To look at in the survey</h3>{_ticks('survey', (('', note) for note in job.survey_notes))}"
        if job.survey_notes
        else ""
    )
    return f"{notes}{_ticks('prepare', preparation_points(job))}<h3>Tools</h3>{_ticks('tool', (('', text) for text in tool_points(job)))}"


def _shopping(job: PackJob) -> str:
    lines = ((f"{item.quantity:g} {item.unit} {item.what}.", item.why) for item in job.said.shopping)
    return f"<p>{escape(board_words(job))}</p>{_ticks('buy', lines)}"


def _doors(job: PackJob) -> list[str]:
    if not job.room.doors:
        return []
    general, doors = door_points(job)
    lines = (*(("", text) for text in general), *((f"{lead}." if lead else "", text) for lead, text in doors))
    return [_section("doors", "Doors, before the first row", _ticks("door", lines)
                     + f'<p class="bold">{escape(FIRE_DOORS)}</p>')]


def _row(job: PackJob, row: Row, templates: dict[str, tuple[str, ...]], fit: Fit) -> str:
    small = inline_svg(row_map(job.plan, row, 1.0, 2.0, 38.0, 36.0), 40.0, 40.0,
                       label="Where the row lies").replace("<svg", '<svg class="map"', 1)
    facts = "".join(f'<p class="{"large" if said.large else ""}">{escape(said.text)}</p>'
                    for said in row_facts(job, row))
    bands = "".join(inline_svg(band.items, _WIDTH_MM, band.height_mm, label="The row to scale")
                    for band in row_bands(job, row, _WIDTH_MM))
    pieces = "".join(_piece(job, row, piece, templates.get(piece.id, ()), fit) for piece in laying_order(job, row))
    checks = _ticks(f"check-{row.number}", (("", text) for text in row_checks(job, row, fit)))
    return _section(f"row-{row.number}", f"Row {row.number}",
                    f"{small}{facts}{bands}{pieces}<h3>When row {row.number} is down</h3>{checks}",
                    extra=' class="row"', small=f" <small>of {len(job.plan.rows)}</small>")


def _piece(job: PackJob, row: Row, piece: Piece, templates: tuple[str, ...], fit: Fit) -> str:
    """A tick box, the piece's number and what is done; the board drawn where something is sawn."""
    first, *rest = piece_words(job, row, piece, templates, fit)
    lines = "".join(
        f'<p class="{" ".join(word for word, on in (("large", said.large), ("bold", said.bold)) if on)}">{escape(said.text)}</p>'
        for said in rest
    )
    lines += "".join(f'<p class="large bold">{escape(text)}</p>' for text in pencil_words(job, piece))
    picture = ""
    if piece.cuts or piece.takes or at_wall(row, piece):
        items, tall = board_picture(job.plan, piece, 1.0, 1.0, _WIDTH_MM - 2.0, job.units)
        picture = inline_svg(items, _WIDTH_MM, tall + 2.0, label=f"Piece {piece.id} in its board, hatched is sawn off")
    return (f'<div class="piece"><label><input type="checkbox" id="piece-{escape(piece.id)}"><span><span '
            f'class="id">{escape(piece.id)}</span>'
            f' <span class="large bold">{escape(first.text)}</span></span></label>{picture}{lines}</div>')


def _offcuts(job: PackJob) -> str:
    lines = ((f"{label}:", f"{long} × {wide}, sawn from {source}, clicks at {clicks}, goes to {goes}")
             for label, long, wide, source, clicks, goes in offcut_rows(job))
    return _ticks("offcut", lines) if job.plan.offcuts else "<p>This plan keeps no offcuts.</p>"


def _finishing(job: PackJob) -> str:
    beading = ((f"{wall}:", f"{long}, left end {left}, right end {right}")
               for wall, long, left, right in beading_rows(job))
    more = (
        f"<h3>Beading</h3><p>Measure each wall in place before you saw. {MITRES}</p>{_ticks('beading', beading)}"
        if job.plan.beading
        else ""
    )
    return _ticks("finish", (("", text) for text in finishing_points(job))) + more
