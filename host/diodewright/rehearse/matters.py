"""Which assumed values matter: each is tried at its plausible other ends, on a short programme.

The programme of one build: the closed-form figures that criteria are judged by, the hazard, the
edges, one short use from cold (a minute of light) and one from where the full use ended (warm, run
down), and the few tightest fault cases. The long rest before a use is not run: its one lasting
trace in the law, the empty heat budget, is written instead.

A value matters where at one of its ends some finding changes its status, or some criterion keeps
less than half of its tightest margin. What is asked at least counts twice of it as all that can be
had. The value is changed for parts and law alike, as a builder who writes it would: a part that
differs from what the law was told is the tolerance corners' question, not this one's.
"""

import dataclasses
import math
import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any

from diodewright.build import Assumed, Build, BuildErrors, with_value
from diodewright.build.problems import show
from diodewright.derive import (
    Criterion,
    criteria,
    plant_values,
    settings,
    worst_light,
)
from diodewright.derive.electrics import cold_hold_A
from diodewright.faults import CORE, Fault, by_id
from diodewright.judge import CaseFinding, Finding, judge
from diodewright.plant import record
from diodewright.plant.params import PARAM_RECORD, index_of
from diodewright.rehearse.cases import run_case
from diodewright.rehearse.causes import false_trip
from diodewright.rehearse.edges import edge_findings
from diodewright.rehearse.hazards import hazard_of
from diodewright.rehearse.moments import NoHealthyStart, Stand, fresh
from diodewright.rehearse.plausible import other_ends
from diodewright.rehearse.use import PRESS_S, Use, dark_A, start_charge, tally_values
from diodewright.sim import Engine, Event, Machine, new_tally, power_up
from diodewright.size import before_cutback_s

__all__ = ["NOT_WEIGHED", "Weighed", "unweighed", "weigh"]

NOT_WEIGHED = "not weighed: only a part was rehearsed"
#: A value matters where a criterion keeps less than this share of its tightest margin.
_KEPT_SHARE = 0.5
#: Fault cases that are run again, and the longest that one of them may take [s].
_CASES = 6
_LONGEST_CASE_S = 5.0
#: Controller on before the press: its filters settle within this [s].
_SETTLE_S = 1.0
#: Light in the short use that begins warm [s].
_WARM_USE_S = 12.0
_TRIP = index_of(PARAM_RECORD)["trip_A"]

_Found = dict[tuple[str, str], Finding]


@dataclass(frozen=True)
class Weighed:
    """What became of one assumed value.

    Attributes
    ----------
    matters : True, False, or None where it could not be told.
    criterion : what changed; "" where nothing did.
    at : the value at which it did, or at which it can't be judged, as text; "" where nothing did.
    before, after : the finding with the assumed value and with the other.
    said : all that in words.
    """

    matters: bool | None
    criterion: str = ""
    at: str = ""
    before: str = ""
    after: str = ""
    said: str = ""

    def as_dict(self) -> dict[str, Any]:
        """Return the keys that the document adds to an assumed value's row."""
        why = {
            "criterion": self.criterion,
            "at": self.at,
            "from": self.before,
            "to": self.after,
            "said": self.said,
        }
        return {"matters": self.matters, "why": why}


def unweighed(build: Build, said: str) -> list[Weighed]:
    """Return that nothing could be told of any assumed value, and why."""
    return [Weighed(None, said=said) for _ in build.assumed]


@dataclass(frozen=True)
class _Programme:
    """What is run again of a rehearsed build, for each other value.

    Attributes
    ----------
    warm : true states at the end of the full use, by event target.
    held : the heat budget there, part of full.
    """

    engine: Engine
    seed: int
    cases: tuple[tuple[Fault, str], ...]
    warm: tuple[tuple[str, float], ...]
    held: float


def _tightest_cases(cases: Iterable[CaseFinding]) -> tuple[tuple[Fault, str], ...]:
    """Return the tightest short case of each criterion at `CORE`, then the tightest of all."""
    core = [case for case in cases if case.at in CORE]
    short = [case for case in core if by_id(case.id).watch_s <= _LONGEST_CASE_S]
    in_order = sorted(short, key=lambda case: _room(case.tightest) or 0.0)
    firsts = {case.tightest.id: case for case in reversed(in_order)}
    chosen = dict.fromkeys((case.id, case.at) for case in (*firsts.values(), *in_order))
    return tuple((by_id(name), at) for name, at in list(chosen)[:_CASES])


