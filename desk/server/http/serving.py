"""Requests taken off a socket for a WSGI application: judged by their heads, bodies kept only of those that pass, the
slow ones dropped.

The protocol is Tornado's (`desk.server.http.connections`). Six servers were tried on 50 connections that push 60 MB
each with a wrong Host, on 150 that never end their head, and on 150 that never end their body. waitress spooled 412 MB
of the first before the application was asked, and kept others waiting for as long as the half-open ones stayed; cheroot
took in 486 MB and let each half-open connection hold a thread. Those that give a request away with its head alone did
neither: hypercorn (50 MB), uvicorn (18 MB, but half-open connections stay for ever) and Tornado (5 MB, half-open ones
dropped in time, limits of length and time that can be set for each request). Tornado is in Python alone but for an
optional part, and of these the one that by itself refuses folded lines and a length beside a transfer coding.
"""
from __future__ import annotations

import asyncio
import socket
import sys
import threading
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from typing import IO, Any

from capture.language.messages import gettext
from desk.server.http.connections import Listening
from desk.server.http.framing import Head
from desk.server.http.guard import Refusal
from desk.server.http.reply import Answer, Headers, refused

#: What the system may take in of a connection before anybody has looked at it, bytes.
SOCKET_BUFFER = 128_000

App = Callable[[dict[str, Any], Callable[..., Any]], Iterable[bytes]]
#: Looks at a head and gives the answer by which the request is turned away, or None: then its body may come.
Judge = Callable[[Head], Answer | None]


class Server:
    """One listener and its application; `run` it in one thread, `stop` it from any."""

    def __init__(self, app: App, judge: Judge, listener: socket.socket, *, safe: Headers, threads: int,
                 is_slow: Callable[[Head], bool] = lambda head: False) -> None:
        """safe: headers of answers that are made here. is_slow: what waits for work elsewhere gets threads of its
        own, as many."""
        self.judge, self.socket, self.safe = judge, listener, safe
        self._app, self._is_slow = app, is_slow
        self._name: tuple[str, int] = listener.getsockname()[:2]
        self._quick, self._slow = (ThreadPoolExecutor(threads, thread_name_prefix=name)
                                   for name in ("desk-quick", "desk-slow"))
        self._halt = threading.Event()
        self._wake: Callable[[], object] = lambda: None
        #: Bytes of bodies that were let in.
        self.taken = 0
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, SOCKET_BUFFER)
        listener.setblocking(False)
        listener.listen(128)

    def run(self) -> None:
        """Answer requests until stopped or interrupted."""
        try:
            # Windows has another loop by default, on which Tornado needs a thread more.
            with asyncio.Runner(loop_factory=asyncio.SelectorEventLoop) as runner:
                runner.run(self._serve())
        except KeyboardInterrupt:
            pass

    def stop(self) -> None:
        """Make `run` close everything and come back."""
        self._halt.set()
        self._wake()

    def close(self) -> None:
        """Let go of the port and drop what waits for a thread."""
        self.socket.close()
        self._quick.shutdown(wait=False, cancel_futures=True)
        self._slow.shutdown(wait=False, cancel_futures=True)

    async def call(self, head: Head, body: IO[bytes]) -> Answer:
        """The application's answer; whatever it may be that went wrong, whoever asked is told in one sentence."""
        try:
            pool = self._slow if self._is_slow(head) else self._quick
            return await asyncio.get_running_loop().run_in_executor(pool, self._called, head, body)
        except Exception as error:
            print(f"A fault in tapegroove itself: {type(error).__name__}: {error}", file=sys.stderr, flush=True)
            return refused(Refusal(status=500, says=gettext("Something went wrong inside the desk.")), self.safe)

    async def _serve(self) -> None:
        halted, loop = asyncio.Event(), asyncio.get_running_loop()
        self._wake = lambda: None if loop.is_closed() else loop.call_soon_threadsafe(halted.set)
        if self._halt.is_set():
            halted.set()
        listening = Listening(self)
        listening.add_sockets([self.socket])
        try:
            await halted.wait()
        finally:
            self._wake = lambda: None
            listening.stop()
            listening.drop_all()
            self.close()

    def _called(self, head: Head, body: IO[bytes]) -> Answer:
        told: list[Any] = []
        with body:
            data = b"".join(self._app(_environ(head, body, self._name), lambda *answer: told.append(answer)))
        status, headers, *_ = told[-1]
        return Answer(status=int(status[:3]), headers=headers, data=data)


def _environ(head: Head, body: IO[bytes], name: tuple[str, int]) -> dict[str, Any]:
    """A request as PEP 3333 wants it. Header names with an underscore are left out: they would pass for others."""
    sent = {"HTTP_" + key.upper().replace("-", "_"): value for key, value in head.headers.items() if "_" not in key}
    media = sent.pop("HTTP_CONTENT_TYPE", "")
    sent.pop("HTTP_CONTENT_LENGTH", None)
    return sent | {"REQUEST_METHOD": head.method, "SCRIPT_NAME": "", "PATH_INFO": head.path, "QUERY_STRING": head.query,
                   "SERVER_NAME": name[0], "SERVER_PORT": str(name[1]), "SERVER_PROTOCOL": head.version,
                   "CONTENT_TYPE": media, "CONTENT_LENGTH": str(head.length), "wsgi.version": (1, 0),
                   "wsgi.url_scheme": "http", "wsgi.input": body, "wsgi.errors": sys.stderr, "wsgi.multithread": True,
                   "wsgi.multiprocess": False, "wsgi.run_once": False}
