"""The desk's socket: requests in, answers out, on 127.0.0.1 only.

Every request's head passes the guard before anything of its body is taken in, and every answer, errors included,
carries the same safe headers. An error is one JSON object {"says", "slug", "where"}; the insides of a fault stay in the
terminal.
"""
from __future__ import annotations

import json
import signal
import webbrowser
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import partial
from importlib import resources
from pathlib import Path
from typing import Any, Protocol

import bottle

from capture.language.messages import Language, gettext, lazy_gettext, read_by, spoken
from desk.language.page import CATALOGUE, page_catalogue, worded_page
from desk.server.http.answering import Binder, Reader, binder, unmet
from desk.server.http.body import (
    LARGEST_JOB, Turned, fields_of, json_body, larger_than, list_of, number_in, places_in, whole_body)
from desk.server.http.framing import Head
from desk.server.http.guard import SAFE_HEADERS, Guard, Refusal, headers_of, new_guard
from desk.jobfile.files import JOB_NAME
from desk.server.phone_link import LARGEST_PHOTO, listen
from desk.problem import JobFileError
from desk.server.http.reply import Answer, refused
from desk.server.packs import Download
from desk.server.routes import Desk, read_length
from desk.server.http.serving import Server

NEW_FOLDER = "tapegroove-job"

_WEB = {".html": "text/html; charset=utf-8", ".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8",
        ".svg": "image/svg+xml"}
#: How many requests are answered at once, and as many that wait for a picture to be decoded.
_THREADS = 12

StartResponse = Callable[..., Any]
App = Callable[[dict[str, Any], StartResponse], Iterable[bytes]]


class Served(Protocol):
    """What a listener serves: the desk of a job, or a flat."""

    guard: Guard

    def reader(self, wishes: str) -> Language:
        """The language of whoever sends this Accept-Language."""

    def warm_up(self) -> None:
        """Load what is wanted soon."""

    def close(self) -> None:
        """Drop all work."""


def create_app(desk: Desk) -> App:
    """The desk as a WSGI application: guard, routes, safe headers."""
    routes = job_routes(desk)
    return guarded(desk.guard, lambda environ: routes)


def guarded(guard: Guard, routes_for: Callable[[dict[str, Any]], bottle.Bottle]) -> App:
    """The application that answers with the routes meant by a request, once the guard has let it pass."""
    def app(environ: dict[str, Any], start_response: StartResponse) -> Iterable[bytes]:
        def start(status: str, headers: list[tuple[str, str]], exc_info: Any = None) -> Any:
            own = {name.lower() for name, _ in headers}
            return start_response(status, headers + [h for h in SAFE_HEADERS if h[0].lower() not in own])
        method, path = environ["REQUEST_METHOD"], environ.get("PATH_INFO", "")
        refusal = guard.find_refusal(method, path, headers_of(environ))
        if refusal is not None:
            data = json.dumps({"says": refusal.says, "slug": "refused", "where": ""}).encode()
            start(f"{refusal.status} Refused", [("Content-Type", "application/json"),
                                                ("Content-Length", str(len(data)))])
            return [data]
        return routes_for(environ)(environ, start)
    return app


def judge(desk: Served, head: Head) -> Answer | None:
    """The answer that turns a request away by its head alone, or None."""
    with read_by(desk.reader(head.headers.get("Accept-Language", ""))):
        refusal = desk.guard.find_refusal(head.method, head.path, head.headers) or _too_long(head)
    return None if refusal is None else refused(refusal, SAFE_HEADERS)


def _too_long(head: Head) -> Refusal | None:
    largest = 0 if head.method in ("GET", "HEAD") else LARGEST_PHOTO if head.path == "/api/photos" else LARGEST_JOB
    return Refusal(status=413, says=larger_than(largest)) if head.length > largest else None


def _waits_for_a_picture(head: Head) -> bool:
    return head.path.startswith("/api/photos") and not head.path.endswith("/drag")


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Opened:
    """A desk that listens but does not yet answer: `run` it, and `close` it in the end."""

    address: str
    desk: Served
    begun: bool
    server: Server

    def run(self) -> None:
        """Answer requests until interrupted or stopped; everything is closed then."""
        try:
            self.server.run()
        finally:
            self.close()

    def close(self) -> None:
        """Let go of the port and every connection, and drop waiting work; not while `run` is busy in another thread."""
        self.server.close()
        self.desk.close()

    def stop(self) -> None:
        """Make `run`, in another thread, close everything and come back."""
        self.server.stop()


