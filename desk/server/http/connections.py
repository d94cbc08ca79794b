"""The connections of one listener: Tornado's protocol (RFC 9112), each request judged by its head before a byte of
its body is asked for."""
from __future__ import annotations

import asyncio
import http
import io
import logging
import socket
import tempfile
from collections.abc import Awaitable, Callable
from typing import IO, Any, cast

from tornado import httputil
from tornado.http1connection import HTTP1Connection, HTTP1ConnectionParameters, HTTP1ServerConnection
from tornado.iostream import IOStream, StreamClosedError, UnsatisfiableReadError
from tornado.tcpserver import TCPServer

from capture.language.messages import gettext
from desk.server.http.framing import Head, read_head
from desk.server.http.guard import Refusal
from desk.server.http.reply import Answer, Answering, Headers, refused

#: Largest head of a request, bytes.
LARGEST_HEAD = 32_000
#: A connection that sends no whole head for this long is dropped, s; a body or an answer has as long, and its bytes at
#: the slowest rate.
PATIENCE_S = 15.0
SLOWEST_BYTES_S = 30_000.0
#: Connections that may wait to be heard; beyond that the one that waited longest is dropped.
MOST_WAITING = 300
#: A sender that was turned away has so long, s, and so many bytes, to hear of it before its connection is cut.
_LINGER_S, _LINGER_BYTES = 2.0, 64_000
#: A body longer than this waits in a temporary file, bytes.
_IN_MEMORY = 1_000_000
_CHUNK = 65_536
#: What Tornado says to whoever sends no proper request.
_BARE = b"HTTP/1.1 400 Bad Request\r\n\r\n"

# That somebody went away in the middle is no news for the terminal.
logging.getLogger("tornado.general").addHandler(logging.NullHandler())


class Listening(TCPServer, httputil.HTTPServerConnectionDelegate):
    """Connections as they come in, of which no more than a few hundred may keep the server waiting."""

    def __init__(self, server: Answering) -> None:
        super().__init__(max_buffer_size=2 * _CHUNK, read_chunk_size=_CHUNK)
        self._server = server
        self._limits = HTTP1ConnectionParameters(chunk_size=_CHUNK, max_header_size=LARGEST_HEAD,
                                                 header_timeout=PATIENCE_S, max_body_size=0)
        self._waiting: dict[object, IOStream] = {}
        self._open: dict[object, IOStream] = {}

    def handle_stream(self, stream: IOStream, address: tuple[Any, ...]) -> None:
        """A new connection."""
        ours = _Stream(stream.socket, safe=self._server.safe, max_buffer_size=self.max_buffer_size,
                       read_chunk_size=_CHUNK)
        connection = HTTP1ServerConnection(ours, self._limits)
        self._open[connection] = ours
        connection.start_serving(self)

    def start_request(self, server_conn: object, request_conn: httputil.HTTPConnection) -> httputil.HTTPMessageDelegate:
        """A request is waited for; of too many that are, the connection that kept silent longest is dropped."""
        self._waiting[server_conn] = self._open[server_conn]
        if len(self._waiting) > MOST_WAITING:
            self._waiting.pop(next(iter(self._waiting))).close()
        return _Request(self._server, cast(HTTP1Connection, request_conn), lambda: self._waiting.pop(server_conn, None))

    def on_close(self, server_conn: object) -> None:
        """A connection is over."""
        self._waiting.pop(server_conn, None)
        self._open.pop(server_conn, None)

    def drop_all(self) -> None:
        """Close every connection."""
        for stream in tuple(self._open.values()):
            stream.close()


class _Stream(IOStream):
    """A stream by which whoever sends no proper request is told so with the same headers as everybody else."""

    def __init__(self, connected: socket.socket, *, safe: Headers, **limits: Any) -> None:
        self._safe = safe
        super().__init__(connected, **limits)

    def write(self, data: bytes | memoryview) -> asyncio.Future[None]:
        """The bare refusal that Tornado writes of its own accord becomes a whole answer."""
        return super().write(self._refusal(400, gettext(
            "The desk could not read this request.")) if data == _BARE else data)

    def close(self, exc_info: Any = False) -> None:
        """A head that does not end within its limit is answered (RFC 6585, section 5) before its connection is
        closed."""
        if isinstance(exc_info, UnsatisfiableReadError) and self.socket is not None:
            try:
                self.socket.send(self._refusal(431, gettext("The head of this request is too long.")))
                self.socket.shutdown(socket.SHUT_WR)
            except OSError:
                pass
        super().close(exc_info)

    def _refusal(self, status: int, says: str) -> bytes:
        answer = refused(Refusal(status=status, says=says), self._safe)
        start, headers = _start_line(answer), _headers(answer, closing=True)
        lines = [f"{start.version} {start.code} {start.reason}",
                 *(f"{name}: {value}" for name, value in headers.get_all()), "", ""]
        return "\r\n".join(lines).encode("latin-1") + answer.data