def _programme(build: Build, engine: Engine, seed: int, use: Use, cases: Any) -> _Programme:
    trace = use.trace
    lit = trace["diode_A"] > dark_A(build)
    last = int(lit.nonzero()[0][-1]) if lit.any() else len(trace) - 1
    mount_degC, sink_degC = float(trace["mount_degC"][last]), float(trace["sink_degC"][last])
    warm = (
        ("true.soc", float(trace["soc"][last])),
        ("true.sink_degC", sink_degC),
        ("true.sink_ntc_degC", sink_degC),
        ("true.a_degC", float(trace["a_degC"][last])),
        *((f"true.{name}_degC", mount_degC) for name in ("mount", "mount_ntc", "junction")),
    )
    budget = float(trace["budget"][last])
    return _Programme(engine, seed, _tightest_cases(cases), warm, budget)


@dataclass(frozen=True)
class _Derived:
    """All that a programme's result follows from, worked out once for a build."""

    build: Build
    plant: dict[str, object]
    words: dict[str, int]
    rows: tuple[Criterion, ...]
    breaches: list[str]
    before_cutback_s: float
    cold_hold_A: float
    edges: tuple[Finding, ...]

    def same(self, other: "_Derived") -> bool:
        """Return whether no run of the programme can find anything else of `other`."""
        mine, others = self.build, other.build
        beside = (
            mine.comparator == others.comparator
            and mine.limits == others.limits
            and mine.levels == others.levels
            and mine.pack.start_charge_pct == others.pack.start_charge_pct
        )
        return beside and dataclasses.replace(self, build=others, edges=other.edges) == other


def _derived(build: Build) -> _Derived:
    words = settings(build)
    return _Derived(
        build=build,
        plant=plant_values(build),
        words=words,
        rows=tuple(row for row in criteria(build) if row.scopes != ("edge",)),
        breaches=hazard_of(build, worst_light(build), [])["breaches"],
        before_cutback_s=before_cutback_s(build, words),
        cold_hold_A=cold_hold_A(build),
        edges=edge_findings(build),
    )


def _edges_of(of: _Derived) -> _Found:
    return {("an edge", row.id): row for row in of.edges}


def _awake(of: _Derived, run: _Programme, held: float, true: Any = ()) -> Machine:
    """Return a machine with its controller just up and the heat budget `held` (part of full)."""
    values = {**of.plant, "trip_A": of.build.comparator.trip_min_A}
    machine = power_up(run.engine, values, of.words, {"soc": start_charge(of.build)}, run.seed)
    up = round(1000 * _SETTLE_S)
    full = Event(up - 1, "law.budget", int(held * of.words["budget_cap"]))
    first = [Event(0, target, value) for target, value in true]
    machine.run(up, new_tally(run.engine, dark_A(of.build)), (*first, full))
    return machine


def _judged(of: _Derived, where: str, tally: record.Filled, more: Any, cause: Any) -> _Found:
    """Return the findings of one short use; what it can't show is left out."""
    found = judge(of.rows, {**tally_values(tally), **more}, "use")
    rows = [row for row in found if row.status != "not judged"]
    rows.append(false_trip(cause))
    return {(where, row.id): row for row in rows}


def _plain_finding(name: str, holds: bool, meaning: str) -> Finding:
    """Return a finding without a quantity."""
    status = "holds" if holds else "fails"
    return Finding(name, status, None, 0.0, "", "at_most", None, meaning, "")  # type: ignore[arg-type]


def _from_cold(of: _Derived, run: _Programme) -> tuple[_Found, dict[str, Stand]]:
    """Run a minute of light from cold; return its findings and the moments for faults."""
    build = of.build
    machine = _awake(of, run, 0.0)
    tally = new_tally(run.engine, dark_A(build))
    taken = fresh(build, machine, tally, of.words["ramp_ticks"], CORE)
    light_W = machine.true("light_W")
    machine.run(machine.now + 1000, tally, (Event(machine.now, "plant.trigger", 0.0),))
    more = {
        "light_first_minute_W": light_W,
        "before_cutback_s": of.before_cutback_s,
        "cold_hold_A": of.cold_hold_A,
        "shared_shunts": float(build.sensors.shunt == "shared"),
    }
    found = _judged(of, "in use from cold", tally, more, machine.cause())
    for stand in taken.values():
        stand.machine.p.flat[_TRIP] = build.comparator.trip_max_A
    return found, taken


def _from_warm(of: _Derived, run: _Programme) -> _Found:
    """Run a short use that begins where the full one ended, and return its findings."""
    machine = _awake(of, run, run.held, run.warm)
    tally = new_tally(run.engine, dark_A(of.build))
    press = machine.now + round(1000 * PRESS_S)
    release = press + round(1000 * (of.build.limits.delay_s + _WARM_USE_S))
    events = (Event(press, "plant.trigger", 1.0), Event(release, "plant.trigger", 0.0))
    machine.run(release + 1000, tally, events)
    return _judged(of, "in use when warm", tally, {}, machine.cause())


