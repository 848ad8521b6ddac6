"""One parsed value against its row of the table."""

import math
import re
from dataclasses import dataclass
from itertools import pairwise

from diodewright.build.keys import Key, Points
from diodewright.build.names import nearest

__all__ = ["Bad", "check_number", "check_value"]

#: More points than any data sheet's curve needs.
MOST_POINTS = 100

#: Names that other files write, or that results are filed under.
_FILED = (("", "name"), ("part", "name"))
_NAME = re.compile(r"[A-Za-z0-9_-]+")
_DECIMAL_COMMA = re.compile(r"\s*[-+]?\d+,\d+\s*")
_NUMBER_IN_TEXT = re.compile(r"\s*([-+]?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?)\s*[A-Za-z%°/µΩ\s]*")


@dataclass
class Bad(Exception):
    """A value that its row refuses."""

    wrong: str
    allowed: str = ""
    mend: str = ""


def check_value(key: Key, raw: object) -> object:
    """Return the value as the build holds it (a float for a number, tuples for points).

    Raises
    ------
    Bad
        Wrong type, out of range, or refused; it says what is allowed and how to mend it.
    """
    value = _CHECKS[key.kind](key, raw)
    for refused, reason in key.refused:
        if value == refused:
            raise Bad(reason, key.allowed)
    return value


def check_number(key: Key, raw: object) -> float:
    """Return a number as the build holds it; Bad as `check_value` raises it."""
    value = _as_number(raw, f"{key.name} = ", key.allowed)
    if not key.low <= value <= key.high:
        raise Bad("out of range", key.allowed)
    return value


def _as_number(raw: object, write: str, allowed: str) -> float:
    """Return a finite float; Bad for anything else, with a mend that begins with `write`."""
    if isinstance(raw, bool) or not isinstance(raw, (int, float)):
        mend = ""
        if isinstance(raw, str):
            text = raw.replace(",", ".") if _DECIMAL_COMMA.fullmatch(raw) else raw
            found = _NUMBER_IN_TEXT.fullmatch(text)
            mend = f"write {write}{found[1]}, without quotes" if found else "without quotes"
        raise Bad(f"must be a number, not {_kind_of(raw)}", allowed, mend)
    try:
        value = float(raw) + 0.0
    except OverflowError:
        value = math.inf
    if not math.isfinite(value):
        raise Bad("must be a finite number", allowed)
    return value


def _kind_of(raw: object) -> str:
    if isinstance(raw, bool):
        return "true or false"
    for kind, word in ((str, "text"), (list, "a list"), (dict, "a table"), (float, "a fraction")):
        if isinstance(raw, kind):
            return word
    return "a whole number" if isinstance(raw, int) else "a date or time"


def _whole(key: Key, raw: object) -> int:
    if isinstance(raw, bool) or not isinstance(raw, int):
        mend = ""
        if isinstance(raw, float) and raw.is_integer() and abs(raw) < 1e9:
            mend = f"write {key.name} = {int(raw)}"
        raise Bad(f"must be a whole number, not {_kind_of(raw)}", key.allowed, mend)
    if not key.low <= raw <= key.high:
        raise Bad("out of range", key.allowed)
    return raw


def _flag(key: Key, raw: object) -> bool:
    if not isinstance(raw, bool):
        word = {"true": "true", "false": "false", "1": "true", "0": "false"}.get(str(raw).lower())
        mend = f"write {key.name} = {word}" if word else ""
        raise Bad(f"must be true or false, not {_kind_of(raw)}", mend=mend)
    return raw


def _text(key: Key, raw: object) -> str:
    if not isinstance(raw, str):
        raise Bad(f"must be text in quotes, not {_kind_of(raw)}")
    if len(raw) > key.high:
        raise Bad("too long", f"allowed {key.high:g} characters")
    if not raw.isprintable():
        raise Bad("holds characters that can't be printed")
    if (key.section, key.name) in _FILED and not _NAME.fullmatch(raw):
        raise Bad("holds other characters than letters, digits, _ and -")
    return raw


def _choice(key: Key, raw: object) -> str:
    if not isinstance(raw, str):
        raise Bad(f"must be a word in quotes, not {_kind_of(raw)}", key.allowed)
    if raw not in key.choices:
        near = nearest(raw.lower(), key.choices, 0.6)
        raise Bad("no such word here", key.allowed, f'did you mean "{near}"?' if near else "")
    return raw


def _part(key: Key, raw: object) -> str:
    if not isinstance(raw, str):
        raise Bad(f"must be a part's name in quotes, not {_kind_of(raw)}")
    return raw


def _points(key: Key, raw: object) -> Points:
    if not isinstance(raw, list):
        raise Bad(f"must be a list of points, not {_kind_of(raw)}", key.allowed)
    if not 2 <= len(raw) <= MOST_POINTS:
        raise Bad(f"has {len(raw)} points", f"allowed 2 to {MOST_POINTS}")
    points = tuple(_point(key, place, row) for place, row in enumerate(raw, start=1))
    for place, (before, after) in enumerate(pairwise(points), start=2):
        if after[0] <= before[0]:
            raise Bad(
                f"point {place}: {after[0]:g} does not rise above {before[0]:g}",
                mend="order the points by current, each once",
            )
        if after[1] < before[1] or (key.strict and after[1] == before[1]):
            raise Bad(
                f"point {place}: {after[1]:g} does not rise above {before[1]:g}",
                mend="look at the data sheet's curve again",
            )
    return points


def _point(key: Key, place: int, row: object) -> tuple[float, float]:
    if not isinstance(row, list) or len(row) != 2:
        raise Bad(f"point {place} is not a pair of numbers", key.allowed)
    values = []
    for raw, (low, high), unit in zip(row, key.columns, key.unit.split(", "), strict=True):
        value = _as_number(raw, "", key.allowed)
        if not low <= value <= high:
            raise Bad(f"point {place}: {value:g} {unit} is out of range", key.allowed)
        values.append(value)
    return values[0], values[1]


_CHECKS = {
    "number": check_number,
    "whole": _whole,
    "flag": _flag,
    "choice": _choice,
    "text": _text,
    "part": _part,
    "points": _points,
    "levels": check_number,
}
