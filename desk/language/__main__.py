"""``python -m desk.language [--update] [TAG ...]``: what the catalogues lack."""
from __future__ import annotations

import argparse
import sys
from collections import Counter
from importlib import resources
from pathlib import Path

from desk.language.catalogues import OFFERED
from desk.language.extraction import template
from desk.language.missing import lacks_of, read_catalogue, updated


def main() -> int:
    """Say what each catalogue lacks, or bring it up to date first; 1 where an offered language lacks something."""
    parser = argparse.ArgumentParser(prog="python -m desk.language", description="Says what the catalogues lack.")
    parser.add_argument("tags", metavar="TAG", nargs="*", help="language, such as de (default: every one begun)")
    parser.add_argument("--update", action="store_true", help="first put in new sentences, empty; take out old ones")
    options = parser.parse_args()
    folder, wanted, status = Path(str(resources.files("capture.language"))) / "catalogues", template(), 0
    for tag in options.tags or sorted(path.stem for path in folder.glob("*.po")):
        path = folder / f"{tag}.po"
        if options.update:
            path.write_bytes(updated(read_catalogue(path, tag), wanted))
        lacks = lacks_of(read_catalogue(path, tag), wanted)
        whys = Counter(lack.why for lack in lacks)
        print(f"{tag}: {len(lacks)} of {len(wanted)} sentences to do", *(f"{n} {why}" for why, n in whys.items()),
              sep=", ")
        for lack in lacks:
            print(f"  {lack.why}: {lack.sentence}")
        status |= bool(lacks) and tag in OFFERED
    return status


if __name__ == "__main__":
    sys.exit(main())
