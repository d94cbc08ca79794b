"""A real desk in its own process and a real browser in front of it. Without a browser these tests fail; they never
skip."""
from __future__ import annotations

import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect, sync_playwright

from desk.server.plan_process import Planning
from desk.server.app import open_desk
from tests.support.hands import PATIENCE_MS
from tests.support.kept_processes import keep_processes
from tests.support.needs import browsers
from tests.support.patience import PATIENCE_S
from tests.support.solved import answer_once

expect.set_options(timeout=PATIENCE_MS)
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update",
         "--disable-sync", "--disable-default-apps", "--no-first-run", "--disable-dev-shm-usage"]
SCREENS = {"laptop": {"viewport": {"width": 1366, "height": 800}},
           "phone": {"viewport": {"width": 360, "height": 740}, "device_scale_factor": 2, "has_touch": True,
                     "is_mobile": True},}

NOTHING_SEEN = {"corners": [], "lines": [], "says": "", "against": []}


@dataclass
class Watched:
    """A page with everything it complained of and every address it asked for."""

    page: Page
    errors: list[str] = field(default_factory=list)
    addresses: list[str] = field(default_factory=list)

    def outside(self, home: str) -> list[str]:
        """Addresses that are not the desk's own."""
        return [a for a in self.addresses if not a.startswith((home, f"blob:{home}"))]


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    path = next(iter(browsers()), None)
    if path is None:
        pytest.fail("No Chromium, Chrome or Edge was found: install one of them, or name one in the variable CHROMIUM.")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=FLAGS, timeout=PATIENCE_MS)
        yield browser
        browser.close()


@pytest.fixture
def open_page(chromium: Browser) -> Iterator[Callable[..., Watched]]:
    """Opens an address on a screen of SCREENS, light or dark. Where corners are marked by hand, none are proposed: a tap
    near one would go to it, or not, as the desk is done looking or not."""
    contexts = []

    def opened(address: str, screen: str = "laptop", scheme: str = "light", *, sees: bool = False) -> Watched:
        context = chromium.new_context(**SCREENS[screen], color_scheme=scheme, accept_downloads=True)
        context.set_default_timeout(PATIENCE_MS)
        contexts.append(context)
        watched = Watched(page=context.new_page())
        watched.page.on("console", lambda told: watched.errors.append(told.text)
                        if told.type in ("error", "warning") else None)
        watched.page.on("pageerror", lambda error: watched.errors.append(str(error)))
        context.on("request", lambda request: watched.addresses.append(request.url))
        if not sees:
            watched.page.route("**/api/photos/*/seen", lambda route: route.fulfill(json=NOTHING_SEEN))
        watched.page.goto(address)
        return watched
    yield opened
    for context in contexts:
        context.close()


@dataclass(frozen=True)
class RunningDesk:
    """A desk serving `folder`; `address` as printed, token included. `process` if it runs on its own."""

    folder: Path
    address: str
    process: subprocess.Popen[str] | None = None

    @property
    def home(self) -> str:
        return self.address.partition("#")[0]


@pytest.fixture
def start_desk(tmp_path: Path) -> Iterator[Callable[..., RunningDesk]]:
    """Starts the command as a person would, in a process of its own, and reads the address it prints."""
    running = []

    def started(folder: Path | None = None) -> RunningDesk:
        folder = folder or tmp_path / "job"
        process = subprocess.Popen([sys.executable, "-m", "desk.cli", "desk", str(folder), "--no-browser"],
                                   cwd=tmp_path, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        running.append(process)
        address = process.stdout.readline().strip()
        if not address.startswith("http://127.0.0.1:"):
            pytest.fail(f"The desk printed no address but {address!r}; it complained: {process.stderr.read()}")
        return RunningDesk(folder=folder, address=address, process=process)
    yield started
    for process in running:
        process.terminate()
        process.wait(timeout=PATIENCE_S)
        process.stdout.close()
        process.stderr.close()


@pytest.fixture
def quick_desk(tmp_path: Path) -> Iterator[Callable[..., RunningDesk]]:
    """The same desk in a thread of the tests, for what does not need a process of its own."""
    running = []

    def started(folder: Path | None = None) -> RunningDesk:
        folder = folder or tmp_path / "job"
        opened = open_desk(folder, 0)
        thread = threading.Thread(target=opened.run, daemon=True)
        thread.start()
        running.append((opened, thread))
        return RunningDesk(folder=folder, address=opened.address)
    yield started
    for opened, thread in running:
        opened.stop()
        thread.join(timeout=PATIENCE_S)
        assert not thread.is_alive()


@pytest.fixture(autouse=True)
def processes_kept(monkeypatch):
    """The processes of one desk go on to the next."""
    keep_processes(monkeypatch)


@pytest.fixture(autouse=True)
def answers_once(monkeypatch):
    """The same job is solved and planned once, for whoever asks."""
    answer_once(monkeypatch)


@pytest.fixture
def short_searches(monkeypatch):
    """Plans of a desk in this process are searched for no longer than a preview is, in a process of their own as
    ever."""
    searched = Planning.run

    def run(self, work, job, floor, effort, *, droppable):
        return searched(self, work, job, floor, "preview" if effort == "usual" else effort, droppable=droppable)
    monkeypatch.setattr(Planning, "run", run)
