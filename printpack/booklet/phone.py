"""The booklet as one self-contained web page for the phone: one row at a time, drawn as on paper, big buttons.

Pictures, lines and checks are those of the printed booklet. Nothing is fetched and nothing sent: the page's own policy
forbids it. Ticks, and the row last looked at, are kept by the browser under a name made from the page itself, so that a
new plan starts afresh. Without a script all screens stand one below the other.
"""
from __future__ import annotations

import re
from collections.abc import Iterable
from hashlib import sha256
from html import escape

from capture.language.messages import ENGLISH, gettext, spoken, worded
from layout.plan import Row
from printpack.booklet.check_page import check_points
from printpack.booklet.cover_page import key_figures, sureness
from printpack.booklet.day_page import DAY_TITLE, summary_points
from printpack.booklet.finishing import MITRES, beading_rows, finishing_points
from printpack.booklet.lists import board_words, offcut_rows, together_words
from printpack.booklet.phone_assets import STYLE, script
from printpack.booklet.plan_view import plan_drawing, row_map
from printpack.booklet.safety import FIRST_OF_ALL, preparation_points, safety_points, tool_points
from printpack.drawing.inline_svg import inline_svg
from printpack.howto.door_page import door_scenes
from printpack.howto.draw import drawn
from printpack.howto.how_to_page import HOW_TITLE, how_to_steps
from printpack.howto.scene import Scene
from printpack.job import PackJob
from printpack.strip.on_screen import hand_picture
from printpack.strip.row_picture import row_facts
from printpack.strip.spoken import picture_words
from printpack.units import NO_BREAK, how_many
from printpack.words.doors import FIRE_DOORS, door_points
from printpack.words.row_words import CHECK_PAGE, laying_order, row_checks, row_lines, special_lines
from printpack.words.tolerances import Fit

_UNPRINTABLE = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff]")
_POLICY = "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'"


def phone_page(job: PackJob, templates: dict[str, tuple[str, ...]]) -> str:
    """The whole page. `templates`: names of the templates each piece needs, by piece id."""
    fit = Fit(job)
    before = [_screen("day", worded(DAY_TITLE), _list(summary_points(job)) + _map(job)),
              _screen("before", gettext("Before you start"), _safety(job)),
              _screen("ready", gettext("Preparation and tools"), _preparation(job)),
              _screen("buy", gettext("Shopping list"), _shopping(job)), *_doors(job),
              _screen("how", worded(HOW_TITLE), _how(job))]
    rows = [_row(job, row, templates, fit) for row in job.plan.rows]
    after = [_screen("checks", worded(CHECK_PAGE), _points(check_points(job))),
             _screen("offcuts", gettext("Offcuts"), _offcuts(job)),
             _screen("end", gettext("Finishing"), _finishing(job))]
    body = _UNPRINTABLE.sub(" ", "".join((_top(job), *before, *rows, *after)))
    title = gettext("{title}: laying booklet", title=_UNPRINTABLE.sub(" ", job.title))
    tag = "en-GB" if spoken() is ENGLISH else spoken().tag
    name = f"tapegroove-{sha256(body.encode()).hexdigest()[:16]}"
    return ('<!doctype html>\n<html lang="' + tag + '"><head><meta charset="utf-8"><meta name="viewport" '
            'content="width=device-width, initial-scale=1">'
            f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">'
            f'<title>{escape(title)}</title>'
            f'<style>{STYLE}</style></head><body data-name="{name}">{body}{_bar()}<script>{script()}</script></body></html>'
            '\n')


def _bar() -> str:
    back, every, onward = (escape(text) for text in (gettext("Back"), gettext("All"), gettext("Next")))
    return (f'<div class="bar" hidden><button type="button" class="back">{back}</button><a href="#top">{every}</a>'
            f'<button type="button" class="next">{onward}</button></div>')


