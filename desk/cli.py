"""The command `tapegroove`: arguments in, work done by one function each, sentences and exit status out.

Exit status: 0 done, 1 the job cannot be solved or planned as it stands, 2 wrong use or unreadable input. Everything
heavy is loaded inside the command that needs it, so that help comes at once.
"""
from __future__ import annotations

import argparse
import contextvars
import datetime
import gc
import os
import sys
import warnings
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from capture.language.messages import gettext, spoken
from desk.commands.argparse_words import worded_argparse
from desk.commands.arguments import language_asked, parser, read_arguments
from desk.commands.speaking import read_in_its_language, speak_for_house, speak_tag
from desk.problem import Problem
from desk.actions.error_report import CANNOT, DONE, WRONG_USE, refusal_of
from desk.text.terminal import speak_plainly

if TYPE_CHECKING:
    from desk.jobfile.job import Job
    from desk.actions.kept_plan import KeptPlan
    from desk.store.photos import Photos

INTERRUPTED = 130
#: So many objects more before rubbish is looked for.
SELDOM = 50_000


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status; no exception reaches the terminal unless TAPEGROOVE_DEBUG=1 asks
    for it."""
    return contextvars.copy_context().run(_main, arguments)  # the language is this command's alone


def _main(arguments: Sequence[str] | None) -> int:
    # The matrices here are small: threads in the linear algebra cost more than they bring, above all on a busy machine.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    speak_plainly((sys.stdout, sys.stderr))
    if arguments is None and not sys.warnoptions and not _debugging():
        # A library's warning to its programmers is no sentence for people; tests and developers see it.
        warnings.simplefilter("ignore")
    if arguments is None:
        # Most of what a command makes it keeps until its end: rubbish is looked for seldom, which saves a tenth.
        gc.set_threshold(SELDOM, 20, 50)
    try:
        language, others = language_asked(arguments)
        if language is not None and not speak_tag(language, _complain):
            return WRONG_USE
        with worded_argparse():
            options = read_arguments(parser(RUNNERS), others)
        _lacked().clear()  # the help was worded and not shown
        options.language = language
        status = _run(options)
        _tell_lacking()
        sys.stdout.flush()
        return status
    except SystemExit as stop:
        return stop.code if isinstance(stop.code, int) else WRONG_USE
    except KeyboardInterrupt:
        _complain(gettext("Stopped."))
        return INTERRUPTED
    except BrokenPipeError:
        # The reader went away (| head): not our fault, and nothing more can be said to it.
        _forget_stdout()
        return DONE
    except OSError as error:
        # What was to be said does not fit where it goes (a full disk).
        _forget_stdout()
        _complain(gettext("The answer could not be written ({why}); free some space, or send it elsewhere.",
                          why=error.strerror or error))
        return WRONG_USE


def _forget_stdout() -> None:
    """Nothing more goes to stdout, not even what is left in its buffer at the end."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _run(options: argparse.Namespace) -> int:
    """Run the chosen command; what the rooms refuse becomes sentences, anything unforeseen an apology."""
    try:
        return options.run(options)
    except KeyboardInterrupt:
        raise
    except Exception as error:
        if isinstance(error, OSError) and error.filename is None:
            # A file that cannot be opened has a name; this is stdout.
            raise
        problems, status = refusal_of(error)
        if problems[0].slug == "our-fault" and _debugging():
            raise
        return _refused(problems, status, options.json)


def _refused(problems: Sequence[Problem], status: int, as_json: bool) -> int:
    """Say what is wrong, one sentence a line on stderr; with --json also as the one object on stdout."""
    for problem in problems:
        _complain(problem.says)
    if as_json:
        from desk.actions.answers import problems_answer, to_json
        print(to_json(problems_answer(problems)))
    return status


def _tell_lacking() -> None:
    """Told once, at the end: sentences that the language lacks."""
    if lacked := _lacked():
        _complain(gettext(
            "Sentences without words in this language ({language}), which stay English: {count}.",
            language=spoken().tag, count=len(lacked)))


def _lacked() -> set[str]:
    """Sentences that the language spoken lacks, as far as they were looked up."""
    lacked: set[str] = getattr(spoken().catalogue, "lacked", set())
    return lacked


def _complain(says: str) -> None:
    print(says, file=sys.stderr)


def _debugging() -> bool:
    return os.environ.get("TAPEGROOVE_DEBUG") == "1"


