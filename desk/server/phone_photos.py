"""Photos sent by a phone: the link that is open for it, and what came that no job has noted yet."""
from __future__ import annotations

from collections.abc import Callable
from typing import Any

from desk.server.phone_link import PhoneLink, Reader, code_of, in_english, lan_address


class PhonePhotos:
    """The phone's link, opened on request, and what arrived over it.

    take: keeps a picture's bytes, called so; its facts. reader: see `PhoneLink`.
    """

    def __init__(self, take: Callable[..., dict[str, Any]], reader: Reader = in_english) -> None:
        self._take, self._reader = take, reader
        self.current: PhoneLink | None = None
        self._arrived: list[dict[str, Any]] = []

    def open(self) -> dict[str, Any]:
        """Open a link for a phone, if none is open, and tell of it. Raises JobFileError (no-network)."""
        if self.current is None or not self.current.is_open:
            self.current = PhoneLink(self._take_from_phone, address=lan_address(), reader=self._reader)
        return self.state()

    def close(self) -> dict[str, Any]:
        """Close the phone's link, if there is one."""
        if self.current is not None:
            self.current.close()
        return self.state()

    def state(self) -> dict[str, Any]:
        """How the link stands: what its code holds, how long it stays open, and what came that no job has noted."""
        told: dict[str, Any] = {"open": False, "arrived": list(self._arrived)}
        if self.current is None or not self.current.is_open:
            return told
        return told | {"open": True, "href": self.current.href, "code": code_of(self.current.href),
                       "left_s": round(self.current.left_s)}

    def forget(self, noted: Callable[[], set[str]]) -> None:
        """Take out what a saved job names by now; `noted` is asked only if anything has arrived."""
        files = noted() if self._arrived else set()
        for told in [told for told in self._arrived if told["file"] in files]:
            self._arrived.remove(told)  # in the list itself: a phone may be adding to it

    def _take_from_phone(self, data: bytes, name: str) -> None:
        self._arrived.append({"name": name, **self._take(data, name=name)})