class _Request(httputil.HTTPMessageDelegate):
    """One request: its head judged, its body kept if it may come, its answer."""

    def __init__(self, server: Answering, connection: HTTP1Connection, heard: Callable[[], object]) -> None:
        self._server, self._connection, self._heard = server, connection, heard
        self._head: Head | None = None
        self._body: IO[bytes] = io.BytesIO()
        self._answering: asyncio.Task[None] | None = None

    def headers_received(self, start_line: httputil.RequestStartLine | httputil.ResponseStartLine,
                         headers: httputil.HTTPHeaders) -> Awaitable[None] | None:
        """Judge; nothing of the body has been asked for yet."""
        self._heard()
        assert isinstance(start_line, httputil.RequestStartLine)
        head = read_head(start_line.method, start_line.path, start_line.version, headers.get_list, dict(headers))
        turned_away = self._server.judge(head) if isinstance(head, Head) else refused(head, self._server.safe)
        if turned_away is not None or isinstance(head, Refusal):
            assert turned_away is not None
            has_body = "Transfer-Encoding" in headers or headers.get("Content-Length", "0") != "0"
            return self._turn_away(turned_away) if has_body else self._send(turned_away, closing=True)
        self._head = head
        self._connection.set_max_body_size(head.length)
        self._connection.set_body_timeout(PATIENCE_S + head.length / SLOWEST_BYTES_S)
        if head.length > _IN_MEMORY:
            self._body = tempfile.TemporaryFile()  # noqa: SIM115  closed when it is read, or when it breaks off
        return None

    def data_received(self, chunk: bytes) -> None:
        """Some of a body that may come."""
        self._server.taken += len(chunk)
        self._body.write(chunk)

    def finish(self) -> None:
        """The request is whole."""
        self._answering = asyncio.get_running_loop().create_task(self._answer())

    def on_connection_close(self) -> None:
        """It will never be whole."""
        self._body.close()

    async def _answer(self) -> None:
        assert self._head is not None
        self._body.seek(0)
        await self._send(await self._server.call(self._head, self._body))

    async def _send(self, answer: Answer, *, closing: bool = False) -> None:
        """Answer; a reader that is too slow is dropped."""
        stream = self._connection.stream
        sent = self._connection.write_headers(_start_line(answer), _headers(answer, closing=closing), answer.data)
        self._connection.finish()
        try:
            await asyncio.wait_for(sent, PATIENCE_S + len(answer.data) / SLOWEST_BYTES_S)
        except (TimeoutError, StreamClosedError):
            stream.close()

    async def _turn_away(self, answer: Answer) -> None:
        """Answer while a body is on its way, and close so that its sender can hear of it: a connection that is closed
        with bytes unread is reset, and the answer may be lost with it (RFC 9112, section 9.6)."""
        stream = self._connection.stream
        try:
            async with asyncio.timeout(_LINGER_S):
                await self._connection.write_headers(_start_line(answer), _headers(answer, closing=True), answer.data)
                if stream.closed():  # the sender is gone
                    return
                stream.socket.shutdown(socket.SHUT_WR)
                left = _LINGER_BYTES
                while left > 0:
                    left -= len(await stream.read_bytes(min(_CHUNK, left), partial=True))
                await asyncio.sleep(_LINGER_S)
        except (TimeoutError, StreamClosedError, OSError):
            pass
        stream.close()


def _start_line(answer: Answer) -> httputil.ResponseStartLine:
    return httputil.ResponseStartLine("HTTP/1.1", answer.status, http.HTTPStatus(answer.status).phrase)


def _headers(answer: Answer, *, closing: bool) -> httputil.HTTPHeaders:
    headers = httputil.HTTPHeaders()
    for name, value in answer.headers:
        headers.add(name, value)
    if "Content-Length" not in headers:
        headers["Content-Length"] = str(len(answer.data))
    if closing:
        headers["Connection"] = "close"
    return headers