def _opened(path: Path, language: str | None) -> tuple[Path, Job, Photos]:
    """The folder, the job and what can be told of its pictures; a picture that cannot be read is told of. What follows
    is said in the job's language, if the command line asked for no other."""
    from desk.checks.check import find_problems
    from desk.jobfile.files import job_folder, parse_job
    from desk.store.photos import look_at_photos
    folder = job_folder(path)
    job = parse_job(read_in_its_language(folder, language, _complain))
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
    from desk.actions.answers import problems_answer, to_json
    from desk.checks.check import find_problems
    from desk.jobfile.files import job_folder, parse_tree
    from desk.store.photos import look_at_photos
    from desk.text.reports import say_check
    folder = job_folder(options.job)
    job, faults = parse_tree(read_in_its_language(folder, options.language, _complain))
    problems = faults + find_problems(job, look_at_photos(folder, job))
    stops = [problem for problem in problems if problem.severity == "stop"]
    for problem in stops:
        _complain(problem.says)
    _answer(options, lambda: to_json(problems_answer(problems)), lambda: say_check(problems))
    return WRONG_USE if any(p.stage == "read" for p in stops) else CANNOT if stops else DONE


def _survey(options: argparse.Namespace) -> int:
    from desk.actions.answers import survey_answer, to_json
    from desk.actions.pipeline import survey_job
    from desk.text.reports import say_survey
    _, job, photos = _opened(options.job, options.language)
    survey = survey_job(job, photos)
    return _answer(options, lambda: to_json(survey_answer(survey, job)), lambda: say_survey(survey, job))


def _plan(options: argparse.Namespace) -> int:
    from desk.convert import survey_doubts
    from desk.store.job_store import JobKeeper
    from desk.actions.kept_plan import refuse_begun, with_plan, without_plan
    from desk.actions.pipeline import plan_text, planned_job
    from desk.checks.unseen import refuse_unseen
    from desk.text.reports import say_kept, say_plan
    folder, job, photos = _opened(options.job, options.language)
    if options.keep:
        refuse_begun(job)
        refuse_unseen(job)
    survey, plan, kept = planned_job(without_plan(job) if options.afresh else job, photos)
    _note_old(kept)
    if options.keep and not (kept and kept.on and kept.is_current):
        JobKeeper(folder).keep(with_plan(job, survey, plan, on=datetime.date.today()), instead_of=job)
    _tell_ties(folder, job)
    return _answer(options, lambda: plan_text(plan, survey, job),
                   lambda: say_plan(plan, job, survey_doubts(survey)) + say_kept(kept, options.keep))


def _closeups(options: argparse.Namespace) -> int:
    from desk.actions.answers import to_json
    from desk.actions.closeups import keep_in, measure_closeups
    from desk.store.job_store import JobKeeper
    from desk.jobfile.parse import parse_job
    from desk.text.say_closeups import closeups_answer, say_closeups
    folder, job, _ = _opened(options.job, options.language)
    measured = measure_closeups(folder, job)
    if options.keep:
        JobKeeper(folder).keep(parse_job(keep_in(job, measured)), instead_of=job)
    _answer(options, lambda: to_json(closeups_answer(measured)), lambda: say_closeups(measured, job))
    return CANNOT if measured and all(one.fault for one in measured) else DONE


def _pack(options: argparse.Namespace) -> int:
    from desk.jobfile.files import JOB_NAME, job_folder
    from desk.store.house_store import is_house
    if is_house(options.job) and not (options.job / JOB_NAME).is_file():
        return _pack_house(options)
    if options.each:
        _complain(gettext("--each is for a flat: {job} is one room and has one booklet.", job=options.job))
        return WRONG_USE
    folder = job_folder(options.job)
    return _make_pack(options, folder, options.output or folder / "pack", options.paper, options.rulers)


def _pack_house(options: argparse.Namespace) -> int:
    from desk.actions.answers import to_json
    from desk.commands.flat_command import packed_house
    speak_for_house(options.job, options.language, _complain)
    whole, answer, words = packed_house(options.job, options.output, each=options.each, paper=options.paper,
                                        rulers=options.rulers, tell=_complain)
    _answer(options, lambda: to_json(answer()), words)
    return DONE if whole else CANNOT


def _demo(options: argparse.Namespace) -> int:
    from desk.actions.demo import PACK_DIR, copy_demo
    folder = copy_demo(options.folder)
    return _make_pack(options, folder, folder / PACK_DIR, None)


def _house(options: argparse.Namespace) -> int:
    from desk.actions.answers import to_json
    from desk.commands.flat_command import planned_house
    speak_for_house(options.house, options.language, _complain)
    whole, answer, words = planned_house(options.house, options.output, options.effort, keep=options.keep,
                                         afresh=options.afresh, tell=_complain)
    _answer(options, lambda: to_json(answer()), words)
    return DONE if whole else CANNOT


def _many(options: argparse.Namespace) -> int:
    from desk.actions.answers import to_json
    from desk.limited_pool import Limits
    from desk.batch.engine import Asked
    from desk.commands.many_command import run_many
    from desk.batch.outcome import many_answer
    from desk.text.say_many import say_many
    usual = Limits()
    limits = Limits(seconds=options.seconds or usual.seconds, memory_mb=options.memory or usual.memory_mb)
    ran = run_many(Asked(folder=options.folder, effort=options.effort, limits=limits), processes=options.processes,
                   scheduler=options.scheduler, afresh=options.afresh, output=options.output, tell=_complain,
                   memory_matters=options.memory is not None)
    _answer(options, lambda: to_json(many_answer(ran.outcomes, left=ran.left)), lambda: say_many(ran.outcomes))
    if ran.interrupted:
        return INTERRUPTED
    return DONE if not ran.left and all(outcome.planned for outcome in ran.outcomes) else CANNOT


