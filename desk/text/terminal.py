"""Letters a terminal or a file has not: each is written as near to it as plain letters come, in one place, where
words leave the program."""
from __future__ import annotations

import codecs
import io
from collections.abc import Iterable

#: Signs for which people have a way of typing them; other letters are written in Latin ones.
_TYPED = {"±": "+/-", "×": "x", "−": "-", "–": "-", "’": "'", "→": "->", "²": "2"}
_NAME = "nearest"


def speak_plainly(streams: Iterable[object]) -> None:
    """Let streams write what their encoding lacks as `nearest` letters, instead of question marks or an error."""
    codecs.register_error(_NAME, _nearest)
    for stream in streams:
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors=_NAME)


def _nearest(error: UnicodeError) -> tuple[str | bytes, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    from anyascii import anyascii  # a table that few terminals need
    lacking = error.object[error.start:error.end]
    return "".join(_TYPED.get(letter) or anyascii(letter) or "?" for letter in lacking), error.end
