"""The table of keys: what a row says, and how a section declares its rows.

A section of the build file is a frozen dataclass whose every field is declared by one of the
functions below, so that a key's name, type, unit, range, default, source and meaning stand in one
place. `rows` reads them back as the table that validation, error texts, new files and
documentation are made from.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields
from typing import Any, Literal

from diodewright.build.units import split

__all__ = [
    "PRACTICE",
    "REQUIRED",
    "TYPICAL",
    "ByWord",
    "Computed",
    "Key",
    "Points",
    "When",
    "choice",
    "flag",
    "levels",
    "number",
    "part",
    "points",
    "rows",
    "share_of",
    "text",
    "whole",
]

TYPICAL = "typical, no source"
PRACTICE = "common practice, no source"

#: Rows of a table of points: (current, voltage) or (current, light).
Points = tuple[tuple[float, float], ...]

Kind = Literal["number", "whole", "flag", "choice", "text", "part", "points", "levels"]
#: A key is asked for only where the deciding key has one of these values.
When = tuple[str, tuple[str, ...]]


class _Required:
    """Marks a key that has no default."""

    def __repr__(self) -> str:
        return "required"


REQUIRED = _Required()


@dataclass(frozen=True)
class Computed:
    """A default that follows from other keys of its section, which stand above it."""

    needs: tuple[str, ...]
    rule: Callable[..., float]
    text: str


@dataclass(frozen=True)
class ByWord:
    """A default that a choice of the same section decides, with a source for each word.

    Attributes
    ----------
    decider : name of the choice, which stands above it.
    rows : word -> value, or how it follows from another key; source.
    """

    decider: str
    rows: Mapping[str, tuple[float | Computed, str]]


def share_of(key: str, factor: float) -> Computed:
    """Return the default ``factor * key``."""
    return Computed((key,), lambda value: factor * value, f"{factor:g} x {key}")


def per(key: str, constant: float) -> Computed:
    """Return the default ``constant / key``."""
    return Computed((key,), lambda value: constant / value, f"{constant:g} / {key}")


@dataclass(frozen=True)
class Key:
    """One row: all that is known of one key of the build file.

    Attributes
    ----------
    section, name : where it stands; the section of ``format`` and its like is "".
    kind : type of its value.
    meaning : what it says, for people.
    low, high : allowed range, both ends included, in the unit that ends the name.
    choices : the allowed words of a choice.
    refused : values that the table knows but this version does not take, each with the reason.
    default : REQUIRED; None (left out, it is derived later or not asked); a value; Computed; or
        ByWord.
    source : where the default is from; "" for ByWord, which has one for each word.
    when : deciding key and its values; elsewhere the key is not taken and holds `absent`.
    columns : of points: the ranges of both columns.
    strict : of points: the second column must rise at each step (else it may stay).
    """

    section: str
    name: str
    kind: Kind
    meaning: str
    low: float = 0.0
    high: float = 0.0
    choices: tuple[str, ...] = ()
    refused: tuple[tuple[object, str], ...] = ()
    default: object = REQUIRED
    source: str = ""
    when: When | None = None
    columns: tuple[tuple[float, float], tuple[float, float]] = ((0.0, 0.0), (0.0, 0.0))
    strict: bool = True

    @property
    def path(self) -> str:
        """``section.name``, or the name alone at the top of the file."""
        return f"{self.section}.{self.name}" if self.section else self.name

    @property
    def unit(self) -> str:
        """The unit that ends the name, as people write it; "" for a plain number or a word."""
        if self.name == "others":
            return "A"
        found = split(self.name)[1] if self.kind in ("number", "points", "levels") else None
        return found.text if found else ""

    @property
    def required(self) -> bool:
        """Whether it has no default."""
        return self.default is REQUIRED

    @property
    def absent(self) -> object:
        """What the field holds where the key does not apply: NaN, so that no use stays unseen."""
        if self.default is None:
            return None
        neutral: Mapping[str, object] = {
            "number": math.nan,
            "whole": 1,
            "flag": False,
            "points": (),
        }
        return neutral.get(self.kind)

    @property
    def span(self) -> str:
        """The range of a number, as text with its unit."""
        if self.low == self.high:
            return f"{self.low:.12g}"
        return f"{self.low:.12g} to {self.high:.12g} {self.unit}".rstrip()

    @property
    def words(self) -> tuple[str, ...]:
        """The words of a choice that this version takes."""
        return tuple(word for word in self.choices if word not in dict(self.refused))

    @property
    def allowed(self) -> str:
        """What is allowed, in words and with the unit."""
        if self.kind in ("number", "levels"):
            return f"allowed {self.span}"
        if self.kind == "whole":
            return f"allowed {self.span}" + (", a whole number" if self.low < self.high else "")
        if self.kind == "flag":
            return "allowed true or false"
        if self.kind == "choice":
            return "allowed " + ", ".join(f'"{word}"' for word in self.words)
        if self.kind == "points":
            (x_low, x_high), (y_low, y_high) = self.columns
            x_unit, y_unit = self.unit.split(", ")
            return (
                f"allowed rows [{x_unit}, {y_unit}] of {x_low:g} to {x_high:g} {x_unit} "
                f"and {y_low:g} to {y_high:g} {y_unit}, rising"
            )
        return ""


def _declare(kind: Kind, meaning: str, **said: object) -> Any:
    return field(metadata={"row": {"kind": kind, "meaning": meaning, **said}})


def number(
    low: float,
    high: float,
    meaning: str,
    *,
    default: float | Computed | ByWord | _Required | None = REQUIRED,
    source: str = "",
    when: When | None = None,
) -> Any:
    """Declare a number with a range; `default` None means derived where it is left out."""
    return _declare(
        "number", meaning, low=low, high=high, default=default, source=source, when=when
    )


def whole(
    low: int,
    high: int,
    meaning: str,
    *,
    default: int | _Required | None = REQUIRED,
    source: str = "",
    when: When | None = None,
) -> Any:
    """Declare a whole number."""
    return _declare("whole", meaning, low=low, high=high, default=default, source=source, when=when)


def flag(
    meaning: str,
    *,
    default: bool | _Required = REQUIRED,
    source: str = "",
    refused: tuple[tuple[object, str], ...] = (),
) -> Any:
    """Declare a yes or no."""
    return _declare("flag", meaning, default=default, source=source, refused=refused)


def choice(
    choices: tuple[str, ...],
    meaning: str,
    *,
    refused: tuple[tuple[object, str], ...] = (),
    when: When | None = None,
) -> Any:
    """Declare one word of a few; it is given, or a part's, and never assumed."""
    return _declare("choice", meaning, choices=choices, refused=refused, when=when)


def text(meaning: str, *, high: int, default: str | _Required = REQUIRED, source: str = "") -> Any:
    """Declare free text of at most `high` characters."""
    return _declare("text", meaning, high=high, default=default, source=source)


def part(meaning: str, *, when: When | None = None) -> Any:
    """Declare the name of a catalogue part that fills what the section leaves out."""
    return _declare("part", meaning, default=None, when=when)


def points(
    x: tuple[float, float],
    y: tuple[float, float],
    meaning: str,
    *,
    strict: bool = True,
    when: When | None = None,
) -> Any:
    """Declare a table of points with the ranges of its two columns."""
    return _declare("points", meaning, columns=(x, y), strict=strict, when=when)


def levels(low: float, high: float, meaning: str) -> Any:
    """Declare the keys that a user names: any ``<name>_A``."""
    return _declare("levels", meaning, low=low, high=high, default=())


def rows(section: str, of: type[Any]) -> tuple[Key, ...]:
    """Return the rows that the dataclass `of` declares, in its order."""
    return tuple(
        Key(section=section, name=each.name, **each.metadata["row"])
        for each in fields(of)
        if "row" in each.metadata
    )
