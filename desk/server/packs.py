"""Files made in this run, held until they are fetched: packs, changed pages, floor targets."""
from __future__ import annotations

import io
import secrets
import zipfile
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from capture.language.messages import gettext
from desk.problem import file_error

_PACKS_KEPT = 3
_MEDIA = {".pdf": "application/pdf", ".svg": "image/svg+xml", ".csv": "text/csv; charset=utf-8",
          ".json": "application/json", ".dxf": "image/vnd.dxf"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Download:
    """Bytes to send with their media type; `name` only if the browser is to save them."""

    data: bytes
    media: str
    name: str = ""


class Packs:
    """The last few sets of files, each under an unguessable key."""

    def __init__(self) -> None:
        self._held: OrderedDict[str, Mapping[str, bytes]] = OrderedDict()

    def hold(self, files: Mapping[str, bytes]) -> str:
        """Hold files ready to be fetched; returns the address they lie under."""
        key = secrets.token_urlsafe(16)
        self._held[key] = files
        while len(self._held) > _PACKS_KEPT:
            self._held.popitem(last=False)
        return f"/pack/{key}"

    def file(self, key: str, name: str) -> Download:
        """One file of a set that was made in this run, or all of them as "pack.zip". Raises JobFileError (no-pack)."""
        files = self._held.get(key)
        if files is None or (name != "pack.zip" and name not in files):
            raise file_error("no-pack", gettext("This pack is no longer at hand; make it again on the page."))
        if name == "pack.zip":
            return Download(data=_zipped(files), media="application/zip", name="tapegroove-pack.zip")
        media = _MEDIA.get(Path(name).suffix, "application/octet-stream")
        return Download(data=files[name], media=media, name="" if media == "application/pdf" else Path(name).name)


def _zipped(files: Mapping[str, bytes]) -> bytes:
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in sorted(files.items()):
            archive.writestr(name, data)
    return target.getvalue()
