"""What some tests need beside Python, where it is looked for on this machine, and how it is got: a browser and
photographs.

Chromium, Chrome and Edge are one engine, driven alike; the variable CHROMIUM names another of that engine.
"""
from __future__ import annotations

import os
import re
import shutil
import subprocess
from collections.abc import Mapping
from pathlib import Path

#: What a browser is called on the path (Linux; on others too where somebody put it there).
COMMANDS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome", "microsoft-edge",
            "microsoft-edge-stable", "msedge")
#: Where macOS and Windows install them, from "/" and from the folders these variables name.
MAC_APPS = tuple(f"Applications/{name}.app/Contents/MacOS/{name}"
                 for name in ("Chromium", "Google Chrome", "Microsoft Edge"))
WINDOWS_FOLDERS = ("PROGRAMFILES", "PROGRAMFILES(X86)", "LOCALAPPDATA")
WINDOWS_APPS = ("Chromium/Application/chrome.exe", "Google/Chrome/Application/chrome.exe",
                "Microsoft/Edge/Application/msedge.exe")
#: Photographs of a board with known plane geometry, as the Debian package opencv-doc lays them.
PHOTOGRAPHS = Path("/usr/share/doc/opencv-doc/examples/data")


def browsers(variables: Mapping[str, str] = os.environ, root: Path = Path("/")) -> list[str]:
    """The browsers found by their usual names and places, best first; the one that CHROMIUM names alone, if it names
    one."""
    if named := variables.get("CHROMIUM"):
        return [named]
    on_path = [found for command in COMMANDS if (found := shutil.which(command, path=variables.get("PATH")))]
    places = [folder / app for folder in (root, Path.home()) for app in MAC_APPS]
    places += [Path(variables[folder]) / app for folder in WINDOWS_FOLDERS if folder in variables
               for app in WINDOWS_APPS]
    return on_path + [str(place) for place in places if place.exists()]


def photographs() -> bool:
    return (PHOTOGRAPHS / "left01.jpg").exists()


def fetch_by_debian(packages: list[str]) -> str:
    """Install packages with apt-get. Returns why that was not possible, "" where it was."""
    if not shutil.which("apt-get"):
        return "this system has no apt-get"
    if getattr(os, "geteuid", lambda: -1)() != 0:
        return "apt-get needs root"
    quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    for step in (["apt-get", "update", "-q"], ["apt-get", "install", "-q", "-y", "--no-install-recommends", *packages]):
        done = subprocess.run(step, env=quiet, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True)
        if done.returncode:
            return f"'{' '.join(step[:2])}' failed: {_cause(done.stderr)}"
    return ""


#: Starts the browser named by its argument, or Playwright's own, and prints which it was.
START = """
import sys
from playwright.sync_api import sync_playwright
with sync_playwright() as playwright:
    path = (sys.argv[1:] or [playwright.chromium.executable_path])[0]
    playwright.chromium.launch(executable_path=path, args=["--no-sandbox", "--disable-gpu"], timeout=300_000).close()
    print(path)
"""


def start_browser(python: str, path: str = "") -> tuple[str, str]:
    """(browser, "") if that browser starts, or Playwright's own where none is named; ("", why) if it does not."""
    done = subprocess.run([python, "-c", START, *([path] if path else [])], capture_output=True, text=True)
    if done.returncode:
        return "", f"{path or 'its own browser'} does not start: {_cause(done.stderr)}"
    return done.stdout.strip(), ""


def fetch_by_playwright(python: str) -> tuple[str, str]:
    """(browser, "") with the one Playwright's own installer fetches, if it is not there yet; ("", why) without."""
    found, why = start_browser(python)
    if found:
        return found, ""
    done = subprocess.run([python, "-m", "playwright", "install", "chromium"], stdout=subprocess.DEVNULL,
                          stderr=subprocess.PIPE, text=True)
    if done.returncode:
        return "", f"Playwright's installer failed: {_cause(done.stderr)}"
    found, why = start_browser(python)
    return found, f"Playwright installed it, but {why}" if why else ""


def _cause(told: str) -> str:
    """The line of a program's complaint that says what is wrong."""
    lines = [line.strip() for line in told.splitlines() if line.strip()]
    return next((line for line in lines if re.match(r"(\S*Error|E): ", line)),
                lines[-1] if lines else "it does not say why")
