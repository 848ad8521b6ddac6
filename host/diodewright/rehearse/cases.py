"""Fault cases: each branches from one snapshot of a healthy run and is judged on its Tally."""

from collections.abc import Iterable, Iterator, Mapping
from concurrent.futures import Executor
from dataclasses import dataclass

from diodewright.build import Build
from diodewright.derive import BUDGET_GUARD_K, criteria
from diodewright.derive.electrics import highest_level_A
from diodewright.faults import ENGINE, MOMENTS, NEEDS, SLOW, Fault
from diodewright.judge import CaseFinding, Finding, judge, judge_case
from diodewright.rehearse.case_id import At, UnknownCase, parse_at
from diodewright.rehearse.moments import Stand, snapshots
from diodewright.rehearse.sweep import in_order
from diodewright.rehearse.use import dark_A, provenance_of, tally_values
from diodewright.sim import Engine, Event, Machine, Trace, new_tally
from diodewright.sim.machine import peek

__all__ = [
    "CaseJob",
    "CaseRun",
    "case_finding",
    "cases_of",
    "lacks",
    "run_case",
    "run_cases",
    "run_jobs",
    "strike_events",
]

#: The trigger is let go so long before the end of a case, to see that it still makes dark.
CLOSING_S = 0.5
#: A case is decided when it has been latched and dark for this long [s].
SETTLED_S = 2.0
#: Watched longer than this [s], a fault shows itself slowly.
SLOWLY_S = 20.0
#: What the closing release may still raise.
PEAKS = (
    "peak_current_A",
    "peak_junction_degC",
    "peak_a_degC",
    "peak_pass_degC",
    "longest_against_s",
)


@dataclass(frozen=True)
class CaseRun:
    """One case with its verdict, all findings, and its Trace where one was asked for."""

    finding: CaseFinding
    findings: tuple[Finding, ...]
    trace: Trace | None


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


def _mended(fault: Fault, machine: Machine, at: int) -> tuple[Event, ...]:
    """Return what takes a fault back at tick `at`: each part as it is in `machine`."""
    return tuple(
        Event(at, target, machine.peek(target), f"{fault.id}: mended" if i == 0 else "")
        for i, (target, _) in enumerate(fault.changes)
        if target.startswith(("plant.", "board."))
    )


def cases_of(build: Build, fault: Fault, taken: Iterable[str]) -> Iterator[At]:
    """Yield the moments of `taken` at which `fault` strikes: what shows slowly, at few of them."""
    if not lacks(build, fault):
        slowly = fault.watch_s > SLOWLY_S
        yield from (At(at) for at in taken if not slowly or at in SLOW)


def _struck(stand: Stand, fault: Fault, at: At) -> tuple[Machine, int, tuple[Event, ...]]:
    """Return a machine that the fault is about to strike, the tick, and all that happens."""
    machine = stand.machine.copy()
    strike = stand.strike + at.later
    before = tuple(Event(machine.now, target, value) for target, value in fault.before)
    mended: tuple[Event, ...] = ()
    if at.off_ms is not None:
        mended = _mended(fault, machine, strike + at.off_ms)
    failed = {target for target, _ in fault.changes}
    # what has failed does not follow the hand any more
    by_hand = [event for event in stand.events if event.tick < strike or event.target not in failed]
    return machine, strike, (*before, *by_hand, *strike_events(fault, strike), *mended)


def run_case(
    build: Build, stand: Stand, fault: Fault, at: At | str, seed: int, traced: bool = False
) -> CaseRun:
    """Run `fault` from where the light stands (which is left as it was) and judge it.

    It ends when it is decided: two seconds latched and dark, or watched for as long as the
    catalogue says; then the trigger is let go.

    Raises
    ------
    UnknownCase
        This build can't have that fault.
    """
    at = parse_at(at) if isinstance(at, str) else at
    if why := lacks(build, fault):
        raise UnknownCase(f"{fault.id}@{at}: {build.name} {why} to fail in this way")
    machine, strike, events = _struck(stand, fault, at)
    engine = machine.engine
    provenance: dict[str, object] | None = None
    if traced:
        provenance = {**provenance_of(build, engine, seed), "case": f"{fault.id}@{at}"}
    traces = [machine.run(strike, new_tally(engine, dark_A(build)), events, provenance)]
    lit_before = float(machine.true("diode_A") > dark_A(build))
    tally = new_tally(engine, dark_A(build))
    last = strike + stand.again_ms + round(1000 * (fault.watch_s - CLOSING_S))
    acts = max((event.tick for event in events), default=strike)
    while machine.now < last:
        till = min(last, max(acts, machine.now) + round(1000 * SETTLED_S) + 1)
        traces.append(machine.run(till, tally, events, provenance))
        dark_s = peek(tally, "elapsed_s") - peek(tally, "last_lit_s")
        if machine.now > acts and machine.cause() and dark_s >= SETTLED_S:
            break
    values = _values(build, machine, stand, tally_values(tally)) | {"lit_before": lit_before}
    cause = machine.cause()
    law_lit = machine.mode() in ("start", "soft_start", "run", "limited")
    released = Event(machine.now, "plant.trigger", 0, "trigger released")
    end = machine.now + round(1000 * CLOSING_S)
    traces.append(machine.run(end, tally, (*events, released), provenance))
    closed = tally_values(tally)
    values |= {name: closed[name] for name in PEAKS}
    findings = judge(criteria(build), values, "fault")
    finding = judge_case(fault, str(at), at.off_ms, findings, values, cause, law_lit)
    kept = [trace for trace in traces if trace is not None]
    return CaseRun(finding, findings, kept[0].joined(*kept[1:]) if kept else None)


def _values(
    build: Build, machine: Machine, stand: Stand, values: dict[str, float]
) -> dict[str, float]:
    """Return a case's quantities: its Tally, and what its judge compares that with."""
    guard_degC = build.limits.mount_trip_degC + BUDGET_GUARD_K
    return values | {
        "drive_A": machine.word("drive") / 64000,
        "healthy_drive_A": stand.drive_A,
        "healthy_lit": float(stand.lit),
        "again_ms": float(stand.again_ms),
        "trip_A": build.comparator.trip_max_A,
        "level_A": highest_level_A(build),
        "mount_over_K": values["peak_mount_degC"] - guard_degC,
        "lit_at_end": float(machine.true("diode_A") > dark_A(build)),
    }


@dataclass(frozen=True)
class CaseJob:
    """One case to be run, wherever that may be: `run_case` with what it takes."""

    build: Build
    stand: Stand
    fault: Fault
    at: At
    seed: int


def case_finding(job: CaseJob) -> CaseFinding:
    """Run one case and return its finding alone."""
    return run_case(job.build, job.stand, job.fault, job.at, job.seed).finding


def run_jobs(
    build: Build,
    taken: Mapping[str, Stand],
    jobs: Iterable[tuple[Fault, At]],
    seed: int,
    pool: Executor | None = None,
) -> Iterator[CaseFinding]:
    """Yield the finding of each (fault, moment), in their order; `taken` is where light stands."""
    each = (CaseJob(build, taken[at.moment], fault, at, seed) for fault, at in jobs)
    yield from in_order(pool, case_finding, each)


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
    other processes only the engine of the law on disk runs. A moment that this build never
    reaches is passed over.
    """
    taken = snapshots(build, engine, seed, tuple(moments))
    jobs = ((fault, at) for fault in faults for at in cases_of(build, fault, taken))
    yield from run_jobs(build, taken, jobs, seed, pool)
