"""What many verbs share: the arguments and options of the command line."""

from pathlib import Path
from typing import Any

import click

from diodewright.report import completion

__all__ = ["BUILD", "FILE", "FOLDER", "JSON", "SEED"]

BUILD = click.argument("build", shell_complete=completion.builds)
JSON = click.option("--json", "as_json", is_flag=True, help="Print one JSON document instead.")
SEED = click.option("--seed", default=1, show_default=True, type=click.IntRange(1, 2**31 - 1))


class _Place(click.Path):
    """A folder or file to write to; an empty name is a shell variable without a value."""

    def __init__(self, what: str, mend: str = "") -> None:
        super().__init__(file_okay=what == "file", dir_okay=what == "folder", path_type=Path)
        self.what, self.mend = what, mend

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Path:
        """Return the path; whether it can be made is found out where it is."""
        if value == "":
            self.fail(f"names no {self.what}{self.mend}", param, ctx)
        return Path(value)


FOLDER = _Place("folder", "; write . for this one")
FILE = _Place("file")
