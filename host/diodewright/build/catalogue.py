"""Generic parts that fill what a build file leaves out, and a builder's own beside them.

A key that the user gives overrides the part's value; what a part fills in is listed among the
assumed values with the source that stands beside it.
"""

from collections.abc import Iterable

from diodewright.build.part import Part, Value
from diodewright.build.parts_board import MOSFETS, THERMISTORS
from diodewright.build.parts_cells import CELLS
from diodewright.build.parts_lasers import LASERS
from diodewright.build.parts_leds import LEDS

__all__ = ["Part", "Value", "filled_by", "find", "parts"]

_PARTS: tuple[Part, ...] = (*CELLS, *MOSFETS, *LASERS, *LEDS, *THERMISTORS)


def parts(key: str | None = None, own: Iterable[Part] = ()) -> tuple[Part, ...]:
    """Return all parts, or those that the key (``pack.part``) takes; `own` ones stand behind."""
    return tuple(part for part in (*_PARTS, *own) if key is None or part.key == key)


def find(key: str, name: str, own: Iterable[Part] = ()) -> Part | None:
    """Return the part of that name that the key takes; None where there is none."""
    return next((part for part in parts(key, own) if part.name == name), None)


def filled_by(section: str, key: str) -> str | None:
    """Return the name of the section's key whose parts fill in `key`; None: no part does."""
    for part in _PARTS:
        home, name = part.key.split(".")
        if home == section and part.value(key):
            return name
    return None
