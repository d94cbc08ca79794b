"""What the desk's sockets take in and turn away, on real ones: RFC 9112 (HTTP/1.1) and RFC 9110 (statuses), by section
beside each case.

Nothing here waits for a clock: the limits are made small and the socket itself tells when it is closed on.
"""
from __future__ import annotations

import json
import socket
import struct
import threading
from collections.abc import Callable
from contextlib import closing, suppress

import pytest

from desk.server.http import connections
from desk.server.http.framing import Head, read_head
from desk.server.http.guard import SAFE_HEADERS, TOKEN_HEADER, Refusal
from desk.server.app import Opened
from desk.server.http.body import LARGEST_JOB
from desk.server.http.serving import Server


def place(opened: Opened) -> tuple[str, int]:
    return opened.server.socket.getsockname()


def own(opened: Opened) -> str:
    """The two headers of a request that may come."""
    return "Host: {}:{}\r\n".format(*place(opened)) + f"{TOKEN_HEADER}: {opened.desk.guard.token}\r\n"


def connected(opened: Opened) -> socket.socket:
    return socket.create_connection(place(opened), timeout=30)


def whole(wire: socket.socket) -> bytes:
    """All that comes until the other side closes."""
    got = b""
    with suppress(ConnectionError):
        while more := wire.recv(65536):
            got += more
    return got


def answer_to(opened: Opened, text: str) -> tuple[int, dict[str, str], bytes]:
    """(status, headers, body) of the one answer to what is sent."""
    with closing(connected(opened)) as wire:
        wire.sendall(text.encode("latin-1"))
        head, _, body = whole(wire).partition(b"\r\n\r\n")
    first, *lines = head.decode("latin-1").split("\r\n")
    return int(first.split(" ")[1]), dict(line.split(": ", 1) for line in lines), body


def is_answered(opened: Opened) -> bool:
    return answer_to(opened, f"GET /api/job HTTP/1.1\r\n{own(opened)}Connection: close\r\n\r\n")[0] == 200


MALFORMED = [
    ("GET /api/job HTTP/1.1\r\n{own}Host: evil.example\r\n\r\n", 400),  # 3.2: more than one Host field line
    ("GET /api/job HTTP/1.1\r\n\r\n", 400),  # 3.2: lacks a Host
    ("GET /api/job HTTP/1.1\r\nHost: a b\r\n\r\n", 421),  # an invalid Host is none of the desk's (RFC 9110, 15.5.20)
    (
        "POST /api/targets HTTP/1.1\r\n{own}Content-Length: 2\r\nTransfer-Encoding: chunked\r\n\r\n{{}}",
        400,
    ),  # 6.1: may be rejected
    (
        "POST /api/targets HTTP/1.0\r\n{own}Transfer-Encoding: chunked\r\n\r\n0\r\n\r\n",
        400,
    ),  # 6.1: faulty framing in HTTP/1.0
    (
        "POST /api/targets HTTP/1.1\r\n{own}Transfer-Encoding: gzip, chunked\r\n\r\n",
        501,
    ),  # 6.1: a coding it does not understand
    (
        "POST /api/targets HTTP/1.1\r\n{own}Transfer-Encoding: chunked, chunked\r\n\r\n",
        501,
    ),  # 6.1: chunked more than once
    (
        "POST /api/targets HTTP/1.1\r\n{own}Transfer-Encoding: chunked\r\n\r\nzz\r\n",
        411,
    ),  # 6.3: without a length; no chunk is ever read
    (
        "POST /api/targets HTTP/1.1\r\n{own}Content-Length: 2\r\nContent-Length: 3\r\n\r\n{{}}",
        400,
    ),  # 6.3: differing lengths
    ("POST /api/targets HTTP/1.1\r\n{own}Content-Length: 2, 2\r\n\r\n{{}}", 400),  # 6.3: a list may be rejected
    ("POST /api/targets HTTP/1.1\r\n{own}Content-Length: -2\r\n\r\n", 400),
    ("POST /api/targets HTTP/1.1\r\n{own}Content-Length: 0x10\r\n\r\n", 400),
    ("POST /api/targets HTTP/1.1\r\n{own}Content-Length: \xb2\r\n\r\n", 400),
    ("POST /api/targets HTTP/1.1\r\n{own}Content-Length: " + "9" * 40 + "\r\n\r\n", 400),
    ("GET /api/job HTTP/1.1\r\n{own}X-A: a\r\n b\r\n\r\n", 400),  # 5.2: line folding
    ("GET /api/job HTTP/1.1\r\n{own}X-A : a\r\n\r\n", 400),  # 5.1: no whitespace between name and colon
    ("GET /api/job HTTP/1.1\r\n X-A: a\r\n{own}\r\n", 400),  # 2.2: whitespace before the first field
    ("GET /api/job HTTP/1.1\r\n{own}X-A: a\rb\r\n\r\n", 400),  # 2.2: a bare CR
    ("GET /api/job HTTP/1.1\r\n{own}no colon\r\n\r\n", 400),  # 5
    ("GET /api/job\r\n{own}\r\n", 400),  # 3: no version
    ("GET  /api/job HTTP/1.1\r\n{own}\r\n", 400),  # 3: two spaces
    ("GET /api/job HTTP/2.0\r\n{own}\r\n", 400),
    ("\x16\x03\x01\x02\r\n\r\n", 400),  # the beginning of a TLS handshake
    ("GET /api/job HTTP/1.1\r\n{own}X-A: " + "a" * 200_000 + "\r\n\r\n", 431),  # RFC 6585, 5
    ("GET /" + "a" * 200_000 + " HTTP/1.1\r\n{own}\r\n", 431),
    (
        "POST /api/targets HTTP/1.1\r\n{own}Expect: the unexpected\r\nContent-Length: 2\r\n\r\n{{}}",
        417,
    ),  # RFC 9110, 10.1.1
    ("GET http://evil.example/api/job HTTP/1.1\r\n{own}\r\n", 421),  # 3.2.2: the target's authority counts
    ("GET /api/job HTTP/1.1\r\n{own}Content-Length: 5\r\n\r\nhello", 413),
    ("OPTIONS * HTTP/1.1\r\n{own}\r\n", 405),
    ("CONNECT evil.example:443 HTTP/1.1\r\n{own}\r\n", 405),
]


