"""Verdicts on mutants, one JSON line each as it is found, so that a long run can go on later.

They lie in the cache folder under the hash of everything that they depend on: an edit of the law,
of a claim or of the tour begins a new file.
"""

import hashlib
import json
from collections.abc import Iterable
from importlib.metadata import version
from pathlib import Path

from diodewright.sim.engine import cache_root

Row = dict[str, object]


def digest(paths: Iterable[Path], *more: str) -> str:
    """Return the hash of the files' texts and of `more`."""
    found = hashlib.sha256()
    for path in sorted(paths):
        found.update(path.name.encode() + b"\0" + path.read_bytes())
    for each in more:
        found.update(each.encode() + b"\0")
    return found.hexdigest()[:16]


class Kept:
    """The verdicts of one kind, by mutant; what was found before is there at once."""

    def __init__(self, kind: str, key: str) -> None:
        self.path = cache_root() / "mutants" / f"{kind}-{key}.jsonl"
        self.path.parent.mkdir(exist_ok=True)
        self.rows: dict[str, Row] = {}
        if self.path.exists():
            for line in self.path.read_text(encoding="utf-8").splitlines():
                if line.endswith("}"):  # the last may be cut off
                    row = json.loads(line)
                    self.rows[row["name"]] = row

    def add(self, row: Row) -> None:
        """Keep one verdict, on disk at once."""
        self.rows[str(row["name"])] = row
        with self.path.open("a", encoding="utf-8") as file:
            file.write(json.dumps(row) + "\n")

    def forget(self) -> None:
        """Begin anew."""
        self.rows.clear()
        self.path.unlink(missing_ok=True)


def of_package(name: str) -> str:
    """Return the name and version of an installed package that verdicts depend on."""
    return f"{name} {version(name)}"
