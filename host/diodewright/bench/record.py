"""A recording: telemetry lines become a Trace with the board's tick as its clock, gaps marked.

Every call of a `Recorder` carries the host's time as well. It decides nothing but how long a gap
was in which the board was reset, since ticks begin anew there: such a length is said to be about so
long. Nothing is ever filled in: a gap is an event and a row without a reading.

Limits. Readings are what the board believes, rounded to its words (1 mA, 1 mV, 0.01 K), of one
tick in many: a peak between two lines is not in a recording. True values are absent. A board's tick
stands still after twelve days without a restart: from there on its lines pass for repeated ones.
"""

import csv
import stat
import zipfile
import zlib
from array import array
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from diodedriver import acts, words
from diodedriver.driver import PHASES
from diodewright.bench.line import Identity, checked
from diodewright.bench.problems import BenchError
from diodewright.build import Build
from diodewright.build.plain_file import printable, why
from diodewright.sim import Trace, law_hash

__all__ = [
    "COLUMNS",
    "ENDINGS",
    "RATE_HZ",
    "Heard",
    "Recorder",
    "load",
    "provenance_of",
    "refuse_ending",
    "save",
    "words_of",
]

#: Lines a second where nothing else is asked for.
RATE_HZ = 20
#: The board's clock.
CLOCK = "board tick, 1 ms"
_TICK_S = 0.001
#: More periods than that without a reading are a gap: a single lost line makes two.
_GAP_PERIODS = 1.5
_MODES = {name: code for code, (name, _) in enumerate(words.MODES)}
_WORDS = tuple(name for name, _ in acts.TELEMETRY)
_TABLES = {row[0]: row for row in words.STATE + words.READINGS}


def _plain(value: int) -> float:
    return float(value)


def _milli(value: int) -> float:
    return value / 1000


def _micro(value: int) -> float:
    return value / 1_000_000


def _q64(value: int) -> float:
    return value / 64_000


def _trim(value: int) -> float:
    return (value - words.TRIM_BIAS) / 64_000


def _celsius(value_cK: int) -> float:
    return (value_cK - acts.ZERO_cK) / 100


#: (word, column, how it becomes the column's unit, whether it is read and not made by the law).
_COLUMNS: tuple[tuple[str, str, Callable[[int], float], bool], ...] = (
    ("tick", "tick", _plain, False),
    ("current_mA", "current_read_A", _milli, True),
    ("output_mV", "output_read_V", _milli, True),
    ("pack_mV", "pack_read_V", _milli, True),
    ("mount_cK", "mount_read_degC", _celsius, True),
    ("sink_cK", "sink_read_degC", _celsius, True),
    ("junction_cK", "junction_law_degC", _celsius, True),
    ("rest_mV", "rest_law_V", _milli, True),
    ("drive", "drive_A", _q64, False),
    ("allowed", "allowed_A", _milli, False),
    ("bound", "bound", _plain, False),
    ("faults", "faults", _plain, False),
    ("suspect", "suspect", _plain, False),
    ("indicator_uA", "indicator_read_A", _micro, True),
    ("trim", "trim_A", _trim, False),
    ("duty", "duty", _plain, False),
    ("enable", "enable", _plain, False),
    ("hard", "hard", _plain, False),
    ("pins", "pins", _plain, False),
    ("level", "level", _plain, False),
)
#: Columns of a recording from telemetry, in their order.
COLUMNS: tuple[str, ...] = ("time_s", "mode", *(row[1] for row in _COLUMNS))


@dataclass(frozen=True)
class Heard:
    """One line of telemetry.

    Attributes
    ----------
    mode : the law's mode, or "barred", "testing" where it does not run.
    words : telemetry word -> its integer; empty where the law does not run.
    time_s : on the recording's clock [s].
    """

    mode: str
    words: Mapping[str, int]
    time_s: float

    def value(self, column: str) -> float:
        """Return one column's value in its unit; KeyError where the law does not run."""
        word, _, convert, _ = _BY_COLUMN[column]
        return convert(self.words[word])


_BY_COLUMN = {row[1]: row for row in _COLUMNS}


def words_of(line: str) -> tuple[str, dict[str, int]] | None:
    """Return mode and words of a line of telemetry; None where it is damaged or not ours.

    The sum must be right, the mode known, the number of words that of this firmware, and each
    within its range.
    """
    text = checked(line)
    if text is None or not text.startswith("@"):
        return None
    mode, *said = text[1:].split(",")
    if mode not in _MODES:
        return (mode, {}) if mode in PHASES and not said else None
    if len(said) != len(_WORDS) or not all(word.isascii() and word.isdigit() for word in said):
        return None
    found = dict(zip(_WORDS, map(int, said), strict=True))
    in_range = all(_TABLES[name][2] <= value <= _TABLES[name][3] for name, value in found.items())
    return (mode, found) if in_range else None


