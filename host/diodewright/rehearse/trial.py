"""One true build on trial: parts that differ from what the law was told, in use and under faults.

The programme of one build, judged by the nominal build's criteria:

- *warm*: pressed on a full pack, its light for ten minutes, through heat's cutback to where it
  settles, then released;
- *low*: pressed instead on a pack that is near its cutback, until that has settled;
- the given fault cases, each from its moment in the warm use.

The half hour of rest ahead of a use is not run. What lasts of it is written instead: the heat
budget leaked, and the law's model of mount over sink at nothing. The tests hold a use against one
behind a whole rest.
"""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from diodewright.build import Build
from diodewright.derive.tolerances import Tolerance, drawn_values
from diodewright.faults import CORE, ENGINE, Fault
from diodewright.judge import CaseFinding, Finding
from diodewright.plant import record
from diodewright.rehearse.cases import lacks, run_case
from diodewright.rehearse.moments import NoHealthyStart, Stand, fresh
from diodewright.rehearse.use import (
    PRESS_S,
    REST_S,
    USE_S,
    dark_A,
    first_cause,
    start_charge,
    tail_charge,
    tally_values,
)
from diodewright.sim import Event, Machine, new_tally, power_up
from diodewright.sim.machine import SUBSTEPS
from diodewright.sim.tally import NEVER

__all__ = [
    "LOW_S",
    "Trial",
    "TrialJob",
    "decisive_cases",
    "low_use",
    "release",
    "rested_soon",
    "run_trial",
    "settle_lit",
]

#: Controller on before the press: its filters settle within this [s].
_AWAKE_S = 1.0
#: Light on a low pack [s]: some lags of the cells' slow part.
LOW_S = 120
#: The rise of a light, with its start-up [s].
_RISE_S = 5.0
#: Dark behind a release [s].
_AFTER_S = 1.0
#: What the worse of two uses is taken of; the lowest of these, the highest of all others.
_LEAST = ("least_pack_V",)
#: Short cases may be chosen; so many by their least margin, and by the time they have left.
_SHORT_S = 5.0
_BY_MARGIN = 4
_BY_TIME = 3


@dataclass(frozen=True)
class TrialJob:
    """One true build to be tried, wherever that may be.

    Attributes
    ----------
    machine : one of the nominal build; it lends its engine.
    words : the settings of the nominal build.
    rows, draws : what spreads, and where this build stands in each.
    seed : of the sensors' noise.
    cases : faults, each with its moment.
    """

    build: Build
    machine: Machine
    words: Mapping[str, int]
    rows: tuple[Tolerance, ...]
    draws: Mapping[str, float]
    seed: int
    cases: tuple[tuple[Fault, str], ...]


@dataclass(frozen=True)
class Trial:
    """What one true build showed.

    Attributes
    ----------
    values : of the Tally, the worse of both uses; with "light_first_minute_W" and
        "before_cutback_s" of the warm one. Empty where it never lit.
    faults : criterion -> the finding of least margin among the fault cases, and its case.
    causes : use -> the row that latched in it with nothing broken.
    lost : case -> which damage criterion it breaks.
    unnoticed : case -> what was expected of it and did not happen, though nothing was damaged.
    """

    values: dict[str, float]
    faults: dict[str, tuple[Finding, str]] = field(default_factory=dict)
    causes: dict[str, str] = field(default_factory=dict)
    lost: dict[str, str] = field(default_factory=dict)
    unnoticed: dict[str, str] = field(default_factory=dict)


def rested_soon(job: TrialJob) -> Machine:
    """Return the dark machine on a full pack as if it had rested for half an hour."""
    engine = job.machine.engine
    values = drawn_values(job.build, job.draws, job.rows)
    machine = power_up(engine, values, job.words, {"soc": start_charge(job.build)}, job.seed)
    up = round(1000 * _AWAKE_S)
    leak_s = job.words["budget_leak_s"] * 1.024
    budget = int(job.words["budget_cap"] * math.exp(-REST_S / leak_s))
    events = (Event(up - 1, "law.budget", budget), Event(up - 1, "law.model", 0))
    machine.run(up, new_tally(engine, dark_A(job.build)), events)
    return machine


def release(machine: Machine, tally: record.Filled) -> None:
    """Let the trigger go and run on for a second of dark."""
    end = machine.now + round(1000 * _AFTER_S)
    machine.run(end, tally, (Event(machine.now, "plant.trigger", 0),))


def settle_lit(machine: Machine, until: int, tally: record.Filled) -> None:
    """Run on in steady light to tick `until`, one plant sub-step a tick.

    Nothing is quicker than a tick there: every lag has its exact solution, and the ripple is
    added to the mean. The tests hold it against the usual sub-steps.
    """
    machine.substeps = 1
    machine.run(until, tally)
    machine.substeps = SUBSTEPS


def _warm(job: TrialJob, machine: Machine) -> tuple[record.Filled, dict[str, Stand], float]:
    """Run the warm use; return its Tally, the moments for faults, and the light of a minute [W]."""
    tally = new_tally(machine.engine, dark_A(job.build))
    press = machine.now
    taken = fresh(job.build, machine, tally, job.words["ramp_ticks"], CORE)
    light_W = machine.true("light_W")
    settle_lit(machine, press + 1000 * USE_S, tally)
    release(machine, tally)
    return tally, taken, light_W


