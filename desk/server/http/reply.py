"""A whole answer to a request, and what it takes to give one: types."""
from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import IO, Protocol

from desk.server.http.framing import Head
from desk.server.http.guard import Refusal

Headers = Sequence[tuple[str, str]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """A whole answer."""

    status: int
    headers: Headers
    data: bytes


class Answering(Protocol):
    """Who judges and answers what comes over connections. safe: headers of every answer; taken: bytes of bodies that
    were let in."""

    safe: Headers
    taken: int

    def judge(self, head: Head, /) -> Answer | None:
        """The answer by which a request is turned away, or None: then its body may come."""

    async def call(self, head: Head, body: IO[bytes]) -> Answer:
        """The answer to a whole request."""
        raise NotImplementedError


def refused(refusal: Refusal, headers: Headers) -> Answer:
    """A refusal in JSON, with these headers."""
    data = json.dumps({"says": refusal.says, "slug": "refused", "where": ""}).encode()
    return Answer(status=refusal.status, headers=[("Content-Type", "application/json"), *headers], data=data)
