"""The link a phone sends pictures over: who is turned away, what is taken, and that it closes. Rules: see
test_server_guard.py."""
from __future__ import annotations

import http.client
import io
import socket
import struct
import threading
import time
import zlib
from collections.abc import Iterator
from urllib.parse import urlsplit

import cv2
import numpy as np
import pytest
from PIL import Image

from desk.server import phone_link as phonelink

from desk.server import phone_photos
from desk.server.http.guard import Guard, LinkGuard, new_link_guard
from desk.server.phone_link import IDLE_S, LARGEST_PHOTO, LONGEST_S, PhoneLink, code_of, lan_address
from capture.language.messages import lazy_gettext
from desk.problem import JobFileError
from desk.server.routes import Desk
from tests.support.patience import PATIENCE_S

GUARD = LinkGuard(host="192.0.2.7:5000", token="right-token", seal="right-seal")


def status(method: str, path: str, *, taken: bool = True, **headers: str | None) -> int:
    """200 if the guard lets the request pass; underscores in names stand for dashes, None takes a header away."""
    sent = {"Host": GUARD.host, "Cookie": f"other=1; seal={GUARD.seal}"} | {key.replace("_", "-"): value
                                                                            for key, value in headers.items()}
    refusal = GUARD.find_refusal(method, path, {key: value for key, value in sent.items() if value is not None},
                                 is_taken=taken)
    return 200 if refusal is None else refusal.status


@pytest.mark.parametrize("host", ["", "evil.example:5000", "192.0.2.7", "192.0.2.7:5001", "127.0.0.1:5000", None])
def test_any_other_host_is_misdirected(host):
    assert status("GET", "/right-token/", Host=host) == 421


@pytest.mark.parametrize("path", ["/", "/right-toke/", "/right-token2/", "/api/job", "//right-token/",
                                  "/../right-token/", "/send.js", "/RIGHT-TOKEN/"])
def test_without_its_token_there_is_nothing(path):
    assert status("GET", path) == 404
    assert status("POST", path) == 404


def test_the_first_phone_has_it_and_no_other():
    assert status("GET", "/right-token/", taken=False, Cookie=None) == 200
    assert status("GET", "/right-token/", Cookie=None) == 403
    assert status("GET", "/right-token/", Cookie="seal=wrong") == 403
    assert status("GET", "/right-token/") == 200


@pytest.mark.parametrize(("method", "place"), [("POST", "photo"), ("GET", "send.js"), ("POST", "")])
def test_every_further_read_and_write_needs_the_seal(method, place):
    assert status(method, f"/right-token/{place}", taken=False, Cookie=None) == 403
    assert status(method, f"/right-token/{place}", Cookie="seal=räksmörgås") == 403


@pytest.mark.parametrize("headers", [{"Origin": "http://evil.example"}, {"Origin": "null"},
                                     {"Origin": "https://192.0.2.7:5000"}, {"Sec_Fetch_Site": "cross-site"},
                                     {"Sec_Fetch_Site": "same-site"}])
def test_other_pages_are_refused(headers):
    assert status("POST", "/right-token/photo", **headers) == 403
    assert status("GET", "/right-token/", taken=False, **headers) == 403


@pytest.mark.parametrize("method", ["PUT", "DELETE", "OPTIONS", "HEAD", "TRACE"])
def test_other_methods_are_not_known(method):
    assert status(method, "/right-token/photo") == 405


def test_every_link_has_secrets_of_its_own():
    guards = [new_link_guard("h") for _ in range(50)]
    assert (
        len({guard.token for guard in guards} | {guard.seal for guard in guards}) == 100
        and min(len(g.token) for g in guards) >= 22
    )


class Clock:
    now = 1000.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def taken() -> list[tuple[bytes, str]]:
    return []


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def link(taken, clock) -> Iterator[PhoneLink]:
    made = PhoneLink(lambda data, name: taken.append((data, name)), address="127.0.0.1", clock=clock)
    yield made
    made.close()


def ask(link: PhoneLink, method: str, place: str, body: bytes = b"", **headers: str) -> tuple[int, bytes, str]:
    """(status, body, cookie) of a request at the link, on the wire."""
    parts = urlsplit(link.href)
    connection = http.client.HTTPConnection(parts.hostname, parts.port, timeout=PATIENCE_S)
    try:
        connection.request(method, parts.path + place, body or None, headers)
        answer = connection.getresponse()
        return answer.status, answer.read(), (answer.getheader("Set-Cookie") or "").partition(";")[0]
    finally:
        connection.close()


