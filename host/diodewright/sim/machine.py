"""A machine: one build under one engine, at one moment; it runs, is copied, and runs on.

A copy is a snapshot: many fault cases branch from one healthy run.
"""

from array import array
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from diodedriver import words
from diodewright.plant import record
from diodewright.plant.params import PARAM_RECORD, STATE, index_of
from diodewright.sim.engine import Engine, EngineError, compiled, plain
from diodewright.sim.scenario import Event, address, event_arrays, sorted_events
from diodewright.sim.tally import TALLY
from diodewright.sim.trace import COLUMNS, Trace

__all__ = ["SUBSTEPS", "Machine", "new_tally", "peek", "power_up"]

#: Plant sub-steps a tick, as shipped.
SUBSTEPS = 4
_BOARD = [1, 0, 0, 0, 0, 255, 0, 0, 0, 0, 0, 0]
_BUDGET_PLACE = words.index(words.LIMITS, "budget_cap")


def _ints(values: Sequence[int], compiled: bool) -> Any:
    """Return an int32 array in the engine's form; both wrap or raise as the board's would."""
    return np.array(values, dtype=np.int32) if compiled else array("i", values)


def _copy_ints(values: Any) -> Any:
    return values.copy() if isinstance(values, np.ndarray) else array("i", values)


@dataclass
class Machine:
    """Everything that moves, at tick `now`.

    Attributes
    ----------
    p, x : plant parameters and true state.
    state, limits, readings, raw, board : the law's arrays and the board's words.
    now : ticks since power-up [ms].
    substeps : plant sub-steps a tick.
    """

    engine: Engine
    p: record.Filled
    x: record.Filled
    state: Any
    limits: Any
    readings: Any
    raw: Any
    board: Any
    now: int = 0
    substeps: int = SUBSTEPS

    def copy(self) -> "Machine":
        """Return an independent machine at the same moment."""
        return replace(
            self,
            p=record.copy(self.p),
            x=record.copy(self.x),
            state=_copy_ints(self.state),
            limits=_copy_ints(self.limits),
            readings=_copy_ints(self.readings),
            raw=_copy_ints(self.raw),
            board=_copy_ints(self.board),
        )

    def __reduce__(self) -> tuple[Any, ...]:
        """Travel to another process as numbers; the engine is found there, by its law."""
        held = (self.state, self.limits, self.readings, self.raw, self.board)
        numbers = (
            *(np.asarray(filled.flat, dtype=np.float64) for filled in (self.p, self.x)),
            *(np.asarray(each, dtype=np.int32) for each in held),
        )
        return _arrived, (self.engine.name, self.engine.law_hash, numbers, self.now, self.substeps)

    def run(
        self,
        until: int,
        tally: record.Filled,
        events: Sequence[Event] = (),
        provenance: Mapping[str, object] | None = None,
    ) -> Trace | None:
        """Run to tick `until`, filling `tally`; return a Trace where `provenance` is given.

        Raises
        ------
        KeyError
            An event names a target that does not exist.
        """
        events = sorted_events(events)
        at, what, place, value = event_arrays(events)
        room = 0 if provenance is None else self._room(until, len(events))
        rows = np.zeros((max(room, 1), len(COLUMNS)))
        written = self.engine.run_ticks(
            self.p.record,
            self.p.flat,
            self.x.record,
            self.x.flat,
            tally.record,
            self.state,
            self.limits,
            self.readings,
            self.raw,
            self.board,
            at,
            what,
            place,
            value,
            len(events),
            self.now,
            until,
            self.substeps,
            1e-3 / self.substeps,
            _BUDGET_PLACE,
            rows,
            room,
        )
        begin, self.now = self.now, until
        if provenance is None:
            return None
        said = tuple(
            (event.tick / 1000, event.text)
            for event in events
            if event.text and begin <= event.tick < until
        )
        return Trace.from_rows(rows[:written], said, provenance)

    def _room(self, until: int, events: int) -> int:
        """Return rows enough for any Trace of this run: every tick, up to a minute, else shares."""
        ticks = until - self.now
        return min(ticks, 60_000 + ticks // 10 + 400 * events) + 1

    def word(self, name: str) -> int:
        """Return one word of the law's state by name."""
        return int(self.state[words.index(words.STATE, name)])

    def mode(self) -> str:
        """Return the law's mode by name."""
        return words.MODES[self.word("mode")][0]

    def cause(self) -> str | None:
        """Return the first cause's row name, or None."""
        row = self.word("cause")
        return words.FAULTS[row - 1][0] if row else None

    def peek(self, target: str) -> float:
        """Return what stands at an event's target; KeyError where there is no such target."""
        what, place = address(target)
        held = (self.p.flat, self.x.flat, self.board, self.limits, self.state)
        return float(held[what][place])

    def true(self, name: str) -> float:
        """Return one true state of the plant by name."""
        return peek(self.x, name)


def _arrived(name: str, law: str, numbers: Any, now: int, substeps: int) -> Machine:
    """Return a machine that came from another process; EngineError where the law is not its own."""
    is_compiled = name == "numba"
    engine = compiled() if is_compiled else plain()
    if engine.law_hash != law:
        raise EngineError(f"a machine came with law {law[:12]}, here it is {engine.law_hash[:12]}")
    params, states, *held = numbers
    p = record.refill(PARAM_RECORD, params.tolist(), compiled=is_compiled)
    x = record.refill(STATE, states.tolist(), compiled=is_compiled)
    state, limits, readings, raw, board = (_ints(each.tolist(), is_compiled) for each in held)
    return Machine(engine, p, x, state, limits, readings, raw, board, now, substeps)


def peek(filled: record.Filled, name: str) -> float:
    """Return one scalar of a record by name, in either form; KeyError where there is none."""
    return float(filled.flat[index_of(filled.table)[name]])


def new_tally(engine: Engine, dark_A: float) -> record.Filled:
    """Return an empty Tally; current below `dark_A` [A] counts as dark."""
    return record.make(TALLY, {"dark_A": dark_A}, compiled=engine.name == "numba")


def power_up(
    engine: Engine,
    plant_values: Mapping[str, object],
    settings: Mapping[str, int],
    true_values: Mapping[str, float] | None = None,
    seed: int = 1,
) -> Machine:
    """Return a machine at power-up: everything at ambient, at rest and dark.

    Parameters
    ----------
    plant_values, settings : as `diodewright.derive` gives them.
    true_values : true states that differ from rest (for instance ``soc``).
    seed : of the sensors' noise.
    """
    is_compiled = engine.name == "numba"
    p = record.make(PARAM_RECORD, plant_values, compiled=is_compiled)
    x = record.make(STATE, {"noise_state": seed, **(true_values or {})}, compiled=is_compiled)
    engine.prepare(p.record, 1e-3 / SUBSTEPS)
    engine.settle(p.record, x.record)
    return Machine(
        engine=engine,
        p=p,
        x=x,
        state=_ints(words.first_state(), is_compiled),
        limits=_ints(words.assemble(dict(settings)), is_compiled),
        readings=_ints([0] * len(words.READINGS), is_compiled),
        raw=_ints([0] * len(words.RAW), is_compiled),
        board=_ints(_BOARD, is_compiled),
    )