def low_use(job: TrialJob, machine: Machine) -> record.Filled:
    """Run the use on a pack near its cutback and return its Tally."""
    build = job.build
    tally = new_tally(machine.engine, dark_A(build))
    press = machine.now + 1000 * PRESS_S
    lit = press + round(1000 * (build.limits.delay_s + _RISE_S))
    events = (
        Event(machine.now, "true.soc", tail_charge(build, job.words, 0.0)),
        Event(press, "plant.trigger", 1),
    )
    machine.run(lit, tally, events)
    settle_lit(machine, lit + 1000 * LOW_S, tally)
    release(machine, tally)
    return tally


def _worse(uses: Iterable[record.Filled]) -> dict[str, float]:
    """Return the worse of each Tally quantity."""
    rows = [tally_values(tally) for tally in uses]
    return {name: (min if name in _LEAST else max)(row[name] for row in rows) for name in rows[0]}


def _in_use(warm: record.Filled, low: record.Filled | None, light_W: float) -> dict[str, float]:
    values = _worse([warm] if low is None else [warm, low])
    of = tally_values(warm)
    cut_s = of["first_heat_cut_s"]
    end_s = of["last_lit_s"] if cut_s == NEVER else cut_s
    values["before_cutback_s"] = end_s - of["first_lit_s"]
    values["light_first_minute_W"] = light_W
    return values


def run_trial(job: TrialJob) -> Trial:
    """Run the programme of one true build and return what it showed.

    A build that never lights is a false trip; what stood in its way is the cause.
    """
    machine = rested_soon(job)
    dark = machine.copy()
    try:
        warm, taken, light_W = _warm(job, machine)
    except NoHealthyStart as error:
        return Trial({}, causes={"warm": error.stopped_by})
    low = None if job.build.pack.kind == "bench_supply" else low_use(job, dark)
    causes = {"warm": first_cause(warm), "low": first_cause(low) if low else None}
    runs = [_struck(job, taken, fault, at) for fault, at in job.cases]
    return Trial(
        values=_in_use(warm, low, light_W),
        faults=_tightest(runs),
        causes={use: cause for use, cause in causes.items() if cause and cause != "pack_low"},
        lost={run.name: run.why for run in runs if run.damaged},
        unnoticed={run.name: run.why for run in runs if run.missed},
    )


@dataclass(frozen=True)
class _Struck:
    """One fault case of a true build."""

    name: str
    findings: tuple[Finding, ...]
    damaged: bool
    missed: bool
    why: str


def _struck(job: TrialJob, taken: Mapping[str, Stand], fault: Fault, at: str) -> _Struck:
    """Run one fault case and return what it showed.

    What breaks a limit is damage. What is merely not answered in time may be a drift that stays
    within what healthy parts spread: no threshold could tell the two apart.
    """
    run = run_case(job.build, taken[at], fault, at, job.seed)
    damaged = any(found.status != "holds" for found in run.findings)
    missed = not damaged and not run.finding.survives
    return _Struck(f"{fault.id}@{at}", run.findings, damaged, missed, run.finding.why)


def _tightest(runs: Iterable[_Struck]) -> dict[str, tuple[Finding, str]]:
    """Return the finding of least margin of each criterion, and its case."""
    kept: dict[str, tuple[Finding, str]] = {}
    for run in runs:
        for found in run.findings:
            if found.id not in kept or _margin(found) < _margin(kept[found.id][0]):
                kept[found.id] = (found, run.name)
    return kept


def _margin(finding: Finding) -> float:
    """Return the margin; what was not judged is the worst."""
    return -math.inf if finding.margin is None else finding.margin


def decisive_cases(job: TrialJob) -> tuple[tuple[Fault, str], ...]:
    """Return the short cases that decide: least margin, and least time left to be dark.

    They are found on the build as it is; `job.cases` is not looked at.

    Raises
    ------
    NoHealthyStart
        The build as it is never lights.
    """
    _, taken, _ = _warm(job, rested_soon(job))
    short = [
        (fault, at)
        for fault in ENGINE
        if fault.watch_s <= _SHORT_S and not lacks(job.build, fault)
        for at in taken
    ]
    found = [
        (run_case(job.build, taken[at], fault, at, job.seed).finding, (fault, at))
        for fault, at in short
    ]
    by_margin = sorted(found, key=lambda row: _margin(row[0].tightest))
    by_time = sorted(found, key=lambda row: _time_left(row[0], row[1][0]))
    chosen = (*_firsts(by_margin, _BY_MARGIN), *_firsts(by_time, _BY_TIME))
    return tuple(dict.fromkeys(chosen))


def _firsts(
    ranked: list[tuple[CaseFinding, tuple[Fault, str]]], count: int
) -> list[tuple[Fault, str]]:
    """Return the first moment of each of the first `count` faults."""
    firsts: dict[str, tuple[Fault, str]] = {}
    for _, (fault, at) in ranked:
        firsts.setdefault(fault.id, (fault, at))
    return list(firsts.values())[:count]


def _time_left(finding: CaseFinding, fault: Fault) -> float:
    """Return the part of the allowed time that is left at dark; infinite where none is asked."""
    if fault.allowed_ms is None or finding.time_to_dark_ms is None:
        return math.inf
    return 1.0 - finding.time_to_dark_ms / fault.allowed_ms
