"""A flat's page and the pages of its rooms on one socket.

A request says which room it is of by the header X-Desk-Room, percent-encoded, and the page of a room is opened by
"/?room=NAME"; either name is judged against the rooms the flat lists and is never a path. What is said of none is the
flat's own.
"""
from __future__ import annotations

from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, unquote

import bottle

from capture.language.messages import gettext
from desk.problem import JobFileError
from desk.server.app import App, Opened, guarded, job_routes, open_desk, open_served, page_routes, run_opened, serve
from desk.server.home.flat import Flat
from desk.server.http.answering import refusing
from desk.server.http.body import Turned, fields_of, json_body
from desk.server.http.guard import Guard
from desk.server.packs import Download
from desk.server.routes import read_length
from desk.jobfile.files import JOB_NAME
from desk.jobfile.house_file import HOUSE_NAME
from desk.server.home.keeper import is_flat

ROOM_HEADER = "X-Desk-Room"
#: Where a flat is begun that is given no folder.
NEW_FLAT = "tapegroove-flat"
#: Modules of other pages that the flat's needs.
_ALSO = ("catalogue.js", "head.js", "fields/lengthfield.js")
#: What a new room is called at most, letters.
_LONGEST_TITLE = 80


def open_home(folder: Path, port: int) -> Opened:
    """Open the flat in `folder` and listen on 127.0.0.1; `port` 0 takes a free one. Raises as `open_desk` does."""
    def make(guard: Guard) -> tuple[Flat, App, bool]:
        flat = Flat(folder, guard)
        flat.keeper.load()
        flat.keeper.sweep()
        return flat, flat_app(flat), False
    return open_served(port, make)


def open_any(folder: Path, port: int) -> Opened:
    """The flat in a folder that holds one, else its job. Raises as `open_desk` does."""
    return (open_home if is_flat(folder) else open_desk)(folder, port)


def serve_any(named: Path | None, port: int, open_browser: bool, units: str | None = None, *,
              flat: bool = False) -> None:
    """Serve the page of a flat or of a job until interrupted, as `serve` does; flat: begin one where nothing lies."""
    folder = _flat_folder(named, flat)
    if folder is None:
        serve(named, port, open_browser, units)
        return
    opened = open_home(folder, port)
    run_opened(opened, gettext("The flat is in {folder}.", folder=folder.resolve()), open_browser)


def _flat_folder(named: Path | None, flat: bool) -> Path | None:
    """The folder of the flat that is meant, or None where a job is."""
    if named is None:
        return Path(NEW_FLAT) if flat else None
    folder = named.parent if named.name == HOUSE_NAME and not named.is_dir() else named
    return folder if is_flat(folder) or (flat and not (folder / JOB_NAME).is_file()) else None


def flat_app(flat: Flat) -> App:
    """The flat as a WSGI application: guard, routes of the flat or of the room that is meant, safe headers."""
    own, rooms = flat_routes(flat), dict[str, bottle.Bottle]()

    def routes_for(environ: dict[str, Any]) -> bottle.Bottle:
        name = _room_meant(environ)
        if name is None:
            return own
        try:
            desk = flat.rooms.desk(name)
        except JobFileError as error:
            return own if environ.get("PATH_INFO") == "/" else refusing(error, flat.reader)
        if name not in rooms:
            rooms[name] = job_routes(desk)
        return rooms[name]
    return guarded(flat.guard, routes_for)


def _room_meant(environ: dict[str, Any]) -> str | None:
    """The room a request is of, as the browser names it; None: none."""
    if environ.get("PATH_INFO") == "/":
        return next(iter(parse_qs(environ.get("QUERY_STRING", "")).get("room", ())), None)
    named = environ.get("HTTP_" + ROOM_HEADER.upper().replace("-", "_"))
    return None if not named else unquote(named)


def flat_routes(flat: Flat) -> bottle.Bottle:
    """The page of the flat, and all it asks for."""
    app, add = page_routes("home.html", flat.reader,
                           lambda name: name.startswith(("home/", "common/")) or name in _ALSO)

    @add("GET", "/api/flat")
    def open_flat() -> Any:
        return flat.open()

    @add("PUT", "/api/flat")
    def save_flat() -> Any:
        return flat.save(json_body(), revision=_revision())

    @add("POST", "/api/flat/rooms")
    def add_room() -> Any:
        title = fields_of(json_body()).get("title")
        if not isinstance(title, str) or not 0 < len(title.strip()) <= _LONGEST_TITLE:
            raise Turned(422, gettext("A new room has a name of at most {most} letters.", most=_LONGEST_TITLE))
        return flat.add_room(title.strip(), revision=_revision())

    @add("POST", "/api/<kind:re:look|buy|keep|pack>")
    def start(kind: str) -> Any:
        return flat.start(kind, fields_of(json_body()))

    @add("GET", "/api/tasks/<task>")
    def task(task: str) -> Any:
        return flat.task(task)

    @add("POST", "/api/length")
    def length() -> Any:
        told = fields_of(json_body())
        return read_length(str(told.get("text", ""))[:80], show=str(told.get("show", "metric")))

    @add("GET", "/pack/<key>/<name:path>")
    def pack_file(key: str, name: str) -> Download:
        return flat.rooms.shared.packs.file(key, name)

    return app


def _revision() -> str:
    """The revision a change was made from. Raises Turned."""
    revision = str(bottle.request.get_header("If-Match", "")).strip('"')
    if not revision:
        raise Turned(428, gettext("A save must say which revision it was made from."))
    return revision
