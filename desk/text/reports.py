"""What the commands print for people: plain lines that can be read aloud beside the work."""
from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING

from capture.adjustment.survey import Survey
from capture.tape import format_length
from capture.words import unseen_words
from desk.checks.unseen import WAY_OUT, unseen_of
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
    lines = [job.title or "Floor", ""] + _perhaps_not(job)
    rows = [(f"wall {w.a}-{w.b}", format_length(w.length_mm, show=job.show),
             "" if exact else _spread(w.pm95_mm, job.show)) for w in floor.walls()]
    area, pm95 = (value / 1e6 for value in floor.area())
    rows.append(("floor area", _area(area, job.show), "" if exact else "± " + _area(max(pm95, 0.01), job.show)))
    lines += table(rows)
    lines += [""] + paragraph(
        "The floor was given as coordinates and is taken as exact." if exact else
        (f"The floor was given as coordinates, each known to {job.floor.sd_mm:g} mm (one standard deviation); ± gives "
         "the 95 % interval.") if job.floor
        else
        ("± gives the 95 % interval: if the readings are as good as they claim, the true length is inside it 19 times "
         "in 20."))
    if job.floor is None:
        lines += paragraph(_agreement(survey)) + [""] + paragraph(f"In short: {survey.verdict}.")
    lines += section("How straight the walls are", (bow.says for bow in survey.bows))
    lines += section("Look at this first", survey.warnings)
    lines += section("Readings to check, the worst first", _doubts(survey))
    lines += section("To know the floor better, tape next", (advice.says for advice in survey.advice))
    return "\n".join(lines) + "\n"


def say_plan(plan: Plan, job: Job, doubts: Iterable[str] = ()) -> str:
    """The plan: what is to be doubted in the survey it rests on, boards and packs, the first and last row, why it is
    laid so, every row's pieces, what to buy and to mind."""
    from layout.words.plan import plan_words
    length, words = _speller(job), plan_words(plan, job.show)
    board, rows = plan.board, plan.rows
    face = " x ".join(length(v) for v in (board.width_mm, board.thickness_mm))
    size = f"each {length(board.length_mm)} x {face}" if not board.mix else (f"{length(board.mix[0][0])} to "
                                                                             f"{length(board.length_mm)} long, {face}")
    spare = plan.packs_to_buy * board.pack - plan.boards
    least = f"{plan.bound} boards" + (f" in {plan.least_packs} packs" if board.mix else "")
    lines = [f"{job.title or 'Floor'}: how to lay it", ""] + _perhaps_not(job) + table([
        ("boards", f"{plan.boards}, {size}"),
        ("packs", f"{plan.packs_to_buy} of {board.pack} boards, {spare} spare"),
        ("at least", f"{least}: {words.bound}"),
        ("waste", f"{plan.waste_percent:.1f} % of the wood of the boards used"),
        ("rows", f"{len(rows)}; the first is {length(_width(rows[0]))} wide, the last {length(_width(rows[-1]))}"),
        ("gap", f"{length(plan.gap_mm)} at every wall"),
        ("laid", plan.lay.replace("-", " ") + ", facing the wall of row 1"),
    ])
    lines += section("The survey this plan rests on is in doubt", doubts)
    lines += section("Why so", words.reasons)
    lines += section("Rules that had to give", words.relaxed)
    lines += section("Look at this first", words.warnings)
    lines += ["", "Row by row, each from left to right (piece, length, what it is cut from)"]
    lines += [line for row in rows for line in _row(plan, row, length)]
    bought = (f"{line.what}: {how_many(line.quantity, line.unit)}. {line.why}".rstrip() for line in words.shopping)
    lines += section("To buy", (text.replace(NO_BREAK, " ") for text in bought))
    lines += section("Take care", words.cautions)
    return "\n".join(lines) + "\n"


def _perhaps_not(job: Job) -> list[str]:
    """What comes before all else of a floor with walls that nobody has seen; nothing of another."""
    unseen = [f"{unseen_words(wall)}." for wall in unseen_of(job)]
    if not unseen:
        return []
    return section("Perhaps not your room", [*unseen, f"Until each is answered, nothing is kept or printed: "
                                             f"{WAY_OUT}."])[1:] + [""]


