"""A long solve is heard, and can be ended: whoever starts it may listen to what it does.

The solver calls `tell` at every step; a listener that raises ends the solve there, and what it raised is what the
caller gets. Without a listener nothing happens.
"""
from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Literal

#: What a solve does beyond its first search: none of its floors fits well enough, so it searches more widely; photos
#: are left out one at a time.
Doing = Literal["wide-search", "photo-by-photo"]
Listener = Callable[[Doing | None], None]

_LISTENER: ContextVar[Listener | None] = ContextVar("listener", default=None)


@contextmanager
def heard_by(listener: Listener) -> Iterator[None]:
    """Solves begun within are told to the listener: None at every step, and what they do where that changes."""
    token = _LISTENER.set(listener)
    try:
        yield
    finally:
        _LISTENER.reset(token)


def tell(doing: Doing | None = None) -> None:
    """Called by a solve as it goes on. Raises what the listener raises."""
    listener = _LISTENER.get()
    if listener is not None:
        listener(doing)
