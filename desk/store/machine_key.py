"""A secret of this user's machine, by which the desk knows again what it wrote itself beside a job.

A folder may come by mail, and whoever made it can make every digest in it; a seal made with this secret they cannot
make (HMAC, RFC 2104). It lies beside the settings (`desk.store.settings`); where those are kept nowhere, or the disk
refuses, the secret lasts as long as the process.
"""
from __future__ import annotations

import hmac
import json
import os
import secrets
from functools import cache
from pathlib import Path
from typing import Any

from desk.store.settings import settings_path

_NAME, _BYTES = "seal.key", 32


def seal_of(tree: Any) -> str:
    """What only this machine makes of JSON data; the order of keys changes nothing. Raises ValueError for what is no
    JSON."""
    told = json.dumps(tree, sort_keys=True, allow_nan=False).encode()
    return hmac.digest(_key(settings_path()), told, "sha256").hex()


def is_sealed(tree: Any, seal: object) -> bool:
    """Whether this machine made the seal, of this very data."""
    return isinstance(seal, str) and seal.isascii() and hmac.compare_digest(seal, seal_of(tree))


def _key(settings: Path | None) -> bytes:
    if settings is None:
        return _of_this_process()
    path = settings.with_name(_NAME)
    try:
        key = _read(path) or _made(path)
    except OSError:
        return _of_this_process()
    return key or _of_this_process()


def _read(path: Path) -> bytes:
    """The secret; nothing where there is none of the right length."""
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        return b""
    return data if len(data) == _BYTES else b""


def _made(path: Path) -> bytes:
    """A new secret, that only this user may read; of two processes that make one at once, one has its way."""
    path.parent.mkdir(parents=True, exist_ok=True)
    own = path.with_name(f".{_NAME}.{secrets.token_hex(4)}.part")
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    with os.fdopen(os.open(own, flags, 0o600), "wb") as file:
        file.write(secrets.token_bytes(_BYTES))
    os.replace(own, path)
    return _read(path)


@cache
def _of_this_process() -> bytes:
    return secrets.token_bytes(_BYTES)