def say_pack(folder: str, files: Iterable[str], plan: Plan, doubts: Iterable[str] = ()) -> str:
    """Where the pack is and what is in it, and what is to be doubted in the survey it rests on."""
    names = sorted(files)
    templates = sum(name.startswith("templates/") for name in names)
    listed = [name for name in names if "/" not in name]
    lines = [f"The pack is in {folder}:"] + [f"  {name}" for name in listed]
    if templates:
        lines.append(f"  templates/ with {templates} drawing{'s' * (templates != 1)} true to size")
    lines += [
        f"{plan.boards} boards in {len(plan.rows)} rows, {plan.packs_to_buy} packs to buy, "
        f"{plan.waste_percent:.1f} % waste."]
    lines += (
        ['Print templates.pdf at 100 % ("actual size") and measure its check line before you cut.']
        if "templates.pdf" in names
        else []
    )
    lines += section("The survey this pack rests on is in doubt", doubts)
    return "\n".join(lines) + "\n"


def say_kept(kept: KeptPlan | None, keeping: bool) -> str:
    """Whether what was answered is the plan the job keeps."""
    if kept is not None and kept.is_current and kept.on:
        return f"\nThis is the plan kept on {kept.day}; nothing was planned anew.\n"
    if keeping:
        return "\nThis plan is now kept in the job: every pack is printed from it until the job changes.\n"
    return ""


def say_targets(file: str, count: int, paper: str) -> str:
    """Where the floor targets are and what to do with them."""
    return (f"{count} floor targets and how to lay them are in {file}, one on a sheet of {paper}.\n"
            "Print at 100 % (\"actual size\"), tape them flat to the floor, spread out, and do not move them between "
            "photos.\n"
            "Then write \"targets\": {\"size\": 150.0} in the job's job.json.\n")


def say_check(problems: Iterable[Problem]) -> str:
    """What is worth knowing about a job, and whether anything stops it; the stops themselves are said elsewhere."""
    problems = tuple(problems)
    stops = sum(problem.severity == "stop" for problem in problems)
    notes = [problem.says for problem in problems if problem.severity == "note"]
    verdict = "Nothing wrong was found." if not stops else f"{stops} thing{'s' * (stops != 1)} must be put right first."
    lines = [verdict] + section("Worth knowing", notes)
    return "\n".join(lines) + "\n"


def _speller(job: Job) -> Callable[[float], str]:
    return lambda mm: format_length(mm, show=job.show)


def _spread(pm95_mm: float, show: str) -> str:
    """Half width of an interval; never shown as nothing."""
    if show == "imperial":
        return "± " + format_length(max(pm95_mm, _SMALLEST_IMPERIAL_MM), show=show)
    return f"± {max(pm95_mm, 0.1):.1f} mm"


def _area(area_m2: float, show: str) -> str:
    return f"{area_m2 * _SQUARE_FEET:.1f} sq ft" if show == "imperial" else f"{area_m2:.2f} m2"


def _agreement(survey: Survey) -> str:
    """How far the readings check one another."""
    if survey.redundancy == 0:
        return "No reading checks another: a slip of the tape would not be noticed. Take one length more."
    spare = "One reading more than needed checks" if survey.redundancy == 1 else (f"{survey.redundancy} readings more "
                                                                                  "than needed check")
    return (f"{spare} the others: they are {survey.sigma0:.2f} times as far apart as such readings usually are (about "
            "1 is normal).")


def _row(plan: Plan, row: Row, length: Callable[[float], str]) -> list[str]:
    """One row of the plan, wrapped under its number."""
    runs = ["; ".join(_piece(plan, piece, length) for piece in run.pieces) for run in row.runs]
    head = f"{row.number:>4}  "
    return textwrap.wrap(" | ".join(runs), WIDTH, initial_indent=head, subsequent_indent=" " * len(head))


def _piece(plan: Plan, piece: Piece, length: Callable[[float], str]) -> str:
    whole = f" ({length(plan.board_of(piece.board).length_mm)})" if plan.board.mix else ""
    source = f"offcut {piece.takes}" if piece.takes else f"board {piece.board}{whole}"
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