def answers_until_gone(link: PhoneLink, cookie: str) -> Iterator[int]:
    """What the link answers until nobody listens any more."""
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        try:
            yield ask(link, "GET", "", Cookie=cookie)[0]
        except ConnectionError:
            return
        time.sleep(0.025)
    pytest.fail("the link still listens")


def test_a_phone_opens_it_and_sends(link, taken):
    code, page, cookie = ask(link, "GET", "")
    assert code == 200 and b"plain HTTP" in page and cookie
    assert ask(link, "GET", "")[0] == 403  # somebody else, with the address alone
    code, told, _ = ask(link, "GET", "", Accept="text/html,*/*")
    assert code == 403 and b"<p>This link was opened by another phone" in told and b"{" not in told
    assert [ask(link, "GET", part, Cookie=cookie)[0] for part in ("send.js", "send.css", "icon.svg")] == [200, 200, 200]
    assert [ask(link, "GET", part, Cookie=cookie)[0] for part in ("main.js", "../api/job", "job.json",
                                                                  "photo")] == [404, 404, 404, 404]
    assert ask(link, "POST", "photo?name=IMG%201.jpg", b"picture", Cookie=cookie)[0] == 200
    assert taken == [(b"picture", "IMG 1.jpg")]
    assert ask(link, "POST", "job", b"{}", Cookie=cookie)[0] == 404


def test_what_is_too_large_is_refused_before_it_is_sent(link, taken):
    parts, cookie = urlsplit(link.href), ask(link, "GET", "")[2]
    for length in (LARGEST_PHOTO + 1_000_001, 10**12):
        with socket.create_connection((parts.hostname, parts.port), timeout=PATIENCE_S) as wire:
            head = (f"POST {parts.path}photo HTTP/1.1\r\nHost: {link.guard.host}\r\nCookie: "
                    f"{cookie}\r\nContent-Length: {length}\r\n\r\n")
            wire.sendall(head.encode())
            assert int(wire.recv(4096).split(b" ")[1]) == 413
    assert taken == []


@pytest.mark.parametrize("passed", [IDLE_S, LONGEST_S])
def test_it_closes_by_itself(link, clock, passed):
    cookie = ask(link, "GET", "")[2]
    clock.now += passed - 1
    if passed == IDLE_S:
        assert ask(link, "GET", "", Cookie=cookie)[0] == 200  # being used keeps it open, but not for ever
        clock.now += IDLE_S
    else:
        clock.now += 1
    assert not link.is_open
    assert set(answers_until_gone(link, cookie)) <= {410}


def test_no_more_pictures_come_than_may_however_many_are_on_their_way_at_once(monkeypatch):
    """All of them have passed the guard before the first is taken."""
    monkeypatch.setattr(phonelink, "MOST_PHOTOS", 2)
    judged, taken = threading.Barrier(3), []
    link = PhoneLink(lambda data, name: taken.append(name), address="127.0.0.1")
    received = link._received

    def together(environ):
        judged.wait(60)
        return received(environ)
    link._received = together
    cookie, answers = ask(link, "GET", "")[2], []
    threads = [threading.Thread(target=lambda n=n: answers.append(ask(link, "POST", f"photo?name={n}.jpg", b"picture",
                                                                      Cookie=cookie)[0])) for n in range(3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    code, told, _ = ask(link, "POST", "photo?name=late.jpg", b"picture", Cookie=cookie)
    link.close()
    assert sorted(answers) == [200, 200, 429] and len(taken) == 2 and code == 429 and b"2 pictures came" in told


def test_a_picture_that_was_not_taken_does_not_count(monkeypatch):
    monkeypatch.setattr(phonelink, "MOST_PHOTOS", 1)
    answers = iter([ValueError("broken"), None])

    def take(data, name):
        error = next(answers)
        if error is not None:
            raise error
    link = PhoneLink(take, address="127.0.0.1")
    cookie = ask(link, "GET", "")[2]
    assert [ask(link, "POST", "photo", b"picture", Cookie=cookie)[0] for _ in range(3)] == [422, 200, 429]
    link.close()


def test_a_body_with_a_wrong_token_is_not_taken_in(link, taken):
    parts, cookie = urlsplit(link.href), ask(link, "GET", "")[2]
    for place, seal in (("/wrong/photo", cookie), (f"{parts.path}photo", "seal=wrong"), (f"{parts.path}job", cookie)):
        with socket.create_connection((parts.hostname, parts.port), timeout=30) as wire:
            wire.sendall((f"POST {place} HTTP/1.1\r\nHost: {link.guard.host}\r\nCookie: {seal}\r\nContent-Length: "
                          "50000000\r\n\r\n").encode())
            assert int(wire.recv(4096).split(b" ")[1]) in (403, 404)
    assert link._server.taken == 0 and taken == []


class Listener:
    """Stands for a socket; notes the options it is given."""

    def __init__(self, *kind):
        self.options = []

    def setsockopt(self, level, option, value):
        self.options.append((option, value))

    def bind(self, place):
        pass


@pytest.mark.parametrize("port", [0, 8123])
def test_on_windows_no_other_process_may_have_the_port_too(monkeypatch, port):
    """Microsoft's reference, 'Using SO_REUSEADDR and SO_EXCLUSIVEADDRUSE': the latter forbids what the former there
    allows to anybody."""
    monkeypatch.setattr(phonelink.socket, "SO_EXCLUSIVEADDRUSE", ~socket.SO_REUSEADDR, raising=False)
    monkeypatch.setattr(phonelink.socket, "socket", Listener)
    made = phonelink.listen("127.0.0.1", port, slug="port-in-use", says=lazy_gettext("{why}"))
    assert made.options == [(~socket.SO_REUSEADDR, 1)]


def test_a_closed_link_does_not_listen(link):
    link.close()
    with pytest.raises(ConnectionError):
        ask(link, "GET", "")
    link.close()


def test_it_listens_on_the_one_address(link):
    with pytest.raises(ConnectionError), socket.create_connection(("127.0.0.2", urlsplit(link.href).port), timeout=2):
        pass


@pytest.fixture
def desk(tmp_path, monkeypatch, processes_kept) -> Iterator[Desk]:
    monkeypatch.setattr(phone_photos, "lan_address", lambda: "127.0.0.1")
    made = Desk(tmp_path / "job", Guard(hosts=("127.0.0.1:1",), token="t"))
    made.keeper.open_or_start()
    yield made
    made.close()


def claimed(width: int, height: int) -> bytes:
    """A PNG of a hundred bytes that claims to be huge; chunk layout: PNG specification, 3rd ed., section 5."""
    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 64)) + chunk(b"IEND", b"")


