"""A real desk in its own process and a real browser in front of it. Without a browser these tests fail; they never
skip."""
from __future__ import annotations

import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect, sync_playwright

from desk.server.plan_process import Planning
from desk.server.home.site import open_any
from tests.support.hands import PATIENCE_MS
from tests.support.kept_processes import keep_processes, show_once
from tests.support.kept_windows import Watched, Windows
from tests.support.needs import browsers
from tests.support.patience import PATIENCE_S
from tests.support.solved import answer_once

expect.set_options(timeout=PATIENCE_MS)
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update",
         "--disable-sync", "--disable-default-apps", "--no-first-run", "--disable-dev-shm-usage"]


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    path = next(iter(browsers()), None)
    if path is None:
        pytest.fail("No Chromium, Chrome or Edge was found: install one of them, or name one in the variable CHROMIUM.")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=FLAGS, timeout=PATIENCE_MS)
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def windows(chromium: Browser) -> Windows:
    return Windows(chromium)


@pytest.fixture
def open_page(windows: Windows) -> Iterator[Callable[..., Watched]]:
    """Opens an address on a screen of SCREENS, light or dark. Where corners are marked by hand, none are proposed: a tap
    near one would go to it, or not, as the desk is done looking or not."""
    taken = []

    def opened(address: str, screen: str = "laptop", scheme: str = "light", *, sees: bool = False) -> Watched:
        taken.append(windows.take(screen, scheme, sees=sees))
        return taken[-1].open(address)
    yield opened
    for window in taken:
        windows.leave(window)


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

    def started(folder: Path | None = None, *more: str) -> RunningDesk:
        folder = folder or tmp_path / "job"
        process = subprocess.Popen([sys.executable, "-m", "desk.cli", "desk", str(folder), "--no-browser", *more],
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
        opened = open_any(folder, 0)
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
    """The processes of one desk go on to the next, and what they told of a picture."""
    keep_processes(monkeypatch)
    show_once(monkeypatch)


@pytest.fixture(autouse=True)
def answers_once(monkeypatch):
    """The same job is solved and planned once, for whoever asks."""
    answer_once(monkeypatch)


@pytest.fixture
def short_searches(monkeypatch):
    """Plans of a desk in this process are searched for no longer than a preview is, in a process of their own as
    ever."""
    searched = Planning.run

    def run(self, work, *arguments, droppable=True):
        return searched(self, work, *("preview" if isinstance(one, str) and one == "usual" else one
                                      for one in arguments), droppable=droppable)
    monkeypatch.setattr(Planning, "run", run)
