"""One row of the catalogue: what fails, how it is shown, and what must follow.

``expect``:

- "dark": latched or held dark within `allowed_ms`, and still dark at the end of the case.
- "holds": light may go on inside every limit; dark on release as ever.
- "guarded": seen or not, dimmed, dark or neither, the mount stays below its trip and the heat
  budget's guard: where there is too little heat to tell that something is wrong, there is too
  little to harm.
- "lost": no part of the reference circuit is fast enough to save the diode; the light must end
  dark all the same. Never a row of the engine: no rehearsal passes over it.
"""

from dataclasses import dataclass
from typing import Literal

__all__ = ["LEVELS", "NEEDS", "Actor", "Expect", "Fault", "Guard", "Level", "Mode"]

Expect = Literal["dark", "holds", "guarded", "lost"]
#: What a fault may need -> what it says of a build that has none.
NEEDS = {
    "cells": "has no cells",
    "laser": "has no laser",
    "set_input": "has no set input",
    "interlock": "has no interlock",
    "key": "has no key",
    "indicator": "has no indicator",
    "switching": "has no switching stage",
    "linear": "has no linear stage",
    "bench": "has no bench supply",
    "two_cells": "has no two cells in series",
    "shared_shunt": "has no shared shunt",
}
Actor = Literal["law", "hardware", "either", "nobody"]
#: How a part may fail.
Mode = Literal["open", "short", "drift", "stuck", "intermittent"]
#: Where a row can be shown: the compiled loop, the whole firmware on the twin, or a transient.
Level = Literal["engine", "twin", "edge"]
LEVELS: dict[Level, str] = {
    "engine": "run by rehearse in the compiled loop of law and circuit",
    "twin": "only the whole firmware shows it, on a simulated board: a test does",
    "edge": "decided within microseconds: judged by a transient, or by a test of one",
}
#: Of a part that only guards: whether the self-test at power-up sees that it is dead.
Guard = Literal["", "seen at start", "latent"]


@dataclass(frozen=True)
class Fault:
    """One single fault.

    Attributes
    ----------
    id : stable name, part first.
    part : what fails.
    happens : what happens physically, in words.
    changes : (event target, value) pairs written at the fault's tick.
    expect : what must follow (see the module).
    allowed_ms : longest time from fault to dark [ms]; None where light may go on.
    acts : who is meant to act.
    watch_s : how long the case is watched [s].
    restores : (after [ms], target, value): what comes back by itself, for intermittent faults.
    needs : what a build must have to fail in this way, of `NEEDS`.
    mode : how the part fails.
    level : where the row is shown; "engine" rows are run by `rehearse`.
    by : the part of the reference circuit that acts where only hardware can, in words; else "".
    guard : of a part that only guards: "latent" where it may be dead unseen and so meet a second
        fault (`rehearse` then runs the pair), "seen at start" where the self-test bars the light.
    shown_by : for levels "twin" and "edge": what shows it (a run of the twin, a transient's
        criterion, a netlist); "" for "engine".
    source : of the failure mode and of what is demanded.
    before : changes that were there before the use began: of a pair, the dead guard's.
    """

    id: str
    part: str
    happens: str
    changes: tuple[tuple[str, float], ...]
    expect: Expect
    allowed_ms: float | None
    acts: Actor
    watch_s: float = 3.0
    restores: tuple[tuple[float, str, float], ...] = ()
    needs: tuple[str, ...] = ()
    mode: Mode = "stuck"
    level: Level = "engine"
    by: str = ""
    guard: Guard = ""
    shown_by: str = ""
    source: str = "common practice, no source"
    before: tuple[tuple[str, float], ...] = ()
