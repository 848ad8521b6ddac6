"""Fault cases: each branches from one snapshot of a healthy run and is judged on its Tally."""

from collections.abc import Iterable, Iterator
from concurrent.futures import Executor
from dataclasses import dataclass
from difflib import get_close_matches

from diodewright.build import Build
from diodewright.build.plain_file import printable
from diodewright.derive import BUDGET_GUARD_K, criteria, settings
from diodewright.faults import CATALOGUE, ENGINE, MOMENTS, NEEDS, Fault, by_id
from diodewright.judge import CaseFinding, Finding, judge, judge_case
from diodewright.plant import record
from diodewright.rehearse.causes import cause_words
from diodewright.rehearse.sweep import in_order
from diodewright.rehearse.use import PRESS_S, dark_A, provenance_of, rested, tally_values
from diodewright.sim import Engine, Event, Machine, Trace, new_tally

__all__ = [
    "MOMENTS",
    "CaseJob",
    "CaseRun",
    "NoHealthyStart",
    "UnknownCase",
    "case_finding",
    "moments",
    "parse_case",
    "run_case",
    "run_cases",
    "snapshots",
    "strike_events",
]

STEADY_S = 60
#: The trigger is let go so long before the end of a case, to see that it still makes dark.
CLOSING_S = 0.5
LEAD_IN_MS = 100
#: What the closing release may still raise.
PEAKS = (
    "peak_current_A",
    "peak_junction_degC",
    "peak_a_degC",
    "peak_pass_degC",
    "longest_against_s",
)
_LONGEST_ID = 60


class NoHealthyStart(Exception):
    """The healthy build never reached its soft-start; says what latched."""


class UnknownCase(ValueError):
    """No such fault or moment; names the nearest."""


@dataclass(frozen=True)
class CaseRun:
    """One case with its verdict, all findings, and its Trace where one was asked for."""

    finding: CaseFinding
    findings: tuple[Finding, ...]
    trace: Trace | None


def snapshots(build: Build, engine: Engine, seed: int) -> dict[str, Machine]:
    """Return the healthy machine, full pack, 100 ms before each of `MOMENTS`."""
    charge = 1.0 if build.pack.kind == "bench_supply" else build.pack.start_charge_pct / 100
    machine = rested(build, engine, seed, charge, build.comparator.trip_max_A)
    tally = new_tally(engine, dark_A(build))
    return moments(build, machine, tally, settings(build)["ramp_ticks"])


def moments(
    build: Build, machine: Machine, tally: record.Filled, ramp_ticks: int
) -> dict[str, Machine]:
    """Press the trigger of a dark machine and return copies of it as `snapshots` does.

    `machine` itself stands at the last moment then, and `tally` holds its way there; `ramp_ticks`
    is the length of the law's soft-start.

    Raises
    ------
    NoHealthyStart
        It never reached its soft-start.
    """
    press = machine.now + 1000 * PRESS_S
    events = (Event(press, "plant.trigger", 1),)
    machine.run(press + max(1, int(1000 * build.limits.delay_s) - 50), tally, events)
    while machine.mode() != "soft_start":
        if machine.cause() or machine.now > press + 60_000 + int(1000 * build.limits.delay_s):
            condition, _ = cause_words(machine.cause())
            raise NoHealthyStart(
                f"no light to inject faults into: {machine.cause() or machine.mode()}"
                f"{': ' + condition if condition else ''}"
            )
        machine.run(machine.now + 1, tally)
    half = machine.now + ramp_ticks // 2
    taken = {}
    machine.run(max(machine.now, half - LEAD_IN_MS), tally)
    taken["soft-start"] = machine.copy()
    machine.run(half + 1000 * STEADY_S - LEAD_IN_MS, tally)
    taken["steady"] = machine.copy()
    return taken


def parse_case(case_id: str) -> tuple[Fault, str]:
    """Return fault and moment of ``FAULT@MOMENT``; UnknownCase with the nearest names."""
    name, mark, at = case_id.partition("@")
    ids = [row.id for row in ENGINE]
    elsewhere = {row.id: row for row in CATALOGUE if row.level != "engine"}
    if name in elsewhere:
        shown_by = elsewhere[name].shown_by
        raise UnknownCase(f"{_shown(case_id)}: no such fault in the engine; shown by {shown_by}")
    if name not in ids:
        near = get_close_matches(name[:_LONGEST_ID], ids, 3, 0.4)
        raise UnknownCase(
            f"{_shown(case_id)}: no such fault; nearest: {', '.join(near) or 'none'}"
            " (diodewright faults lists all)"
        )
    if at not in MOMENTS:
        wrong = "no such moment" if mark else "no moment"
        near = get_close_matches(at[:_LONGEST_ID], MOMENTS, 1, 0.4) or list(MOMENTS)[:1]
        raise UnknownCase(
            f"{_shown(case_id)}: {wrong}; one of: {', '.join(MOMENTS)}; write {name}@{near[0]}"
        )
    return by_id(name), at