@pytest.mark.parametrize(("text", "status"), MALFORMED)
def test_what_is_no_sound_request_is_turned_away_with_the_safe_headers(running, text, status):
    got, headers, body = answer_to(running, text.format(own=own(running)))
    assert got == status
    assert {name: headers.get(name) for name, _ in SAFE_HEADERS} == dict(SAFE_HEADERS)
    assert headers["Connection"] == "close" and int(headers["Content-Length"]) == len(body)
    told = json.loads(body)
    assert told["slug"] == "refused" and told["says"].endswith(".") and "Traceback" not in told["says"]
    assert is_answered(running)


def test_a_target_in_absolute_form_is_read(running):
    """RFC 9112, 3.2.2: a server must accept it."""
    host = "{}:{}".format(*place(running))
    assert answer_to(running,
                     f"GET http://{host}/api/job HTTP/1.1\r\n{own(running)}Connection: close\r\n\r\n")[0] == 200


def test_requests_one_behind_the_other_are_answered_in_order(running):
    """RFC 9112, 9.3.2."""
    with closing(connected(running)) as wire:
        last = f"GET /nothing.js HTTP/1.1\r\n{own(running)}Connection: close\r\n\r\n"
        wire.sendall(f"GET /icon.svg HTTP/1.1\r\n{own(running)}\r\n{last}".encode())
        got = whole(wire)
    assert [int(part[:3]) for part in got.split(b"HTTP/1.1 ")[1:]] == [200, 404]


def test_a_header_with_an_underscore_does_not_pass_for_the_token(running):
    """In CGI's names (RFC 3875, 4.1.18), on which PEP 3333 builds, both would be the same."""
    text = own(running).replace(TOKEN_HEADER, TOKEN_HEADER.replace("-", "_"))
    assert answer_to(running, f"GET /api/job HTTP/1.1\r\n{text}Connection: close\r\n\r\n")[0] == 403


def poured(wire: socket.socket, most: int) -> int:
    """How many bytes of a body can be sent, until somebody closes the connection or `most` is reached."""
    sent = 0
    try:
        while sent < most:
            sent += wire.send(b"x" * min(65536, most - sent))
    except (ConnectionError, TimeoutError):
        return sent
    return sent


