"""What is wrong with a job, as data: one sentence for people, one slug and one place for programs."""
from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from capture.mends import Mend

#: Steps of the work, in order; a problem of one step also holds up the later ones.
STAGES = ("read", "survey", "plan")
#: U+00A0 and the narrow one, U+202F.
_NO_BREAKS = "\u00a0\u202f"


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One thing wrong with a job.

    slug: the kind of fault (the rooms' README.md list them); where: its place in the file, such as
    ``photos[2].marks[5]``. severity "stop": the step named by `stage` ("read", "survey" or "plan") cannot be done;
    "note": worth knowing, stops nothing. name: of the thing it is about, where the page words it by that. mends:
    changes of the job that would put it right.
    """

    slug: str
    where: str
    says: str
    severity: str = "stop"
    stage: str = "read"
    name: str = ""
    mends: tuple[Mend, ...] = ()

    def __post_init__(self) -> None:
        """A sentence may quote a file that came by mail: nothing in it may break the line or steer the terminal."""
        object.__setattr__(self, "says", printable(self.says))

    def stops(self, stage: str) -> bool:
        """Whether this problem keeps `stage` from being done."""
        return self.severity == "stop" and STAGES.index(self.stage) <= STAGES.index(stage)


def printable(text: str) -> str:
    """Text with line breaks, control signs and half letters written out, so that it stays on one line; the blanks that
    hold a length or a French colon together stay."""
    return "".join(letter if letter.isprintable() or letter in _NO_BREAKS else letter.encode("unicode_escape").decode()
                   for letter in text)


def shown(value: Any) -> str:
    """A value as it would stand in a file, cut short; None is one that is missing."""
    text = "missing" if value is None else printable(json.dumps(value, ensure_ascii=False))
    return text if len(text) <= 60 else text[:57] + "..."


class JobFileError(Exception):
    """The job, or a file that belongs to it, cannot be read or written. Carries every fault found, the first one in
    front."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        super().__init__(problems[0].says)
        self.problems = tuple(problems)
        self.slug = problems[0].slug
        self.where = problems[0].where


class JobProblems(Exception):
    """The job can be read, but the step asked for cannot be done as it stands. Carries every problem that stops it."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        super().__init__(problems[0].says)
        self.problems = tuple(problems)
        self.slug = problems[0].slug
        self.where = problems[0].where


def file_error(slug: str, says: str, *, where: str = "") -> JobFileError:
    """The JobFileError of a single fault."""
    return JobFileError([Problem(slug=slug, where=where, says=says)])
