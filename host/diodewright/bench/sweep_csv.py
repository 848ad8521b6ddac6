"""Sweeps as a table: written with all that was measured, read from whoever made it.

Columns that are read: ``current_A``, ``volts_V`` and ``light_W`` must be there; ``asked_A``,
``error_W`` (standard error of the light), ``mount_degC`` and ``settled`` may. Lines that begin with
``#`` are notes. The current must rise from row to row.
"""

import io
import math
from collections.abc import Mapping, Sequence

from diodewright.bench.problems import BenchError
from diodewright.bench.sweep import Plan, Point
from diodewright.bench.tables import rows_of
from diodewright.build.plain_file import printable

__all__ = ["as_csv", "read_sweep"]

_NEEDED = ("current_A", "volts_V", "light_W")
_MAY = ("asked_A", "error_W", "mount_degC", "settled")
_MOST_BYTES = 10_000_000
_FEWEST, _MOST = 3, 100_000
#: What a column may hold, both ends included.
_SPANS = {
    "current_A": (0.0, 20.0),
    "asked_A": (0.0, 20.0),
    "volts_V": (0.0, 60.0),
    "light_W": (-1.0, 1000.0),
    "error_W": (0.0, 1000.0),
    "mount_degC": (-60.0, 200.0),
    "settled": (0.0, 1.0),
}
_AMBIENT_degC = 25.0
#: Error of a meter that says nothing of it, beside its share [W].
_FLOOR_W = 1e-4


def as_csv(points: Sequence[Point], notes: Mapping[str, object]) -> str:
    """Return the points as text, the notes ahead of them."""
    out = io.StringIO()
    for name, value in notes.items():
        out.write(f"# {name}: {printable(str(value))}\n")
    columns = ("asked_A", "current_A", "volts_V", "light_W", "error_W", "mount_degC", "settled")
    out.write(",".join(columns) + "\n")
    for point in points:
        values = [getattr(point, name) for name in columns[:-1]]
        out.write(",".join(repr(float(value)) for value in values) + f",{int(point.settled)}\n")
    return out.getvalue()


def read_sweep(file: str, plan: Plan) -> tuple[Point, ...]:
    """Return the points of a table.

    Raises
    ------
    BenchError
        Unreadable, a column missing or unknown, no number, out of range, or a current that falls.
    """
    shown = printable(file)
    rows = rows_of(file, _MOST_BYTES)
    head = rows[0][1] if rows else []
    missing = [name for name in _NEEDED if name not in head]
    if missing:
        has = printable(", ".join(head))[:60] or "nothing"
        raise BenchError(f"{shown}: no column {missing[0]}; it has {has}")
    points = tuple(_point(shown, number, head, row, plan) for number, row in rows[1 : _MOST + 2])
    _whole(shown, points, [number for number, _ in rows[1:]])
    return points


def _whole(shown: str, points: Sequence[Point], lines: Sequence[int]) -> None:
    if not _FEWEST <= len(points) <= _MOST:
        raise BenchError(f"{shown}: {len(points)} rows, allowed {_FEWEST} to {_MOST}")
    for before, point, line in zip(points, points[1:], lines[1:], strict=False):
        if point.asked_A <= before.asked_A:
            raise BenchError(f"{shown}: line {line}: the current must rise from row to row")


def _point(shown: str, line: int, head: list[str], row: list[str], plan: Plan) -> Point:
    if len(row) != len(head):
        raise BenchError(f"{shown}: line {line}: {len(row)} cells, the head has {len(head)}")
    cells = dict(zip(head, row, strict=True))
    value = {
        name: _number(shown, line, name, cells[name]) for name in (*_NEEDED, *_MAY) if name in cells
    }
    return Point(
        value.get("asked_A", value["current_A"]),
        value["current_A"],
        value["volts_V"],
        value["light_W"],
        value.get("error_W", plan.one_error * abs(value["light_W"]) + _FLOOR_W),
        value.get("mount_degC", _AMBIENT_degC),
        value.get("settled", 1.0) > 0,
    )


def _number(shown: str, line: int, name: str, text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    low, high = _SPANS[name]
    if not low <= value <= high:
        what = printable(text)[:40]
        raise BenchError(f"{shown}: line {line}: {name} = {what!r}: allowed {low:g} to {high:g}")
    return value
