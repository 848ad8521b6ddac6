"""A new build file: commented, complete, and written whole or not at all."""

import json
import os
import shutil
import tempfile
import textwrap
from pathlib import Path

from diodewright.build.check import Bad, check_value
from diodewright.build.keys import Key
from diodewright.build.loading import load, load_text
from diodewright.build.model import KEYS, SECTIONS, Build, applies, value_of
from diodewright.build.plain_file import printable, why
from diodewright.build.problems import BuildErrors, Problem, show
from diodewright.build.source import examples

__all__ = ["template", "write_whole"]

_COLUMN = 36
_WIDTH = 100
_HEAD = (
    "A build file of diodewright. Every key's unit ends its name; write numbers without units.",
    "The values are those of {origin}: put in your own.",
    "A key behind a mark (#key = value) is assumed, with the source given: take the mark away",
    "to give yours. The report lists what stays assumed.",
)


def template(name: str, origin: str | Path = "smoke_tunnel") -> str:
    """Return the text of a commented build file called `name`, with the values of another.

    It loads back without errors. A value that `origin` leaves to a part or a default stands as a
    comment with its source; comments of a file of one's own are not carried over.

    Parameters
    ----------
    origin : a shipped example's name, or a build file as `load` takes it.

    Raises
    ------
    BuildErrors
        `name` is no name for a build, or `origin` is no example or has problems of its own.
    """
    _refuse_name(name)
    build = load(origin)
    assumed = {each.key: each.source for each in build.assumed}
    lines = [line for said in _head(build) for line in _comment(said)]
    for section in SECTIONS:
        lines += [f"\n[{section}]"] if section else []
        for key in (key for key in KEYS if key.section == section):
            lines += _lines(key, name, build, assumed.get(key.path))
    text = "\n".join(lines) + "\n"
    load_text(text, name)
    return text


def _refuse_name(name: str) -> None:
    key = next(key for key in KEYS if key.path == "name")
    try:
        check_value(key, name)
    except Bad as bad:
        allowed = bad.allowed or f"allowed letters, digits, _ and -, at most {key.high:g}"
        raise BuildErrors((Problem("new", None, "NAME", show(name), bad.wrong, allowed),)) from None


def _head(build: Build) -> list[str]:
    shipped = build.file in examples()
    origin = f"the shipped example {build.file}" if shipped else printable(Path(build.file).name)
    return [line.format(origin=origin) for line in _HEAD]


def _comment(text: str) -> list[str]:
    return textwrap.wrap(text, _WIDTH, initial_indent="# ", subsequent_indent="# ")


def _lines(key: Key, name: str, build: Build, source: str | None) -> list[str]:
    """Return the line or lines of one key."""
    if not applies(build, key):
        return []
    value = name if key.path == "name" else value_of(build, key.path)
    if key.kind == "levels":
        own = () if build.stage.kind == "gated" else build.levels.others
        return [f"{level} = {_toml(level_A)}" for level, level_A in own]
    note = key.meaning
    if key.kind in ("number", "whole"):
        note += f" ({key.span})"
    elif key.kind == "choice":
        note += f" ({', '.join(key.words)})"
    if value is None and key.kind == "part":
        return _line(f"#{key.name} =", f"{note}; none, or one that `diodewright parts` lists")
    if value is None:
        return _line(f"#{key.name} =", f"{note}; {key.source or 'derived'} if left out")
    if source is not None:
        return _line(f"#{key.name} = {_toml(value)}", f"{note}; assumed: {source}")
    if not key.required and not key.source and value == key.default:
        return _line(f"#{key.name} = {_toml(value)}", note)
    return _line(f"{key.name} = {_toml(value)}", note)


def _line(code: str, note: str) -> list[str]:
    """Return code and note on one line, or the note above it where that is too long."""
    line = f"{code:<{_COLUMN}}  # {note}"
    if len(line) <= _WIDTH:
        return [line]
    return [*_comment(note), code]


def _toml(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, tuple):
        return "[" + ", ".join(_toml(item) for item in value) + "]"
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e9:
        return str(int(value))
    return repr(value)


def write_whole(path: str | Path, text: str) -> None:
    """Write a new text file, whole or not at all; never over one that exists.

    Raises
    ------
    BuildErrors
        There is such a file already, or the folder can't be written to.
    """
    target = Path(path)
    if os.path.lexists(target):
        raise _refusal(target, "exists already", "choose another name; nothing was written")
    staging: Path | None = None
    try:
        staging = Path(tempfile.mkdtemp(dir=target.parent, prefix=".part-"))
        part = staging / target.name
        with part.open("w", encoding="utf-8", newline="\n") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        part.replace(target)
    except OSError as error:
        raise _refusal(target, f"can't be written: {why(error)}") from None
    finally:
        if staging is not None:
            shutil.rmtree(staging, ignore_errors=True)


def _refusal(target: Path, wrong: str, mend: str = "") -> BuildErrors:
    return BuildErrors((Problem(str(target), None, "", "", wrong, mend=mend),))
