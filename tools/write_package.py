"""Write firmware/package.json: what MicroPython's own package tool copies, in its order.

``python tools/write_package.py`` writes it; with ``--check`` it only says whether it is stale.
Paths are relative to the file itself: it installs from a copy of this tree, or from where one is
served. `main.py` comes last, so that an install that is cut short leaves no program.
"""

import json
import sys
from pathlib import Path

from page import write_or_check

from diodewright import __version__
from diodewright.bench.image import sources

FIRMWARE = Path(__file__).parents[1] / "firmware"


def package() -> str:
    """Return the manifest's text."""
    urls = [[path, source.relative_to(FIRMWARE).as_posix()] for path, source in sources().items()]
    return json.dumps({"urls": urls, "version": __version__}, indent=1) + "\n"


if __name__ == "__main__":
    sys.exit(write_or_check(FIRMWARE / "package.json", package()))
