"""The desk under siege: floods of bodies nobody asked for, half-open connections, pictures that swell, packs killed
while they are written.

Usage: python -m tests.bench.desk.run_siege [--tree TREE] [--seconds S] [--kills N]

TREE is a checkout of the program, this one if left out; an older one is the baseline (0b67eab: bodies were taken in
before the guard looked, and decoded under the job's lock). S: how long each siege lasts. Everything is measured from
outside, so the same figures come of any version:

- *taken in*: bytes the machine acknowledged of all bodies, that is, what was sent less what still waits in the senders'
  own buffers (TIOCOUTQ, tcp(7)); *spooled*: the desk's open temporary files.
- *asks*: how long GET /api/job takes on a connection of its own, ten times a second all the while: median and slowest.
- *phone*: how long one more picture takes over the phone's link, with its 2 MB, begun in the middle of it.
- *memory*: the largest sum over the desk and all its children of what belongs to each (proportional set size, proc(5)).

A pack is written by turns with another, and its writer killed (SIGKILL) at some moment; then the folder must be one of
the two, whole. Linux only. What it does not claim: that a machine with other limits on sockets and buffers gives the
same bytes.
"""
from __future__ import annotations

import argparse
import fcntl
import http.client
import io
import json
import os
import random
import selectors
import signal
import socket
import statistics
import struct
import subprocess
import sys
import tempfile
import termios
import threading
import time
import zlib
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlsplit

import numpy as np
from PIL import Image

HERE = Path(__file__).parents[3]
BODY = 60_000_000


@dataclass
class Desk:
    """A running desk: its process, port and token, and the cookie of the phone on its link."""

    process: subprocess.Popen[str]
    port: int
    token: str
    link: str = ""
    cookie: str = ""

    @property
    def host(self) -> str:
        return f"127.0.0.1:{self.port}"

    def ask(self, method: str, path: str, body: bytes | None = None, **headers: str) -> tuple[int, bytes]:
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=600)
        try:
            connection.request(method, path, body, {"X-Desk-Token": self.token} | headers)
            answer = connection.getresponse()
            return answer.status, answer.read()
        finally:
            connection.close()

    def on_link(self, method: str, place: str, body: bytes | None = None) -> tuple[int, str]:
        parts = urlsplit(self.link)
        connection = http.client.HTTPConnection(parts.hostname, parts.port, timeout=600)
        try:
            connection.request(method, parts.path + place, body, {"Cookie": self.cookie} if self.cookie else {})
            answer = connection.getresponse()
            answer.read()
            return answer.status, (answer.getheader("Set-Cookie") or "").partition(";")[0]
        finally:
            connection.close()


@contextmanager
def desk(tree: Path) -> Iterator[Desk]:
    """A desk of a checkout on an empty job, with a phone on its link."""
    with tempfile.TemporaryDirectory() as place:
        process = subprocess.Popen([sys.executable, "-m", "desk.cli", "desk", str(Path(place) / "job"), "--no-browser"],
                                   cwd=tree, env={**os.environ, "PYTHONPATH": str(tree)}, stdout=subprocess.PIPE,
                                   text=True)
        try:
            address = urlsplit(process.stdout.readline().strip())
            running = Desk(process, address.port, address.fragment.removeprefix("token="))
            running.link = json.loads(running.ask("POST", "/api/link", b'{"open": true}',
                                                  **{"Content-Type": "application/json"})[1])["href"]
            running.cookie = running.on_link("GET", "")[1]
            running.on_link(
                "POST", "photo?name=first.jpg", photo(0)
            )  # so that what is begun with the first picture has begun
            yield running
        finally:
            process.terminate()
            with suppress(subprocess.TimeoutExpired):
                process.wait(timeout=20)
            process.kill()


def photo(seed: int) -> bytes:
    """A picture of 12 megapixels with some grain, 2 MB."""
    small = np.random.default_rng(seed).integers(60, 200, (378, 504, 3), dtype=np.uint8)
    target = io.BytesIO()
    Image.fromarray(small).resize((4032, 3024), Image.Resampling.BICUBIC).save(target, "JPEG", quality=88)
    return target.getvalue()


def bombs_of(count: int) -> list[bytes]:
    """PNGs of 119 megapixels in one colour, 350 kB each, that differ in a comment alone (PNG specification, 3rd
    edition, section 11)."""
    width, height = 12_000, 9_900

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
    packer = zlib.compressobj(9)
    packed = b"".join([packer.compress(b"\0" + b"\x78\x5a\x3c" * width) for _ in range(height)] + [packer.flush()])
    head = b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
    return [head + chunk(b"tEXt", b"Comment\0" + str(number).encode()) + chunk(b"IDAT", packed) + chunk(b"IEND", b"")
            for number in range(count)]


def tree_of(pid: int) -> list[int]:
    """A process and all that came of it."""
    found = [pid]
    for one in found:
        with suppress(OSError):
            for thread in Path(f"/proc/{one}/task").iterdir():
                found += [int(child) for child in (thread / "children").read_text().split()]
    return found


