"""What a fit found, and the change of the build file that it suggests."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from diodewright.bench.solving import Solution
from diodewright.bench.span import Flags, Record, Values
from diodewright.build.edit import Edit, edited
from diodewright.build.model import value_of

__all__ = ["Fit", "Suggested", "changed", "rounded"]


@dataclass(frozen=True)
class Suggested:
    """A key of the build file and what it should say.

    Attributes
    ----------
    spread : two standard deviations from the record's scatter alone, in its unit.
    total : with what the readings themselves may be off.
    """

    key: str
    value: float
    spread: float
    total: float
    unit: str


@dataclass(frozen=True)
class Fit:
    """One fit of one recording.

    Attributes
    ----------
    what : "thermal" or "pack".
    suggested : keys that the record tells something of.
    scale : what all of them may be off together [share, two deviations], and why.
    notes : what stays assumed, and what the record lacks.
    channels : name -> (recorded, model, unit).
    lit : rows in which the diode was driven.
    numbers : further figures: name -> (value, two deviations, unit, how it was made).
    """

    what: str
    record: Record
    solution: Solution
    suggested: tuple[Suggested, ...]
    scale: tuple[float, str]
    notes: tuple[str, ...]
    time_s: Values
    channels: Mapping[str, tuple[Values, Values, str]]
    lit: Flags
    numbers: tuple[tuple[str, float, float, str, str], ...] = ()


def rounded(value: float, spread: float) -> float:
    """Return `value` with no more digits than a twentieth of `spread`, or of itself."""
    fine = max(spread / 20, abs(value) * 1e-4)
    places = 0
    while 10.0**-places > fine and places < 12:
        places += 1
    return round(value, places)


def changed(record: Record, rows: Iterable[Suggested], how: str) -> Edit:
    """Return the build file with `rows` in it; each line's comment says how sure it is.

    What the file gives stays where the new value is no other within its own uncertainty.

    Raises
    ------
    BuildErrors
        The file would contradict itself with these values.
    """
    values, notes = {}, {}
    source = Path(record.file).name
    assumed = {each.key for each in record.build.assumed}
    for row in rows:
        if row.key not in assumed and abs(row.value - _now(record, row.key)) <= row.total:
            continue
        values[row.key] = rounded(row.value, row.total)
        notes[row.key] = f"± {row.total:.2g}, {how} {source}"
    return edited(record.build.file, values, notes)


def _now(record: Record, key: str) -> float:
    value = value_of(record.build, key)
    return value if isinstance(value, float) else float("nan")
