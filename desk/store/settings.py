"""What this user's machine keeps for the next job: units, paper, what the printer's rulers measure, names of rooms.

Kept in the user's own configuration folder, or in the file that TAPEGROOVE_SETTINGS names; where that is set and empty,
nowhere. The file is read strictly and never in the way: what cannot be used is laid aside as a whole, a note says so,
and the usual values hold.
"""
from __future__ import annotations

import json
import os
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import AfterValidator

from capture.language.messages import gettext, lazy_gettext, marked
from desk.jobfile.files import parse_json
from desk.jobfile.kinds import Entry, LengthFrom1, Text, YesOrNo, words, wrong
from desk.jobfile.reader import read_as, schema_of, unknown_keys
from desk.jobfile.save import write_whole
from desk.problem import JobFileError, Problem, file_error, printable
from printpack.paper import PAPERS

#: The variable that says where what a machine keeps lies.
PLACE = "TAPEGROOVE_SETTINGS"
_LARGEST_BYTES = 20_000
#: So many names of rooms are offered again; one is no longer than the page lets it be.
_NAMES, _LONGEST_NAME = 6, 80


def _paper(name: str) -> str:
    if name not in {paper.name.lower() for paper in PAPERS}:
        raise wrong(lazy_gettext("a sheet, such as a4"))
    return name


def _line(text: str) -> str:
    if not text.strip() or len(text) > _LONGEST_NAME or printable(text) != text:
        raise wrong(lazy_gettext("a name on one line of at most {most} letters", most=_LONGEST_NAME))
    return text


_Units = Literal["metric", "imperial"]
_Paper = Annotated[Text, AfterValidator(_paper)]
_RoomName = Annotated[Text, AfterValidator(_line)]


@dataclass(frozen=True, slots=True, kw_only=True)
class PrinterRulers(Entry):
    """What the check sheet's rulers measure on this machine's printer, mm; show: the units of that sheet, since in
    others its rulers are of other lengths."""

    show: _Units
    across_mm: LengthFrom1
    down_mm: LengthFrom1


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings(Entry):
    """The file; None: nothing was said yet. names: of rooms, the last one first. toured: the page's tour was taken, or
    left."""

    format: Literal["tapegroove-settings"] = "tapegroove-settings"
    version: Annotated[Literal[1], words(marked("the version this program writes"))] = 1
    show: _Units | None = None
    paper: _Paper | None = None
    rulers: PrinterRulers | None = None
    names: tuple[_RoomName, ...] = ()
    toured: YesOrNo = False

    def tree(self) -> dict[str, Any]:
        """As JSON data, without what was not said."""
        rulers = self.rulers and {"show": self.rulers.show, "across": self.rulers.across_mm,
                                  "down": self.rulers.down_mm}
        said = {"show": self.show, "paper": self.paper, "rulers": rulers, "names": list(self.names),
                "toured": self.toured}
        return {"format": self.format, "version": self.version} | {key: value for key, value in said.items() if value}


def settings_path() -> Path | None:
    """Where they are kept; None: nowhere."""
    if (said := os.environ.get(PLACE)) is not None:
        return Path(said) if said else None
    from platformdirs import user_config_path
    return user_config_path("tapegroove", appauthor=False) / "settings.json"


def read_settings() -> tuple[Settings, str]:
    """The settings, and a note where there is a file that cannot be used ("" otherwise)."""
    path = settings_path()
    if path is None:
        return Settings(), ""
    try:
        if path.stat().st_size > _LARGEST_BYTES:
            raise OSError(gettext("too large"))
        return settings_of(parse_json(path.read_bytes(), name=gettext("the settings file"))), ""
    except FileNotFoundError:
        return Settings(), ""
    except (OSError, JobFileError) as error:
        why = getattr(error, "strerror", None) or str(error)
        return Settings(), gettext(
            "What this machine kept for the next job cannot be used ({path}: {why}); the usual values hold.",
            path=printable(str(path)), why=why.rstrip("."))


def settings_of(tree: Any) -> Settings:
    """Settings from JSON data. Raises JobFileError unless everything in it is as it should be."""
    if not isinstance(tree, dict):
        raise file_error("wrong-field", gettext("the settings file must be an object in braces"))
    found, problems = read_as(Settings, tree, name=gettext("the settings file"))
    problems += tuple(Problem(slug="wrong-field", where=place, says=gettext(
        "It holds the unknown {key}.", key=printable(key)))
                      for place, key, _ in unknown_keys(schema_of(Settings), tree))
    if found is None or problems:
        raise JobFileError(problems)
    return found


def keep_settings(told: dict[str, Any]) -> Settings:
    """The settings with what a person said now (null forgets) written to their file; `name` is put before the names.

    Raises JobFileError for what is no setting, or if the disk refuses; the file is then as it was.
    """
    before, _ = read_settings()
    more = {key: value for key, value in told.items() if key != "name"}
    now = settings_of({key: value for key, value in (before.tree() | more).items() if value is not None})
    if name := told.get("name"):
        names = settings_of({"names": [name]}).names
        now = replace(now, names=(names + tuple(old for old in now.names if old != name))[:_NAMES])
    if path := settings_path():
        write_whole(path, json.dumps(now.tree(), ensure_ascii=False, indent=1).encode() + b"\n")
    return now