def provenance_of(build: Build, identity: Identity, rate_Hz: float) -> dict[str, object]:
    """Return where a recording comes from: the build that was named, and the board that spoke."""
    return {
        "recorder": "telemetry",
        "build": build.name,
        "fingerprint": build.fingerprint,
        "board_fingerprint": identity.build,
        "unit": identity.unit,
        "firmware": identity.version,
        "law": law_hash(),
        "clock": CLOCK,
        "rate_Hz": rate_Hz,
    }


class Recorder:
    """Takes what a board says, in order, and gives a Trace of it.

    Every call's `host_s` is the host's steady clock [s], which never goes back.

    Parameters
    ----------
    rate_Hz : lines a second that the board was asked for.
    provenance : see `provenance_of`; counts are added to it.

    Attributes
    ----------
    damaged : lines whose sum or words were wrong.
    gaps, restarts : how often; a restart is a gap as well.
    """

    def __init__(self, rate_Hz: float, provenance: Mapping[str, object]) -> None:
        self.damaged = self.gaps = self.restarts = 0
        self.events: list[tuple[float, str]] = []
        self._provenance = dict(provenance)
        self._period_s = 1 / rate_Hz
        self._rows = array("d")
        self._base_s = 0.0
        self._last_s = 0.0
        self._last_host_s: float | None = None
        self._tick = -1
        self._fresh = False
        self._silent = False

    def __len__(self) -> int:
        """Return the number of rows, those of gaps included."""
        return len(self._rows) // len(COLUMNS)

    @property
    def length_s(self) -> float:
        """Return how long it is so far [s]."""
        return self._last_s

    def take(self, line: str, host_s: float) -> Heard | None:
        """Take one line as it came; None where it is damaged or repeats the tick before."""
        found = words_of(line)
        if found is None:
            self.damaged += 1
            return None
        mode, said = found
        if not said:
            return Heard(mode, said, self._now_s(host_s))
        tick = said["tick"]
        if tick == self._tick and not self._fresh:
            return None
        self._place(tick, host_s)
        self._keep(mode, said)
        return Heard(mode, said, self._last_s)

    def note(self, text: str, host_s: float) -> None:
        """Add an event at this moment."""
        self.events.append((round(self._now_s(host_s), 3), printable(text)))

    def restarted(self, host_s: float) -> None:
        """Take notice that the board was reset: its ticks begin anew with the next line."""
        if self._tick >= 0 and not self._fresh:
            self._fresh = True
            self.restarts += 1
            self.note("board restarted: its tick starts anew", host_s)

    def lost(self, why: str, host_s: float) -> None:
        """Take notice that nothing comes any more, until the next line does."""
        self._silent = True
        self.note(why, host_s)

    def trace(self) -> Trace:
        """Return all that was taken so far; a recording that ends without a line ends in a gap."""
        rows = np.array(self._rows, dtype=np.float64).reshape(-1, len(COLUMNS))
        gaps, events = self.gaps, list(self.events)
        if (self._silent or self._fresh) and len(rows):
            empty = np.full((1, len(COLUMNS)), np.nan)
            empty[0, 0] = self._last_s + self._period_s
            rows = np.vstack((rows, empty))
            events.append((float(empty[0, 0]), "gap to the end"))
            gaps += 1
        counts = {"gaps": gaps, "damaged": self.damaged, "restarts": self.restarts}
        columns = {name: rows[:, place].copy() for place, name in enumerate(COLUMNS)}
        events.sort(key=lambda event: event[0])
        return Trace(columns, tuple(events), {**self._provenance, **counts})

    def drained(self) -> NDArray[np.float64]:
        """Return the rows that were taken since the last time, and keep them no longer.

        For whoever watches without an end; a later `trace` begins behind them.
        """
        rows = np.array(self._rows, dtype=np.float64).reshape(-1, len(COLUMNS))
        del self._rows[:], self.events[:]
        return rows

    # the clock

    def _now_s(self, host_s: float) -> float:
        """Return the recording's time: the last reading's, and the host's clock from there on."""
        if self._last_host_s is None:
            return 0.0
        return self._last_s + max(host_s - self._last_host_s, 0.0)

    def _place(self, tick: int, host_s: float) -> None:
        """Put `tick` on the recording's clock; mark the gap before it, if there is one."""
        if self._tick < 0:
            self._base_s = -tick * _TICK_S
        elif tick < self._tick:
            self.restarted(host_s)
        if self._fresh:
            away_s = max(self._now_s(host_s) - self._last_s, self._period_s)
            self._base_s = self._last_s + away_s - tick * _TICK_S
            self._gap(f"gap of about {away_s:.1f} s by the host's clock")
        now_s = round(self._base_s + tick * _TICK_S, 3)
        away_s = now_s - self._last_s
        if not self._fresh and self._tick >= 0 and away_s > _GAP_PERIODS * self._period_s:
            self._gap(f"gap of {away_s:.2f} s")
        self._fresh = self._silent = False
        self._tick, self._last_s, self._last_host_s = tick, now_s, host_s

    def _gap(self, text: str) -> None:
        """Mark a gap behind the last reading, where the next one was due."""
        at_s = round(self._last_s + self._period_s, 3)
        self.gaps += 1
        self.events.append((at_s, text))
        self._rows.extend([at_s] + [np.nan] * (len(COLUMNS) - 1))

    def _keep(self, mode: str, said: Mapping[str, int]) -> None:
        """Keep one row; in mode boot nothing was read yet."""
        unread = mode == "boot"
        self._rows.extend((self._last_s, float(_MODES[mode])))
        self._rows.extend(
            np.nan if unread and is_read else convert(said[word])
            for word, _, convert, is_read in _COLUMNS
        )


