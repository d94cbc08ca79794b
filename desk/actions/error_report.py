"""What a raised error means to the person at the terminal: sentences and an exit status."""
from __future__ import annotations

from typing import TYPE_CHECKING

from capture.errors import CaptureError
from capture.language.messages import gettext
from desk.problem import JobFileError, JobProblems, Problem
from layout.errors import LayoutError
from printpack.errors import PrintError

if TYPE_CHECKING:
    from capture.mends import Mend

DONE, CANNOT, WRONG_USE = 0, 1, 2
#: Refusals of what was typed on the command line, not of the job.
_TYPED = ("unknown-paper", "target-count", "unreadable-length", "ambiguous-length")


def refusal_of(error: Exception) -> tuple[tuple[Problem, ...], int]:
    """The problems an error stands for and the exit status; an error nobody foresaw is called a fault of ours."""
    match error:
        case JobFileError():
            return error.problems, WRONG_USE
        case JobProblems():
            unreadable = any(problem.stage == "read" for problem in error.problems)
            return error.problems, WRONG_USE if unreadable else CANNOT
        case CaptureError() | LayoutError() | PrintError():
            stage = "survey" if isinstance(error, CaptureError) else "plan"
            status = WRONG_USE if error.slug in _TYPED else CANNOT
            return (Problem(slug=error.slug, where=error.where, says=_sentence(str(error)), stage=stage,
                            mends=mends_of_error(error)),), status
        case OSError(filename=str() as path):
            says = gettext(
                "{path} cannot be opened ({why}); check that it is there, no link in a circle, and that you may "
                "open it.", path=path, why=error.strerror or error)
            return (Problem(slug="unreadable-file", where=path, says=says),), WRONG_USE
    says = gettext(
            "This is a fault of ours, not of your job ({name}: {error}); the job is as it was. Run it again with "
            "TAPEGROOVE_DEBUG=1 and send us what it prints.", name=type(error).__name__, error=_one_line(error))
    return (Problem(slug="our-fault", where="", says=says),), CANNOT


def mends_of_error(error: Exception) -> tuple[Mend, ...]:
    """What would put right a job that an error says cannot be solved; nothing for most."""
    from capture.mends import mends_of_mishap  # these load what the short commands do without
    from capture.mishaps.errors import MishapError
    return tuple(mends_of_mishap(error.mishap)) if isinstance(error, MishapError) else ()


def _sentence(says: str) -> str:
    """A message as a sentence: a capital in front (unless it opens with a place such as tape[3]) and a full stop
    behind."""
    opening = says.split(" ", 1)[0]
    says = says[0].upper() + says[1:] if opening.isalpha() and opening.islower() else says
    return says if says.endswith((".", "?", "!")) else says + "."


def _one_line(error: Exception) -> str:
    return " ".join(str(error).split())[:200] or gettext("no more is known")
