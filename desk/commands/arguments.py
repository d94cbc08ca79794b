"""The command line as argparse sees it: every command with its options and its help. Nothing heavy is loaded here."""
from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import NoReturn

from capture.language.messages import gettext, marked, worded
from desk.actions.error_report import WRONG_USE

DEFAULT_PORT = 0
#: What runs a command: its options in, the exit status out.
Runner = Callable[[argparse.Namespace], int]

#: What the folder a command takes must be, by its sign in the help.
_FOLDERS = {"JOB": marked("folder of the job (with job.json and photos/)"), "DIR": marked("a new folder"),
            "FOLDER": marked("folder that holds the folders of the jobs"),
            "HOUSE": marked("folder with house.json and the folders of the rooms' jobs")}


class _Parser(argparse.ArgumentParser):
    """Says wrong use in one sentence."""

    def error(self, message: str) -> NoReturn:
        said = gettext("{program}: {wrong}; see {program} --help", program=self.prog, wrong=message)
        self.exit(WRONG_USE, f"{said}\n")


def read_arguments(parser: argparse.ArgumentParser, arguments: Sequence[str] | None) -> argparse.Namespace:
    """What was asked for. argparse gives up on words that follow an option; what happened may stand before and after
    one."""
    options, more = parser.parse_known_args(arguments)
    if more and (options.command != "day" or any(word.startswith("-") for word in more)):
        parser.error(gettext("unrecognized arguments: {more}", more=" ".join(more)))
    if more:
        options.words += more
    return options


def parser(runners: Mapping[str, Runner]) -> argparse.ArgumentParser:
    """The command line. runners: by the name of the command."""
    top = _Parser(
        prog="tapegroove", parents=[_language_option()],
        description=gettext("Photos and a tape in, a laying booklet and true-size templates for a click floor out."),
        epilog=gettext("Exit status: 0 done; 1 the job cannot be solved or planned as it stands; 2 wrong use or "
                       "unreadable input."))
    commands = top.add_subparsers(dest="command", metavar="COMMAND", required=True, parser_class=_Parser)
    _add(commands, runners, "demo", gettext("copy the demo job into a folder and make its pack"), folder="DIR")
    _add(commands, runners, "check", gettext(
        "say everything that is wrong with a job, without solving it"), job="JOB")
    _add(commands, runners, "survey", gettext("solve the floor from photos and tape"), job="JOB")
    plan = _add(commands, runners, "plan", gettext(
        "solve the floor and plan rows, offcuts and shopping"), job="JOB")
    plan.add_argument("--keep", action="store_true", help=gettext(
        "keep this plan in the job: packs are then printed from it"))
    plan.add_argument("--afresh", action="store_true",
                      help=gettext("plan anew even where the job keeps a plan that is up to date"))
    pack = _add(commands, runners, "pack", gettext(
        "solve, plan and write the booklet, templates and lists"), job="JOB")
    pack.add_argument("-o", "--output", metavar="DIR", type=Path,
                      help=gettext("folder for the pack (default: pack in the job's folder)"))
    pack.add_argument("--paper", metavar="NAME",
                      help=gettext(
        "sheet to print on, such as a4 or letter (default: the one chosen on this machine's page, else letter for a "
        "job in feet and inches, else a4)"))
    pack.add_argument("--rulers", metavar=("ACROSS", "DOWN"), nargs=2,
                      help=gettext(
        "what the check sheet's two long rulers measure on paper; the templates then undo the printer's error"))
    pack.add_argument("--each", action="store_true",
                      help=gettext("of a flat: a booklet a room, instead of one with a part a room"))
    house = _add(commands, runners, "house",
                 gettext("put surveyed rooms side by side through their doorways and plan them together; writes one "
                         "job for each floor that is laid as one"),
                 house="HOUSE")
    house.add_argument("--effort", choices=("preview", "usual", "long"), default="usual",
                       help=gettext(
                           "how long to look for fewer boards: some 0.1 s, 1 s or 10 s a floor (default: usual)"))
    house.add_argument("--keep", action="store_true", help=gettext(
        "keep every floor's plan in its job: the flat is printed and laid by them, offcuts carried from room to room"))
    house.add_argument("--afresh", action="store_true", help=gettext("plan anew, whatever plans the floors keep"))
    house.add_argument("-o", "--output", metavar="DIR", type=Path,
                       help=gettext("folder for the new jobs (default: floors in the house's folder)"))
    many = _add(commands, runners, "many", gettext("plan every job in a folder, several at once"), folder="FOLDER")
    many.add_argument("--effort", choices=("preview", "usual", "long"), default="usual",
                      help=gettext(
        "how long to look for fewer boards: some 0.1 s, 1 s or 10 s a job (default: usual)"))
    many.add_argument("--processes", metavar="N", type=_several,
                      help=gettext("how many jobs at once (default: one a processor)"))
    many.add_argument("-o", "--output", metavar="FILE.csv", type=Path, help=gettext(
        "also write the summary as a table"))
    many.add_argument("--seconds", metavar="S", type=_above(1), help=gettext(
        "the most time a job may take (default: 600)"))
    many.add_argument("--memory", metavar="MB", type=_above(500),
                      help=gettext(
        "the most memory a job may take (default: 4000; Windows and macOS cannot limit it)"))
    many.add_argument("--afresh", action="store_true",
                      help=gettext("plan every job again, those planned before and unchanged too"))
    many.add_argument("--scheduler", metavar="ADDRESS", default="",
                      help=gettext(
        "plan on the Dask cluster of this scheduler, such as 192.168.1.5:8786 (only one you trust, in a network of "
        "your own)"))
    day = _add(commands, runners, "day", gettext(
        "tell what happened while laying, and follow the plan for the rest"), job="JOB")
    day.add_argument("words", metavar="WORDS", nargs="*",
                     help=gettext("what happened, such as: row 4 done; without words: where the work stands"))
    day.add_argument("--paper", metavar="NAME",
                     help=gettext("sheet to print changed pages on, such as a4 or letter (default: as the pack)"))
    _add(commands, runners, "look",
         gettext(
        "propose floor corners and floor lines from a job's photos; nothing in the job changes"), job="JOB")
    closeups = _add(commands, runners, "closeups",
                    gettext("measure casings and pipes in photos with a sheet or card beside them"), job="JOB")
    closeups.add_argument("--keep", action="store_true",
                          help=gettext(
        "write what was measured into the job: templates and plans are then made from it"))
    targets = commands.add_parser("targets", help=gettext("print targets to lay on the floor before taking photos"),
                                  description=gettext(
                                      "Writes sheets with floor targets, and how to lay them, as a PDF."))
    targets.add_argument("-o", "--output", metavar="FILE.pdf", type=Path, required=True, help=gettext(
        "file to write"))
    targets.add_argument("--paper", metavar="NAME", default="a4",
                         help=gettext("sheet to print on, such as a4 or letter (default: a4)"))
    targets.add_argument("--count", metavar="N", type=_count, default=6, help=gettext(
        "how many targets (default: 6)"))
    targets.add_argument("--json", action="store_true", help=gettext("answer with one JSON object"))
    targets.set_defaults(run=runners["targets"])
    schema = commands.add_parser("schema", help=gettext(
        "the JSON Schema of a job, or of the answer of survey or plan"),
                                 description=gettext(
                                     "Writes the JSON Schema (draft 2020-12) of job.json, or of what survey or plan "
                                     "answer with --json."))
    schema.add_argument("subject", choices=("job", "survey", "plan"), help=gettext("what the schema is of"))
    schema.set_defaults(run=runners["schema"], json=False)
    desk = commands.add_parser("desk", help=gettext("open the page to mark photos, type lengths and see the plan"),
                               description=gettext(
                                   "Serves the page on this computer only and opens it in the browser."))
    desk.add_argument("job", metavar="JOB", nargs="?", type=Path, help=gettext(
        "folder of a job, or of a flat's jobs (default: choose on the page)"))
    desk.add_argument("--flat", action="store_true", help=gettext(
        "begin a flat of several rooms in the folder, where no job lies"))
    desk.add_argument("--port", metavar="N", type=_port, default=DEFAULT_PORT,
                      help=gettext("port to serve on (default: any free one)"))
    desk.add_argument("--no-browser", action="store_true", help=gettext("do not open the browser"))
    desk.set_defaults(run=runners["desk"], json=False)
    return top


