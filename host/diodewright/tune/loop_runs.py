"""The law's two loops in time: compiled law and plant, settled, stepped and looked at.

- *trim*: at the highest level on a full pack, behind its rise. Steps: from the lowest level to the
  highest; and the set path off by a share of what the authority may mend.
- *cutback*: lit until the mount's cap has settled, the auto-off held back. Step: the air warmer.

Rise is 10 to 90 % of the way; overshoot what goes beyond the end, as part of the way; settling is
when the last 5 % band is entered for good (usual definitions, e.g. Astrom and Murray, section 5.3).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diodewright.derive.electrics import highest_level_A
from diodewright.plant import record
from diodewright.rehearse.trial import TrialJob, rested_soon
from diodewright.rehearse.use import PRESS_S, dark_A, provenance_of
from diodewright.sim import Event, Machine, Trace, new_tally
from diodewright.tune.hunting import Swing, evened, swing_of

__all__ = [
    "Response",
    "air_step",
    "at_level",
    "in_cutback",
    "level_step",
    "response_of",
    "set_step",
]

#: Behind the soft-start until the level is reached, and until the trim has settled [ms].
_RISEN_MS, _TRIMMED_MS = 20, 3000
#: A step is watched for so long, and its first values are of so much before it [s].
_TRIM_S, _AIR_S, _BEFORE_S = 4.0, 900.0, 1.0
#: The cutback is given so long to settle, in pieces [s]; it has where the mount moves by less [K].
_LONGEST_S, _PIECE_S, _STILL_K = 3600, 120, 0.02
#: The air gets warmer by [K].
AIR_STEP_K = 3.0
#: The set path is off by so much of the authority, and of the level at most.
_OF_AUTHORITY, _OFF_MOST = 0.6, 0.03
#: The band that counts as settled, and the part of a run that its end is read from.
_BAND, _END = 0.05, 0.2
_DENSE_MS = 150
_TRIM_BINS_s, _AIR_BINS_s = (0.005, 0.002), (1.0, 0.1)
_ENDLESS_Ah = 100.0


@dataclass(frozen=True)
class Response:
    """What a loop made of a step.

    Attributes
    ----------
    step : in words.
    rise_s, settle_s : None where it did not get there.
    overshoot_pct : beyond the end, of the way.
    swing : of the current at the end.
    """

    step: str
    rise_s: float | None
    overshoot_pct: float
    settle_s: float | None
    swing: Swing


def at_level(job: TrialJob) -> tuple[Machine, bool]:
    """Return the machine some seconds behind its rise, its trim settled.

    And whether it came to its level at all; one that did and is dark now has latched a fault there.
    """
    machine = rested_soon(job)
    press = machine.now + 1000 * PRESS_S
    lit = press + round(1000 * job.build.limits.delay_s) + job.words["ramp_ticks"]
    risen = lit + job.words["stage_ticks"] + _RISEN_MS
    machine.run(risen, _scrap(job, machine), (Event(press, "plant.trigger", 1),))
    reached = machine.mode() == "run"
    machine.run(risen + _TRIMMED_MS, _scrap(job, machine))
    return machine, reached


def in_cutback(job: TrialJob, air_degC: float) -> tuple[Machine, bool]:
    """Return the machine as it settles in air of `air_degC` [degC], lit for as long as it takes.

    And whether the mount's cap is what holds it there.
    """
    machine = rested_soon(job)
    press = machine.now + 1000 * PRESS_S
    # a pack that stays full: what is looked at is heat alone
    full = Event(machine.now, "plant.cell_capacity_Ah", _ENDLESS_Ah)
    air = Event(machine.now, "plant.ambient_degC", air_degC)
    events = [full, air, Event(press, "plant.trigger", 1)]
    rise = round(1000 * job.build.limits.delay_s) + job.words["ramp_ticks"] + _TRIMMED_MS
    machine.run(press + rise, _scrap(job, machine), events)
    machine.substeps = 1
    before = -np.inf
    for _ in range(_LONGEST_S // _PIECE_S):
        kept_on = Event(machine.now, "law.on_ticks", 1)
        machine.run(machine.now + 1000 * _PIECE_S, _scrap(job, machine), (kept_on,))
        mount_degC = machine.true("mount_degC")
        if machine.mode() not in ("run", "limited"):
            return machine, False
        if abs(mount_degC - before) < _STILL_K:
            break
        before = mount_degC
    limited = machine.mode() == "limited" and machine.word("bound") == 1
    return machine, limited or _touched(job, machine)


def _touched(job: TrialJob, machine: Machine) -> bool:
    """Say whether the mount's cap comes and goes: a loop that swings may be off just now."""
    tally = new_tally(machine.engine, dark_A(job.build))
    probe = machine.copy()
    trace = probe.run(probe.now + 1000 * _PIECE_S, tally, (), _said(job, probe))
    assert trace is not None
    return bool(np.any((trace["mode"] == 7) & (trace["bound"] == 1)))


def _scrap(job: TrialJob, machine: Machine) -> record.Filled:
    return new_tally(machine.engine, dark_A(job.build))


