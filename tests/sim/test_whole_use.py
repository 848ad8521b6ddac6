"""A whole use of every shipped example: energy closes, and the sub-step is fine enough."""

import functools
from collections import defaultdict
from dataclasses import dataclass, replace

import numpy as np
import pytest

from diodewright.build import examples, load
from diodewright.derive import criteria, settings
from diodewright.faults import CORE, ENGINE
from diodewright.judge import judge
from diodewright.rehearse.cases import CaseRun, lacks, run_case
from diodewright.rehearse.moments import LEAD_IN_MS, Stand, fresh
from diodewright.rehearse.use import dark_A, tail_charge, tally_values
from diodewright.sim import Machine, Trace, new_tally
from lamps import held, powered

USE_S = 600
#: Where the pack's energy goes, by part; what the heat path makes of `heat_J` is below.
SPENT = ("light_J", "heat_J", "stage_J", "a_J", "path_J", "wiring_J", "output_J", "controller_J")
COUNTED = (*SPENT, "pack_J", "pack_C", "air_J", "pass_J")
EXAMPLES = sorted(examples())
#: Which row is first is a race within one tick, once the supervisor has opened A -> the rows.
RACES: dict[str, set[str | None]] = defaultdict(
    set, {name: {"open", "latch"} for name in ("rail-lost", "rail-dip")}
)


@dataclass(frozen=True)
class Done:
    """A use of 600 s that runs its pack down into its cutback, with what it moved."""

    machine: Machine
    trace: Trace
    values: dict[str, float]
    used_J: dict[str, float]


def _stored_J(machine: Machine) -> float:
    """Return what junction, mount, sink and pass MOSFET hold over the ambient [J]."""
    p, x = machine.p.record, machine.x.record
    held_J = p.mount_J_K * (x.mount_degC - p.ambient_degC)
    held_J += p.sink_J_K * (x.sink_degC - p.ambient_degC)
    return float(held_J + p.junction_J_K * x.junction_rise_K + p.pass_J_K * x.pass_rise_K)


@functools.cache
def _used(name: str, substeps: int) -> Done:
    build = load(name)
    machine = powered(
        build, tail_charge(build, settings(build)), plants={"trip_A": build.comparator.trip_min_A}
    )
    machine.substeps = substeps
    before = {counted: machine.true(counted) for counted in COUNTED}
    tally = new_tally(machine.engine, dark_A(build))
    events = held(machine, build, USE_S)
    trace = machine.run(events[-1].tick + 5000, tally, events, {"build": name})
    assert trace is not None
    values = tally_values(tally)
    lit_s = trace["time_s"][0] + values["first_lit_s"]
    values["light_first_minute_W"] = float(np.interp(lit_s + 60, trace["time_s"], trace["light_W"]))
    values["before_cutback_s"] = values["first_heat_cut_s"] - values["first_lit_s"]
    used_J = {counted: machine.true(counted) - before[counted] for counted in COUNTED}
    return Done(machine, trace, values, used_J)


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_whole_use_spends_what_it_draws_within_a_thousandth(name: str) -> None:
    # The pack's side is taken from the Trace alone: its terminal volts times amperes over time.
    done = _used(name, 4)
    p, trace, used_J = done.machine.p.record, done.trace, done.used_J
    terminal_V = trace["pack_V"] + trace["pack_A"] * float(p.wiring_ohm)
    drawn_J = float(np.trapezoid(terminal_V * trace["pack_A"], trace["time_s"]))
    in_output_J = 0.5 * float(p.output_F) * done.machine.true("output_V") ** 2
    spent_J = sum(used_J[part] for part in SPENT) + in_output_J
    assert drawn_J == pytest.approx(spent_J, rel=1e-3)
    assert used_J["pack_J"] == pytest.approx(spent_J, rel=1e-6)
    assert done.values["lit_s"] > 60


@pytest.mark.parametrize("name", EXAMPLES)
def test_of_that_use_each_part_is_where_it_says(name: str) -> None:
    # Light: the Trace's. Heat of diode and pass: in the masses or in the air. Charge: the cells'.
    done = _used(name, 4)
    trace, used_J = done.trace, done.used_J
    seen_J = float(np.trapezoid(trace["light_W"], trace["time_s"]))
    assert seen_J == pytest.approx(used_J["light_J"], rel=1e-3, abs=1e-9)
    warmed_J = _stored_J(done.machine) + used_J["air_J"]
    assert warmed_J == pytest.approx(used_J["heat_J"] + used_J["pass_J"], rel=1e-6)
    build = load(name)
    if build.pack.kind == "cells":
        cells_As = build.pack.capacity_Ah * 3600 * build.pack.parallel
        given_C = (trace["soc"][0] - trace["soc"][-1]) * cells_As
        assert given_C == pytest.approx(used_J["pack_C"], rel=1e-3)


