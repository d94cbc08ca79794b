"""Digests by which parts of a job are known again.

A digest is made of what is meant, not of how it was written: the order of keys, or 3 for 3.0, change nothing. It is a
check sum, not a signature: it finds what a slip, an editor or another program changed, not what somebody forges on
purpose.
"""
from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from typing import Any

from capture.language.messages import lazy_gettext
from layout.planfile.reader import damaged, shown

#: The keys of a kept plan that hold digests, or what has digests of its own.
DIGESTS, KEPT = "digests", "kept"


def digest_of(part: Any) -> str:
    """The digest of JSON data."""
    return hashlib.sha256(json.dumps(_plain(part), sort_keys=True).encode()).hexdigest()[:16]


def with_digests(plan: Mapping[str, Any]) -> dict[str, Any]:
    """A plan as it is kept, with a digest of every key, and one of everything under `kept`."""
    parts = {key: value for key, value in plan.items() if key not in (DIGESTS, KEPT)}
    made = parts | {DIGESTS: {key: digest_of(value) for key, value in parts.items()}}
    if KEPT in plan:
        kept = {key: value for key, value in plan[KEPT].items() if key != "digest"}
        made[KEPT] = kept | {"digest": digest_of(kept)}
    return made


def refuse_altered(plan: Mapping[str, Any]) -> bool:
    """Whether the plan has digests; raises LayoutError (damaged-plan) for the first key that is not as it was kept.

    A plan of another program, or of a version from before there were any, has none.
    """
    kept = plan.get(KEPT)
    if DIGESTS not in plan and not (isinstance(kept, Mapping) and "digest" in kept):
        return False
    told = plan.get(DIGESTS)
    if not isinstance(told, Mapping):
        raise damaged(f"plan.{DIGESTS}", lazy_gettext("is {value}, not a digest of every key", value=shown(told))
                      if DIGESTS in plan else lazy_gettext("is missing"))
    if isinstance(kept, Mapping) and "digest" not in kept:
        raise damaged("plan.kept.digest", lazy_gettext("is missing"))
    for key, value in plan.items():
        if key not in (DIGESTS, KEPT) and told.get(key) != digest_of(value):
            raise _altered(f"plan.{key}", value)
    gone = next((key for key in told if key not in plan), None)
    if gone is not None:
        raise damaged(f"plan.{gone}", lazy_gettext("is missing"))
    return True


def refuse_altered_kept(kept: Mapping[str, Any]) -> bool:
    """The same for what a plan was made of."""
    if "digest" not in kept:
        return False
    if kept["digest"] != digest_of({key: value for key, value in kept.items() if key != "digest"}):
        raise damaged("plan.kept", lazy_gettext("was changed since the plan was kept"))
    return True


def _altered(where: str, value: Any) -> Exception:
    if isinstance(value, (Mapping, list)):
        return damaged(where, lazy_gettext("was changed since the plan was kept"))
    return damaged(where, lazy_gettext("is {value}, which is not what was kept", value=shown(value)))


def _plain(part: Any) -> Any:
    if isinstance(part, Mapping):
        return {key: _plain(value) for key, value in part.items()}
    if isinstance(part, (list, tuple)):
        return [_plain(member) for member in part]
    return float(part) if isinstance(part, int) and not isinstance(part, bool) and abs(part) < 2 ** 53 else part