@pytest.mark.parametrize(("head", "status"), [
    ("POST /api/photos HTTP/1.1\r\nHost: evil.example\r\nContent-Length: 59000000\r\n\r\n", 421),
    ("POST /api/photos HTTP/1.1\r\nHost: {host}\r\nContent-Length: 59000000\r\n\r\n", 403),
    ("POST /api/photos HTTP/1.1\r\n{own}Origin: http://evil.example\r\nContent-Length: 59000000\r\n\r\n", 403),
    ("DELETE /api/photos HTTP/1.1\r\n{own}Content-Length: 59000000\r\n\r\n", 405),
    ("POST /api/photos HTTP/1.1\r\n{own}Content-Length: 60000001\r\n\r\n", 413),
    ("PUT /api/job HTTP/1.1\r\n{own}Content-Length: 4000001\r\n\r\n", 413),
    ("POST /api/photos HTTP/1.1\r\n{own}Transfer-Encoding: chunked\r\n\r\n", 411),
])
def test_nothing_is_kept_of_a_body_that_may_not_come(running, head, status):
    """The answer comes before the body, which is not taken in; whoever sends on and on is cut off."""
    host = "{}:{}".format(*place(running))
    with closing(connected(running)) as wire:
        wire.sendall(head.format(own=own(running), host=host).encode())
        assert int(wire.recv(4096).split(b" ")[1]) == status
        # The answer was read; what follows goes no further than the buffers of both systems.
        assert poured(wire, 59_000_000) < 20_000_000
    assert running.server.taken == 0 and LARGEST_JOB == 4_000_000
    assert is_answered(running)


def test_a_sender_that_asks_first_is_told_to_go_on_only_if_it_may(running):
    """RFC 9110, 10.1.1: 100 (Continue) or a final status."""
    body = b'{"text": "3 m", "show": "metric"}'
    rest = (f"Content-Type: application/json\r\nExpect: 100-continue\r\nContent-Length: {len(body)}\r\nConnection: "
            "close\r\n\r\n")
    with closing(connected(running)) as wire:
        wire.sendall(f"POST /api/length HTTP/1.1\r\n{own(running)}{rest}".encode())
        assert wire.recv(4096).split(b" ")[1] == b"100"
        wire.sendall(body)
        assert json.loads(whole(wire).partition(b"\r\n\r\n")[2])["mm"] == 3000
    with closing(connected(running)) as wire:
        wire.sendall(f"POST /api/length HTTP/1.1\r\nHost: evil.example\r\n{rest}".encode())
        assert b"421" in wire.recv(4096)


@pytest.mark.parametrize("text", [
    "POST /api/photos HTTP/1.1\r\nHost: evil.example\r\nContent-Length: 5000000\r\n\r\nabc",
    "POST /api/photos HTTP/1.1\r\n{own}Content-Length: 5000000\r\n\r\nabc",
    "GET / HTTP/1.1\r\n{own}\r\n", "GET / HT", "\x00\r\n\r\n",
])
def test_a_sender_that_goes_away_at_once_leaves_no_trace(running, caplog, capfd, text):
    """Closed with SO_LINGER of no time the connection is reset (an abort: RFC 9293, 3.9.1)."""
    for _ in range(10):
        with closing(connected(running)) as wire:
            wire.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
            wire.sendall(text.format(own=own(running)).encode("latin-1"))
    assert is_answered(running)
    assert [record for record in caplog.records
            if record.name != "tornado.general"] == [] and capfd.readouterr().err == ""


# Slow and idle connections ----------------------------------------------------------------------


@pytest.mark.parametrize("text", ["", "GET /api/job HTTP/1.1\r\n", "GET /api/job HTTP/1.1\r\n{own}X-A: ",
                                  "POST /api/photos HTTP/1.1\r\n{own}Content-Length: 1000\r\n\r\nabc"])
def test_who_does_not_go_on_is_dropped(running, monkeypatch, text):
    monkeypatch.setattr(connections, "PATIENCE_S", 0.05)
    listening = Impatient(running)
    with closing(listening.connected()) as wire:
        wire.sendall(text.format(own=own(running)).encode())
        assert whole(wire) == b""
    listening.close()


class Impatient:
    """A second listener of a desk, made while its patience is short."""

    def __init__(self, opened: Opened) -> None:
        listener = socket.socket()
        listener.bind(("127.0.0.1", 0))
        self.server = Server(opened.server._app, lambda head: None, listener, safe=SAFE_HEADERS, threads=2)
        self.thread = threading.Thread(target=self.server.run, daemon=True)
        self.thread.start()

    def connected(self) -> socket.socket:
        return socket.create_connection(self.server.socket.getsockname(), timeout=30)

    def close(self) -> None:
        self.server.stop()
        self.thread.join(timeout=30)
        assert not self.thread.is_alive()