PEAKS = ("peak_current_A", "peak_light_W", "peak_pack_A", "least_pack_V")
PEAKS_degC = ("junction", "mount", "sink", "a", "pass")


def _assert_near(coarse: dict[str, float], fine: dict[str, float], ambient_degC: float) -> None:
    """Check that halving the sub-step moved no peak (a temperature: no rise) by half a per cent."""
    for name in PEAKS:
        assert coarse[name] == pytest.approx(fine[name], rel=5e-3), name
    for part in PEAKS_degC:
        rise_K, fine_K = (values[f"peak_{part}_degC"] - ambient_degC for values in (coarse, fine))
        assert rise_K == pytest.approx(fine_K, rel=5e-3, abs=0.01), part


@pytest.mark.parametrize("name", EXAMPLES)
def test_halving_the_sub_step_moves_no_peak_and_no_verdict_of_a_use(name: str) -> None:
    build = load(name)
    coarse, fine = _used(name, 4), _used(name, 8)
    assert fine.machine.substeps == 8
    _assert_near(coarse.values, fine.values, build.heat.ambient_degC)
    pairs = zip(
        *(judge(criteria(build), done.values, "use") for done in (coarse, fine)), strict=True
    )
    for one, other in pairs:
        if one.margin is not None and abs(one.margin) > 0.01:
            assert one.status == other.status, one.id


def _struck(snapshot: Machine) -> tuple[float, float]:
    """Return current [A] and light [W] in the last sub-step before a case's fault strikes.

    Peaks count from the first sub-step's end after the strike: of a current that only falls from
    there on, they tell where the sub-step ends. What stood at the strike belongs to them.
    """
    machine = snapshot.copy()
    machine.run(machine.now + LEAD_IN_MS, new_tally(machine.engine, 0.01))
    return machine.true("diode_peak_A"), machine.true("light_W")


def _peaks(run: CaseRun, struck: tuple[float, float]) -> tuple[float, float, float]:
    """Return the highest current [A], light [W] and junction [degC] from the strike on."""
    found = run.finding
    current_A, light_W = struck
    return (
        max(current_A, found.peak_current_A),
        max(light_W, found.peak_light_W),
        found.peak_junction_degC,
    )


def _finer(stand: Stand, substeps: int) -> Stand:
    return replace(stand, machine=replace(stand.machine, substeps=substeps))


def _halved(name: str, longest_s: float) -> int:
    """Check every fault watched for up to `longest_s` at every moment; return how many."""
    build = load(name)
    machine = powered(build, plants={"trip_A": build.comparator.trip_max_A})
    tally = new_tally(machine.engine, dark_A(build))
    taken = fresh(build, machine, tally, settings(build)["ramp_ticks"], CORE)
    counted = 0
    for at, stand in taken.items():
        struck = _struck(stand.machine)
        for fault in ENGINE:
            if lacks(build, fault) or fault.watch_s > longest_s:
                continue
            coarse, fine = (
                run_case(build, _finer(stand, substeps), fault, at, 1) for substeps in (4, 8)
            )
            counted += 1
            one, other, case = coarse.finding, fine.finding, f"{name} {fault.id}@{at}"
            assert _peaks(coarse, struck) == pytest.approx(_peaks(fine, struck), rel=5e-3), case
            if one.tightest.margin is None or abs(one.tightest.margin) > 0.01:
                assert one.survives == other.survives, case
                assert one.cause == other.cause or {one.cause, other.cause} <= RACES[fault.id], case
    return counted


def test_halving_the_sub_step_moves_no_short_fault_of_the_first_example() -> None:
    assert _halved("smoke_tunnel", 3.0) > 30


@pytest.mark.long
@pytest.mark.parametrize("name", EXAMPLES)
def test_halving_the_sub_step_moves_no_fault_of_any_example(name: str) -> None:
    assert _halved(name, 1e9) > 60
