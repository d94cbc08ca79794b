"""A link over the local network by which a phone sends its pictures: off until asked, one phone, for a few minutes,
pictures in and nothing out.

A second listener on the address this computer has in its network, with an application of its own: a tiny page, its two
parts, and a place to send a picture to. Nothing of the job can be read through it. It is plain HTTP, and both pages say
so.
"""
from __future__ import annotations

import json
import socket
import threading
import time
from collections.abc import Callable, Iterable, Mapping
from importlib import resources
from typing import Any
from urllib.parse import parse_qs

from capture.language.messages import ENGLISH, Language, read_by, spoken
from desk.language.page import CATALOGUE, page_catalogue, worded_page
from desk.server.http.framing import Head
from desk.server.http.guard import SAFE_HEADERS, SEAL, Refusal, headers_of, new_link_guard
from desk.problem import file_error
from desk.server.http.reply import Answer, refused
from desk.server.http.serving import Server

#: A link closes this long after it was last used, and in any case this long after it was made, s.
IDLE_S, LONGEST_S = 300.0, 1800.0
#: More pictures than this over one link are no room.
MOST_PHOTOS = 60
#: Largest picture, bytes.
LARGEST_PHOTO = 60_000_000

_SCRIPT = "text/javascript; charset=utf-8"
_PARTS = {"": ("send.html", "text/html; charset=utf-8"), "send.css": ("send.css", "text/css; charset=utf-8"),
          "send.js": ("send.js", _SCRIPT), "common/words.js": ("common/words.js", _SCRIPT),
          CATALOGUE: (CATALOGUE, _SCRIPT), "icon.svg": ("icon.svg", "image/svg+xml")}
#: Ignored, with a complaint on the console, where a page does not come over TLS or from this machine.
_HEADERS = tuple(header for header in SAFE_HEADERS if header[0] != "Cross-Origin-Opener-Policy")

StartResponse = Callable[..., Any]
#: Takes a picture's bytes and name; raises an error with a sentence.
Taker = Callable[[bytes, str], None]
#: The language of whoever sends this Accept-Language.
Reader = Callable[[str], Language]


def in_english(wishes: str) -> Language:
    """Whatever the reader wishes for."""
    return ENGLISH


def _web(file: str) -> bytes:
    return (resources.files("desk") / "web" / file).read_bytes()


