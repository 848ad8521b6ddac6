"""What moved between two sets of named values: the one comparison behind every other."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

__all__ = ["Move", "Row", "Value", "moved"]

#: Numbers, words, yes or no, points; None for what never comes or was not judged.
Value = float | str | bool | tuple[tuple[float, ...], ...] | None
Where = Literal["both", "A", "B"]

_DIGITS = 15


@dataclass(frozen=True)
class Row:
    """One value of one side.

    Attributes
    ----------
    part : what kind of row it is: "key", "size", "finding", "fault" and so on.
    item : which one, as the user knows it: ``levels.full_A``, ``diode-open@steady``.
    figure : which value of the item; "" where it has only one.
    value : what it says.
    unit : of a number, as people write it.
    """

    part: str
    item: str
    figure: str
    value: Value
    unit: str = ""


@dataclass(frozen=True)
class Move:
    """One value that is not the same on both sides.

    Attributes
    ----------
    part, item, figure : as in `Row`.
    unit : the one unit of both, or "A, W" where they differ.
    where : on which sides it stands.
    a, b : both values; None on a side where it does not stand.
    difference : b - a, where both are numbers of one unit; else None.
    """

    part: str
    item: str
    figure: str
    where: Where
    a: Value
    b: Value
    difference: float | None
    unit: str


def moved(a: Iterable[Row], b: Iterable[Row]) -> tuple[Move, ...]:
    """Return what moved from `a` to `b`: in the order of `a`, then what only `b` has.

    Not a number equals not a number. An item that only one side has is one move, told by its
    first value; its other values are not told one by one.
    """
    side_a, side_b = _by_name(a), _by_name(b)
    items_a = {(row.part, row.item) for row in side_a.values()}
    items_b = {(row.part, row.item) for row in side_b.values()}
    moves = []
    told = set()
    for name in [*side_a, *(name for name in side_b if name not in side_a)]:
        item = name[:2]
        left, right = side_a.get(name), side_b.get(name)
        if item in items_a and item in items_b:
            if left is None or right is None or not _same(left, right):
                moves.append(_move(left, right))
        elif item not in told:
            told.add(item)
            moves.append(_move(left, right))
    return tuple(moves)


def _by_name(rows: Iterable[Row]) -> dict[tuple[str, str, str], Row]:
    return {(row.part, row.item, row.figure): row for row in rows}


def _is_number(value: Value) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _same(left: Row, right: Row) -> bool:
    a, b = left.value, right.value
    if left.unit != right.unit:
        return False
    if _is_number(a) and _is_number(b):
        return a == b or (a != a and b != b)
    return type(a) is type(b) and a == b


def _move(left: Row | None, right: Row | None) -> Move:
    row = left or right
    assert row is not None
    a, b = (side.value if side else None for side in (left, right))
    units = list(dict.fromkeys(side.unit for side in (left, right) if side))
    return Move(
        part=row.part,
        item=row.item,
        figure=row.figure,
        where="both" if left and right else "A" if left else "B",
        a=a,
        b=b,
        difference=_difference(a, b) if len(units) == 1 else None,
        unit=", ".join(units),
    )


def _difference(a: Value, b: Value) -> float | None:
    """Return b - a without the dust of subtraction; None where a number is missing or infinite."""
    if isinstance(a, str | bool | tuple) or isinstance(b, str | bool | tuple):
        return None
    if a is None or b is None or not (math.isfinite(a) and math.isfinite(b)):
        return None
    largest = max(abs(a), abs(b))
    places = _DIGITS - 1 - math.floor(math.log10(largest)) if largest else 0
    return round(float(b) - float(a), places)
