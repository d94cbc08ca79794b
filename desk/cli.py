"""The command `tapegroove`: arguments in, work done by one function each, sentences and exit status out.

Exit status: 0 done, 1 the job cannot be solved or planned as it stands, 2 wrong use or unreadable input. Everything
heavy is loaded inside the command that needs it, so that help comes at once.
"""
from __future__ import annotations

import argparse
import datetime
import os
import sys
import warnings
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

from desk.problem import Problem
from desk.work.error_report import CANNOT, DONE, WRONG_USE, refusal_of

if TYPE_CHECKING:
    from desk.jobfile.job import Job
    from desk.work.kept_plan import KeptPlan
    from desk.store.photos import Photos

INTERRUPTED = 130
DEFAULT_PORT = 0


#: What the folder a command takes must be, by its sign in the help.
_FOLDERS = {"JOB": "folder of the job (with job.json and photos/)", "DIR": "a new folder",
            "FOLDER": "folder that holds the folders of the jobs",
            "HOUSE": "folder with house.json and the folders of the rooms' jobs"}


class _Parser(argparse.ArgumentParser):
    """Says wrong use in one sentence."""

    def error(self, message: str) -> NoReturn:
        self.exit(WRONG_USE, f"{self.prog}: {message}; see {self.prog} --help\n")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status; no exception reaches the terminal unless TAPEGROOVE_DEBUG=1 asks
    for it."""
    # The matrices here are small: threads in the linear algebra cost more than they bring, above all on a busy machine.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            # A terminal that lacks a letter gets a stand-in, not a crash.
            stream.reconfigure(errors="replace")
    if arguments is None and not sys.warnoptions and not _debugging():
        # A library's warning to its programmers is no sentence for people; tests and developers see it.
        warnings.simplefilter("ignore")
    try:
        options = _read(parser(), arguments)
        status = _run(options)
        sys.stdout.flush()
        return status
    except SystemExit as stop:
        return stop.code if isinstance(stop.code, int) else WRONG_USE
    except KeyboardInterrupt:
        _complain("Stopped.")
        return INTERRUPTED
    except BrokenPipeError:
        # The reader went away (| head): not our fault, and nothing more can be said to it.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE


def _read(parser: argparse.ArgumentParser, arguments: Sequence[str] | None) -> argparse.Namespace:
    """What was asked for. argparse gives up on words that follow an option; what happened may stand before and after
    one."""
    options, more = parser.parse_known_args(arguments)
    if more and (options.command != "day" or any(word.startswith("-") for word in more)):
        parser.error(f"unrecognized arguments: {' '.join(more)}")
    if more:
        options.words += more
    return options


def parser() -> argparse.ArgumentParser:
    """The command line as argparse sees it."""
    top = _Parser(prog="tapegroove", description="Photos and a tape in, a laying booklet and true-size templates for a "
                                                 "click floor out.",
                  epilog="Exit status: 0 done; 1 the job cannot be solved or planned as it stands; 2 wrong use or "
                         "unreadable input.")
    commands = top.add_subparsers(dest="command", metavar="COMMAND", required=True, parser_class=_Parser)
    _add(commands, "demo", _demo, "copy the demo job into a folder and make its pack", folder="DIR")
    _add(commands, "check", _check, "say everything that is wrong with a job, without solving it", job="JOB")
    _add(commands, "survey", _survey, "solve the floor from photos and tape", job="JOB")
    plan = _add(commands, "plan", _plan, "solve the floor and plan rows, offcuts and shopping", job="JOB")
    plan.add_argument("--keep", action="store_true", help="keep this plan in the job: packs are then printed from it")
    plan.add_argument("--afresh", action="store_true",
                      help="plan anew even where the job keeps a plan that is up to date")
    pack = _add(commands, "pack", _pack, "solve, plan and write the booklet, templates and lists", job="JOB")
    pack.add_argument("-o", "--output", metavar="DIR", type=Path,
                      help="folder for the pack (default: pack in the job's folder)")
    pack.add_argument("--paper", metavar="NAME",
                      help="sheet to print on, such as a4 or letter (default: letter for a job in feet and inches, "
                           "else a4)")
    pack.add_argument("--rulers", metavar=("ACROSS", "DOWN"), nargs=2,
                      help="what the check sheet's two long rulers measure on paper; the templates then undo the "
                           "printer's error")
    house = _add(commands, "house", _house,
                 "put surveyed rooms side by side through their doorways; writes one job for each floor that is laid "
                 "as one",
                 house="HOUSE")
    house.add_argument("-o", "--output", metavar="DIR", type=Path,
                       help="folder for the new jobs (default: floors in the house's folder)")
    many = _add(commands, "many", _many, "plan every job in a folder, several at once", folder="FOLDER")
    many.add_argument("--effort", choices=("preview", "usual", "long"), default="usual",
                      help="how long to look for fewer boards: some 0.1 s, 1 s or 10 s a job (default: usual)")
    many.add_argument("--processes", metavar="N", type=_several,
                      help="how many jobs at once (default: one a processor)")
    many.add_argument("-o", "--output", metavar="FILE.csv", type=Path, help="also write the summary as a table")
    day = _add(commands, "day", _day, "tell what happened while laying, and follow the plan for the rest", job="JOB")
    day.add_argument("words", metavar="WORDS", nargs="*",
                     help="what happened, such as: row 4 done; without words: where the work stands")
    day.add_argument("--paper", metavar="NAME",
                     help="sheet to print changed pages on, such as a4 or letter (default: as the pack)")
    closeups = _add(commands, "closeups", _closeups,
                    "measure casings and pipes in photos with a sheet or card beside them", job="JOB")
    closeups.add_argument("--keep", action="store_true",
                          help="write what was measured into the job: templates and plans are then made from it")
    targets = commands.add_parser("targets", help="print targets to lay on the floor before taking photos",
                                  description="Writes sheets with floor targets, and how to lay them, as a PDF.")
    targets.add_argument("-o", "--output", metavar="FILE.pdf", type=Path, required=True, help="file to write")
    targets.add_argument("--paper", metavar="NAME", default="a4",
                         help="sheet to print on, such as a4 or letter (default: a4)")
    targets.add_argument("--count", metavar="N", type=_count, default=6, help="how many targets (default: 6)")
    targets.add_argument("--json", action="store_true", help="answer with one JSON object")
    targets.set_defaults(run=_targets)
    schema = commands.add_parser("schema", help="the JSON Schema of a job, or of the answer of survey or plan",
                                 description="Writes the JSON Schema (draft 2020-12) of job.json, or of what survey or "
                                             "plan answer with --json.")
    schema.add_argument("subject", choices=("job", "survey", "plan"), help="what the schema is of")
    schema.set_defaults(run=_schema, json=False)
    desk = commands.add_parser("desk", help="open the page to mark photos, type lengths and see the plan",
                               description="Serves the page on this computer only and opens it in the browser.")
    desk.add_argument("job", metavar="JOB", nargs="?", type=Path, help="folder of a job (default: choose on the page)")
    desk.add_argument("--port", metavar="N", type=_port, default=DEFAULT_PORT,
                      help="port to serve on (default: any free one)")
    desk.add_argument("--no-browser", action="store_true", help="do not open the browser")
    desk.set_defaults(run=_desk, json=False)
    return top


def _add(commands: argparse._SubParsersAction[_Parser], name: str, run: Callable[[argparse.Namespace], int], says: str,
         **place: str) -> argparse.ArgumentParser:
    """A command that takes one folder and may answer in JSON."""
    command = commands.add_parser(name, help=says, description=says[0].upper() + says[1:] + ".")
    ((key, metavar),) = place.items()
    command.add_argument(key, metavar=metavar, type=Path, help=_FOLDERS[place[key]])
    command.add_argument("--json", action="store_true", help="answer with one JSON object")
    command.set_defaults(run=run)
    return command


def _port(text: str) -> int:
    if not text.isdecimal() or not 0 <= int(text) <= 65535:
        raise argparse.ArgumentTypeError(f"port {text!r} is not a number from 0 to 65535")
    return int(text)


def _count(text: str) -> int:
    if not text.isdecimal():
        raise argparse.ArgumentTypeError(f"{text!r} is not a number of targets, such as 6")
    return int(text)


def _several(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 60:
        raise argparse.ArgumentTypeError(f"{text!r} is not a number from 1 to 60")
    return int(text)


def _run(options: argparse.Namespace) -> int:
    """Run the chosen command; what the rooms refuse becomes sentences, anything unforeseen an apology."""
    try:
        return options.run(options)
    except (BrokenPipeError, KeyboardInterrupt):
        raise
    except Exception as error:
        problems, status = refusal_of(error)
        if problems[0].slug == "our-fault" and _debugging():
            raise
        return _refused(problems, status, options.json)


def _refused(problems: Sequence[Problem], status: int, as_json: bool) -> int:
    """Say what is wrong, one sentence a line on stderr; with --json also as the one object on stdout."""
    for problem in problems:
        _complain(problem.says)
    if as_json:
        from desk.work.answers import problems_answer, to_json
        print(to_json(problems_answer(problems)))
    return status


def _complain(says: str) -> None:
    print(says, file=sys.stderr)


def _debugging() -> bool:
    return os.environ.get("TAPEGROOVE_DEBUG") == "1"


def _opened(path: Path) -> tuple[Path, Job, Photos]:
    """The folder, the job and what can be told of its pictures; a picture that cannot be read is told of."""
    from desk.checks.check import find_problems
    from desk.jobfile.files import job_folder, read_job
    from desk.store.photos import look_at_photos
    folder = job_folder(path)
    job = read_job(folder)
    photos = look_at_photos(folder, job)
    # A picture that is not there is no news to a job that gives its size; one that cannot be read is.
    for problem in find_problems(job, photos):
        if problem.slug == "unreadable-photo" and problem.severity == "note":
            _complain(problem.says)
    return folder, job, photos


def _answer(options: argparse.Namespace, as_json: Callable[[], str], for_people: Callable[[], str]) -> int:
    print(as_json()) if options.json else print(for_people(), end="")
    return DONE


def _check(options: argparse.Namespace) -> int:
    from desk.work.answers import problems_answer, to_json
    from desk.checks.check import find_problems
    from desk.jobfile.files import job_folder, read_job_and_faults
    from desk.store.photos import look_at_photos
    from desk.text.reports import say_check
    folder = job_folder(options.job)
    job, faults = read_job_and_faults(folder)
    problems = faults + find_problems(job, look_at_photos(folder, job))
    stops = [problem for problem in problems if problem.severity == "stop"]
    for problem in stops:
        _complain(problem.says)
    _answer(options, lambda: to_json(problems_answer(problems)), lambda: say_check(problems))
    return WRONG_USE if any(p.stage == "read" for p in stops) else CANNOT if stops else DONE


def _survey(options: argparse.Namespace) -> int:
    from desk.work.answers import survey_answer, to_json
    from desk.work.pipeline import survey_job
    from desk.text.reports import say_survey
    _, job, photos = _opened(options.job)
    survey = survey_job(job, photos)
    return _answer(options, lambda: to_json(survey_answer(survey, job)), lambda: say_survey(survey, job))


def _plan(options: argparse.Namespace) -> int:
    from desk.convert import survey_doubts
    from desk.store.job_store import JobKeeper
    from desk.work.kept_plan import refuse_begun, with_plan, without_plan
    from desk.work.pipeline import plan_text, planned_job
    from desk.text.reports import say_kept, say_plan
    folder, job, photos = _opened(options.job)
    if options.keep:
        refuse_begun(job)
    survey, plan, kept = planned_job(without_plan(job) if options.afresh else job, photos)
    _note_old(kept)
    if options.keep and not (kept and kept.on and kept.is_current):
        JobKeeper(folder).keep(with_plan(job, survey, plan, on=datetime.date.today()), instead_of=job)
    return _answer(options, lambda: plan_text(plan, survey), lambda: say_plan(plan, job, survey_doubts(survey))
                   + say_kept(kept, options.keep))


def _closeups(options: argparse.Namespace) -> int:
    from desk.work.answers import to_json
    from desk.work.closeups import keep_in, measure_closeups
    from desk.store.job_store import JobKeeper
    from desk.jobfile.parse import parse_job
    from desk.text.say_closeups import closeups_answer, say_closeups
    folder, job, _ = _opened(options.job)
    measured = measure_closeups(folder, job)
    if options.keep:
        JobKeeper(folder).keep(parse_job(keep_in(job, measured)), instead_of=job)
    _answer(options, lambda: to_json(closeups_answer(measured)), lambda: say_closeups(measured, job))
    return CANNOT if measured and all(one.fault for one in measured) else DONE


def _pack(options: argparse.Namespace) -> int:
    from desk.jobfile.files import job_folder
    folder = job_folder(options.job)
    return _make_pack(options, folder, options.output or folder / "pack", options.paper, options.rulers)


def _demo(options: argparse.Namespace) -> int:
    from desk.work.demo import PACK_DIR, copy_demo
    folder = copy_demo(options.folder)
    return _make_pack(options, folder, folder / PACK_DIR, None)


def _house(options: argparse.Namespace) -> int:
    from desk.work.answers import to_json
    from desk.work.house import house_answer, join_house, write_house
    from desk.text.say_many import say_house
    joined = join_house(options.house)
    output = options.output or options.house / "floors"
    write_house(joined, output)
    return _answer(options, lambda: to_json(house_answer(joined, str(output))), lambda: say_house(joined, str(output)))


def _many(options: argparse.Namespace) -> int:
    from desk.work.answers import to_json
    from desk.work.batch import many_answer, many_csv, plan_many
    from desk.jobfile.save import write_whole
    from desk.text.say_many import say_many, say_progress
    outcomes = []
    for outcome, done, count in plan_many(options.folder, effort=options.effort, processes=options.processes):
        outcomes.append(outcome)
        _complain(say_progress(outcome, done, count))
    outcomes.sort(key=lambda outcome: outcome.name)
    if options.output:
        write_whole(options.output, many_csv(outcomes))
    _answer(options, lambda: to_json(many_answer(outcomes)), lambda: say_many(outcomes))
    return DONE if all(outcome.planned for outcome in outcomes) else CANNOT


def _make_pack(options: argparse.Namespace, job_path: Path, output: Path, paper: str | None,
               rulers: Sequence[str] | None = None) -> int:
    from desk.work.pack import make_pack_folder, with_rulers
    from desk.work.answers import to_json
    from desk.convert import survey_doubts
    from desk.store.corner_photos import marked_photos
    from desk.text.reports import say_kept, say_pack
    folder, job, photos = _opened(job_path)
    job = with_rulers(job, dict(zip(("across", "down"), rulers or ())))
    survey, plan, files, kept = make_pack_folder(job, photos, output, paper=paper, pictures=marked_photos(folder, job))
    _note_old(kept)
    answer = {"format": "tapegroove-pack", "version": 1, "folder": str(output), "files": sorted(files),
              "boards": plan.boards, "packs": plan.packs}
    return _answer(options, lambda: to_json(answer), lambda: say_pack(str(output), files, plan, survey_doubts(survey))
                   + say_kept(kept, False))


def _note_old(kept: KeptPlan | None) -> None:
    """Tell of a kept plan that is out of date: what is answered is then another one."""
    if kept is not None and kept.says:
        _complain(f"{kept.says} What follows is planned anew.")


def _day(options: argparse.Namespace) -> int:
    from desk.work.answers import to_json
    from desk.commands.day_command import run_day
    from desk.text.day_text import day_answer, say_day
    from desk.store.job_store import JobKeeper
    folder, job, photos = _opened(options.job)
    job, day, told, says, printed = run_day(JobKeeper(folder), job, photos, options.words, paper=options.paper,
                                            on=datetime.date.today())
    files = [str(path) for path in printed]
    return _answer(options, lambda: to_json(day_answer(day, told, says, files)), lambda: say_day(job, day, says, files))


def _targets(options: argparse.Namespace) -> int:
    from desk.work.answers import to_json
    from desk.jobfile.save import write_whole
    from desk.text.reports import say_targets
    from printpack.paper import paper_named
    from printpack.drawing.pdf import pdf_bytes
    from printpack.fullsize.target_sheets import SIDE_OF_SQUARE_MM, target_sheets
    paper = paper_named(options.paper)
    sheets = target_sheets(paper, count=options.count)
    write_whole(options.output, pdf_bytes(sheets, title="Floor targets", date=datetime.date.today()))
    answer = {"format": "tapegroove-targets", "version": 1, "file": str(options.output), "paper": paper.name,
              "count": options.count, "size": SIDE_OF_SQUARE_MM}
    return _answer(options, lambda: to_json(answer),
                   lambda: say_targets(str(options.output), options.count, paper.name))


def _schema(options: argparse.Namespace) -> int:
    from desk.jobfile.schema import stored_schema
    print(stored_schema(options.subject), end="")
    return DONE


def _desk(options: argparse.Namespace) -> int:
    from desk.server.app import serve
    serve(options.job, options.port, not options.no_browser)
    return DONE


if __name__ == "__main__":
    sys.exit(main())