def lan_address() -> str:
    """This computer's address in its network. Raises JobFileError (no-network) if it has none.

    Nothing is sent: connecting a UDP socket only asks the system which of its addresses it would send from. 192.0.2.1
    belongs to nobody (RFC 5737).
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))
            address: str = probe.getsockname()[0]
        except OSError:
            address = ""
    if not address or address.startswith("127."):
        raise file_error("no-network", "This computer is in no network a phone could reach it by: join the network "
                                       "your phone is in, or copy the "
                                       "photos as files.")
    return address


class PhoneLink:
    """One link, open from the moment it is made until it is closed or its time is over; safe to use from several
    threads."""

    def __init__(self, take: Taker, *, address: str, clock: Callable[[], float] = time.monotonic,
                 reader: Reader = in_english) -> None:
        """Listen on `address`; reader: in which language a phone is answered. Raises JobFileError (no-network) if that
        cannot be had."""
        self._take, self._clock, self._reader = take, clock, reader
        self._lock = threading.Lock()
        self._is_taken = False
        self._closed = threading.Event()
        self._made = self._used = clock()
        self._count = 0
        listener = listen(address, 0, slug="no-network",
                          says=f"This computer cannot be reached at {address} ({{why}}); copy the photos as files.")
        self.guard = new_link_guard(f"{address}:{listener.getsockname()[1]}")
        self._parts = {place: (_web(file), media)
                       for place, (file, media) in _PARTS.items()}
        self._server = Server(self.answer, self.judge, listener, safe=_HEADERS, threads=3)
        self._thread = threading.Thread(target=self._server.run, name="desk-link", daemon=True)
        self._thread.start()
        threading.Thread(target=self._watch, name="desk-link-watch", daemon=True).start()

    @property
    def href(self) -> str:
        """The address the code holds."""
        return f"http://{self.guard.host}/{self.guard.token}/"

    @property
    def is_open(self) -> bool:
        """Whether a phone can still use it."""
        return self.left_s > 0

    @property
    def left_s(self) -> float:
        """How long the link stays open if nobody uses it, s; 0 once it is closed."""
        now = self._clock()
        return 0.0 if self._closed.is_set() else max(0.0, min(self._used + IDLE_S, self._made + LONGEST_S) - now)

    def close(self) -> None:
        """Stop listening."""
        with self._lock:
            if self._closed.is_set():
                return
            self._closed.set()
        self._server.stop()
        self._thread.join(timeout=10)

    def _watch(self) -> None:
        while self.is_open:
            self._closed.wait(1.0)
        self.close()

    def judge(self, head: Head) -> Answer | None:
        """The answer that turns a request away by its head alone, or None."""
        language = self._reader(head.headers.get("Accept-Language", ""))
        with self._lock, read_by(language):
            refusal = self._refusal(head.method, head.path, head.headers) or self._unwanted(head)
        if refusal is None:
            return None
        if "text/html" in head.headers.get("Accept", ""):  # a person who opened the link, not a page that sends
            return Answer(status=refusal.status, headers=[("Content-Type", _PARTS[""][1]), *_HEADERS],
                          data=worded_page(_web("said.html"), language, says=refusal.says))
        return refused(refusal, _HEADERS)

    def answer(self, environ: dict[str, Any], start_response: StartResponse) -> Iterable[bytes]:
        """One request (PEP 3333): the guard first, as before its body came, then one of the few things there are."""
        with read_by(self._reader(environ.get("HTTP_ACCEPT_LANGUAGE", ""))):
            return self._answered(environ, start_response)

    def _answered(self, environ: dict[str, Any], start_response: StartResponse) -> Iterable[bytes]:
        method, path = environ["REQUEST_METHOD"], environ.get("PATH_INFO", "")
        with self._lock:
            refusal = self._refusal(method, path, headers_of(environ))
            is_first = refusal is None and not self._is_taken
            self._is_taken = self._is_taken or is_first
        if refusal is not None:
            return _send(start_response, refusal.status, {"says": refusal.says})
        self._used = self._clock()
        place = path[1:].partition("/")[2]
        if method == "POST":
            return _send(start_response, *self._received(environ))
        if place not in self._parts:
            return _send(start_response, 404, {"says": "There is nothing at this address."})
        data, media = self._parts[place]
        data = worded_page(data, spoken()) if not place else (place == CATALOGUE and page_catalogue(spoken())) or data
        cookie = (
            [("Set-Cookie", f"{SEAL}={self.guard.seal}; Path=/{self.guard.token}/; HttpOnly; SameSite=Strict")]
            if is_first
            else []
        )
        return _send(start_response, 200, data, media, cookie)

    def _refusal(self, method: str, path: str, headers: Mapping[str, str]) -> Refusal | None:
        refusal = self.guard.find_refusal(method, path, headers, is_taken=self._is_taken)
        if refusal is None and not self.is_open:
            return Refusal(status=410, says="The link is closed; ask the desk for a new code.")
        return refusal

    def _unwanted(self, head: Head) -> Refusal | None:
        """Why what a phone is about to send need not come."""
        if head.method == "POST" and head.path[1:].partition("/")[2] != "photo":
            return Refusal(status=404, says="There is nothing at this address.")
        if head.length > (LARGEST_PHOTO if head.method == "POST" else 0):
            return Refusal(status=413,
                           says=f"This picture is larger than {LARGEST_PHOTO // 1_000_000} MB; send a smaller one.")
        if head.method == "POST" and self._count >= MOST_PHOTOS:
            return Refusal(status=429,
                           says=f"{MOST_PHOTOS} pictures came over this link already; ask the desk for a new code.")
        return None

    def _received(self, environ: Mapping[str, Any]) -> tuple[int, dict[str, Any]]:
        """A picture taken in, or the sentence that says why not."""
        data = environ["wsgi.input"].read()
        if not data:
            return 400, {"says": "The picture did not arrive whole; send it again."}
        name = (parse_qs(environ.get("QUERY_STRING", "")).get("name") or ["photo"])[0][:80]
        with self._lock:
            if self._count >= MOST_PHOTOS:
                return 429, {
                    "says": f"{MOST_PHOTOS} pictures came over this link already; ask the desk for a new code."}
            self._count += 1  # its place, before it is taken: others may be on their way
        try:
            self._take(data, name)
        except Exception as error:  # whatever a picture from outside may cause, the phone is told in one sentence
            with self._lock:
                self._count -= 1
            says = str(error) if getattr(error, "slug", "") else "This picture could not be taken in."
            return 422, {"says": says}
        return 200, {"says": ""}


def code_of(address: str) -> list[str]:
    """The rows of the QR code that holds an address, "1" for a dark module; four light modules round it (ISO/IEC
    18004)."""
    import segno
    return ["".join("1" if module else "0" for module in row) for row in segno.make_qr(address,
                                                                                       error="m").matrix_iter(border=4)]


def listen(address: str, port: int, *, slug: str, says: str) -> socket.socket:
    """A socket bound to `address`; `port` 0 takes a free one. Raises JobFileError (`slug`, `says` with {why} in it) if
    that cannot be had.

    On Windows any process may bind a port that another has, and take its connections, unless that is forbidden
    (SO_EXCLUSIVEADDRUSE in Microsoft's reference of socket options); there, SO_REUSEADDR would allow it. Elsewhere it
    only lets a port be had again at once.
    """
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    exclusive = getattr(socket, "SO_EXCLUSIVEADDRUSE", None)
    if exclusive is not None:
        listener.setsockopt(socket.SOL_SOCKET, exclusive, 1)
    elif port:  # one that was named is often the one a desk had a moment ago
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((address, port))
    except (OSError, OverflowError) as error:
        listener.close()
        raise file_error(slug, says.format(why=getattr(error, "strerror", None) or error)) from None
    return listener


def _send(start_response: StartResponse, status: int, told: bytes | Mapping[str, Any], media: str = "application/json",
          more: Iterable[tuple[str, str]] = ()) -> Iterable[bytes]:
    data = told if isinstance(told, bytes) else json.dumps(told).encode()
    start_response(f"{status} Answer", [("Content-Type", media), ("Content-Length", str(len(data))), *_HEADERS, *more])
    return [data]
