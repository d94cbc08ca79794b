"""JSON Schema (draft 2020-12) of a job and of the answers, made from the types in `job_schema`, `answer_schema` and
`layout.plan`. What the program ships are the copies in `desk/schemas`; ``python -m desk.jobfile.schema``
makes them afresh.

A type annotation is a schema already: an object is a TypedDict, its docstring the description, bounds are the pairs in
an Annotated.
"""
from __future__ import annotations

import json
import types
from importlib import resources
from pathlib import Path
from typing import Annotated, Any, Literal, NotRequired, Union, get_args, get_origin, get_type_hints, is_typeddict

from desk.jobfile.answer_schema import SurveyShape
from desk.jobfile.job_schema import JobShape
from layout.plan import Plan
from layout.planfile.codec import plan_schema

DRAFT = "https://json-schema.org/draft/2020-12/schema"
#: Name on the command line: the type, its version, and whether null stands for a key that is not there.
SUBJECTS: dict[str, tuple[type, int, bool]] = {"job": (JobShape, 1, True), "survey": (SurveyShape, 1, False),
                                               "plan": (Plan, 1, False)}
_PLAIN: dict[object, dict[str, Any]] = {float: {"type": "number"}, int: {"type": "integer"}, str: {"type": "string"},
                                        bool: {"type": "boolean"}, type(None): {"type": "null"}, Any: {}}
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
    shape, version, null_is_unsaid = SUBJECTS[subject]
    found: dict[str, Any] = {}
    top = plan_schema(found) if shape is Plan else _of(shape, found, null_is_unsaid)
    return {"$schema": DRAFT, "$id": f"urn:tapegroove:{subject}:{version}",
            "title": f"tapegroove {subject}, version {version}", **top, "$defs": found}


def schema_text(subject: str) -> str:
    """The schema as it is stored."""
    return json.dumps(make_schema(subject), indent=1, ensure_ascii=False) + "\n"


def _of(kind: Any, found: dict[str, Any], null_is_unsaid: bool) -> dict[str, Any]:
    """The schema of an annotation; objects are put into `found` under their names and referred to."""
    if is_typeddict(kind):
        return _object(kind, found, null_is_unsaid)
    origin, inside = get_origin(kind), get_args(kind)
    if origin is None:
        return dict(_PLAIN[kind])
    if origin is Annotated:
        return _of(inside[0], found, null_is_unsaid) | dict(inside[1:])
    if origin is NotRequired:
        return _of(inside[0], found, null_is_unsaid)
    if origin is Literal:
        return {"enum": list(inside)}
    if origin is list:
        return {"type": "array", "items": _of(inside[0], found, null_is_unsaid)}
    if origin is dict:
        return {"type": "object", "additionalProperties": _of(inside[1], found, null_is_unsaid)}
    if origin in (Union, types.UnionType):
        return {"anyOf": [_of(each, found, null_is_unsaid) for each in inside]}
    raise TypeError(f"a schema has no words for {kind}")


def _object(shape: Any, found: dict[str, Any], null_is_unsaid: bool) -> dict[str, Any]:
    name = shape.__name__.removesuffix("Shape")
    if name not in found:
        # Kept first, so that what follows stands behind it.
        made = found[name] = {"type": "object", "description": " ".join((shape.__doc__ or "").split())}
        hints = get_type_hints(shape, include_extras=True)
        needed = [key for key, kind in hints.items() if get_origin(kind) is not NotRequired]
        made["properties"] = {key: _part(key, kind, key in needed, found, null_is_unsaid)
                              for key, kind in hints.items()}
        made["required"] = needed
    return {"$ref": f"#/$defs/{name}"}


def _part(key: str, kind: Any, is_needed: bool, found: dict[str, Any], null_is_unsaid: bool) -> dict[str, Any]:
    schema = _of(kind, found, null_is_unsaid)
    if is_needed or not null_is_unsaid or not schema or schema == {"type": "null"} or key in _NEVER_NULL:
        return schema
    return {"anyOf": [*schema.get("anyOf", [schema]), {"type": "null"}]}


def main() -> None:
    """Write every schema into the folder of the stored ones."""
    for subject in SUBJECTS:
        (Path(__file__).parents[1] / "schemas" / schema_name(subject)).write_text(schema_text(subject), "utf-8")


if __name__ == "__main__":
    main()
