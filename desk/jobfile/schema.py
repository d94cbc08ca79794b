"""JSON Schema (draft 2020-12) of a job and of the answers, made from the types that are read and written: of a job and
a survey by pydantic, of a plan by its own codec (`layout.planfile.codec`). What the program ships are the copies in
`desk/schemas`; ``python -m desk.jobfile.schema`` makes them afresh.
"""
from __future__ import annotations

import json
from collections.abc import Callable
from functools import partial
from importlib import resources
from pathlib import Path
from typing import Any

from desk.jobfile.answer_schema import SurveyShape
from desk.jobfile.job import Job
from desk.jobfile.reader import schema_of
from layout.planfile.codec import plan_schema

DRAFT = "https://json-schema.org/draft/2020-12/schema"
#: Name on the command line: how it is made, its version, and whether null stands for a key that is not there.
SUBJECTS: dict[str, tuple[Callable[[], dict[str, Any]], int, bool]] = {
    "job": (partial(schema_of, Job), 1, True), "survey": (partial(schema_of, SurveyShape), 1, False),
    "plan": (plan_schema, 1, False)}
#: Keys that tell what a file is: null is no answer there.
_NEVER_NULL = frozenset({"format", "version"})


def schema_name(subject: str) -> str:
    """File name of a stored schema, its version in it."""
    return f"tapegroove-{subject}-{SUBJECTS[subject][1]}.schema.json"


def stored_schema(subject: str) -> str:
    """The stored schema of "job", "survey" or "plan" as text."""
    return (resources.files("desk") / "schemas" / schema_name(subject)).read_text("utf-8")


def make_schema(subject: str) -> dict[str, Any]:
    """The schema of "job", "survey" or "plan", from its type."""
    make, version, null_is_unsaid = SUBJECTS[subject]
    made = _tidied(make(), null_is_unsaid)
    return {"$schema": DRAFT, "$id": f"urn:tapegroove:{subject}:{version}",
            "title": f"tapegroove {subject}, version {version}"} | made


def schema_text(subject: str) -> str:
    """The schema as it is stored."""
    return json.dumps(make_schema(subject), indent=1, ensure_ascii=False) + "\n"


def _tidied(part: Any, null_is_unsaid: bool) -> Any:
    """A schema without what pydantic adds of its own (titles, defaults); a key that may be left out may hold null."""
    if isinstance(part, str):
        return part.removesuffix("Shape")  # a name in "$defs", or a reference to one
    if isinstance(part, list):
        return [_tidied(each, null_is_unsaid) for each in part]
    if not isinstance(part, dict):
        return part
    found = {"anyOf" if key == "oneOf" else key.removesuffix("Shape"): _tidied(value, null_is_unsaid)
             for key, value in part.items() if key not in ("discriminator", "default")
             and not (key == "title" and isinstance(value, str))}
    if isinstance(found.get("description"), str):
        found["description"] = " ".join(found["description"].split())
    if null_is_unsaid and found.get("type") == "object" and "properties" in found:
        found["properties"] = {key: value if key in found.get("required", ()) or key in _NEVER_NULL else _or_null(value)
                               for key, value in found["properties"].items()}
    return found


def _or_null(schema: dict[str, Any]) -> dict[str, Any]:
    """The schema of a value that may be null too."""
    if not schema.keys() - {"description"} or schema.get("type") == "null" or {"type": "null"} in schema.get("anyOf",
                                                                                                             ()):
        return schema
    said = {key: schema.pop(key) for key in ("description",) if key in schema}
    return {"anyOf": [*(schema["anyOf"] if schema.keys() == {"anyOf"} else [schema]), {"type": "null"}]} | said


def main() -> None:
    """Write every schema into the folder of the stored ones."""
    for subject in SUBJECTS:
        (Path(__file__).parents[1] / "schemas" / schema_name(subject)).write_text(schema_text(subject), "utf-8")


if __name__ == "__main__":
    main()
