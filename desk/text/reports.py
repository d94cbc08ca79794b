"""What the commands print for people: plain lines that can be read aloud beside the work."""
from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING

from capture.adjustment.survey import Survey
from capture.language.messages import figure, gettext, led, ngettext
from capture.tape import format_length
from capture.words import unseen_words
from desk.checks.unseen import unseen_of, way_out
from desk.jobfile.job import Job
from desk.actions.kept_plan import KeptPlan
from desk.problem import Problem
from printpack.units import NO_BREAK, how_many

if TYPE_CHECKING:
    from layout.plan import Piece, Plan, Row

WIDTH = 96
#: Square feet in a square metre (1 / 0.3048 squared).
_SQUARE_FEET = 10.763910416709722
_SMALLEST_IMPERIAL_MM = 25.4 / 16


def say_survey(survey: Survey, job: Job) -> str:
    """The solved floor: walls and area with their uncertainty, readings to check, what to measure next."""
    floor = survey.floor
    exact = not floor.cov_mm2.any()
    lines = [job.title or gettext("Floor"), ""] + _perhaps_not(job)
    rows = [(gettext("wall {a}-{b}", a=w.a, b=w.b), format_length(w.length_mm, show=job.show),
             "" if exact else _spread(w.pm95_mm, job.show)) for w in floor.walls()]
    area, pm95 = (value / 1e6 for value in floor.area())
    rows.append((gettext("floor area"), _area(area, job.show),
                 "" if exact else "± " + _area(max(pm95, 0.01), job.show)))
    lines += table(rows)
    lines += [""] + paragraph(_what_spread_means(job, exact))
    if job.floor is None:
        lines += paragraph(_agreement(survey)) + [""] + paragraph(gettext(
            "In short: {verdict}.", verdict=survey.verdict))
    lines += section(gettext("How straight the walls are"), (bow.says for bow in survey.bows))
    lines += section(gettext("Look at this first"), survey.warnings)
    lines += section(gettext("Readings to check, the worst first"), _doubts(survey))
    lines += section(gettext("To know the floor better, tape next"), (advice.says for advice in survey.advice))
    return "\n".join(lines) + "\n"


def _what_spread_means(job: Job, exact: bool) -> str:
    if exact:
        return gettext("The floor was given as coordinates and is taken as exact.")
    if job.floor:
        return gettext("The floor was given as coordinates, each known to {sd:g} mm (one standard deviation); ± gives "
                       "the 95 % interval.", sd=job.floor.sd_mm)
    return gettext("± gives the 95 % interval: if the readings are as good as they claim, the true length is inside it "
                   "19 times in 20.")