def test_of_too_many_that_keep_it_waiting_the_first_is_dropped_and_a_new_one_is_heard(running, monkeypatch):
    monkeypatch.setattr(connections, "MOST_WAITING", 5)
    held = []
    for _ in range(12):
        held.append(connected(running))
        held[-1].sendall(b"GET /api/job HTTP/1.1\r\n")
    assert is_answered(running)
    for wire in held[:7]:
        assert whole(wire) == b""  # closed on, or this would wait for ever
    for wire in held:
        wire.close()


def test_a_body_on_its_way_does_not_count_as_waiting(running, monkeypatch):
    monkeypatch.setattr(connections, "MOST_WAITING", 2)
    body = b'{"text": "3 m", "show": "metric"}'
    with closing(connected(running)) as wire:
        wire.sendall(f"POST /api/length HTTP/1.1\r\n{own(running)}Content-Type: application/json\r\nContent-Length: "
                     f"{len(body)}\r\n"
                     "Connection: close\r\n\r\n".encode() + body[:5])
        while running.server.taken < 5:
            assert is_answered(running)  # its head was judged by the time its first bytes are counted
        held = [connected(running) for _ in range(6)]
        assert is_answered(running)
        wire.sendall(body[5:])
        assert json.loads(whole(wire).partition(b"\r\n\r\n")[2])["mm"] == 3000
    for other in held:
        other.close()


def test_requests_that_wait_for_pictures_keep_no_other_waiting(tmp_path):
    """Every thread for pictures is held; another request is answered all the same."""
    go, begun = threading.Event(), threading.Semaphore(0)

    def app(environ, start_response):
        if environ["PATH_INFO"] == "/slow":
            begun.release()
            go.wait(60)
        start_response("200 OK", [("Content-Type", "text/plain")])
        return [environ["PATH_INFO"].encode()]
    listener = socket.socket()
    listener.bind(("127.0.0.1", 0))
    server = Server(app, lambda head: None, listener, safe=[], threads=2, is_slow=lambda head: head.path == "/slow")
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    ask: Callable[[str], bytes] = lambda path: f"GET {path} HTTP/1.1\r\nHost: h\r\nConnection: close\r\n\r\n".encode()  # noqa: E731
    slow = [socket.create_connection(listener.getsockname(), timeout=60) for _ in range(5)]
    for wire in slow:
        wire.sendall(ask("/slow"))
    begun.acquire(timeout=60)
    begun.acquire(timeout=60)
    with closing(socket.create_connection(listener.getsockname(), timeout=60)) as wire:
        wire.sendall(ask("/quick"))
        assert whole(wire).endswith(b"/quick")
    go.set()
    assert all(whole(wire).endswith(b"/slow") for wire in slow)
    for wire in slow:
        wire.close()
    server.stop()
    thread.join(timeout=30)


def test_a_fault_of_the_application_is_one_sentence(capsys):
    def app(environ, start_response):
        raise ZeroDivisionError("within")
    listener = socket.socket()
    listener.bind(("127.0.0.1", 0))
    server = Server(app, lambda head: None, listener, safe=[("X-Safe", "1")], threads=1)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    with closing(socket.create_connection(listener.getsockname(), timeout=30)) as wire:
        wire.sendall(b"GET / HTTP/1.1\r\nHost: h\r\nConnection: close\r\n\r\n")
        got = whole(wire)
    server.stop()
    thread.join(timeout=30)
    assert got.startswith(b"HTTP/1.1 500 ") and b"X-Safe: 1" in got and b"within" not in got
    assert "ZeroDivisionError" in capsys.readouterr().err


@pytest.mark.parametrize(("target", "path", "query"),
                         [("/a%20b?x=1&y", "/a b", "x=1&y"), ("/%2e%2e/%C3%A4", "/../Ã¤", ""), ("*", "*", ""),
                          ("http://h/a?b", "/a", "b"), ("HTTP://h", "/", "")])
def test_a_target_falls_into_path_and_query(target, path, query):
    """PEP 3333: the path is decoded to one character a byte; RFC 3986, 2.1: percent-encoding."""
    head = read_head("GET", target, "HTTP/1.1", lambda name: ["h"] if name == "Host" else [], {"Host": "h"})
    assert isinstance(head, Head) and (head.path, head.query, head.length) == (path, query, 0)


def test_an_old_request_needs_no_host():
    """RFC 9112, 3.2 asks for one since HTTP/1.1; whether the desk answers to none is the guard's to say."""
    assert isinstance(read_head("GET", "/", "HTTP/1.0", lambda name: [], {}), Head)
    assert isinstance(read_head("GET", "/", "HTTP/1.1", lambda name: [], {}), Refusal)