def open_desk(folder: Path, port: int, units: str | None = None) -> Opened:
    """Open or begin the job in `folder` and listen on 127.0.0.1; `port` 0 takes a free one. units: of a job begun here
    (`JobKeeper.open_or_start`).

    Raises JobFileError for a job that cannot be read or begun, or a port that is taken.
    """
    def make(guard: Guard) -> tuple[Desk, App, bool]:
        desk = Desk(folder, guard)
        return desk, create_app(desk), desk.keeper.open_or_start(units)
    return open_served(port, make)


def open_served(port: int, make: Callable[[Guard], tuple[Served, App, bool]]) -> Opened:
    """Listen on 127.0.0.1. make: what is served, its application, and whether it was begun afresh. Raises as
    `open_desk` does."""
    listener = listen("127.0.0.1", port, slug="port-in-use",
                      says=lazy_gettext(
        "Port {port} cannot be used ({why}); choose another with --port, or leave --port out.", port=port))
    guard = new_guard(listener.getsockname()[1])
    try:
        desk, app, begun = make(guard)
    except JobFileError:
        listener.close()
        raise
    server = Server(app, partial(judge, desk), listener, safe=SAFE_HEADERS, threads=_THREADS,
                    is_slow=_waits_for_a_picture)
    return Opened(address=f"http://{guard.hosts[0]}/#token={guard.token}", desk=desk, begun=begun, server=server)


def serve(job_folder: Path | None, port: int, open_browser: bool, units: str | None = None) -> None:
    """Serve the page until interrupted; the first line on stdout is its address.

    Without a folder, one called "tapegroove-job" in the current directory is opened or begun. units: of one that is
    begun. Raises as `open_desk` does.
    """
    folder = _folder(job_folder)
    opened = open_desk(folder, port, units)
    run_opened(opened, gettext("A new job is begun in {folder}.", folder=folder.resolve()) if opened.begun else
               gettext("The job is in {folder}.", folder=folder.resolve()), open_browser)


def run_opened(opened: Opened, says: str, open_browser: bool) -> None:
    """Answer until interrupted, and say first where, and what lies there."""
    signal.signal(signal.SIGTERM, lambda *_: opened.stop())  # as when the computer is shut down: nothing is left behind
    print(opened.address, flush=True)
    print(says, gettext("Press Ctrl+C to close the desk."), flush=True)
    if open_browser:
        webbrowser.open(opened.address)
    opened.desk.warm_up()
    opened.run()


def _folder(named: Path | None) -> Path:
    if named is None:
        return Path(NEW_FOLDER)
    return named.parent if named.name == JOB_NAME and not named.is_dir() else named


def page_parts() -> dict[str, bytes]:
    """The page's files by their place under desk/web, such as ``rows/ways.js``."""
    web = resources.files("desk") / "web"
    folders = [("", web), *((f"{each.name}/", each) for each in web.iterdir() if each.is_dir())]
    return {f"{place}{path.name}": path.read_bytes() for place, folder in folders for path in folder.iterdir()
            if Path(path.name).suffix in _WEB}


def page_routes(html: str, reader: Reader, modules: Callable[[str], bool]) -> tuple[bottle.Bottle, Binder]:
    """The routes of a page: its HTML at "/" and the parts it is made of; `modules` picks those that it needs at once.
    With what binds further ones."""
    app = bottle.Bottle()
    add = binder(app, reader)
    web = page_parts()
    # Told at once which modules there are, a browser need not find them one import after the other.
    ahead = "".join(f'<link rel="modulepreload" href="/{name}">\n' for name in sorted(web) if name.endswith(".js")
                    and modules(name))
    index = web[html].replace(b"</head>", ahead.encode() + b"</head>")

    @add("GET", "/")
    def page() -> Download:
        return Download(data=worded_page(index, spoken()), media=_WEB[".html"])

    @add("GET", "/favicon.ico")
    def icon() -> Download:
        # Asked for by a browser that shows one of the pack's PDFs, which name no icon.
        return Download(data=web["icon.svg"], media=_WEB[".svg"])

    @add("GET", "/<name:re:(?:[a-z]+/)?[a-z]+[.](css|js|svg)>")
    def part(name: str) -> Download:
        if name not in web:
            raise Turned(404, gettext("The page has no part called {name}.", name=name))
        words = page_catalogue(spoken()) if name == CATALOGUE else None
        return Download(data=words or web[name], media=_WEB[Path(name).suffix])

    app.default_error_handler = unmet
    return app, add