def _said(job: TrialJob, machine: Machine) -> dict[str, object]:
    return provenance_of(job.build, machine.engine, job.seed)


def _watched(job: TrialJob, machine: Machine, events: list[Event], seconds: float) -> Trace:
    tally = new_tally(machine.engine, dark_A(job.build))
    until = machine.now + round(1000 * (_BEFORE_S + seconds))
    trace = machine.run(until, tally, events, _said(job, machine))
    assert trace is not None
    return trace


def _dense(machine: Machine, seconds: float) -> list[Event]:
    """Return events that change nothing and keep a Trace at a row a tick."""
    end = machine.now + round(1000 * (_BEFORE_S + seconds))
    return [Event(at, "plant.trigger", 1) for at in range(machine.now, end, _DENSE_MS)]


def level_step(job: TrialJob, machine: Machine) -> Response | None:
    """Return the way from the lowest level to the highest; None where there is but one."""
    count = len(job.build.levels.by_current)
    if count < 2:
        return None
    on = machine.copy()
    low = Event(on.now, "board.level", count - 1)
    on.run(on.now + _TRIMMED_MS, _scrap(job, on), (low,))
    strike = on.now + round(1000 * _BEFORE_S)
    trace = _watched(job, on, [*_dense(on, _TRIM_S), Event(strike, "board.level", 0)], _TRIM_S)
    return response_of(trace, strike / 1000, "lowest level up", *_TRIM_BINS_s)


def _off_share(job: TrialJob) -> float:
    """Return by what share the set path is put off."""
    authority = job.words["authority_mA"] / 1000 / highest_level_A(job.build)
    return min(_OF_AUTHORITY * authority, _OFF_MOST)


def set_step(job: TrialJob, machine: Machine) -> Response | None:
    """Return how the trim mends a set path that asks for less; None without authority."""
    share = _off_share(job)
    if share <= 0:
        return None
    on = machine.copy()
    strike = on.now + round(1000 * _BEFORE_S)
    gain = on.peek("plant.set_gain") * (1.0 - share)
    trace = _watched(
        job, on, [*_dense(on, _TRIM_S), Event(strike, "plant.set_gain", gain)], _TRIM_S
    )
    said = f"set path -{100 * share:.2g} %"
    return response_of(trace, strike / 1000, said, *_TRIM_BINS_s, from_lowest=True)


def air_step(job: TrialJob, machine: Machine) -> Response:
    """Return how the cutback takes air that is warmer."""
    on = machine.copy()
    strike = on.now + round(1000 * _BEFORE_S)
    air = on.peek("plant.ambient_degC") + AIR_STEP_K
    events = [Event(strike, "plant.ambient_degC", air), Event(on.now, "law.on_ticks", 1)]
    trace = _watched(job, on, events, _AIR_S)
    return response_of(trace, strike / 1000, f"air +{AIR_STEP_K:g} K", *_AIR_BINS_s)


def response_of(
    trace: Trace,
    strike_s: float,
    said: str,
    bin_s: float,
    swing_bin_s: float,
    from_lowest: bool = False,
) -> Response:
    """Read a step's response off the true diode current.

    Parameters
    ----------
    strike_s : when it was stepped, in the Trace's time.
    bin_s, swing_bin_s : values are means of so much [s]: those of the way, and of the end's swing.
    from_lowest : the way begins where the step has put it, the lowest value behind it.
    """
    time_s = trace["time_s"]
    at_s, level_A = evened(time_s, trace["diode_A"], bin_s)
    behind = at_s >= strike_s
    after_s, after_A = at_s[behind] - strike_s, level_A[behind]
    end_A = float(np.mean(after_A[-max(1, int(_END * len(after_A))) :]))
    start_A = float(np.mean(level_A[~behind]))
    if from_lowest:
        lowest = int(np.argmin(after_A))
        after_s, after_A, start_A = after_s[lowest:], after_A[lowest:], float(after_A[lowest])
    way = (after_A - start_A) / (end_A - start_A) if end_A != start_A else np.ones_like(after_A)
    late = time_s >= time_s[-1] - _END * (time_s[-1] - strike_s)
    swing = swing_of(*evened(time_s[late], trace["diode_A"][late], swing_bin_s))
    return Response(
        said,
        _rise_s(after_s, way),
        100.0 * max(float(np.max(way)) - 1.0, 0.0),
        _settle_s(after_s, way),
        swing,
    )


def _rise_s(after_s: NDArray[np.float64], way: NDArray[np.float64]) -> float | None:
    marks = [np.flatnonzero(way >= share) for share in (0.1, 0.9)]
    if not all(len(each) for each in marks):
        return None
    return float(after_s[marks[1][0]] - after_s[marks[0][0]])


def _settle_s(after_s: NDArray[np.float64], way: NDArray[np.float64]) -> float | None:
    """Return when it is within the band for good; None where it still leaves it at the end."""
    out = np.flatnonzero(np.abs(way - 1.0) > _BAND)
    if not len(out):
        return 0.0
    last = int(out[-1])
    return float(after_s[last + 1]) if last + 1 < len(way) else None
