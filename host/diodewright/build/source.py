"""A build file's text: fetched, parsed, and the lines of its keys."""

import os
import re
import tomllib
from collections.abc import Iterator
from importlib import resources
from itertools import pairwise
from pathlib import Path
from typing import Any, NoReturn

from diodewright.build.names import nearest
from diodewright.build.plain_file import Unreadable, read_text
from diodewright.build.problems import BuildErrors, Problem

__all__ = ["examples", "fetch", "is_path", "key_lines", "parse", "read_build_text", "table_lines"]

#: A build file is a page or two; a larger file is something else.
MOST_BYTES = 1_000_000

_PACKAGE = "diodewright.examples"
_HEADER = re.compile(r"^\s*\[+\s*([A-Za-z0-9_\-\"'.]+)\s*\]+\s*(?:#.*)?$")
_KEY = re.compile(r"^\s*([A-Za-z0-9_\-\"'.]+)\s*=")
_PLACE = re.compile(r"\s*\(at (?:line (\d+), column (\d+)|end of document)\)$")


def examples(ending: str = ".toml") -> tuple[str, ...]:
    """Return the names of the shipped examples of one kind: builds, or ``.scenario.toml``.

    A name holds no full stop, so that a longer ending is never taken for a build's.
    """
    folder = resources.files(_PACKAGE)
    names = (entry.name.partition(".") for entry in folder.iterdir())
    return tuple(sorted(name for name, dot, rest in names if dot + rest == ending))


def fetch(path_or_example: str | Path, ending: str = ".toml") -> tuple[str, str]:
    """Return text and name of a build file, or of a shipped example of the kind `ending`.

    It is a path if it holds a path separator or ends in ``.toml``, else an example's name.

    Raises
    ------
    BuildErrors
        The file is missing, unreadable, not a plain file, too large or not UTF-8, or there is
        no such example.
    """
    name = os.fspath(path_or_example)
    if is_path(name):
        return read_build_text(name, ending), name
    known = examples(ending)
    if name not in known:
        near = nearest(name, known)
        mend = f"did you mean {near}?" if near else f"examples: {', '.join(known)}"
        _refuse(name, "no such example", f"{mend} (a file's name ends in .toml)")
    return resources.files(_PACKAGE).joinpath(f"{name}{ending}").read_text("utf-8"), name


def is_path(name: str) -> bool:
    """Return whether `name` is a path: it holds a path separator or ends in ``.toml``."""
    separators = {"/", os.sep, os.altsep or "/"}
    return name.endswith(".toml") or any(separator in name for separator in separators)


def _refuse(name: str, wrong: str, mend: str = "", line: int | None = None) -> NoReturn:
    raise BuildErrors((Problem(name, line, "", "", wrong, mend=mend),))


def read_build_text(name: str, ending: str = ".toml") -> str:
    """Return the text of the file `name`; BuildErrors as `fetch` raises them."""
    try:
        return read_text(name, MOST_BYTES)
    except FileNotFoundError:
        known = Path(name).name.removesuffix(ending)
        mend = "`diodewright new` writes one to begin with" if ending == ".toml" else ""
        if known in examples(ending):
            mend = f"the shipped example is {known}, without {ending}"
        _refuse(name, "no such file", mend)
    except Unreadable as error:
        mend = "a build file is a page or two" if error.wrong.startswith("larger") else error.mend
        _refuse(name, error.wrong, mend, error.line)


def parse(text: str, name: str) -> dict[str, Any]:
    """Return the TOML document; BuildErrors with line and column where it is not TOML."""
    try:
        return tomllib.loads(text)
    except RecursionError:
        _refuse(name, "not TOML: nested too deep")
    except ValueError as error:
        said = str(error)
        place = _PLACE.search(said)
        said = _PLACE.sub("", said)
        said = said[:1].lower() + said[1:]
        if place is None or place[1] is None:
            _refuse(name, f"not TOML: {said}", "", len(text.splitlines()) or 1 if place else None)
        else:
            _refuse(name, f"not TOML: column {place[2]}: {said}", "", int(place[1]))


def key_lines(text: str) -> dict[str, int]:
    """Return path -> line of each key and each ``[section]``, found by looking at the text.

    Best effort: a key inside an inline table or a quoted key with odd letters is not found.
    """
    lines: dict[str, int] = {}
    section = ""
    for place, line in enumerate(text.splitlines(), start=1):
        header = _HEADER.match(line)
        if header:
            section = _bare(header[1])
            lines.setdefault(f"[{section}]", place)
            continue
        key = _KEY.match(line)
        if key:
            path = f"{section}.{_bare(key[1])}" if section else _bare(key[1])
            lines.setdefault(path, place)
            if not section and "." in path:
                lines.setdefault(f"[{path.split('.')[0]}]", place)
    return lines


def table_lines(text: str, table: str) -> Iterator[dict[str, int]]:
    """Yield key -> line for each ``[[table]]``, "" for its header; by looking at the text."""
    header = re.compile(rf"^\s*\[\[\s*{table}\s*\]\]\s*(?:#.*)?$")
    every = text.splitlines()
    starts = [number for number, line in enumerate(every) if header.match(line)]
    for start, end in pairwise([*starts, len(every)]):
        chunk = key_lines("\n".join(every[start:end]))
        yield {
            path.removeprefix(f"{table}.").replace(f"[{table}]", ""): start + line
            for path, line in chunk.items()
        }


def _bare(name: str) -> str:
    return name.replace('"', "").replace("'", "")
