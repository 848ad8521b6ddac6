"""One part of the bill, and how a number is written."""

from collections.abc import Iterator
from dataclasses import dataclass

__all__ = ["Item", "Rows", "amount"]

_PREFIXES = ((1e6, "M"), (1e3, "k"), (1.0, ""), (1e-3, "m"), (1e-6, "u"), (1e-9, "n"), (1e-12, "p"))


def amount(value: float, unit: str) -> str:
    """Return a number with its unit and prefix: ``4.7 kohm``, three digits at most."""
    for factor, prefix in _PREFIXES:
        if abs(value) >= 0.9995 * factor:
            return f"{float(f'{value / factor:.3g}'):g} {prefix}{unit}"
    return f"0 {unit}"


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