@pytest.mark.parametrize("data", [claimed(30000, 30000), claimed(65000, 2000), b"<script>alert(1)</script>",
                                  b"GIF89a" + b"\0" * 20, b"\xff\xd8\xff" + b"\0" * 99, b"%PDF-1.7",
                                  b"PK\x03\x04" + b"\0" * 60])
def test_bombs_and_what_is_no_picture_end_in_one_sentence(desk, data):
    desk.phone.open()
    cookie = ask(desk.phone.current, "GET", "")[2]
    code, told, _ = ask(desk.phone.current, "POST", "photo?name=..%2F..%2Fevil.html", data, Cookie=cookie)
    assert code == 422 and b'"says"' in told and b"Traceback" not in told
    assert not (desk.keeper.folder / "photos").exists() and desk.phone.state()["arrived"] == []


def test_what_arrived_is_told_until_a_job_has_noted_it(desk):
    assert desk.phone.state() == {"open": False, "arrived": []}
    desk.phone.open()
    cookie, picture = ask(desk.phone.current, "GET", "")[2], io.BytesIO()
    Image.new("RGB", (64, 48), (9, 9, 9)).save(picture, "JPEG")
    assert ask(desk.phone.current, "POST", "photo?name=IMG.jpg", picture.getvalue(), Cookie=cookie)[0] == 200
    (noted,) = desk.phone.state()["arrived"]
    assert noted["size"] == (64, 48) and (desk.keeper.folder / noted["file"]).read_bytes() == picture.getvalue()
    tree, revision = desk.keeper.load()
    desk.save_job(tree | {"photos": [{"file": noted["file"], "size": [64, 48]}]}, revision=revision)
    assert desk.phone.state()["arrived"] == [] and desk.phone.close() == {"open": False, "arrived": []}


def test_the_code_holds_the_address():
    """OpenCV's reader, a second implementation of ISO/IEC 18004."""
    address = "http://192.168.178.21:43210/abcdefghijklmnopqrstuv/"
    modules = np.array([[0 if letter == "1" else 255 for letter in row] for row in code_of(address)], dtype=np.uint8)
    assert cv2.QRCodeDetector().detectAndDecode(np.kron(modules, np.ones((8, 8), dtype=np.uint8)))[0] == address


@pytest.mark.parametrize("address", ["127.0.0.1", None])
def test_without_a_network_it_says_so(monkeypatch, address):
    class Probe(socket.socket):
        def connect(self, place):
            if address is None:
                raise OSError("unreachable")

        def getsockname(self):
            return address, 1
    monkeypatch.setattr(phonelink.socket, "socket", Probe)
    with pytest.raises(JobFileError, match="in no network"):
        lan_address()