def _top(job: PackJob) -> str:
    """Title, the way on, the way to each row and to the other pages."""
    chips = "".join(f'<li data-of="row-{row.number}"><a href="#row-{row.number}">{row.number}</a></li>'
                    for row in job.plan.rows)
    pages = "".join(f'<li><a href="#{key}">{escape(text)}</a></li>' for key, text in (
        ("day", gettext("The day")), ("checks", worded(CHECK_PAGE)), ("before", gettext("Before you start")),
        ("ready", gettext("Preparation")), ("buy", gettext("Shopping")),
        *((("doors", gettext("Doors")),) if job.room.doors else ()), ("how", worded(HOW_TITLE)),
        ("offcuts", gettext("Offcuts")), ("end", gettext("Finishing"))))
    figures = "".join(f"<dt>{escape(name)}</dt><dd>{escape(value)}</dd>" for name, value, _ in key_figures(job))
    kept = escape(gettext("This browser does not keep the ticks: they are gone when the page is closed."))
    rows, every, on = (escape(text) for text in (gettext("Rows"), gettext("Pages"), gettext("Go on where I stopped")))
    of_day = escape(gettext("Laying booklet, {day}.", day=job.day))
    return (f'<section id="top" class="screen"><h1 tabindex="-1">{escape(job.title)}</h1>'
            f'<p class="kept" hidden>{kept}</p><p><button type="button" class="on" hidden>{on}</button></p>'
            f'<nav aria-label="{rows}"><h3>{rows}</h3><ol>{chips}</ol></nav>'
            f'<nav aria-label="{every}"><ul class="pages">{pages}</ul></nav><dl>{figures}</dl>'
            f"<p>{of_day} {escape(sureness(job))}</p></section>")


def _map(job: PackJob) -> str:
    wide, tall = 130.0, 120.0
    return inline_svg(plan_drawing(job, 0.0, 0.0, wide, tall), wide, tall,
                      label=gettext("Plan of the floor with every piece's number, start wall at the top"))


def _screen(key: str, title: str, inner: str, *, kind: str = "", small: str = "") -> str:
    return (f'<section id="{key}" class="screen{kind}"><h2 tabindex="-1">{escape(title)}{small}</h2>{inner}</section>')


def _list(texts: Iterable[str]) -> str:
    return "<ul>" + "".join(f'<li class="line">{escape(text)}</li>' for text in texts) + "</ul>"


def _points(points: Iterable[tuple[str, str]]) -> str:
    return "".join(f"<h3>{escape(lead)}</h3><p>{escape(text)}</p>" for lead, text in points)


def _ticks(key: str, lines: Iterable[tuple[str, str]]) -> str:
    """A tick box to each (lead or "", text)."""
    return "<ul>" + "".join(
        f'<li class="line"><label><input type="checkbox" id="{key}-{k}"><span>'
        f'{f"<b>{escape(lead)}</b> " if lead else ""}{escape(text)}</span></label></li>'
        for k, (lead, text) in enumerate(lines)) + "</ul>"


def _safety(job: PackJob) -> str:
    return f'<p class="bold">{escape(worded(FIRST_OF_ALL))}</p>{_ticks("safe", safety_points(job))}'


def _preparation(job: PackJob) -> str:
    notes = (_heading(gettext("To look at in the survey")) + _ticks("survey", (("", note) for note in job.survey_notes))
             if job.survey_notes else "")
    return (notes + _ticks("prepare", preparation_points(job)) + _heading(gettext("Tools"))
            + _ticks("tool", (("", text) for text in tool_points(job))))


def _heading(text: str) -> str:
    return f"<h3>{escape(text)}</h3>"


def _shopping(job: PackJob) -> str:
    lines = ((f"{how_many(item.quantity, item.unit).replace(NO_BREAK, ' ')} {item.what}.", item.why)
             for item in job.to_buy)
    said = together_words(job)
    together = f"<p>{escape(said)}</p>" if said else ""
    return f"{together}<p>{escape(board_words(job))}</p>{_ticks('buy', lines)}"


