"""One part of the bill."""

from collections.abc import Iterator
from dataclasses import dataclass

from diodewright.build.units import amount

__all__ = ["Item", "Rows", "amount"]


@dataclass(frozen=True)
class Item:
    """One part.

    Attributes
    ----------
    ref, part : its mark in the figures, and what it is.
    value : with unit; for a bought part what decides.
    needs : what it must stand or be.
    how : the calculation in words, or why.
    mark : source, as README.md marks them; "build" for a key of the build file.
    group : of `GROUPS`.
    count : how many.
    """

    ref: str
    part: str
    value: str
    needs: str
    how: str
    mark: str
    group: str
    count: int = 1


Rows = Iterator[tuple[str, str, str, str, str, str] | tuple[str, str, str, str, str, str, int]]
