"""Browser windows that go on to the next test: a new one takes Chromium longer than the page takes to load.

A window is handed on blank, of its first size and colours, with nothing routed or stored and no button held; one that
cannot be made so is closed. Each desk has a port, and so an origin, of its own. Windows are of somebody who wants less
motion: what turns while the desk works has every frame painted anew, without a graphics card by the processor.
"""
from __future__ import annotations

import json
from dataclasses import dataclass, field
from typing import Any

from playwright.sync_api import Browser, BrowserContext, Error, Page

from tests.support.hands import PATIENCE_MS

SCREENS: dict[str, dict[str, Any]] = {
    "laptop": {"viewport": {"width": 1366, "height": 800}},
    "phone": {"viewport": {"width": 360, "height": 740}, "device_scale_factor": 2, "has_touch": True,
              "is_mobile": True},
}
#: An address of the desks' site that no desk answers at: leaving it for one of theirs takes no new process.
_BLANK = "http://127.0.0.1/blank"
#: It bears an icon of its own: the browser asks for /favicon.ico otherwise, and the refusal may come only when the next
#: test listens.
_BLANK_PAGE = '<link rel="icon" href="data:,">'
#: What the desk says of a picture in which it sees no corner.
NOTHING_SEEN: dict[str, Any] = {"corners": [], "lines": [], "says": "", "against": []}
#: The page is told so without a request: to hold one back, Playwright takes every other in its hand as well.
_TELLS_NOTHING_SEEN = """{
const nothing = """ + json.dumps(NOTHING_SEEN) + """, asked = window.fetch;
window.fetch = (where, ...more) => /\\/api\\/photos\\/[^/]+\\/seen$/.test(where)
  ? Promise.resolve(Response.json(nothing)) : asked(where, ...more);
}"""


@dataclass
class Watched:
    """A page with everything it complained of and every address it asked for."""

    page: Page
    errors: list[str] = field(default_factory=list)
    addresses: list[str] = field(default_factory=list)

    def outside(self, home: str) -> list[str]:
        """Addresses that are not the desk's own."""
        return [a for a in self.addresses if not a.startswith((home, f"blob:{home}"))]


@dataclass(eq=False)
class Window:
    """A window on a screen of SCREENS, light or dark; whoever watches it hears what its page says."""

    context: BrowserContext
    page: Page
    screen: str
    scheme: str
    sees: bool
    watched: Watched | None = None

    def open(self, address: str) -> Watched:
        """The page at an address, watched from now on."""
        self.watched = watched = Watched(page=self.page)
        self.page.goto(address)
        return watched

    def hear(self, *, error: str = "", address: str = "") -> None:
        """What the page complained of or asked for."""
        if self.watched is not None:
            self.watched.errors += [error] if error else []
            self.watched.addresses += [address] if address else []

    def empty(self) -> None:
        """Blank, as new. Raises Error where it is not to be had."""
        self.watched = None
        page = self.page
        page.evaluate("() => { try { sessionStorage.clear(); localStorage.clear(); } catch { /* nothing kept */ } }")
        page.unroute_all(behavior="ignoreErrors")
        page.route(_BLANK, lambda route: route.fulfill(body=_BLANK_PAGE, content_type="text/html"))
        page.goto(_BLANK)
        page.unroute_all()
        page.mouse.up()
        page.mouse.move(0, 0)
        page.set_viewport_size(SCREENS[self.screen]["viewport"])
        page.emulate_media(color_scheme=self.scheme, reduced_motion="reduce")


class Windows:
    """The windows of one browser."""

    def __init__(self, browser: Browser) -> None:
        self._browser = browser
        self._free: list[Window] = []

    def take(self, screen: str, scheme: str, *, sees: bool) -> Window:
        """A blank window, for `leave` to have back. sees: whether corners are proposed in its photos."""
        for window in self._free:
            if (window.screen, window.scheme, window.sees) == (screen, scheme, sees):
                self._free.remove(window)
                return window
        return self._new(screen, scheme, sees)

    def leave(self, window: Window) -> None:
        """Have a window back."""
        try:
            window.empty()
        except Error:
            window.context.close()
        else:
            self._free.append(window)

    def _new(self, screen: str, scheme: str, sees: bool) -> Window:
        # A reader whose region measures in metres; a browser left to itself says "en-US".
        context = self._browser.new_context(**SCREENS[screen], color_scheme=scheme, reduced_motion="reduce",
                                            accept_downloads=True, locale="en-GB")
        context.set_default_timeout(PATIENCE_MS)
        if not sees:
            context.add_init_script(_TELLS_NOTHING_SEEN)
        window = Window(context=context, page=context.new_page(), screen=screen, scheme=scheme, sees=sees)
        window.page.on("console", lambda told: window.hear(error=f"{told.text} ({told.location['url']})")
                       if told.type in ("error", "warning") else None)
        window.page.on("pageerror", lambda error: window.hear(error=str(error)))
        context.on("request", lambda request: window.hear(address=request.url))
        return window