def _shown(case_id: str) -> str:
    """Return what was asked for on one line that fits a screen."""
    text = printable(case_id)
    return f"{text[:_LONGEST_ID]}..." if len(text) > _LONGEST_ID else text or "(nothing)"


def lacks(build: Build, fault: Fault) -> str:
    """Return what `build` has not got of what the fault needs, in words; "" for nothing."""
    has = {
        "cells": build.pack.kind == "cells",
        "laser": build.diode.kind == "laser_diode",
        "set_input": build.stage.kind != "gated",
        "interlock": build.controls.interlock,
        "key": build.controls.key,
        "indicator": build.controls.indicator,
        "switching": build.stage.kind != "linear",
        "linear": build.stage.kind == "linear",
        "bench": build.pack.kind == "bench_supply",
        "two_cells": build.pack.kind == "cells" and build.pack.series == 2,
        "shared_shunt": build.sensors.shunt == "shared",
    }
    return next((NEEDS[need] for need in fault.needs if not has[need]), "")


def strike_events(fault: Fault, at: int) -> tuple[Event, ...]:
    """Return what `fault` changes at tick `at`, and what comes back by itself."""
    struck = tuple(
        Event(at, target, value, fault.id if i == 0 else "")
        for i, (target, value) in enumerate(fault.changes)
    )
    back = tuple(
        Event(at + round(after_ms), target, value, f"{fault.id}: back")
        for after_ms, target, value in fault.restores
    )
    return (*struck, *back)


def run_case(
    build: Build, machine: Machine, fault: Fault, at: str, seed: int, traced: bool = False
) -> CaseRun:
    """Run `fault` from a snapshot (which is left as it was) and judge it.

    Raises
    ------
    UnknownCase
        This build can't have that fault.
    """
    if why := lacks(build, fault):
        raise UnknownCase(f"{fault.id}@{at}: {build.name} {why} to fail in this way")
    machine = machine.copy()
    engine = machine.engine
    lead_in = new_tally(engine, dark_A(build))
    strike = machine.now + LEAD_IN_MS
    closing = strike + round(1000 * (fault.watch_s - CLOSING_S))
    end = strike + round(1000 * fault.watch_s)
    released = Event(closing, "plant.trigger", 0, "trigger released")
    events = (*strike_events(fault, strike), released)
    provenance: dict[str, object] | None = None
    if traced:
        provenance = {**provenance_of(build, engine, seed), "case": f"{fault.id}@{at}"}
    before = machine.run(strike, lead_in, (), provenance)
    drive_before_A = machine.word("drive") / 64000
    tally = new_tally(engine, dark_A(build))
    during = machine.run(closing, tally, events, provenance)
    values = tally_values(tally)
    values["drive_before_A"] = drive_before_A
    values["drive_A"] = machine.word("drive") / 64000
    guard_degC = build.limits.mount_trip_degC + BUDGET_GUARD_K
    values["mount_over_K"] = values["peak_mount_degC"] - guard_degC
    values["lit_at_end"] = float(machine.true("diode_A") > dark_A(build))
    cause = machine.cause()
    law_lit = machine.mode() in ("start", "soft_start", "run", "limited")
    after = machine.run(end, tally, events, provenance)
    closed = tally_values(tally)
    values |= {name: closed[name] for name in PEAKS}
    findings = judge(criteria(build), values, "fault")
    finding = judge_case(fault, at, findings, values, cause, law_lit)
    if before is None or during is None or after is None:
        return CaseRun(finding, findings, None)
    return CaseRun(finding, findings, before.joined(during, after))


@dataclass(frozen=True)
class CaseJob:
    """One case to be run, wherever that may be: `run_case` with what it takes."""

    build: Build
    machine: Machine
    fault: Fault
    at: str
    seed: int


def case_finding(job: CaseJob) -> CaseFinding:
    """Run one case and return its finding alone."""
    return run_case(job.build, job.machine, job.fault, job.at, job.seed).finding


def run_cases(
    build: Build,
    engine: Engine,
    seed: int,
    faults: Iterable[Fault] = ENGINE,
    moments: Iterable[str] = tuple(MOMENTS),
    pool: Executor | None = None,
) -> Iterator[CaseFinding]:
    """Yield the finding of every fault that this build can have, at every moment, in that order.

    `pool` runs them (see `diodewright.rehearse.sweep`); the findings do not depend on it. In
    other processes only the engine of the law on disk runs.
    """
    taken = snapshots(build, engine, seed)
    jobs = (
        CaseJob(build, taken[at], fault, at, seed)
        for fault in faults
        if not lacks(build, fault)
        for at in moments
    )
    yield from in_order(pool, case_finding, jobs)
