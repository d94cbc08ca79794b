"""The languages a browser wishes for."""
from __future__ import annotations

import re

#: One language of an Accept-Language header with its weight (RFC 9110, 12.5.4).
_WISH = re.compile(r"\s*([A-Za-z0-9-]{1,35}|\*)\s*(?:;\s*q\s*=\s*([01](?:\.\d{0,3})?)\s*)?")


def wished(header: str) -> list[str]:
    """The tags of an Accept-Language header, the dearest first."""
    found = [(float(match[2] or 1), match[1]) for part in header[:400].split(",") if (match := _WISH.fullmatch(part))]
    return [tag for weight, tag in sorted(found, key=lambda one: -one[0]) if weight > 0 and tag != "*"]
