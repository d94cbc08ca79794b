"""The desk on a real socket: where it listens, what it prints, what happens to a request larger than anything it
takes."""
from __future__ import annotations

import http.client
import re
import socket
import subprocess
import sys

import pytest

from desk.server.http.guard import TOKEN_HEADER
from desk.problem import JobFileError
from desk.server.app import Opened, open_desk
from tests.support.patience import PATIENCE_S


def place(opened: Opened) -> tuple[str, int]:
    found = re.fullmatch(r"http://(127\.0\.0\.1):(\d+)/#token=([\w-]{22,})", opened.address)
    assert found and found.group(3) == opened.desk.guard.token
    return found.group(1), int(found.group(2))


def ask(opened: Opened, method: str, path: str, **headers: str) -> tuple[int, bytes]:
    connection = http.client.HTTPConnection(*place(opened), timeout=PATIENCE_S)
    try:
        connection.request(method, path, headers={TOKEN_HEADER: opened.desk.guard.token} | headers)
        answer = connection.getresponse()
        return answer.status, answer.read()
    finally:
        connection.close()


def test_it_listens_on_the_loopback_address_only(running):
    assert running.server.socket.getsockname()[0] == "127.0.0.1"
    # 127.0.0.2 is this machine too (RFC 1122, 3.2.1.3), but not the address that was bound.
    with pytest.raises((ConnectionRefusedError, TimeoutError)), socket.create_connection(("127.0.0.2",
                                                                                          place(running)[1]),
                                                                                         timeout=2):
        pass


def test_crafted_headers_on_the_wire(running):
    assert ask(running, "GET", "/api/job")[0] == 200
    assert ask(running, "GET", "/api/job", Host="evil.example")[0] == 421
    assert ask(running, "GET", "/api/job", Origin="http://evil.example")[0] == 403
    assert ask(running, "GET", "/api/job", **{"Sec-Fetch-Site": "cross-site"})[0] == 403
    assert ask(running, "GET", "/api/job", **{TOKEN_HEADER: ""})[0] == 403
    assert ask(running, "OPTIONS", "/api/job")[0] == 405


def test_two_host_headers_do_not_get_past_the_guard(running):
    with socket.create_connection(place(running), timeout=PATIENCE_S) as wire:
        host = "{}:{}".format(*place(running))
        wire.sendall((f"GET /api/job HTTP/1.1\r\nHost: {host}\r\nHost: evil.example\r\n{TOKEN_HEADER}: "
                      f"{running.desk.guard.token}\r\n\r\n").encode())
        assert int(wire.recv(4096).split(b" ")[1]) in (400, 421)


def test_a_gigabyte_is_refused_before_it_is_sent(running):
    with socket.create_connection(place(running), timeout=PATIENCE_S) as wire:
        host = "{}:{}".format(*place(running))
        head = f"POST /api/photos HTTP/1.1\r\nHost: {host}\r\n{TOKEN_HEADER}: {running.desk.guard.token}\r\n"
        wire.sendall(f"{head}Content-Length: 1000000000\r\n\r\n".encode())
        assert int(wire.recv(4096).split(b" ")[1]) == 413


def test_a_port_that_is_taken_is_said_in_one_sentence(running, tmp_path):
    with pytest.raises(JobFileError, match="Port .* cannot be used"):
        open_desk(tmp_path / "other", place(running)[1])
    assert not (tmp_path / "other").exists()


def test_a_broken_job_is_said_before_anything_is_served(tmp_path):
    (tmp_path / "job.json").write_text('{"title": "cut', "utf-8")
    with pytest.raises(JobFileError, match="stops in the middle"):
        open_desk(tmp_path, 0)
    assert (tmp_path / "job.json").read_text("utf-8") == '{"title": "cut'


def test_the_command_prints_its_address_first_and_begins_a_job_where_none_was_named(tmp_path):
    process = subprocess.Popen([sys.executable, "-m", "desk.cli", "desk", "--no-browser"], cwd=tmp_path,
                               stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    try:
        assert re.fullmatch(r"http://127\.0\.0\.1:\d+/#token=[\w-]{22,}\n", process.stdout.readline())
        assert str(tmp_path / "tapegroove-job") in process.stdout.readline()
        assert (tmp_path / "tapegroove-job" / "job.json").is_file()
    finally:
        process.terminate()
        _, complaints = process.communicate(timeout=PATIENCE_S)
    assert (process.returncode, complaints) == (0, "")
