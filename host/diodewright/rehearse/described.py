"""A builder's scenario, run: the same machine, Tally and criteria as the one use.

What only a healthy use is judged by (light, touch, pack) is judged until the first fault strikes;
what must hold under faults as well, to the end. A fault is judged by what it does to the light
source, not by how soon it is noticed: that is what the fault cases are for.
"""

import math
from collections.abc import Iterable
from typing import Any

import numpy as np

from diodewright.build import Build
from diodewright.derive import criteria
from diodewright.derive.electrics import cold_hold_A
from diodewright.faults import by_id
from diodewright.plant import record
from diodewright.rehearse.cases import strike_events
from diodewright.rehearse.document import thinned
from diodewright.rehearse.scenario_file import SWITCHED, Scenario
from diodewright.rehearse.use import (
    Use,
    dark_A,
    first_cause,
    mode_names,
    provenance_of,
    rested,
    tally_values,
)
from diodewright.sim import Engine, Event, Machine, Trace, new_tally
from diodewright.sim.tally import NEVER

__all__ = ["SCENARIO_LEAVES_OUT", "run_scenario", "scenario_dict", "scenario_traces"]

SCENARIO_LEAVES_OUT = (
    "a scenario's fault is judged by what it does to the light source, not by how soon it is "
    "noticed: the fault cases judge that",
)
#: A Trace is taken in pieces of this length and thinned, so that a day fits into memory [s].
_PIECE_S = 600
#: Up to this length every row is kept, beyond it one in so many hours begun [s].
_WHOLE_S = 3600
#: Every row is kept for so long after the first light [s].
_RISE_S = 2.0
_MINUTE_S = 60.0


def _events(build: Build, scenario: Scenario, begin: int) -> tuple[Event, ...]:
    names = [key for key, _ in build.levels.by_current]
    events: list[Event] = []
    for step in scenario.steps:
        at = begin + round(1000 * step.at_s)
        if step.do in SWITCHED:
            what, value, said = SWITCHED[step.do]
            events.append(Event(at, f"plant.{what}", value, said))
        elif step.level:
            events.append(Event(at, "board.level", names.index(step.level), step.said))
        elif step.fault:
            events += strike_events(by_id(step.fault), at)
    return tuple(events)


def _one_in(piece: Trace, keep_every: int, first_lit_s: float) -> Trace:
    """Return one row in `keep_every` of `piece`, and every one around the first light [s]."""
    near = np.abs(piece["time_s"] - first_lit_s) < _RISE_S
    mask = (np.arange(len(piece)) % keep_every == 0) | near
    columns = {name: column[mask] for name, column in piece.columns.items()}
    return Trace(columns, piece.events, piece.provenance)


def _run(
    machine: Machine, until: int, tally: record.Filled, events: tuple[Event, ...], said: Any
) -> Iterable[Trace]:
    """Run to tick `until` in pieces and yield the Trace of each."""
    while machine.now < until:
        trace = machine.run(min(machine.now + 1000 * _PIECE_S, until), tally, events, said)
        if trace is not None:
            yield trace


def run_scenario(build: Build, scenario: Scenario, engine: Engine, seed: int) -> Use:
    """Run `scenario` on `build` and return what it showed.

    The comparator trips at the lowest of its band where nothing breaks, at the highest where
    something does: each where it is worse. Cells keep their warm resistance in any air.
    """
    struck = [round(1000 * step.at_s) for step in scenario.steps if step.fault]
    trip_A = build.comparator.trip_max_A if struck else build.comparator.trip_min_A
    charge = 1.0 if build.pack.kind == "bench_supply" else scenario.start_charge_pct / 100
    machine = rested(
        build, engine, seed, charge, trip_A, rest_s=scenario.rest_s, air_degC=scenario.ambient_degC
    )
    begin = machine.now
    end = begin + round(1000 * scenario.end_s)
    first = begin + min(struck, default=end - begin)
    events = _events(build, scenario, begin)
    said = {**provenance_of(build, engine, seed), "scenario": scenario.name}
    tally = new_tally(engine, dark_A(build))
    keep_every = max(1, math.ceil(scenario.end_s / _WHOLE_S))
    kept: list[Trace] = []
    modes: set[int] = set()

    def run_to(until: int) -> None:
        for piece in _run(machine, until, tally, events, said):
            modes.update(int(code) for code in piece["mode"])
            lit_s = begin / 1000 + tally_values(tally)["first_lit_s"]
            kept.append(_one_in(piece, keep_every, lit_s))

    run_to(first)
    early, cause = tally_values(tally), first_cause(tally)
    run_to(end)
    values = tally_values(tally)
    trace = kept[0].joined(*kept[1:])
    values |= _of_unbroken(build, scenario, early, trace, begin)
    values["cold_hold_A"] = cold_hold_A(build)
    values["shared_shunts"] = float(build.sensors.shunt == "shared")
    use_only = {row.column for row in criteria(build) if "fault" not in row.scopes}
    # early holds no more than the Tally: what a minute and the build itself say stays
    judged = values | {name: early[name] for name in use_only & early.keys()}
    return Use(values, trace, cause, mode_names(sorted(modes)), judged, first_cause(tally))


