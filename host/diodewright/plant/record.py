"""Records that hold the plant's parameters or state, in the two forms that kernels take.

Compiled: one row of a NumPy structured array, all float64; the flat view shares its memory.
Uncompiled: an object with ``__slots__`` (curves are lists) and an adapter that reads and writes
it by the same flat index. Fault events and snapshots use the flat index and need not know which.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from itertools import pairwise
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from diodewright.plant.params import Row

__all__ = ["Filled", "Flat", "RecordError", "SlotsFlat", "copy", "make", "record_dtype", "refill"]


class RecordError(ValueError):
    """A value is missing, unknown or outside its row's range."""


class Flat(Protocol):
    """What a flat view offers, in both forms."""

    def __len__(self) -> int: ...
    def __getitem__(self, index: int, /) -> Any: ...
    def __setitem__(self, index: int, value: float, /) -> None: ...


class SlotsFlat:
    """A ``__slots__`` record seen as a flat row of floats."""

    __slots__ = ("_places", "_record")

    def __init__(self, record: Any, table: tuple[Row, ...]) -> None:
        self._record = record
        self._places = [
            (row.name, k if row.count > 1 else -1) for row in table for k in range(row.count)
        ]

    def __len__(self) -> int:
        return len(self._places)

    def __iter__(self) -> Iterator[float]:
        return (self[index] for index in range(len(self)))

    def __getitem__(self, index: int) -> float:
        name, k = self._places[index]
        held = getattr(self._record, name)
        return float(held if k < 0 else held[k])

    def __setitem__(self, index: int, value: float) -> None:
        name, k = self._places[index]
        if k < 0:
            setattr(self._record, name, float(value))
        else:
            getattr(self._record, name)[k] = float(value)


@dataclass(frozen=True)
class Filled:
    """A record with its flat view.

    Attributes
    ----------
    table : its rows.
    record : what a kernel function takes.
    flat : the same values by flat index; writing there changes `record`.
    compiled : whether it is the NumPy form.
    """

    table: tuple[Row, ...]
    record: Any
    flat: Flat
    compiled: bool

    @property
    def memory(self) -> Any:
        """What a kernel takes as well, and sooner: entered with a record it costs 3 us more."""
        return self.flat if self.compiled else self.record


def record_dtype(table: tuple[Row, ...]) -> np.dtype[np.void]:
    """Return the float64 record dtype of `table`; its scalars have attributes in Python too."""
    fields: list[Any] = [
        (row.name, np.float64) if row.count == 1 else (row.name, np.float64, (row.count,))
        for row in table
    ]
    return np.dtype((np.record, fields))


@dataclass(frozen=True)
class _Forms:
    """A table, which is kept alive, with its `record_dtype` and its class of a slot a row."""

    table: tuple[Row, ...]
    dtype: np.dtype[np.void]
    slots: type


#: By identity: to hash a table's rows would take longer than to make its forms again.
_FORMS: dict[int, _Forms] = {}


def _forms_of(table: tuple[Row, ...]) -> _Forms:
    """Return a table's forms, made once: a class is slow to make and to free."""
    if id(table) not in _FORMS:
        slots = type("SlotsRecord", (), {"__slots__": tuple(row.name for row in table)})
        _FORMS[id(table)] = _Forms(table, record_dtype(table), slots)
    return _FORMS[id(table)]


def _checked(row: Row, given: Any) -> list[float]:
    """Return the row's values as floats, or raise RecordError."""
    values = [float(v) for v in given] if row.count > 1 else [float(given)]
    if len(values) != row.count:
        raise RecordError(f"{row.name}: {len(values)} values, {row.count} wanted")
    for value in values:
        if not row.low <= value <= row.high:
            raise RecordError(
                f"{row.name} = {value:g} {row.unit}: allowed {row.low:g} to {row.high:g}"
            )
        if abs(value) < row.least:
            raise RecordError(f"{row.name} = {value:g} {row.unit}: too near 0 ({row.least:g})")
        if row.unit in ("flag", "code") and value != int(value):
            raise RecordError(f"{row.name} = {value:g}: a whole number is wanted")
    if row.rising and any(b <= a for a, b in pairwise(values)):
        raise RecordError(f"{row.name}: its points must rise")
    return values


def _flattened(table: tuple[Row, ...], values: Mapping[str, Any]) -> list[float]:
    """Return all values of `table` in flat order, checked."""
    names = [row.name for row in table]
    for name in values:
        if name not in names:
            near = get_close_matches(name, names, 1)
            raise RecordError(f"{name}: no such value" + (f"; {near[0]}?" if near else ""))
    flat: list[float] = []
    for row in table:
        given = values.get(row.name, row.start)
        if given is None:
            raise RecordError(f"{row.name}: a value is wanted ({row.meaning})")
        if row.count > 1 and row.name not in values:
            given = [given] * row.count
        flat.extend(_checked(row, given))
    return flat


def _slots_record(table: tuple[Row, ...], flat: list[float]) -> Any:
    """Return an object with one slot a row."""
    made = _forms_of(table).slots()
    at = 0
    for row in table:
        chunk = flat[at : at + row.count]
        setattr(made, row.name, chunk if row.count > 1 else chunk[0])
        at += row.count
    return made


def _filled(table: tuple[Row, ...], flat: list[float], compiled: bool) -> Filled:
    """Return the record in the form asked for."""
    if compiled:
        rows: NDArray[np.void] = np.zeros(1, dtype=_forms_of(table).dtype)
        view = rows.view(np.float64).reshape(-1)
        view[:] = flat
        return Filled(table, rows[0], view, True)
    record = _slots_record(table, flat)
    return Filled(table, record, SlotsFlat(record, table), False)


def make(table: tuple[Row, ...], values: Mapping[str, Any], *, compiled: bool = True) -> Filled:
    """Return a record of `table` (`params.PARAM_RECORD` or `params.STATE`) with its flat view.

    Parameters
    ----------
    table : the rows.
    values : value by name; a sequence for a curve. What is left out takes the row's start.
    compiled : True for the NumPy record, False for the ``__slots__`` object.

    Raises
    ------
    RecordError : a name that is not in the table, a value that is missing, outside its range,
        not a whole number where the row is a flag or a code, or of the wrong length.
    """
    return _filled(table, _flattened(table, values), compiled)


def copy(filled: Filled) -> Filled:
    """Return an independent record with the same values, in the same form (a snapshot)."""
    held = [float(filled.flat[index]) for index in range(len(filled.flat))]
    return _filled(filled.table, held, filled.compiled)


def refill(table: tuple[Row, ...], flat: Sequence[float], *, compiled: bool) -> Filled:
    """Return a record of `table` with values in flat order, as a record held them before."""
    return _filled(table, list(flat), compiled)
