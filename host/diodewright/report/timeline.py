"""One traced fault case told in order: what broke, what the law saw, who acted, and when."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from diodedriver import words
from diodewright.rehearse import CaseRun
from diodewright.report.wording import dark_after, quantity
from diodewright.sim import Trace

__all__ = ["Moment", "law_saw", "seen_by_law", "strike_s", "timeline", "told"]

#: Causes whose reading may be set beside one limit: column of the Trace, unit. The others are
#: judged on more than one value, or on a difference.
_COMPARED: Mapping[str, tuple[str, str]] = {
    "overcurrent": ("current_read_A", "A"),
    "short": ("output_read_V", "V"),
    "junction": ("junction_law_degC", "degC"),
    "pack_wrong": ("pack_read_V", "V"),
    "pack_min": ("pack_read_V", "V"),
    "pack_low": ("rest_law_V", "V"),
}
_SENSED = (
    ("drive", "drive_A", "A"),
    ("current", "current_read_A", "A"),
    ("output", "output_read_V", "V"),
    ("pack", "pack_read_V", "V"),
    ("mount", "mount_read_degC", "degC"),
    ("sink", "sink_read_degC", "degC"),
)


@dataclass(frozen=True, order=True)
class Moment:
    """Something that happened, so long after the fault [ms]; negative is before it."""

    at_ms: float
    text: str


def strike_s(trace: Trace, fault_id: str) -> float:
    """Return when the fault struck, in the Trace's time [s]; ValueError where it did not."""
    for at, text in trace.events:
        if text == fault_id:
            return at
    raise ValueError(f"no event {fault_id} in the Trace")


def _rows(bits: float) -> set[int]:
    return {row for row in range(words.ROWS) if int(bits) >> row & 1}


def _changes(trace: Trace, begin: int, zero_s: float) -> Iterator[Moment]:
    """Yield changes of mode and rows latched, from row `begin` on; suspicions until one does."""
    time_ms = 1000 * (trace["time_s"] - zero_s)
    mode = int(trace["mode"][begin - 1]) if begin else int(trace["mode"][0])
    known: set[int] = set()
    latched: set[int] = _rows(trace["faults"][max(begin - 1, 0)])
    for i in range(begin, len(trace)):
        at_ms = float(time_ms[i])
        now = _rows(trace["faults"][i])
        fresh = _rows(trace["suspect"][i]) - known if not now else set()
        known |= fresh
        for row in sorted(fresh):
            yield Moment(at_ms, f"law suspects: {words.FAULTS[row][0]}, {words.FAULTS[row][4]}")
        for row in sorted(now - latched):
            yield Moment(at_ms, f"law latches: {words.FAULTS[row][0]}")
        latched |= now
        if int(trace["mode"][i]) != mode:
            mode = int(trace["mode"][i])
            name, meaning = words.MODES[mode]
            yield Moment(at_ms, f"law goes to {name.replace('_', ' ')}: {meaning}")


def timeline(run: CaseRun) -> tuple[Moment, ...]:
    """Return what happened in a traced case, from the fault on, in order.

    The law's side is read from the Trace's rows: every millisecond for 200 ms behind an event or
    a change of mode, every 20 ms elsewhere, so that a first suspicion may be 20 ms older.
    """
    assert run.trace is not None
    trace, finding = run.trace, run.finding
    zero_s = strike_s(trace, finding.id)
    moments = [*told(trace, zero_s)]
    if finding.time_to_dark_ms is not None:
        moments.append(Moment(finding.time_to_dark_ms, f"{dark_after(finding.time_to_dark_ms)}"))
    return tuple(sorted(moments, key=lambda moment: moment.at_ms))


def told(trace: Trace, zero_s: float) -> tuple[Moment, ...]:
    """Return events, and what the law did from `zero_s` [s] on, in order, counted from there."""
    begin = int(np.searchsorted(trace["time_s"], zero_s))
    moments = [
        Moment(1000 * (at - zero_s), text) for at, text in dict.fromkeys(trace.events) if text
    ]
    moments += _changes(trace, begin, zero_s)
    return tuple(sorted(moments, key=lambda moment: moment.at_ms))


def seen_by_law(run: CaseRun, settings: Mapping[str, int]) -> tuple[str, ...]:
    """Return in words why the law latched first, and what its sensors said at that tick.

    Parameters
    ----------
    settings : the law's words, as derived from the build.
    """
    assert run.trace is not None
    return law_saw(run.trace, run.finding.cause, settings)


def law_saw(trace: Trace, cause: str | None, settings: Mapping[str, int]) -> tuple[str, ...]:
    """Return what `seen_by_law` says, of any Trace and the first cause that the law latched."""
    latched = np.flatnonzero(trace["faults"] > 0)
    if cause is None or not len(latched):
        return ("nothing that latches",)
    at = latched[0]
    _, _, _, limit, condition = next(row for row in words.FAULTS if row[0] == cause)
    why = f"{cause}: {condition}"
    if cause in _COMPARED:
        column, unit = _COMPARED[cause]
        read = quantity(float(trace[column][at]), unit)
        why += f": {read}, limit {_limit(settings[limit], unit)}"
    sensed = ", ".join(
        f"{name} {quantity(float(trace[column][at]), unit)}" for name, column, unit in _SENSED
    )
    return why, f"at that tick: {sensed}"


def _limit(word: int, unit: str) -> str:
    value = word / 100 - 273.15 if unit == "degC" else word / 1000
    return quantity(value, unit)
