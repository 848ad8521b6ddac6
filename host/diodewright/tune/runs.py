"""The runs of one choice: a use from a full pack, the end of a pack, faults from core moments.

All start behind half an hour of rest that is written and not run, and settled light takes one
plant sub-step a tick (see `rehearse.trial`, whose tests hold both against the whole thing).
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diodewright.judge import CaseFinding, Finding
from diodewright.plant import record
from diodewright.rehearse.cases import run_case
from diodewright.rehearse.moments import Stand
from diodewright.rehearse.trial import TrialJob, release, rested_soon, settle_lit
from diodewright.rehearse.use import (
    PRESS_S,
    USE_S,
    dark_A,
    first_cause,
    provenance_of,
    tally_values,
)
from diodewright.sim import Event, Trace, new_tally
from diodewright.sim.tally import NEVER
from diodewright.tune.context import Case

__all__ = ["Curve", "Struck", "WarmRun", "struck", "warm_run"]

#: A Trace row a tick lasts for 200 ms behind an event: one that changes nothing, so often [ms].
_AGAIN_MS = 150
#: Behind the soft-start the light is followed closely for so long [ms].
_SETTLE_MS = 1000
MINUTE_S = 60.0
#: Light is told every so many seconds.
_CURVE_S = 1.0


@dataclass(frozen=True)
class Curve:
    """A use over time, every second from the press on.

    Attributes
    ----------
    time_s : since the press.
    light_W, diode_A, mount_degC, sink_degC, junction_degC : true values.
    """

    time_s: NDArray[np.float64]
    light_W: NDArray[np.float64]
    diode_A: NDArray[np.float64]
    mount_degC: NDArray[np.float64]
    sink_degC: NDArray[np.float64]
    junction_degC: NDArray[np.float64]


@dataclass(frozen=True)
class WarmRun:
    """One use of ten minutes from a full pack.

    Attributes
    ----------
    values : of the Tally, with "before_cutback_s" and "light_first_minute_W".
    cause : the row that latched with nothing broken, or None.
    trace : every tick of the rise, every 20 ms elsewhere; None where it was not asked for.
    press_s : when the trigger was pressed, in the Trace's time.
    """

    values: dict[str, float]
    cause: str | None
    trace: Trace | None
    press_s: float

    @property
    def lit(self) -> bool:
        """Whether there was any light."""
        return self.values["first_lit_s"] != NEVER

    def curve(self) -> Curve:
        """Return the use as a curve.

        Raises
        ------
        ValueError
            No Trace was asked for.
        """
        if self.trace is None:
            raise ValueError("this run kept no Trace")
        time_s = self.trace["time_s"] - self.press_s
        at_s = np.arange(0.0, time_s[-1], _CURVE_S)
        names = ("light_W", "diode_A", "mount_degC", "sink_degC", "junction_degC")
        return Curve(at_s, *(np.interp(at_s, time_s, self.trace[name]) for name in names))


def warm_run(job: TrialJob, traced: bool = False) -> WarmRun:
    """Press the trigger of a rested lamp on a full pack for ten minutes behind its delay."""
    build, machine = job.build, rested_soon(job)
    tally = new_tally(machine.engine, dark_A(build))
    press = machine.now + 1000 * PRESS_S
    delay = round(1000 * build.limits.delay_s)
    risen = press + delay + job.words["ramp_ticks"] + job.words["stage_ticks"] + _SETTLE_MS
    begun = [Event(press, "plant.trigger", 1)]
    begun += [Event(at, "plant.trigger", 1) for at in range(press + delay, risen, _AGAIN_MS)]
    if not traced:
        machine.run(risen, tally, begun)
        settle_lit(machine, press + delay + 1000 * USE_S, tally)
        release(machine, tally)
        return WarmRun(_values(tally, None), first_cause(tally), None, press / 1000)
    said = provenance_of(build, machine.engine, job.seed)
    rise = machine.run(risen, tally, begun, said)
    machine.substeps, usual = 1, machine.substeps
    rest = machine.run(press + delay + 1000 * USE_S, tally, (), said)
    machine.substeps = usual
    release(machine, tally)
    assert rise is not None and rest is not None
    trace = rise.joined(rest)
    minute_s = (press + delay) / 1000 + MINUTE_S
    light_W = float(trace["light_W"][np.searchsorted(trace["time_s"], minute_s)])
    return WarmRun(_values(tally, light_W), first_cause(tally), trace, press / 1000)


def _values(tally: record.Filled, light_W: float | None) -> dict[str, float]:
    values = tally_values(tally)
    cut_s = values["first_heat_cut_s"]
    end_s = values["last_lit_s"] if cut_s == NEVER else cut_s
    values["before_cutback_s"] = end_s - values["first_lit_s"]
    if light_W is not None:
        values["light_first_minute_W"] = light_W
    return values


@dataclass(frozen=True)
class Struck:
    """One fault case: what its judge said, and the finding on every fault criterion."""

    finding: CaseFinding
    findings: tuple[Finding, ...]


def struck(job: TrialJob, taken: dict[str, Stand], cases: Iterable[Case]) -> tuple[Struck, ...]:
    """Run each case from where the light stands; one at a moment never reached is passed over."""
    done = []
    for fault, at in cases:
        if at in taken:
            run = run_case(job.build, taken[at], fault, at, job.seed)
            done.append(Struck(run.finding, run.findings))
    return tuple(done)
