"""A job as text: what job.json holds."""
from __future__ import annotations

import json
from typing import Any

from capture.language.messages import gettext
from desk.problem import file_error


def job_text(tree: Any) -> str:
    """The text a job is saved as: one line to a photo, a tape length, a pipe.

    Raises JobFileError for what UTF-8 JSON cannot hold (NaN, half a letter).
    """
    try:
        text = "{\n" + ",\n".join(f"  {_line(key)}: {_lines(value)}" for key, value in tree.items()) + "\n}\n"
        text.encode("utf-8")
    except (ValueError, RecursionError):
        raise file_error("unreadable-job", gettext(
            "The job holds a number that is not finite, or text that is no text; take it out and save again."
            )) from None
    return text


def _lines(value: Any) -> str:
    """A top-level value: a list of entries on lines of their own, anything else on one line."""
    if isinstance(value, list) and any(isinstance(member, dict) for member in value):
        return "[\n    " + ",\n    ".join(map(_line, value)) + "\n  ]"
    return _line(value)


def _line(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)
