"""The document read back: JSON that `rehearse --json` printed, or a refusal that says where."""

import json
from pathlib import Path
from typing import Any, NoReturn

from diodewright.build.plain_file import Unreadable, printable, read_text
from diodewright.rehearse import Rehearsal
from diodewright.report.shape import document_of

__all__ = ["DOCUMENT", "MOST_BYTES", "BadDocument", "read_document"]

#: The document's name in the folder of a report.
DOCUMENT = "rehearsal.json"
#: A rehearsal's document is about a quarter of a million bytes.
MOST_BYTES = 20_000_000
#: No figure of a small light is larger, in whatever unit.
MOST = 1e12
#: A document nests five deep.
_DEEPEST = 20


class BadDocument(ValueError):
    """The file is no rehearsal document; names file and what is wrong, in one line."""


def read_document(path: Path) -> Rehearsal:
    """Return the Rehearsal that ``rehearse --json`` printed or a report keeps.

    Raises
    ------
    BadDocument
        The file can't be read, is not JSON, or is no document of this format.
    """
    try:
        text = read_text(path, MOST_BYTES)
    except FileNotFoundError:
        raise _bad(path, "no such file") from None
    except Unreadable as error:
        mend = f"give the {DOCUMENT} in it" if path.is_dir() else error.mend
        raise _bad(path, f"{error.wrong}; {mend}" if mend else error.wrong) from None
    values = _parsed(path, text)
    try:
        done = Rehearsal.from_dict(values)
        document_of(done)
    except ValueError as error:
        raise _bad(path, f"not a rehearsal document: {error}") from None
    return done


def _bad(path: Path, wrong: str) -> BadDocument:
    return BadDocument(printable(f"{path}: {wrong}"))


def _parsed(path: Path, text: str) -> dict[str, Any]:
    try:
        values = json.loads(
            text,
            parse_constant=_refuse_constant,
            parse_float=_number,
            parse_int=_whole,
            object_pairs_hook=_each_key_once,
        )
    except (ValueError, RecursionError) as error:
        raise _bad(path, f"not JSON: {_said(error)}") from None
    if not isinstance(values, dict):
        raise _bad(path, "not a rehearsal document: no object at its top")
    try:
        _refuse_odd(values, 1)
    except ValueError as error:
        raise _bad(path, f"not a rehearsal document: {error}") from None
    return values


def _said(error: ValueError | RecursionError) -> str:
    return "nested too deep" if isinstance(error, RecursionError) else str(error)


def _refuse_constant(name: str) -> NoReturn:
    raise ValueError(f"{name} is no number")


def _number(text: str) -> float:
    value = float(text)
    if not abs(value) <= MOST:
        raise ValueError(f"{_short(text)}: out of range; allowed -{MOST:g} to {MOST:g}")
    return value


def _whole(text: str) -> int:
    # `int` itself refuses thousands of digits, in words about Python
    if not abs(float(text)) <= MOST:
        raise ValueError(f"{_short(text)}: out of range; allowed -{MOST:g} to {MOST:g}")
    return int(text)


def _short(text: str) -> str:
    return text if len(text) <= 24 else f"{text[:20]}... ({len(text)} characters)"


def _each_key_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    values = dict(pairs)
    if len(values) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise ValueError(f"key {_short(twice)!r} stands twice in one object")
    return values


def _refuse_odd(value: object, depth: int) -> None:
    """Refuse what JSON can say and no file can hold again: half a character, endless nesting."""
    if depth > _DEEPEST:
        raise ValueError(f"nested deeper than {_DEEPEST} levels")
    if isinstance(value, str):
        if any("\ud800" <= char <= "\udfff" for char in value):
            raise ValueError(f"{_short(value)!r} holds half a character (a lone surrogate)")
    elif isinstance(value, dict):
        for key, inner in value.items():
            _refuse_odd(key, depth)
            _refuse_odd(inner, depth + 1)
    elif isinstance(value, list):
        for inner in value:
            _refuse_odd(inner, depth + 1)