def _doors(job: PackJob) -> list[str]:
    if not job.room.doors:
        return []
    general, doors = door_points(job)
    lines = (*(("", text) for text in general), *((f"{lead}." if lead else "", text) for lead, text in doors))
    shown = "".join(_scene(name, scene) for name, scene in door_scenes(job))
    return [_screen("doors", gettext("Doors, before the first row"), shown + _ticks("door", lines)
                    + f'<p class="bold">{escape(worded(FIRE_DOORS))}</p>')]


def _how(job: PackJob) -> str:
    """The steps of laying, each with its drawing."""
    return "".join(f"<h3>{escape(step.name)}</h3>{_scene(step.name, step.scene)}<p>{escape(step.words)}</p>"
                   for step in how_to_steps(job))


def _scene(name: str, scene: Scene) -> str:
    items, wide, tall = drawn(scene)
    return inline_svg(items, wide, tall, label=name)


def _row(job: PackJob, row: Row, templates: dict[str, tuple[str, ...]], fit: Fit) -> str:
    """One row: what is out of the ordinary, the picture, a box for each piece, the lines, what to tape."""
    small = inline_svg(row_map(job.plan, row, 1.0, 2.0, 38.0, 36.0), 40.0, 40.0,
                       label=gettext("Where the row lies")).replace("<svg", '<svg class="map"', 1)
    special, lines = special_lines(job, row, fit), row_lines(job, row, fit)
    picture = hand_picture(row_facts(job, row, fit, templates), job.units)
    shown = picture_words(picture, job.units)
    said = " ".join((gettext("Row {row}.", row=row.number), *special, shown, *lines))
    drawn = inline_svg(picture.items, picture.width_mm, picture.height_mm,
                       label=gettext("Row {row}: {picture}", row=row.number, picture=shown))
    boxes = "".join(f'<label><input type="checkbox" id="piece-{escape(piece.id)}"><span>{escape(piece.id)}</span></label>'
                    for piece in laying_order(job, row))
    grey = f'<div class="special">{"".join(f"<p>{escape(text)}</p>" for text in special)}</div>' if special else ""
    tapes = row_checks(job, row, fit)
    more = _ticks(f"check-{row.number}", (("", text) for text in tapes)) if tapes else ""
    check = worded(CHECK_PAGE)
    more += f'<p><a href="#checks">{escape(check)}</a></p>' if check in " ".join((*special, *tapes)) else ""
    of = escape(gettext("of {count}", count=len(job.plan.rows)))
    laid, aloud = escape(gettext("Laid")), escape(gettext("Read aloud"))
    return _screen(f"row-{row.number}", gettext("Row {row}", row=row.number),
                   f'{small}{grey}{drawn}<div class="boxes" role="group" aria-label="{laid}">{boxes}</div>'
                   f'<div class="lines">{"".join(f"<p>{escape(text)}</p>" for text in lines)}</div>{more}'
                   f'<p><button type="button" class="say" hidden data-say="{escape(said)}">{aloud}</button></p>',
                   kind=" row", small=f" <small>{of}</small>")


def _offcuts(job: PackJob) -> str:
    lines = ((f"{label}:", gettext("{length} × {width}, sawn from {source}, clicks at {clicks}, goes to {goes}",
                                   length=long, width=wide, source=source, clicks=clicks, goes=goes))
             for label, long, wide, source, clicks, goes in offcut_rows(job))
    none = escape(gettext("This plan keeps no offcuts."))
    return _ticks("offcut", lines) if job.plan.offcuts else f"<p>{none}</p>"


def _finishing(job: PackJob) -> str:
    points = _ticks("finish", (("", text) for text in finishing_points(job)))
    if not job.plan.beading:
        return points
    beading = ((f"{wall}:", gettext("{length}, left end {left}, right end {right}", length=long, left=left, right=right))
               for wall, long, left, right in beading_rows(job))
    how = escape(gettext("Measure each wall in place before you saw."))
    head = _heading(gettext("Beading"))
    return f"{points}{head}<p>{how} {escape(worded(MITRES))}</p>{_ticks('beading', beading)}"
