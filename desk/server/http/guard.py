"""Who may talk to the desk: rules over request headers alone, no socket.

Binding to 127.0.0.1 does not keep other pages in the same browser out: any of them can send requests to it, and a
name that is re-pointed to the loopback address makes the answers readable. So the Host must be one of a few exact
values, a browser's own word on where a request comes from is believed when it says "elsewhere", and everything
that reads or changes the job needs a token other pages do not know.
Sources: Fetch Metadata Request Headers (W3C), RFC 6454 (Origin), RFC 9110 15.5.20 (421 Misdirected Request).
"""
from __future__ import annotations

import re
import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from capture.language.messages import gettext

#: Header that carries the token. A custom header cannot be sent across origins without a permission we never give.
TOKEN_HEADER = "X-Desk-Token"

#: Sent with every answer. No outside source, no framing, no sniffing, nothing kept in a cache.
SAFE_HEADERS = (
    ("Content-Security-Policy",
     "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; connect-src 'self'; "
     "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"),
    ("X-Content-Type-Options", "nosniff"),
    ("Referrer-Policy", "no-referrer"),
    ("Cache-Control", "no-store"),
    ("Cross-Origin-Opener-Policy", "same-origin"),
    ("Cross-Origin-Resource-Policy", "same-origin"),
)

_READING = ("GET", "HEAD")
_CHANGING = ("POST", "PUT")
_OPEN = re.compile(r"/|/favicon[.]ico|/(?:[a-z]+/)?[a-z]+[.](css|js|svg)|/pack/[A-Za-z0-9_-]+/[A-Za-z0-9_./ -]+")


@dataclass(frozen=True, slots=True, kw_only=True)
class Refusal:
    """Why a request is turned away: HTTP status and one sentence."""

    status: int
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Guard:
    """The exact Host values the desk answers to, and the token of this run."""

    hosts: tuple[str, ...]
    token: str

    def find_refusal(self, method: str, path: str, headers: Mapping[str, str]) -> Refusal | None:
        """The reason to refuse this request, or None. `headers` maps canonical names ("Host") to values."""
        if headers.get("Host", "") not in self.hosts:
            return Refusal(status=421, says=gettext(
                "The desk only answers at the address it printed when it started."))
        if method not in _READING + _CHANGING:
            return Refusal(status=405, says=gettext("The desk does not know the method {method}.", method=method[:12]))
        if self._is_from_elsewhere(method, path, headers):
            return Refusal(status=403, says=gettext("The desk does not take requests from other web pages."))
        if _needs_token(method, path) and not self._has_token(headers):
            return Refusal(status=403, says=gettext(
                "This window does not have the desk's key: open the address the desk printed when it started."))
        return None

    def _is_from_elsewhere(self, method: str, path: str, headers: Mapping[str, str]) -> bool:
        origin = headers.get("Origin")
        if origin is not None and origin not in tuple(f"http://{host}" for host in self.hosts):
            return True
        site = headers.get("Sec-Fetch-Site", "none")
        if site in ("none", "same-origin"):
            return False
        # A link in a mail or a note may lead to the page itself; the page alone tells nothing about the job.
        return not (method in _READING and path == "/" and headers.get("Sec-Fetch-Mode") == "navigate"
                    and headers.get("Sec-Fetch-Dest") == "document")

    def _has_token(self, headers: Mapping[str, str]) -> bool:
        return _same(headers.get(TOKEN_HEADER, ""), self.token)


@dataclass(frozen=True, slots=True, kw_only=True)
class LinkGuard:
    """Who may use the link a phone sends pictures over. It stands on the local network, so it opens nothing but its own
    few paths.

    host: the one Host value; token: the first part of every path; seal: what the first phone to open the link is given
    as a cookie, and must show from then on, so that a link seen over a shoulder opens nothing any more.
    """

    host: str
    token: str
    seal: str

    def find_refusal(self, method: str, path: str, headers: Mapping[str, str], *, is_taken: bool) -> Refusal | None:
        """The reason to refuse this request, or None. is_taken: a phone has opened the link already."""
        if headers.get("Host", "") != self.host:
            return Refusal(status=421, says=gettext("The link only works at the address the code holds."))
        if method not in ("GET", "POST"):
            return Refusal(status=405, says=gettext("The link does not know the method {method}.", method=method[:12]))
        own = f"http://{self.host}"
        if headers.get("Origin", own) != own or headers.get("Sec-Fetch-Site", "none") not in ("none", "same-origin"):
            return Refusal(status=403, says=gettext("The link does not take requests from other web pages."))
        key, _, place = path[1:].partition("/")
        if not _same(key, self.token):
            return Refusal(status=404, says=gettext("There is nothing at this address."))
        is_first = method == "GET" and place == "" and not is_taken
        if not is_first and not _same(_cookie(headers.get("Cookie", "")), self.seal):
            return Refusal(status=403, says=gettext(
                "This link was opened by another phone or browser already; ask the desk for a new code."))
        return None


#: The cookie's name.
SEAL = "seal"


def headers_of(environ: Mapping[str, Any]) -> dict[str, str]:
    """Headers of a request (PEP 3333) by canonical name."""
    return {key[5:].replace("_", "-").title(): value for key, value in environ.items() if key.startswith("HTTP_")}


def _cookie(text: str) -> str:
    pairs = (part.strip().partition("=") for part in text.split(";"))
    return next((value for name, _, value in pairs if name == SEAL), "")


def _same(one: str, other: str) -> bool:
    return secrets.compare_digest(one.encode("utf-8", "replace"), other.encode())


def new_link_guard(host: str) -> LinkGuard:
    """A guard for one link at "address:port", with two fresh 128-bit secrets."""
    return LinkGuard(host=host, token=secrets.token_urlsafe(16), seal=secrets.token_urlsafe(16))


def new_guard(port: int) -> Guard:
    """A guard for 127.0.0.1:port with a fresh 128-bit token."""
    return Guard(hosts=(f"127.0.0.1:{port}", f"localhost:{port}"), token=secrets.token_urlsafe(16))


def _needs_token(method: str, path: str) -> bool:
    # Only what holds nothing of the job is open; /pack/<key>/... carries its own unguessable key, so that a browser tab
    # and a download can open it. Whatever a router may make of an odd path, it is not on this list.
    return method in _CHANGING or not _OPEN.fullmatch(path)