def job_routes(desk: Desk) -> bottle.Bottle:
    """The page of one job, and all it asks for."""
    app, add = page_routes("index.html", desk.reader, lambda name: name != "send.js" and not name.startswith("home/"))

    @add("GET", "/api/job")
    def open_job() -> Any:
        return desk.open_job(bottle.request.get_header("Accept-Language", ""))

    @add("PUT", "/api/job")
    def save_job() -> Any:
        revision = bottle.request.get_header("If-Match", "").strip('"')
        if not revision:
            raise Turned(428, gettext("A save must say which revision it was made from."))
        return desk.save_job(json_body(), revision=revision)

    @add("PUT", "/api/settings")
    def keep_settings() -> Any:
        return desk.keep_settings(fields_of(json_body()))

    @add("POST", "/api/photos")
    def add_photo() -> Any:
        return desk.pictures.add(whole_body(LARGEST_PHOTO), name=bottle.request.query.name or "photo")

    @add("GET", "/api/link")
    def link() -> Any:
        return desk.phone.state()

    @add("POST", "/api/link")
    def turn_link() -> Any:
        return desk.phone.open() if fields_of(json_body()).get("open") is True else desk.phone.close()

    @add("GET", "/api/photos/<name>")
    def photo(name: str) -> Download:
        picture, size = desk.pictures.show(name, small=bool(bottle.request.query.small))
        bottle.response.set_header("X-Photo-Size", f"{size[0]} {size[1]}")
        return picture

    @add("POST", "/api/photos/<name>/snap")
    def snap(name: str) -> Any:
        told = fields_of(json_body())
        return desk.pictures.snap(name, x_px=number_in(told, "x"), y_px=number_in(told, "y"))

    @add("POST", "/api/photos/<name>/tapped")
    def tapped(name: str) -> Any:
        told = fields_of(json_body())
        return desk.pictures.tapped(desk.saved_job(), name, x_px=number_in(told, "x"), y_px=number_in(told, "y"))

    @add("POST", "/api/photos/<name>/stroke")
    def stroke(name: str) -> Any:
        return desk.pictures.stroke(name, places_in(fields_of(json_body()), "places"))

    @add("POST", "/api/photos/<name>/drag")
    def drag(name: str) -> Any:
        told = fields_of(json_body())
        return desk.session.drag(name, point=str(told.get("point", ""))[:80], x_px=number_in(told, "x"),
                                 y_px=number_in(told, "y"))

    @add("GET", "/api/photos/<name>/targets")
    def targets_in(name: str) -> Any:
        return desk.pictures.targets_in(name)

    @add("GET", "/api/photos/<name>/seen")
    def seen_in(name: str) -> Any:
        return desk.pictures.seen_in(desk.saved_job(), name)

    @add("POST", "/api/sketch")
    def sketch() -> Any:
        told = fields_of(json_body())
        return desk.session.sketch(told.get("job"), [str(name)[:80] for name in list_of(told.get("fresh"))],
                                   free=told.get("free") is True)

    @add("POST", "/api/targets")
    def print_targets() -> Any:
        return desk.session.print_targets()

    @add("POST", "/api/length")
    def length() -> Any:
        told = fields_of(json_body())
        return read_length(str(told.get("text", ""))[:80], show=str(told.get("show", "metric")))

    @add("POST", "/api/label")
    def read_label() -> Any:
        told = fields_of(json_body())
        return desk.read_label(str(told.get("text", ""))[:2000], show=str(told.get("show", "metric")))

    @add("POST", "/api/<kind:re:survey|last|preview|plan|ways|keep|pack|row|day|typed|closeups>")
    def start(kind: str) -> Any:
        return desk.start(kind, fields_of(json_body()))

    @add("GET", "/api/tasks/<task>")
    def task(task: str) -> Any:
        return desk.task(task)

    @add("GET", "/pack/<key>/<name:path>")
    def pack_file(key: str, name: str) -> Download:
        return desk.packs.file(key, name)

    return app
