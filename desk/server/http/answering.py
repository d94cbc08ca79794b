"""What a handler returns or raises as the answer to a request, in the language of whoever asks.

An error is one JSON object {"says", "slug", "where"}; the insides of a fault stay in the terminal.
"""
from __future__ import annotations

import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import bottle

from capture.language.messages import Language, gettext, read_by
from desk.server.http.body import Turned
from desk.server.packs import Download
from desk.server.routes import REFUSALS
from desk.server.worker import Replaced
from desk.store.job_store import Overtaken

#: The language of whoever sends an Accept-Language header.
Reader = Callable[[str], Language]
#: Binds a handler to a method and an address.
Binder = Callable[[str, str], Callable[[Callable[..., Any]], None]]

_STATUS = {"missing-photo": 404, "no-pack": 404, "unknown-room": 404, "job-gone": 503}


def refusing(error: Exception, reader: Reader) -> bottle.Bottle:
    """Routes that answer whatever is asked with an error's sentence."""
    app = bottle.Bottle()

    def refuse(place: str) -> Any:
        raise error
    binder(app, reader)("ANY", "/<place:path>")(refuse)
    return app


def binder(app: bottle.Bottle, reader: Reader) -> Binder:
    """A decorator that binds a handler and turns what it returns or raises into an answer, in the reader's
    language."""
    def add(method: str, rule: str) -> Callable[[Callable[..., Any]], None]:
        def bind(handler: Callable[..., Any]) -> None:
            app.route(rule, method=method, callback=lambda **places: _answered(reader, handler, places))
        return bind
    return add


def _answered(reader: Reader, handler: Callable[..., Any], places: dict[str, str]) -> bytes:
    with read_by(reader(bottle.request.get_header("Accept-Language", ""))):
        try:
            answer = handler(**places)
        except Exception as error:  # every fault ends as one sentence; a fault of ours is told apart by its status
            answer = _fault(error)
    if not isinstance(answer, Download):
        answer = Download(data=json.dumps(answer, allow_nan=False).encode(), media="application/json")
    bottle.response.content_type = answer.media
    if answer.media == "application/pdf":
        # A browser's own PDF viewer does not start under the page's policy, and a PDF runs nothing of ours.
        bottle.response.set_header("Content-Security-Policy", "frame-ancestors 'none'")
    if answer.name:
        bottle.response.set_header("Content-Disposition", f'attachment; filename="{answer.name}"')
    return answer.data


def _fault(error: Exception) -> dict[str, str]:
    """The JSON of an error, with the response's status set."""
    says, slug, where = str(error), getattr(error, "slug", ""), getattr(error, "where", "")
    match error:
        case Turned():
            status = error.status
        case Overtaken():
            status, slug = 409, "overtaken"
            says = (gettext("The flat was changed in another window or by a command since this window last read it.")
                    if error.is_flat else
                    gettext("The job was changed in another window or by a command since this window last read it."))
        case Replaced():
            status, slug, says = 503, "replaced", gettext("The desk is being closed.")
        case _ if isinstance(error, REFUSALS):
            status = _STATUS.get(slug, 422)
        case _:
            status, slug = 500, "our-fault"
            says = gettext("Something went wrong inside the desk. What you entered is saved; the window it was started "
                           "from names the fault.")
            print(_named(error), file=sys.stderr, flush=True)
    bottle.response.status = status
    return {"says": says, "slug": slug, "where": where}


def _named(error: Exception) -> str:
    """A fault of this program in one line, with the place it came from."""
    last = error.__traceback__
    while last is not None and last.tb_next is not None:
        last = last.tb_next
    place = (
        f"{Path(last.tb_frame.f_code.co_filename).name} line {last.tb_lineno}"
        if last is not None
        else "an unknown place"
    )
    return f"A fault in tapegroove itself: {type(error).__name__} in {place}: {error}"


def unmet(error: bottle.HTTPError) -> str:
    """What no route answers."""
    bottle.response.content_type = "application/json"
    says = (gettext("The desk has nothing at this address.") if error.status_code in (404, 405)
            else gettext("The desk could not read this request."))
    return json.dumps({"says": says, "slug": "refused", "where": ""})
