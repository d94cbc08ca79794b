"""Two folders change places in one step, where the system offers that: whoever looks finds the one or the other, and a
kill leaves both.

Linux: renameat2(2) with RENAME_EXCHANGE; macOS: renamex_np(2) with RENAME_SWAP. Windows has no such step for folders.
"""
from __future__ import annotations

import ctypes
import errno
import os
import sys
from pathlib import Path

_AT_FDCWD, _RENAME_EXCHANGE, _RENAME_SWAP = -100, 2, 2
#: The system or this file system does not know the step.
_UNKNOWN = (errno.ENOSYS, errno.EINVAL, errno.ENOTSUP, errno.EOPNOTSUPP)


def exchange(one: Path, other: Path) -> bool:
    """Exchange two paths of one file system; False, with nothing done, where there is no step for it. Raises
    OSError."""
    try:
        done = _exchanged(os.fsencode(one), os.fsencode(other))
    except (AttributeError, OSError):
        return False  # a system, or a C library, without it
    code = ctypes.get_errno()
    if done != 0 and code not in _UNKNOWN:
        raise OSError(code, os.strerror(code), str(one))
    return done == 0


def _exchanged(one: bytes, other: bytes) -> int:
    """The system's answer, 0 for done. Raises AttributeError or OSError where it cannot be asked."""
    if sys.platform == "win32":
        raise AttributeError("no exchange of folders")
    library = ctypes.CDLL(None, use_errno=True)
    if sys.platform == "darwin":
        return int(library.renamex_np(one, other, _RENAME_SWAP))
    return int(library.renameat2(_AT_FDCWD, one, _AT_FDCWD, other, _RENAME_EXCHANGE))
