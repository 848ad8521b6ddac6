"""The ten smallest margins among the fault cases, run again with their Traces."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from diodewright.build import Build
from diodewright.judge import CaseFinding
from diodewright.rehearse.case_id import parse_case
from diodewright.rehearse.cases import run_case
from diodewright.rehearse.moments import Stand

__all__ = ["closest_traces"]

_MOST = 10
_ROWS = 160
#: Shown before the strike and behind the last thing that happened [s].
_BEFORE_S, _BEHIND_S = 0.02, 0.05
#: Criterion -> the Trace's column that comes closest to its limit.
_COLUMNS = {
    "diode-current": "diode_peak_A",
    "junction": "junction_degC",
    "cutoff-a-channel": "a_degC",
    "emission-against-controls": "diode_A",
}


def _tightest(found: Sequence[CaseFinding]) -> list[CaseFinding]:
    """Return the case of least margin of each fault, the `_MOST` least of all."""
    judged = [case for case in found if case.tightest.margin is not None]
    judged.sort(key=lambda case: case.tightest.margin or 0.0)
    firsts: dict[str, CaseFinding] = {}
    for case in judged:
        if case.tightest.id in _COLUMNS:
            firsts.setdefault(case.id, case)
    return list(firsts.values())[:_MOST]


def closest_traces(
    build: Build, taken: Mapping[str, Stand], found: Sequence[CaseFinding], seed: int
) -> list[dict[str, Any]]:
    """Return the tightest case of each of ten faults, as columns over time from the strike.

    Each row holds the case's ``id`` and ``at``, the ``criterion`` with its ``limit``, ``unit`` and
    ``peak``, and the columns ``time_s``, ``value`` (the criterion's quantity) and ``drive_A``.
    Picked values were there; a peak within one tick stands in ``peak`` alone.
    """
    rows = []
    for case in _tightest(found):
        fault, at = parse_case(f"{case.id}@{case.at}")
        stand = taken[at.moment]
        trace = run_case(build, stand, fault, at, seed, traced=True).trace
        if trace is None:
            continue
        strike_s = (stand.strike + at.later) / 1000
        column = _COLUMNS[case.tightest.id]
        time_s = trace["time_s"] - strike_s
        worst_s = float(time_s[int(np.argmax(np.where(time_s >= 0, trace[column], -np.inf)))])
        dark_s = (case.time_to_dark_ms or 0.0) / 1000
        last_s = max(worst_s, dark_s) * 1.2 + _BEHIND_S
        wanted = np.linspace(-_BEFORE_S, min(last_s, float(time_s[-1])), _ROWS)
        picks = np.unique(np.clip(np.searchsorted(time_s, wanted), 0, len(time_s) - 1))
        shown = {"time_s": time_s, "value": trace[column], "drive_A": trace["drive_A"]}
        rows.append(
            {
                "id": case.id,
                "at": case.at,
                "criterion": case.tightest.id,
                "limit": case.tightest.limit,
                "unit": case.tightest.unit,
                "peak": case.tightest.value,
                **{name: [float(f"{v:.5g}") for v in col[picks]] for name, col in shown.items()},
            }
        )
    return rows
