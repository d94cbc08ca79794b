"""In which language a command answers: the one asked for on its line, else that of the job or of the flat's rooms."""
from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from capture.language.messages import gettext, speak

#: What is said to people on standard error.
Tell = Callable[[str], None]


def speak_tag(tag: str, tell: Tell) -> bool:
    """Go on in a language; one that is not offered is told."""
    from desk.language.catalogues import offered
    from desk.problem import JobFileError
    try:
        speak(offered(tag))
    except JobFileError as error:
        tell(str(error))
        return False
    return True


def read_in_its_language(folder: Path, language: str | None, tell: Tell) -> Any:
    """The tree of the job in a folder. What follows, faults in its fields among it, is said in the job's language, if
    the command line asked for no other."""
    from desk.jobfile.files import read_tree
    from desk.jobfile.kinds import is_tag
    tree = read_tree(folder)
    asked = tree.get("language") if isinstance(tree, dict) else None
    if language is None and is_tag(asked):
        _speak_for_job(str(asked), tell)
    return tree


def speak_for_house(house: Path, language: str | None, tell: Tell) -> None:
    """What follows is said in the language that the first of its rooms asks for, if the command line asked for none."""
    from desk.store.house_store import language_of_house
    if language is None and (asked := language_of_house(house)) is not None:
        _speak_for_job(asked, tell)


def _speak_for_job(tag: str, tell: Tell) -> None:
    if not speak_tag(tag, tell):
        tell(gettext("The job asks for that language; English is spoken instead."))
