"""One fault case again: what happened physically, what the law saw, who acted, and when."""

import dataclasses
from collections.abc import Mapping
from pathlib import Path

from diodewright.build import Build
from diodewright.derive import criteria, settings
from diodewright.faults import Fault
from diodewright.judge import CaseFinding
from diodewright.rehearse import (
    CaseRun,
    NoHealthyStart,
    UnknownCase,
    parse_case,
    run_case,
    snapshots,
)
from diodewright.report.drawing import Limit
from diodewright.report.facts import EXPECTED, rehearse_command
from diodewright.report.figure_case import case_figure
from diodewright.report.files import make_folder, write_together
from diodewright.report.terminal import block, command, print_json, screen, table
from diodewright.report.timeline import Moment, seen_by_law, strike_s, timeline
from diodewright.report.wording import dark_after, left, number, prose, quantity, unit_text
from diodewright.sim import compiled

__all__ = ["limits_A", "show_case"]

_MOST_MOMENTS = 14
_LIMITS = (
    "typical parts; edges inside a millisecond are counted in the peaks, not drawn; "
    "no wiring inductance"
)


def show_case(build: Build, case_id: str, seed: int, out: Path, as_json: bool) -> int:
    """Run one case, write its Trace and figure into `out`, print it; return 0 where it survives.

    Raises
    ------
    UnknownCase
        There is no such fault or moment.
    CannotWrite
        The folder can't be made or written; then no file is.
    EngineError
        The compiled engine can't be made here.
    """
    fault, at = parse_case(case_id)
    make_folder(out)
    try:
        taken = snapshots(build, compiled(), seed, (at.moment,))
    except NoHealthyStart as error:
        return _not_run(build, case_id, str(error), as_json)
    if at.moment not in taken:
        raise UnknownCase(f"{case_id}: the light of {build.name} never reaches {at.moment}")
    run = run_case(build, taken[at.moment], fault, at, seed, traced=True)
    written = _write(build, run, out)
    if as_json:
        _as_json(build, run, seed, written)
    else:
        _as_text(build, fault, run, seed, written)
    return 0 if run.finding.survives else 1


def _not_run(build: Build, case_id: str, why: str, as_json: bool) -> int:
    """Say that the healthy build never lit, so that nothing could be broken; a failure."""
    if as_json:
        print_json({"verdict": "FAILS", "build": build.name, "case": case_id, "why": why})
        return 1
    console = screen()
    block(console, "case", [f"{case_id}: FAILS (exit 1): {why}"], "bold red")
    block(console, "next", ["see why the healthy use does not light:"])
    command(console, rehearse_command(build.file, 1, "--only use"))
    return 1


def limits_A(build: Build, peak_current_A: float) -> list[Limit]:
    """Return the lines across a figure of currents: the diode's limit, and the highest seen [A]."""
    rows = [row for row in criteria(build) if row.id == "diode-current"]
    limits = [Limit(row.limit, f"absolute maximum {quantity(row.limit, 'A')}") for row in rows]
    if peak_current_A > 0:
        peak = quantity(peak_current_A, "A", 4)
        limits.append(Limit(peak_current_A, f"highest, edges included: {peak}"))
    # the name of the upper line stands above it, that of the lower one below
    return sorted(limits, key=lambda limit: -limit.value)


def _write(build: Build, run: CaseRun, out: Path) -> list[Path]:
    trace, finding = run.trace, run.finding
    assert trace is not None
    zero_s = strike_s(trace, finding.id)
    limits = limits_A(build, finding.peak_current_A)
    figure = case_figure(trace, zero_s, finding.time_to_dark_ms, limits)
    name = f"{finding.id}@{finding.at}"
    return write_together(
        out,
        {
            f"{name}.npz": trace.save_npz,
            f"{name}.csv": trace.save_csv,
            f"{name}.svg": lambda path: path.write_text(figure, encoding="utf-8"),
        },
    )


def _peaks(build: Build, finding: CaseFinding) -> list[tuple[str, str, str, str]]:
    """Return (what, highest, limit, margin) of every quantity that has both."""
    found: Mapping[str, float] = {
        "peak_current_A": finding.peak_current_A,
        "peak_junction_degC": finding.peak_junction_degC,
    }
    rows = []
    for row in criteria(build):
        if row.column in found and "fault" in row.scopes:
            value = found[row.column]
            share = (row.limit - value) / row.limit
            rows.append(
                (
                    row.id,
                    quantity(value, row.unit, 4),
                    f"at most {quantity(row.limit, row.unit, 4)}",
                    left(share),
                )
            )
    rows.append(("light", quantity(finding.peak_light_W, "W"), "", ""))
    return rows


def _as_json(build: Build, run: CaseRun, seed: int, written: list[Path]) -> None:
    assert run.trace is not None
    print_json(
        {
            "verdict": "HOLDS" if run.finding.survives else "FAILS",
            "build": build.name,
            "case": f"{run.finding.id}@{run.finding.at}",
            "seed": seed,
            "provenance": dict(run.trace.provenance),
            "finding": dataclasses.asdict(run.finding),
            "law_saw": seen_by_law(run, settings(build)),
            "timeline": [dataclasses.asdict(moment) for moment in timeline(run)],
            "files": [str(path) for path in written],
        }
    )


def _moment(moment: Moment) -> tuple[str, str]:
    return f"{moment.at_ms:.2f}", moment.text


def _as_text(build: Build, fault: Fault, run: CaseRun, seed: int, written: list[Path]) -> None:
    finding, console = run.finding, screen()
    verdict = "SURVIVES" if finding.survives else "DOES NOT SURVIVE"
    style = "bold green" if finding.survives else "bold red"
    name = f"{finding.id}@{finding.at}"
    console.print(f"{verdict}  {name} on {build.name}", style=style)
    allowed = "" if fault.allowed_ms is None else f" within {number(fault.allowed_ms, 5)} ms"
    block(console, "broken", [f"{fault.part}: {fault.happens}"])
    block(console, "expected", [f"{EXPECTED[fault.expect]}{allowed}; by: {fault.acts}"])
    block(console, "law saw", [prose(line) for line in seen_by_law(run, settings(build))])
    block(console, "acted", [f"{finding.reaction}; {dark_after(finding.time_to_dark_ms)}"])
    told = timeline(run)
    table(console, ("ms", "what happened"), [_moment(row) for row in told[:_MOST_MOMENTS]], "ms")
    if len(told) > _MOST_MOMENTS:
        block(console, "", [f"and {len(told) - _MOST_MOMENTS} more in the Trace"])
    table(console, ("judged", "highest", "limit", "margin"), _peaks(build, finding))
    tight = finding.tightest
    figure = f"{number(tight.value, 4)} of {tight.limit:g} {unit_text(tight.unit)}".rstrip()
    block(console, "tightest", [f"{prose(tight.meaning)}: {figure} ({left(tight.margin)})"])
    if not finding.survives:
        block(console, "why", [prose(finding.why)], "bold")
        block(console, "mend", [tight.mend or "see what should have acted, and why it did not"])
    block(console, "limits", [_LIMITS])
    block(console, "written", [str(path) for path in written])
    block(console, "next", ["all faults at all moments, judged:"])
    command(console, rehearse_command(build.file, seed))