def _unbroken(build: Build, scenario: Scenario) -> tuple[float, float]:
    """Return from when to when [s] the first press asks for the highest level without a break.

    Both are the same where it never does: another level, an open interlock, a key that is off or
    a fault before the press. A step that changes nothing of this is a break as well.
    """
    highest = build.levels.by_current[0][0]
    places = [place for place, step in enumerate(scenario.steps) if step.do == "press"]
    press = scenario.steps[places[0]]
    level, opened = highest, set[str]()
    for step in scenario.steps[: places[0]]:
        level = step.level or level
        if step.do in SWITCHED:
            what, value, _ = SWITCHED[step.do]
            opened = opened - {what} if value else opened | {what}
        if step.fault:
            opened.add(step.fault)
    if level != highest or opened - {"trigger"}:
        return press.at_s, press.at_s
    return press.at_s, scenario.steps[places[0] + 1].at_s


def _of_unbroken(
    build: Build, scenario: Scenario, early: dict[str, float], trace: Trace, begin: int
) -> dict[str, float]:
    """Return the light after a minute and the time before cutback; NaN where they did not show.

    A time without cutback is known to be at least what it lasted; it counts only where that is
    enough for what the build asks.
    """
    press_s, until_s = _unbroken(build, scenario)
    found = {"light_first_minute_W": math.nan, "before_cutback_s": math.nan}
    minute_s = press_s + build.limits.delay_s + _MINUTE_S
    if until_s >= minute_s:
        later = trace["time_s"] >= begin / 1000 + minute_s
        if later.any():
            found["light_first_minute_W"] = float(trace["light_W"][later][0])
    cut_s, lit_s = early["first_heat_cut_s"], early["first_lit_s"]
    asked_s = build.criteria.before_cutback_min_s or 0.0
    if lit_s == NEVER or lit_s > until_s:
        return found
    if cut_s != NEVER and cut_s <= until_s:
        found["before_cutback_s"] = cut_s - lit_s
    elif until_s - lit_s >= asked_s:
        found["before_cutback_s"] = until_s - lit_s
    return found


def scenario_traces(use: Use, scenario: Scenario) -> dict[str, dict[str, list[float]]]:
    """Return the columns for the figures: the whole, and the rise at the first light."""
    begin_s = float(use.trace["time_s"][0])
    lit_s = use.values["first_lit_s"]
    if lit_s == NEVER:
        lit_s = next(step.at_s for step in scenario.steps if step.do == "press")
    rise_s = begin_s + lit_s
    return {
        "use": thinned(use.trace, begin_s, begin_s + scenario.end_s, 500, begin_s),
        "rise": thinned(use.trace, rise_s - 0.05, rise_s + 0.8, 400, rise_s),
    }


def scenario_dict(scenario: Scenario, use: Use) -> dict[str, Any]:
    """Return the scenario as plain values, its steps as rows."""
    return {
        "name": scenario.name,
        "start_charge_pct": scenario.start_charge_pct,
        "ambient_degC": scenario.ambient_degC,
        "rest_s": scenario.rest_s,
        "latched": use.latched,
        "steps": [
            {
                "at_s": step.at_s,
                "do": step.do,
                "level": step.level,
                "fault": step.fault,
                "said": step.said,
            }
            for step in scenario.steps
        ],
    }