def memory_mb(pid: int) -> float:
    total = 0
    for one in tree_of(pid):
        with suppress(OSError):
            total += sum(int(line.split()[1]) for line in Path(f"/proc/{one}/smaps_rollup").read_text().splitlines()
                         if line.startswith("Pss:"))
    return total / 1000


def spooled_mb(pid: int) -> float:
    total = 0
    with suppress(OSError):
        for handle in Path(f"/proc/{pid}/fd").iterdir():
            with suppress(OSError):
                total += handle.stat().st_size if os.readlink(handle).endswith("(deleted)") else 0
    return total / 1e6


@dataclass
class Watch:
    """What is seen of a desk while something is done to it."""

    desk: Desk
    asks_s: list[float] = field(default_factory=list)
    memory: float = 0.0
    spooled: float = 0.0
    phone_s: float = float("nan")
    phone: object = ""

    @contextmanager
    def going(self, seed: int) -> Iterator[None]:
        over = threading.Event()
        threads = [threading.Thread(target=watcher, args=(over,)) for watcher in (self._ask, self._weigh)]
        phone = threading.Thread(target=self._send, args=(seed,))
        for thread in (*threads, phone):
            thread.start()
        try:
            yield
        finally:
            phone.join()
            over.set()
            for thread in threads:
                thread.join()

    def _ask(self, over: threading.Event) -> None:
        while not over.wait(0.1):
            begun = time.monotonic()
            try:
                self.desk.ask("GET", "/api/job")
            except OSError as error:
                print(f"    /api/job: {type(error).__name__}")
            self.asks_s.append(time.monotonic() - begun)

    def _weigh(self, over: threading.Event) -> None:
        while not over.wait(0.2):
            self.memory = max(self.memory, memory_mb(self.desk.process.pid))
            self.spooled = max(self.spooled, spooled_mb(self.desk.process.pid))

    def _send(self, seed: int) -> None:
        time.sleep(3.0)
        begun = time.monotonic()
        try:
            self.phone = self.desk.on_link("POST", f"photo?name={seed}.jpg", photo(seed))[0]
        except OSError as error:
            self.phone = type(error).__name__
        self.phone_s = time.monotonic() - begun

    def says(self) -> str:
        return (f"asks {statistics.median(self.asks_s) * 1000:.0f} ms median, {max(self.asks_s):.2f} s slowest of "
                f"{len(self.asks_s)}; "
                f"phone {self.phone} in {self.phone_s:.1f} s; memory {self.memory:.0f} MB; spooled {self.spooled:.0f} "
                "MB")


def waiting_to_be_sent(connected: socket.socket) -> int:
    return struct.unpack("i", fcntl.ioctl(connected, termios.TIOCOUTQ, b"\0\0\0\0"))[0]


class Flood:
    """Connections that push bodies as fast as they are taken."""

    def __init__(self, address: tuple[str, int], head: bytes, count: int) -> None:
        self.head = head
        self.sent: dict[socket.socket, int] = {}
        self.taken: dict[socket.socket, int] = {}
        self.ready = selectors.DefaultSelector()
        for _ in range(count):
            connected = socket.socket()
            connected.settimeout(5)
            with suppress(OSError):
                connected.connect(address)
                connected.sendall(head)
            connected.setblocking(False)
            self.sent[connected] = self.taken[connected] = 0
            self.ready.register(connected, selectors.EVENT_WRITE)

    def push(self, seconds: float) -> float:
        """Send for so long; MB taken in."""
        block, end = b"x" * 65_536, time.monotonic() + seconds
        while time.monotonic() < end:
            if not self.ready.get_map():
                time.sleep(0.1)
                continue
            for key, _ in self.ready.select(0.1):
                self._push(key.fileobj, block)
        return sum(self.taken.values()) / 1e6

    def _push(self, connected: socket.socket, block: bytes) -> None:
        try:
            self.sent[connected] += connected.send(block[:BODY - self.sent[connected]])
            self.taken[connected] = max(self.taken[connected], self.sent[connected] - waiting_to_be_sent(connected))
        except BlockingIOError:
            return
        except OSError:
            self.ready.unregister(connected)
            return
        if self.sent[connected] >= BODY:
            self.ready.unregister(connected)

    def close(self) -> None:
        for connected in self.sent:
            connected.close()


def flood(running: Desk, seconds: float, what: str, head: bytes, *, count: int = 50, on_link: bool = False) -> None:
    parts = urlsplit(running.link)
    watch = Watch(running)
    with watch.going(abs(hash(what)) % 1000):
        pushing = Flood((parts.hostname, parts.port) if on_link else ("127.0.0.1", running.port), head, count)
        taken = pushing.push(seconds)
    pushing.close()
    print(f"{what}: taken in {taken:.1f} MB; {watch.says()}", flush=True)