def _make_pack(options: argparse.Namespace, job_path: Path, output: Path, paper: str | None,
               rulers: Sequence[str] | None = None) -> int:
    from desk.actions.pack import make_pack_folder, usual_paper, with_own_printer, with_rulers
    from desk.actions.answers import to_json
    from desk.convert import survey_doubts
    from desk.store.corner_photos import marked_photos
    from desk.store.settings import read_settings
    from desk.text.reports import say_kept, say_pack
    folder, job, photos = _opened(job_path, options.language)
    settings, note = read_settings()
    typed = with_rulers(job, dict(zip(("across", "down"), rulers or ())))
    job = with_own_printer(typed, settings)
    if note or job is not typed:
        _complain(note or gettext(
            "The templates are corrected by what your printer's rulers measured for an earlier job."))
    survey, plan, files, kept = make_pack_folder(job, photos, output, paper=paper or usual_paper(job, settings),
                                                 pictures=marked_photos(folder, job))
    _note_old(kept)
    _tell_ties(folder, job)
    answer = {"format": "tapegroove-pack", "version": 1, "folder": str(output), "files": sorted(files),
              "boards": plan.boards, "packs": plan.packs}
    return _answer(options, lambda: to_json(answer), lambda: say_pack(str(output), files, plan, survey_doubts(survey))
                   + say_kept(kept, False))


def _tell_ties(folder: Path, job: Job) -> None:
    """Tell of plans of the flat that count on an offcut which is no longer there."""
    from desk.actions.flat.ties import ties_around
    for problem in ties_around(folder, job):
        _complain(problem.says)


def _note_old(kept: KeptPlan | None) -> None:
    """Tell of a kept plan that is out of date: what is answered is then another one."""
    if kept is not None and kept.says:
        _complain(gettext("{says} What follows is planned anew.", says=kept.says))


def _day(options: argparse.Namespace) -> int:
    from desk.actions.answers import to_json
    from desk.commands.day_command import run_day
    from desk.text.day_text import day_answer, say_day
    from desk.store.job_store import JobKeeper
    from desk.actions.flat.ties import refuse_room_of_flat
    folder, job, photos = _opened(options.job, options.language)
    refuse_room_of_flat(folder, job)
    job, day, told, says, printed = run_day(JobKeeper(folder), job, photos, options.words, paper=options.paper,
                                            on=datetime.date.today())
    files = [str(path) for path in printed]
    _tell_ties(folder, job)
    return _answer(options, lambda: to_json(day_answer(day, told, says, files, job.show)),
                   lambda: say_day(job, day, says, files))


def _look(options: argparse.Namespace) -> int:
    from desk.actions.answers import to_json
    from desk.actions.look import look_at_job
    from desk.text.say_look import look_answer, say_look
    folder, job, photos = _opened(options.job, options.language)
    looked = look_at_job(folder, job, photos)
    return _answer(options, lambda: to_json(look_answer(looked)), lambda: say_look(looked))


def _targets(options: argparse.Namespace) -> int:
    from desk.actions.answers import to_json
    from desk.jobfile.save import write_whole
    from desk.text.reports import say_targets
    from printpack.paper import paper_named
    from printpack.drawing.pdf import pdf_bytes
    from printpack.fullsize.target_sheets import SIDE_OF_SQUARE_MM, target_sheets
    paper = paper_named(options.paper)
    sheets = target_sheets(paper, count=options.count)
    write_whole(options.output, pdf_bytes(sheets, title=gettext("Floor targets"), date=datetime.date.today()))
    answer = {"format": "tapegroove-targets", "version": 1, "file": str(options.output), "paper": paper.name,
              "count": options.count, "size": SIDE_OF_SQUARE_MM}
    return _answer(options, lambda: to_json(answer),
                   lambda: say_targets(str(options.output), options.count, paper.name))


def _schema(options: argparse.Namespace) -> int:
    from desk.jobfile.schema import stored_schema
    print(stored_schema(options.subject), end="")
    return DONE


def _desk(options: argparse.Namespace) -> int:
    from desk.language.region import units_of
    from desk.server.home.site import serve_any
    serve_any(options.job, options.port, not options.no_browser, units_of(options.language), flat=options.flat)
    return DONE


RUNNERS = {"demo": _demo, "check": _check, "survey": _survey, "plan": _plan, "pack": _pack, "house": _house,
           "many": _many, "day": _day, "look": _look, "closeups": _closeups, "targets": _targets, "schema": _schema,
           "desk": _desk}


if __name__ == "__main__":
    sys.exit(main())
