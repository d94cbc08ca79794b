"""What a request of the page brings: its body within limits, and JSON of the kind that is asked for."""
from __future__ import annotations

from typing import Any

import bottle

from capture.language.messages import gettext
from desk.jobfile.files import parse_json

#: Largest job that is taken in, bytes.
LARGEST_JOB = 4_000_000
#: A stroke along a wall has so many places at most.
_MOST_PLACES = 2_000


class Turned(Exception):
    """A request that is turned away, with the HTTP status and the sentence for it."""

    def __init__(self, status: int, says: str) -> None:
        super().__init__(says)
        self.status = status


def whole_body(largest: int) -> bytes:
    """The request's body. Raises Turned for one that is too long or cut short."""
    length = bottle.request.content_length
    if length > largest:
        raise Turned(413, larger_than(largest))
    data = bottle.request.environ["wsgi.input"].read(max(length, 0))
    if len(data) < length:
        raise Turned(400, gettext("The file did not arrive whole; send it again."))
    return data


def larger_than(largest: int) -> str:
    return (
        gettext("This file is larger than {most} MB; send a smaller one.", most=largest // 1_000_000)
        if largest
        else gettext("The desk takes nothing with this request.")
    )


def json_body() -> Any:
    """The request's JSON. Raises Turned, JobFileError."""
    if bottle.request.content_type.partition(";")[0].strip() != "application/json":
        raise Turned(415, gettext("The desk takes JSON here."))
    return parse_json(whole_body(LARGEST_JOB), name=gettext("the request"))


def fields_of(told: Any) -> dict[str, Any]:
    """An object's fields. Raises Turned."""
    if not isinstance(told, dict):
        raise Turned(400, gettext("The desk takes one JSON object here."))
    return told


def list_of(value: Any) -> list[Any]:
    """A list of a request's, nothing in its place."""
    return value if isinstance(value, list) else []


def number_in(told: dict[str, Any], key: str) -> float:
    """A number among an object's fields. Raises Turned."""
    value = told.get(key)
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not abs(value) < 1e7:
        raise Turned(400, gettext('The desk takes a number for "{key}" here.', key=key))
    return float(value)


def places_in(told: dict[str, Any], key: str) -> list[tuple[float, float]]:
    """Places in a picture, px. Raises Turned."""
    places = told.get(key)
    if not isinstance(places, list) or not 2 <= len(places) <= _MOST_PLACES:
        raise Turned(400, gettext(
            'The desk takes 2 to {most} places for "{key}" here.', most=_MOST_PLACES, key=key))
    return [(number_in(told_place, "x"), number_in(told_place, "y")) for told_place in map(fields_of, places)]