def say_plan(plan: Plan, job: Job, doubts: Iterable[str] = ()) -> str:
    """The plan: what is to be doubted in the survey it rests on, boards and packs, the first and last row, why it is
    laid so, every row's pieces, what to buy and to mind."""
    from layout.words.plan import plan_words
    length, words = _speller(job), plan_words(plan, job.show)
    board, rows = plan.board, plan.rows
    face = " x ".join(length(v) for v in (board.width_mm, board.thickness_mm))
    long = length(board.length_mm)
    size = (gettext("{boards}, {shortest} to {longest} long, {face}", boards=plan.boards,
                    shortest=length(board.mix[0][0]), longest=long, face=face) if board.mix
            else gettext("{boards}, each {length} x {face}", boards=plan.boards, length=long, face=face))
    spare = plan.packs_to_buy * board.pack - plan.boards
    least = (gettext("{boards} boards in {packs} packs: {why}", boards=plan.bound, packs=plan.least_packs,
                     why=words.bound) if board.mix
             else gettext("{boards} boards: {why}", boards=plan.bound, why=words.bound))
    lines = [gettext("{title}: how to lay it", title=job.title or gettext("Floor")), ""] + _perhaps_not(job) + table([
        (gettext("boards"), size),
        (gettext("packs"), gettext("{packs} of {pack} boards, {spare} spare", packs=plan.packs_to_buy,
                                   pack=board.pack, spare=spare)),
        (gettext("at least"), least),
        (gettext("waste"), gettext("{waste:.1f} % of the wood of the boards used", waste=plan.waste_percent)),
        (gettext("rows"), gettext("{rows}; the first is {first} wide, the last {last}", rows=len(rows),
                                  first=length(_width(rows[0])), last=length(_width(rows[-1])))),
        (gettext("gap"), gettext("{gap} at every wall", gap=length(plan.gap_mm))),
        (gettext("laid"), gettext("left to right, facing the wall of row 1") if plan.lay == "left-to-right"
         else gettext("right to left, facing the wall of row 1")),
    ])
    lines += section(gettext("The survey this plan rests on is in doubt"), doubts)
    lines += section(gettext("Why so"), words.reasons)
    lines += section(gettext("Rules that had to give"), words.relaxed)
    lines += section(gettext("Look at this first"), words.warnings)
    lines += ["", gettext("Row by row, each from left to right (piece, length, what it is cut from)")]
    lines += [line for row in rows for line in _row(plan, row, length)]
    bought = (f"{led(line.what, how_many(line.quantity, line.unit))}. {line.why}".rstrip() for line in words.shopping)
    lines += section(gettext("To buy"), (text.replace(NO_BREAK, " ") for text in bought))
    lines += section(gettext("Take care"), words.cautions)
    return "\n".join(lines) + "\n"


def _perhaps_not(job: Job) -> list[str]:
    """What comes before all else of a floor with walls that nobody has seen; nothing of another."""
    unseen = [f"{unseen_words(wall)}." for wall in unseen_of(job)]
    if not unseen:
        return []
    return section(gettext("Perhaps not your room"), [*unseen, gettext(
        "Until each is answered, nothing is kept or printed: {way_out}.", way_out=way_out())])[1:] + [""]


def say_pack(folder: str, files: Iterable[str], plan: Plan, doubts: Iterable[str] = ()) -> str:
    """Where the pack is and what is in it, and what is to be doubted in the survey it rests on."""
    names = sorted(files)
    templates = sum(name.startswith("templates/") for name in names)
    listed = [name for name in names if "/" not in name]
    lines = [gettext("The pack is in {folder}:", folder=folder)] + [f"  {name}" for name in listed]
    if templates:
        lines.append("  " + ngettext("templates/ with {count} drawing true to size",
                                     "templates/ with {count} drawings true to size", templates))
    lines.append(gettext("{boards} boards in {rows} rows, {packs} packs to buy, {waste:.1f} % waste.",
                         boards=plan.boards, rows=len(plan.rows), packs=plan.packs_to_buy, waste=plan.waste_percent))
    lines += (
        [gettext('Print templates.pdf at 100 % ("actual size") and measure its check line before you cut.')]
        if "templates.pdf" in names
        else []
    )
    lines += section(gettext("The survey this pack rests on is in doubt"), doubts)
    return "\n".join(lines) + "\n"


def say_kept(kept: KeptPlan | None, keeping: bool) -> str:
    """Whether what was answered is the plan the job keeps."""
    if kept is not None and kept.is_current and kept.on:
        says = gettext("This is the plan kept on {day}; nothing was planned anew.", day=kept.day)
        return f"\n{says}\n"
    if keeping:
        says = gettext("This plan is now kept in the job: every pack is printed from it until the job changes.")
        return f"\n{says}\n"
    return ""


def say_targets(file: str, count: int, paper: str) -> str:
    """Where the floor targets are and what to do with them."""
    return "".join(f"{line}\n" for line in (
        gettext("{count} floor targets and how to lay them are in {file}, one on a sheet of {paper}.", count=count,
                file=file, paper=paper),
        gettext("Print at 100 % (\"actual size\"), tape them flat to the floor, spread out, and do not move them "
                "between photos."),
        gettext("Then write \"targets\": {\"size\": 150.0} in the job's job.json.")))


