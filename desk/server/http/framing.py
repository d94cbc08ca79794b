"""Whether a request's head says without doubt where it goes and how long its body is: rules over the head alone, no
socket.

The desk takes bodies of a known length only, so a request with a transfer coding is turned away, and a mistake in one
cannot be made. Sources: RFC 9112, sections 3.2 (request target, Host), 6.1 and 6.3 (length of a message); RFC 9110,
sections 10.1.1 (Expect) and 15.5.
"""
from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from urllib.parse import unquote_to_bytes

from capture.language.messages import gettext
from desk.server.http.guard import Refusal


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """What is known of a request before its body.

    path: percent-decoded, one character a byte (latin-1), as PEP 3333 wants it; length: of the body, bytes; headers by
    canonical name.
    """

    method: str
    path: str
    query: str
    version: str
    headers: Mapping[str, str]
    length: int


def read_head(method: str, target: str, version: str, values: Callable[[str], Sequence[str]],
              headers: Mapping[str, str]) -> Head | Refusal:
    """The head of a request, or why it cannot be relied on. values: every value a header was sent with, by its name."""
    hosts, lengths = values("Host"), values("Content-Length")
    if len(hosts) > 1 or (version == "HTTP/1.1" and not hosts):
        return Refusal(status=400, says=gettext("A request names its Host once."))
    refusal = _coding_refused(version, values("Transfer-Encoding"), lengths) or _expectation_refused(values("Expect"))
    if refusal is not None:
        return refusal
    if len(lengths) > 1 or not all(length.isascii() and length.isdecimal() and len(length) <= 15 for length in lengths):
        return Refusal(status=400, says=gettext("A request says the length of its body once, as a number."))
    place = _place_in(target, "".join(hosts))
    if place is None:
        return Refusal(status=421, says=gettext("The desk only answers for itself."))
    path, _, query = place.partition("?")
    return Head(method=method, path=unquote_to_bytes(path).decode("latin-1"), query=query, version=version,
                headers=headers, length=int(lengths[0]) if lengths else 0)


def _coding_refused(version: str, codings: Sequence[str], lengths: Sequence[str]) -> Refusal | None:
    if not codings:
        return None
    if lengths or version != "HTTP/1.1":
        return Refusal(status=400,
                       says=gettext(
                           "A request has a length or a transfer coding, and the latter since HTTP/1.1 only."))
    if [coding.strip().lower() for coding in ",".join(codings).split(",")] != ["chunked"]:
        return Refusal(status=501, says=gettext("The desk knows no such transfer coding."))
    return Refusal(status=411, says=gettext("The desk takes only what says its length beforehand."))


def _expectation_refused(expected: Sequence[str]) -> Refusal | None:
    if all(words.lower() == "100-continue" for words in expected):
        return None
    return Refusal(status=417, says=gettext("The desk cannot do what this request expects."))


def _place_in(target: str, host: str) -> str | None:
    """The path and query of a request target; None for one in absolute form that names another host than the Host
    header."""
    if not target.lower().startswith("http://"):
        return target
    authority, slash, rest = target[len("http://"):].partition("/")
    return slash + rest or "/" if authority == host else None