def language_asked(arguments: Sequence[str] | None) -> tuple[str | None, list[str]]:
    """The language that the command line asks for (None: it asks for none) and the other arguments. It is read before
    them: the help is in it too."""
    asked, others = _language_option().parse_known_args(arguments)
    return asked.language, others


def _language_option() -> argparse.ArgumentParser:
    option = _Parser(prog="tapegroove", add_help=False, allow_abbrev=False)
    option.add_argument("--language", metavar="TAG", default=None, help=gettext(
        "language of what is said, such as en (default: the job's, else English)"))
    return option


def _add(commands: argparse._SubParsersAction[_Parser], runners: Mapping[str, Runner], name: str, says: str,
         **place: str) -> argparse.ArgumentParser:
    """A command that takes one folder and may answer in JSON."""
    command = commands.add_parser(name, help=says, description=says[0].upper() + says[1:] + ".")
    ((key, metavar),) = place.items()
    command.add_argument(key, metavar=metavar, type=Path, help=worded(_FOLDERS[place[key]]))
    command.add_argument("--json", action="store_true", help=gettext("answer with one JSON object"))
    command.set_defaults(run=runners[name])
    return command


def _port(text: str) -> int:
    if not text.isdecimal() or not 0 <= int(text) <= 65535:
        raise argparse.ArgumentTypeError(gettext("port {text!r} is not a number from 0 to 65535", text=text))
    return int(text)


def _count(text: str) -> int:
    if not text.isdecimal():
        raise argparse.ArgumentTypeError(gettext("{text!r} is not a number of targets, such as 6", text=text))
    return int(text)


def _several(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 60:
        raise argparse.ArgumentTypeError(gettext("{text!r} is not a number from 1 to 60", text=text))
    return int(text)


def _above(least: float) -> Callable[[str], float]:
    def read(text: str) -> float:
        if not text.isdecimal() or not least <= int(text) <= 1_000_000:
            raise argparse.ArgumentTypeError(gettext(
                "{text!r} is not a whole number from {least:g} to 1000000", text=text, least=least))
        return float(text)
    return read
