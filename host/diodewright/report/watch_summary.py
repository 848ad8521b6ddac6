"""What a recording came to, in a few lines or as a document."""

from pathlib import Path
from typing import Any

import numpy as np

from diodedriver import words
from diodewright.build import Build
from diodewright.derive import criteria
from diodewright.judge import judge
from diodewright.report.terminal import block, print_json, screen
from diodewright.report.wording import quantity
from diodewright.sim import Trace

__all__ = ["print_summary", "summary_of"]

_MODES = [name for name, _ in words.MODES]
_LIMITED = _MODES.index("limited")
_LIT = [_MODES.index(name) for name in ("start", "soft_start", "run", "limited")]
#: (name in the document, column, which extreme, unit, in words).
_EXTREMES = (
    ("highest_current_read_A", "current_read_A", np.nanmax, "A", "highest current read"),
    ("lowest_pack_read_V", "pack_read_V", np.nanmin, "V", "lowest pack voltage"),
    ("highest_mount_read_degC", "mount_read_degC", np.nanmax, "degC", "warmest mount"),
    ("highest_sink_read_degC", "sink_read_degC", np.nanmax, "degC", "warmest sink"),
    ("highest_junction_law_degC", "junction_law_degC", np.nanmax, "degC", "law's warmest junction"),
)
_NOT_JUDGED = (
    "a recording has no true values, and misses what comes and goes between two lines: the "
    "criteria of a rehearsal are not judged by it"
)


def summary_of(build: Build, trace: Trace) -> dict[str, Any]:
    """Return what a recording came to: counts, extremes, times lit, and what is not judged."""
    time_s, mode = trace["time_s"], trace["mode"]
    seen = ~np.isnan(mode)
    lit = np.isin(mode, _LIT)
    steps_s = np.diff(time_s, append=time_s[-1:])
    extremes = {
        name: float(extreme(trace[column])) if np.isfinite(trace[column]).any() else None
        for name, column, extreme, _, _ in _EXTREMES
    }
    findings = judge(criteria(build), {}, "use")
    first_lit = np.flatnonzero(lit)
    limited = np.flatnonzero(mode == _LIMITED)
    return {
        "provenance": dict(trace.provenance),
        "length_s": float(time_s[-1] - time_s[0]) if len(time_s) else 0.0,
        "readings": int(seen.sum()),
        "modes": [_MODES[code] for code in sorted({int(code) for code in mode[seen]})],
        "lit_s": float(steps_s[lit].sum()),
        "first_lit_s": float(time_s[first_lit[0]]) if len(first_lit) else None,
        "first_limited_s": float(time_s[limited[0]]) if len(limited) else None,
        **extremes,
        "events": [[at, text] for at, text in trace.events],
        "not_judged": [row.id for row in findings if row.status == "not judged"],
    }


def print_summary(build: Build, trace: Trace, path: Path | None, as_json: bool) -> None:
    """Print what a recording came to, and where it stands."""
    found = summary_of(build, trace)
    if as_json:
        print_json({**found, "written": str(path) if path else None})
        return
    out = screen()
    counts = trace.provenance
    block(out, "recorded", [
        f"{found['length_s']:.1f} s, {found['readings']} readings, gaps {counts['gaps']}, "
        f"damaged lines {counts['damaged']}, restarts of the board {counts['restarts']}",
        f"lit for {found['lit_s']:.1f} s; modes: {', '.join(found['modes']) or 'none'}",
    ])  # fmt: skip
    extremes = [
        f"{said} {quantity(found[name], unit, 4)}"
        for name, _, _, unit, said in _EXTREMES
        if found[name] is not None
    ]
    if extremes:
        block(out, "extremes", [", ".join(extremes)])
    block(out, "events", [f"{at:.3f} s  {text}" for at, text in trace.events])
    block(out, "judged", [f"nothing: {_NOT_JUDGED}"])
    block(out, "written", [str(path)] if path else ["nothing: no --out"])
