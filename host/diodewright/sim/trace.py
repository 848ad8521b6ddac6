"""The Trace: columns over time with units, events and provenance.

A simulated run and a recorded bench run are the same type. True values and what the sensors
reported are different columns, always; a column that was not recorded is absent, not zero.
"""

import csv
import io
import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["COLUMNS", "Trace"]

FORMAT = 1

#: (name, unit, meaning) in the order in which the loop writes them.
COLUMNS: tuple[tuple[str, str, str], ...] = (
    ("time_s", "s", "simulated time"),
    ("diode_A", "A", "true mean diode current"),
    ("diode_peak_A", "A", "true peak diode current of the tick's last sub-step"),
    ("light_W", "W", "true light"),
    ("junction_degC", "degC", "true junction temperature"),
    ("mount_degC", "degC", "true mount temperature"),
    ("sink_degC", "degC", "true sink temperature"),
    ("a_degC", "degC", "true channel temperature of cut-off A"),
    ("pack_V", "V", "true pack voltage"),
    ("pack_A", "A", "true pack current"),
    ("output_V", "V", "true output voltage"),
    ("soc", "", "true state of charge, 0 to 1"),
    ("current_read_A", "A", "sensed diode current"),
    ("output_read_V", "V", "sensed output voltage"),
    ("pack_read_V", "V", "sensed pack voltage"),
    ("mount_read_degC", "degC", "sensed mount temperature"),
    ("sink_read_degC", "degC", "sensed sink temperature"),
    ("junction_law_degC", "degC", "the law's junction estimate"),
    ("rest_law_V", "V", "the law's pack estimate"),
    ("drive_A", "A", "what the law asks of the stage"),
    ("allowed_A", "A", "the least of the law's caps"),
    ("budget", "", "the law's heat budget, part of full"),
    ("mode", "code", "the law's mode"),
    ("bound", "code", "which cap is the least"),
    ("faults", "bits", "latched rows"),
    ("suspect", "bits", "rows whose condition holds"),
)


@dataclass(frozen=True)
class Trace:
    """Columns by name, all of one length, with events and provenance.

    Attributes
    ----------
    columns : name -> values; units are in the names (see `COLUMNS`).
    events : (time [s], text).
    provenance : build, seed, law hash, engine or recorder.
    """

    columns: Mapping[str, NDArray[np.float64]]
    events: tuple[tuple[float, str], ...] = ()
    provenance: Mapping[str, object] = field(default_factory=dict)

    @classmethod
    def from_rows(
        cls,
        rows: NDArray[np.float64],
        events: tuple[tuple[float, str], ...],
        provenance: Mapping[str, object],
    ) -> "Trace":
        """Return the Trace of the loop's rows (shape: time x `COLUMNS`)."""
        names = [name for name, _, _ in COLUMNS]
        return cls(
            {name: rows[:, i].copy() for i, name in enumerate(names)}, events, dict(provenance)
        )

    def __getitem__(self, name: str) -> NDArray[np.float64]:
        """Return one column; KeyError where it was not recorded."""
        return self.columns[name]

    def __len__(self) -> int:
        """Return the number of rows."""
        return len(next(iter(self.columns.values()))) if self.columns else 0

    def joined(self, *later: "Trace") -> "Trace":
        """Return this Trace followed by `later` ones of the same columns and provenance."""
        parts = (self, *later)
        return Trace(
            {name: np.concatenate([part[name] for part in parts]) for name in self.columns},
            tuple(event for part in parts for event in part.events),
            self.provenance,
        )

    def _head(self) -> str:
        return json.dumps(
            {"format": FORMAT, "events": self.events, "provenance": dict(self.provenance)},
            sort_keys=True,
        )

    def save_npz(self, path: Path) -> None:
        """Write the Trace whole or not at all, as NPZ."""
        buffer = io.BytesIO()
        arrays: dict[str, Any] = {"head": np.array(self._head()), **self.columns}
        np.savez_compressed(buffer, **arrays)
        _write(path, buffer.getvalue())

    def save_csv(self, path: Path) -> None:
        """Write the Trace whole or not at all, as CSV: a comment line of provenance, a header."""
        buffer = io.StringIO()
        buffer.write(f"# {self._head()}\n")
        writer = csv.writer(buffer, lineterminator="\n")
        writer.writerow(self.columns)
        writer.writerows(zip(*(column.tolist() for column in self.columns.values()), strict=True))
        _write(path, buffer.getvalue().encode())

    @classmethod
    def load_npz(cls, path: Path) -> "Trace":
        """Read what `save_npz` wrote; ValueError on another format."""
        with path.open("rb") as file, np.load(file, allow_pickle=False) as stored:
            head = json.loads(str(stored["head"]))
            if head["format"] != FORMAT:
                raise ValueError(f"{path}: format {head['format']}, expected {FORMAT}")
            columns = {name: stored[name] for name in stored.files if name != "head"}
        return cls(columns, _events(head), head["provenance"])

    @classmethod
    def load_csv(cls, path: Path) -> "Trace":
        """Read what `save_csv` wrote, to the bit; ValueError on anything else.

        Python writes a float with as many digits as it takes to read the same one back.
        """
        with path.open(encoding="utf-8", newline="") as file:
            first = file.readline()
            if not first.startswith("# "):
                raise ValueError(f"{path}: line 1 is no comment with the provenance")
            head = json.loads(first[2:])
            if not isinstance(head, dict) or head.get("format") != FORMAT:
                raise ValueError(f"{path}: line 1 says no format {FORMAT}")
            reader = csv.reader(file, strict=True)
            names = next(reader, [])
            if len(set(names)) != len(names):
                raise ValueError(f"{path}: line 2: two columns have one name")
            values = [_numbers(path, at, row, len(names)) for at, row in enumerate(reader, 3)]
        table = np.array(values, dtype=np.float64).reshape(len(values), len(names))
        columns = {name: table[:, place].copy() for place, name in enumerate(names)}
        return cls(columns, _events(head), head["provenance"])


def _events(head: Mapping[str, Any]) -> tuple[tuple[float, str], ...]:
    return tuple((float(at), str(text)) for at, text in head["events"])


def _numbers(path: Path, line: int, row: list[str], count: int) -> list[float]:
    """Return one line's numbers; ValueError, with the line, where it has others."""
    if len(row) != count:
        raise ValueError(f"{path}: line {line} has {len(row)} values, its header {count} names")
    try:
        return [float(value) for value in row]
    except ValueError as error:
        raise ValueError(f"{path}: line {line}: {error}") from None


def _write(path: Path, content: bytes) -> None:
    """Write a file whole or not at all; a full disk leaves nothing behind."""
    part = path.with_name(f"{path.name}.part")
    try:
        part.write_bytes(content)
        part.replace(path)
    except BaseException:
        part.unlink(missing_ok=True)
        raise
