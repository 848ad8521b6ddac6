"""A light that is run live: the compiled engine in slices, on one clock, the simulated tick.

Whoever owns the run says how many ticks to go on; nothing here looks at a wall clock. All that a
person did is kept as acts with their ticks, beside the seed, so that `again` gives the same run to
the last bit, however it was sliced, watched or scrubbed. Tick 0 is the end of the rest.

Limits. Averaged circuits of typical parts, as in a rehearsal; transients of microseconds are judged
there, apart, and not here.
"""

import hashlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import msgspec
import numpy as np

from diodewright.build import Build
from diodewright.page.hands import Act, Hands, NotDone
from diodewright.page.problems import PageError
from diodewright.plant import record
from diodewright.rehearse.use import REST_S, dark_A, provenance_of, rested, start_charge
from diodewright.sim import Engine, Event, Machine, Trace, new_tally
from diodewright.sim.scenario import sorted_events

__all__ = ["FORMAT", "Kept", "LiveRun", "again", "read_kept"]

FORMAT = 1
#: Ticks between snapshots; beyond so many, every other old one goes.
_SNAPSHOT_MS, _MOST_SNAPSHOTS = 1000, 400
#: A run is over here [ms]: a day.
LONGEST_MS = 86_400_000


class _KeptAct(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    tick: int
    do: str
    what: str
    value: float


class _KeptEvent(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    tick: int
    target: str
    value: float
    text: str


class Kept(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A run as it is written down: what was done, when, and under which seed.

    Attributes
    ----------
    format : of this document.
    build, fingerprint, law : what it was done to.
    seed : of the sensors' noise.
    end : ticks run [ms].
    acts : what was meant, in order.
    events : what followed, as the engine takes it: the same acts give these again.
    state : SHA-256 of plant and law at `end`.
    """

    format: int
    build: str
    fingerprint: str
    law: str
    seed: int
    end: int
    acts: tuple[_KeptAct, ...]
    events: tuple[_KeptEvent, ...]
    state: str


def read_kept(data: bytes, name: str) -> Kept:
    """Return a run that was written down.

    Raises
    ------
    PageError
        It is none, or of another format.
    """
    try:
        kept = msgspec.json.decode(data, type=Kept)
    except (msgspec.DecodeError, UnicodeDecodeError) as error:
        raise PageError(f"{name}: no kept run: {error}") from None
    if kept.format != FORMAT:
        raise PageError(f"{name}: format {kept.format}, this version reads {FORMAT}")
    return kept


@dataclass
class _Snapshot:
    tick: int
    machine: Machine
    tally: record.Filled


@dataclass
class LiveRun:
    """One light from the end of its rest on, and a hand on it.

    Attributes
    ----------
    machine : as it stands now.
    hands : what was done so far.
    end : the furthest tick that was run; acts behind `machine.now` are still to be shown again.
    tally : peaks since the start.
    """

    build: Build
    engine: Engine
    seed: int
    origin: Machine
    machine: Machine = field(init=False)
    hands: Hands = field(init=False)
    end: int = 0
    tally: record.Filled = field(init=False)
    _snapshots: list[_Snapshot] = field(init=False)
    _past: tuple[int, Hands] | None = None

    @classmethod
    def begun(cls, build: Build, engine: Engine, seed: int) -> "LiveRun":
        """Return a rested light, dark, its trigger released."""
        machine = rested(build, engine, seed, start_charge(build), build.comparator.trip_min_A)
        return cls(build, engine, seed, replace(machine, now=0))

    def __post_init__(self) -> None:
        self.restart()

    def restart(self) -> None:
        """Begin anew: nothing done, nothing broken."""
        self.hands = Hands(self.build, self.origin.peek)
        self.end = 0
        self._begin()

    def _begin(self) -> None:
        self._past = None
        self.machine = self.origin.copy()
        self.tally = new_tally(self.engine, dark_A(self.build))
        self._snapshots = [_Snapshot(0, self.machine.copy(), record.copy(self.tally))]

    @property
    def now(self) -> int:
        """The tick that comes next [ms]."""
        return self.machine.now

    def do(self, do: str, what: str, value: float = 0.0) -> None:
        """Take an act now; what was done later than now is dropped, if there was anything.

        Raises
        ------
        NotDone
            The act is not one of this light; nothing is changed then, and nothing dropped.
        """
        hands = self.hands
        if self.now < self.end:
            hands = hands.again(act for act in hands.acts if act.tick <= self.now)
        hands.act(Act(self.now, do, what, value))
        self.hands, self._past = hands, None
        if self.now < self.end:
            self.end = self.now
            self._snapshots = [kept for kept in self._snapshots if kept.tick <= self.now]

    def present(self) -> Hands:
        """Return the hands as they are at this tick: those of the past where one looks back."""
        if self.now >= self.end:
            self.hands.settle(self.now)
            return self.hands
        if self._past is None or self._past[0] != self.now:
            past = self.hands.again(act for act in self.hands.acts if act.tick <= self.now)
            past.settle(self.now)
            self._past = self.now, past
        return self._past[1]

    def run(self, ticks: int, every: bool = False) -> Trace:
        """Go on by `ticks` and return what it showed.

        The rows are those of a Trace (dense where something changes), or of every tick.
        """
        until = min(self.now + ticks, LONGEST_MS)
        trace = _ran(self.machine, until, self.tally, self.hands.events, every)
        self.end = max(self.end, self.now)
        if self.now >= self._snapshots[-1].tick + _SNAPSHOT_MS:
            copied = _Snapshot(self.now, self.machine.copy(), record.copy(self.tally))
            self._snapshots.append(copied)
            if len(self._snapshots) > _MOST_SNAPSHOTS:
                old = len(self._snapshots) // 2
                self._snapshots = self._snapshots[:old:2] + self._snapshots[old:]
        return trace

    def seek(self, tick: int) -> None:
        """Stand before `tick`, between the start and the furthest that was run."""
        tick = min(max(tick, 0), self.end)
        kept = self._before(tick)
        self.machine, self.tally = kept.machine.copy(), record.copy(kept.tally)
        _ran(self.machine, tick, self.tally, self.hands.events)

    def _before(self, tick: int) -> _Snapshot:
        return next(kept for kept in reversed(self._snapshots) if kept.tick <= tick)

    def shown(self, begin: int) -> Trace:
        """Return again what the ticks from `begin` until now showed; nothing is moved."""
        kept = self._before(max(0, min(begin, self.now)))
        machine, tally = kept.machine.copy(), record.copy(kept.tally)
        _ran(machine, max(begin, machine.now), tally, self.hands.events)
        return _ran(machine, max(self.now, machine.now), tally, self.hands.events)

    def tracing(self) -> Callable[[], Trace]:
        """Return what makes the whole run's Trace, from the start to now, in any thread."""
        machine, until, events = self.origin.copy(), self.now, tuple(self.hands.events)
        origin = provenance_of(self.build, self.engine, self.seed)
        said = {**origin, "rest_s": REST_S, "clock": "ms since the end of the rest"}
        tally = new_tally(self.engine, dark_A(self.build))

        def made() -> Trace:
            done = machine.run(until, tally, events, said)
            assert done is not None
            return done

        return made

    def kept(self) -> Kept:
        """Return the run as it is written down, until now."""
        hands = self.hands.again(act for act in self.hands.acts if act.tick <= self.now)
        return Kept(
            format=FORMAT,
            build=self.build.name,
            fingerprint=self.build.fingerprint,
            law=self.engine.law_hash,
            seed=self.seed,
            end=self.now,
            acts=tuple(_KeptAct(act.tick, act.do, act.what, act.value) for act in hands.acts),
            events=_kept_events(hands.events),
            state=state_hash(self.machine),
        )


def _kept_events(events: Sequence[Event]) -> tuple[_KeptEvent, ...]:
    said = (_KeptEvent(each.tick, each.target, each.value, each.text) for each in events)
    return tuple(said)


def _ran(
    machine: Machine,
    until: int,
    tally: record.Filled,
    events: Sequence[Event],
    every: bool = False,
) -> Trace:
    """Run `machine` on and return the rows; `every` keeps each tick's."""
    due = [event for event in events if event.tick >= machine.now]
    if every:
        # the loop keeps every tick for 200 ms behind an event: one that changes nothing, on a
        # parameter that no fault and no hand ever changes
        stands = machine.peek("plant.cells_parallel")
        idle = range(machine.now, until, _EVERY_MS)
        due = [*(Event(tick, "plant.cells_parallel", stands) for tick in idle), *due]
    done = machine.run(until, tally, sorted_events(due), {})
    assert done is not None
    return done


_EVERY_MS = 200


def state_hash(machine: Machine) -> str:
    """Return what names a machine's plant, law and board, to the last bit."""
    digest = hashlib.sha256()
    for floats in (machine.p.flat, machine.x.flat):
        digest.update(
            np.asarray([floats[i] for i in range(len(floats))], dtype=np.float64).tobytes()
        )
    held: tuple[Any, ...] = (machine.state, machine.limits, machine.readings, machine.raw)
    for ints in (*held, machine.board):
        digest.update(np.asarray(ints, dtype=np.int32).tobytes())
    return digest.hexdigest()


def again(build: Build, engine: Engine, kept: Kept) -> LiveRun:
    """Return a kept run, standing at its end, after the same acts.

    Raises
    ------
    PageError
        Of another build, law or version, or the same acts end elsewhere than they did.
    """
    for name, mine, its in (
        ("build", build.fingerprint, kept.fingerprint),
        ("law", engine.law_hash, kept.law),
    ):
        if mine != its:
            raise PageError(f"kept under another {name} ({its[:12]}, here {mine[:12]})")
    if not 0 <= kept.end <= LONGEST_MS:
        raise PageError(f"kept run: end {kept.end}: 0 to {LONGEST_MS} ticks")
    run = LiveRun.begun(build, engine, kept.seed)
    try:
        for act in kept.acts:
            run.hands.act(Act(act.tick, act.do, act.what, act.value))
    except NotDone as error:
        raise PageError(f"kept run: {error}") from None
    if _kept_events(run.hands.events) != kept.events:
        raise PageError("kept run: its acts give other events here: another version made it")
    while run.now < kept.end:
        run.run(min(_SNAPSHOT_MS, kept.end - run.now))
    if state_hash(run.machine) != kept.state:
        raise PageError("kept run: the same acts end elsewhere here: another machine made it")
    return run