def say_check(problems: Iterable[Problem]) -> str:
    """What is worth knowing about a job, and whether anything stops it; the stops themselves are said elsewhere."""
    problems = tuple(problems)
    stops = sum(problem.severity == "stop" for problem in problems)
    notes = [problem.says for problem in problems if problem.severity == "note"]
    verdict = (ngettext("{count} thing must be put right first.", "{count} things must be put right first.", stops)
               if stops else gettext("Nothing wrong was found."))
    lines = [verdict] + section(gettext("Worth knowing"), notes)
    return "\n".join(lines) + "\n"


def _speller(job: Job) -> Callable[[float], str]:
    return lambda mm: format_length(mm, show=job.show)


def _spread(pm95_mm: float, show: str) -> str:
    """Half width of an interval; never shown as nothing."""
    if show == "imperial":
        return "± " + format_length(max(pm95_mm, _SMALLEST_IMPERIAL_MM), show=show)
    return f"± {figure(max(pm95_mm, 0.1), '.1f')} mm"


def _area(area_m2: float, show: str) -> str:
    if show == "imperial":
        return f"{figure(area_m2 * _SQUARE_FEET, '.1f')} sq ft"
    return f"{figure(area_m2, '.2f')} m2"


def _agreement(survey: Survey) -> str:
    """How far the readings check one another."""
    if survey.redundancy == 0:
        return gettext("No reading checks another: a slip of the tape would not be noticed. Take one length more.")
    return ngettext(
        "One reading more than needed checks the others: they are {sigma0:.2f} times as far apart as such readings "
        "usually are (about 1 is normal).",
        "{count} readings more than needed check the others: they are {sigma0:.2f} times as far apart as such readings "
        "usually are (about 1 is normal).", survey.redundancy, sigma0=float(survey.sigma0))


def _row(plan: Plan, row: Row, length: Callable[[float], str]) -> list[str]:
    """One row of the plan, wrapped under its number."""
    runs = ["; ".join(_piece(plan, piece, length) for piece in run.pieces) for run in row.runs]
    head = f"{row.number:>4}  "
    return textwrap.wrap(" | ".join(runs), WIDTH, initial_indent=head, subsequent_indent=" " * len(head))


def _piece(plan: Plan, piece: Piece, length: Callable[[float], str]) -> str:
    whole = f" ({length(plan.board_of(piece.board).length_mm)})" if plan.board.mix else ""
    source = (gettext("offcut {label}", label=piece.takes) if piece.takes
              else gettext("board {number}", number=piece.board) + whole)
    return f"{piece.id} {length(piece.to_mm - piece.from_mm)} {source}"


def _width(row: Row) -> float:
    return row.far_mm - row.near_mm


def _doubts(survey: Survey) -> list[str]:
    """Each doubt once, with the places in the job it speaks of: several readings may share one."""
    places: dict[str, list[str]] = {}
    for reading in survey.suspects:
        places.setdefault(reading.says, []).append(reading.where)
    return [f"{says} ({', '.join(filter(None, wheres))})" if any(wheres) else says for says, wheres in places.items()]


def section(title: str, sentences: Iterable[str]) -> list[str]:
    """A heading and its sentences, or nothing if there are none."""
    sentences = [s for s in sentences if s]
    return ["", title] + [line for s in sentences for line in paragraph(s, "  - ")] if sentences else []


def paragraph(text: str, mark: str = "") -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=mark, subsequent_indent=" " * len(mark))


def table(rows: Sequence[tuple[str, ...]]) -> list[str]:
    """Columns set under one another: the first to the left, figures to the right where there are three columns or
    more."""
    wide = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    if len(wide) == 2:
        return [line for label, text in rows for line in textwrap.wrap(
            text, WIDTH, initial_indent=f"  {label:<{wide[0]}}  ", subsequent_indent=" " * (wide[0] + 4))]
    return ["  ".join([f"  {row[0]:<{wide[0]}}",
                       *(f"{text:>{width}}" for text, width in zip(row[1:], wide[1:]))]).rstrip() for row in rows]