def half_open(running: Desk, seconds: float, what: str, head: bytes, *, count: int = 150,
              on_link: bool = False) -> None:
    parts = urlsplit(running.link)
    watch = Watch(running)
    with watch.going(abs(hash(what)) % 1000):
        held = Flood((parts.hostname, parts.port) if on_link else ("127.0.0.1", running.port), head, count)
        time.sleep(seconds)
    held.close()
    print(f"{what}: {watch.says()}", flush=True)


def bombs(running: Desk) -> None:
    watch, answers = Watch(running), []

    def send(data: bytes) -> None:
        begun = time.monotonic()
        try:
            answers.append((running.ask("POST", "/api/photos?name=bomb.png", data)[0],
                            round(time.monotonic() - begun, 1)))
        except OSError as error:
            answers.append((type(error).__name__, round(time.monotonic() - begun, 1)))
    made = bombs_of(8)
    with watch.going(77):
        senders = [threading.Thread(target=send, args=(data,)) for data in made]
        for sender in senders:
            sender.start()
        for sender in senders:
            sender.join()
    print(f"8 bombs of {len(made[0]) // 1000} kB at once: {watch.says()}; answered (status, s) "
          f"{sorted(answers, key=str)}", flush=True)


#: Two packs, and how a writer goes from the one to the other.
_MADE = "PACKS = ({f'{n}.txt': b'old' * 20_000 for n in range(12)}, {f'{n}.txt': b'new' * 30_000 for n in range(15)})"
_WRITER = f"""
import pathlib, sys
from desk.jobfile.save import write_folder
{_MADE}
while True:
    for pack in PACKS:
        print('begins', flush=True)
        write_folder(pathlib.Path(sys.argv[1]), pack, foreign=lambda names: set())
"""
PACKS: list[dict[str, bytes]] = [{f"{n}.txt": b"old" * 20_000 for n in range(12)},
                                 {f"{n}.txt": b"new" * 30_000 for n in range(15)}]


def kills(tree: Path, times: int) -> None:
    """Packs written by turns, and killed."""
    count: Counter[str] = Counter()
    rng = random.Random(21)
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "pack"
        for _ in range(times):
            _kill_one(tree, folder, rng)
            there = {path.name: path.read_bytes() for path in folder.iterdir()} if folder.is_dir() else None
            count["no pack" if there is None else "whole" if there in PACKS else "half"] += 1
        count["left beside it"] = len(list(Path(place).iterdir())) - folder.is_dir()
    print(f"a writer of packs killed {times} times: {dict(count)}", flush=True)


def _kill_one(tree: Path, folder: Path, rng: random.Random) -> None:
    with subprocess.Popen([sys.executable, "-c", _WRITER, str(folder)], cwd=tree,
                          env={**os.environ, "PYTHONPATH": str(tree)}, stdout=subprocess.PIPE) as writer:
        for _ in range(rng.randint(2, 6)):
            writer.stdout.readline()
        time.sleep(rng.uniform(0.0, 0.03))
        writer.send_signal(signal.SIGKILL)


def sieges(tree: Path, seconds: float) -> Iterator[Callable[[], None]]:
    """Each on a desk of its own."""
    length = f"Content-Length: {BODY}\r\n\r\n"

    def on_new(work: Callable[[Desk], None]) -> Callable[[], None]:
        def run() -> None:
            with desk(tree) as running:
                work(running)
        return run
    begun = "POST /api/photos HTTP/1.1\r\nHost: "
    foreign = f"{begun}evil.example\r\n{length}".encode()
    yield on_new(lambda d: flood(d, seconds, "50 bodies of 60 MB with a wrong Host", foreign))
    yield on_new(lambda d: flood(d, seconds, "50 bodies of 60 MB with a wrong token",
                                 f"{begun}{d.host}\r\nX-Desk-Token: wrong\r\n{length}".encode()))
    yield on_new(lambda d: flood(d, seconds, "19 bodies of 60 MB on the phone's link, wrong token",
                                 f"POST /wrong/photo HTTP/1.1\r\nHost: {urlsplit(d.link).netloc}\r\n{length}".encode(),
                                 count=19, on_link=True))
    yield on_new(lambda d: half_open(d, seconds, "150 heads that do not end", f"{begun}{d.host}\r\nX-A: ".encode()))
    yield on_new(lambda d: half_open(d, seconds, "150 bodies that do not come, wrong token",
                                     f"{begun}{d.host}\r\n{length}".encode()))
    yield on_new(lambda d: half_open(d, seconds, "150 heads that do not end, on the phone's link",
                                     f"POST / HTTP/1.1\r\nHost: {urlsplit(d.link).netloc}\r\nX-A: ".encode(),
                                     on_link=True))
    yield on_new(bombs)


def main() -> None:
    """Run every siege."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--tree", type=Path, default=HERE)
    parser.add_argument("--seconds", type=float, default=20.0)
    parser.add_argument("--kills", type=int, default=200)
    options = parser.parse_args()
    tree = options.tree.resolve()
    print(
        f"{tree.name}: load of the machine in the last minute {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors",
        flush=True)
    for run in sieges(tree, options.seconds):
        run()
    kills(tree, options.kills)


if __name__ == "__main__":
    main()