# files

_MOST_BYTES = 2_000_000_000
_READ: Mapping[str, Callable[[Path], Trace]] = {".npz": Trace.load_npz, ".csv": Trace.load_csv}
_WRITE: Mapping[str, Callable[[Trace, Path], None]] = {
    ".npz": Trace.save_npz,
    ".csv": Trace.save_csv,
}
#: What a recording's name may end in.
ENDINGS = tuple(_READ)
#: What a file of another make, or half of one, makes a reader raise; RuntimeError stands for an
#: archive that is encrypted or packed in a way unknown here.
_NO_TRACE = (ValueError, KeyError, TypeError, EOFError, MemoryError, csv.Error)
_NO_ARCHIVE = (zipfile.BadZipFile, zlib.error, RuntimeError)


def refuse_ending(path: Path) -> None:
    """Raise BenchError where `path` does not end as a recording does."""
    if path.suffix not in ENDINGS:
        raise BenchError(printable(f"{path}: a recording ends in {' or '.join(ENDINGS)}"))


def load(path: Path) -> Trace:
    """Return the Trace in a file, NPZ or CSV by its ending, recorded or simulated.

    Raises
    ------
    BenchError
        No such file, unreadable, or no Trace: what is wrong and where, in one line.
    """
    refuse_ending(path)
    try:
        state = path.stat()
        if not stat.S_ISREG(state.st_mode):
            raise BenchError(printable(f"{path}: is not a plain file"))
        if state.st_size > _MOST_BYTES:
            raise BenchError(printable(f"{path}: larger than {_MOST_BYTES} bytes"))
        trace = _READ[path.suffix](path)
        _check(trace)
    except FileNotFoundError:
        raise BenchError(printable(f"{path}: no such file")) from None
    except OSError as error:
        raise BenchError(printable(f"{path}: can't be read: {why(error)}")) from None
    except (*_NO_TRACE, *_NO_ARCHIVE) as error:
        said = str(error).removeprefix(f"{path}: ") or type(error).__name__
        if isinstance(error, KeyError):
            said = f"nothing in it is called {said}"
        raise BenchError(printable(f"{path}: no recording: {said}")) from None
    return trace


def _check(trace: Trace) -> None:
    """Raise ValueError where columns can't belong together, or time runs back."""
    if not isinstance(trace.provenance, Mapping):
        raise ValueError("its provenance is no table")
    lengths = set()
    for name, column in trace.columns.items():
        if column.ndim != 1 or column.dtype != np.float64:
            raise ValueError(f"column {name} is no list of numbers")
        lengths.add(len(column))
    if len(lengths) > 1:
        raise ValueError("its columns differ in length")
    time_s = trace["time_s"]
    if not np.isfinite(time_s).all():
        raise ValueError("a time is no number")
    if (np.diff(time_s) < 0).any():
        at = int(np.argmax(np.diff(time_s) < 0))
        raise ValueError(f"time runs back behind {time_s[at]:g} s")


def save(trace: Trace, path: Path) -> None:
    """Write a Trace, NPZ or CSV by the name's ending, whole or not at all.

    Raises
    ------
    BenchError
        Another ending, or it can't be written; what stood there stays.
    """
    refuse_ending(path)
    try:
        _WRITE[path.suffix](trace, path)
    except OSError as error:
        raise BenchError(printable(f"{path}: can't be written: {why(error)}")) from None