def _findings(of: _Derived, run: _Programme) -> _Found:
    """Return everything that the programme finds of a build, by place and criterion."""
    said = "; ".join(of.breaches)
    found: _Found = {("hazard", "hazard"): _plain_finding("hazard", not of.breaches, said)}
    try:
        cold, taken = _from_cold(of, run)
    except NoHealthyStart as error:
        return found | {("start", "start"): _plain_finding("start", False, str(error))}
    found |= {("start", "start"): _plain_finding("start", True, "")}
    found |= cold | _from_warm(of, run) | _edges_of(of)
    for fault, at in run.cases:
        case = run_case(of.build, taken[at], fault, at, run.seed)
        where = f"{fault.id}@{at}"
        found |= {(where, row.id): row for row in case.findings}
        found[where, "survives"] = _plain_finding("survives", case.finding.survives, "")
    return found


def _room(finding: Finding) -> float | None:
    """Return the margin, at most 1; None where there is none to compare."""
    return None if finding.margin is None else min(finding.margin, 1.0)


def _in_words(finding: Finding) -> str:
    if finding.margin is None or finding.value is None or not math.isfinite(finding.value):
        return finding.status
    return f"{finding.status}, {finding.value:.4g} of {finding.limit:.4g} {finding.unit}".rstrip()


def _changes(before: _Found, after: _Found) -> Iterator[tuple[str, Finding, Finding]]:
    """Yield place and findings of what changed enough to matter, changes of status first."""
    shared = [place for place in before if place in after]
    for place in shared:
        if before[place].status != after[place].status:
            yield place[0], before[place], after[place]
    for name in dict.fromkeys(name for _, name in shared):
        places = [place for place in shared if place[1] == name]
        old = [(room, place) for place in places if (room := _room(before[place])) is not None]
        new = [(room, place) for place in places if (room := _room(after[place])) is not None]
        if old and new and min(old)[0] > 0 and min(new)[0] < _KEPT_SHARE * min(old)[0]:
            yield min(new)[1][0], before[min(old)[1]], after[min(new)[1]]


def _tried(of: _Derived, run: _Programme, key: str, end: object, base: _Found) -> Weighed:
    """Return what becomes of the build with `key` at `end`."""
    at = show(end)
    try:
        other = _derived(with_value(of.build, key, end))
        same = other.same(of)
        if same and other.edges == of.edges:
            return Weighed(False, said="nothing that is run or judged follows from it")
        found = base | _edges_of(other) if same else _findings(other, run)
    except BuildErrors as error:
        first = error.problems[0]
        return Weighed(None, at=at, said=f"can't be judged at {at}: {first.key}: {first.wrong}")
    except (ValueError, ArithmeticError) as error:
        # what derivation or model refuses at a far end must not cost the verdict that stands
        return Weighed(None, at=at, said=f"can't be judged at {at}: {error}")
    for where, before, after in _changes(base, found):
        old, new = _in_words(before), _in_words(after)
        said = f"at {at}, {where}: {after.id}: {old}, then {new}"
        return Weighed(True, after.id, at, old, new, said)
    return Weighed(False, said="no finding changes by much at its other ends")


def _worst(tries: Sequence[Weighed]) -> Weighed:
    """Return the try that says most: it matters, it can't be told, it does not matter."""
    if not tries:
        return Weighed(None, said="not weighed: no other value is plausible or supported")
    return min(tries, key=lambda each: (each.matters is not True, each.matters is not None))


def weigh(
    build: Build,
    engine: Engine,
    seed: int,
    use: Use,
    cases: Sequence[CaseFinding],
    say: Callable[[str], None] = lambda _: None,
    threads: int | None = None,
) -> list[Weighed]:
    """Return for each assumed value of `build`, in their order, whether it matters to the verdict.

    Parameters
    ----------
    use, cases : what the full rehearsal of this build found.
    threads : how many work at once; the result does not depend on it.
    """
    if not build.assumed:
        return []
    run = _programme(build, engine, seed, use, cases)
    of = _derived(build)
    base = _findings(of, run)
    if base["start", "start"].status != "holds":
        return unweighed(build, "not weighed: the build as it is never lights")

    def one(row: Assumed) -> Weighed:
        say(f"assumed {row.key}")
        tries: list[Weighed] = []
        for end in other_ends(row):
            tries.append(_tried(of, run, row.key, end, base))
            if tries[-1].matters:
                break
        return _worst(tries)

    with ThreadPoolExecutor(threads or min(4, os.cpu_count() or 1)) as pool:
        return list(pool.map(one, build.assumed))
