"""The moments of a use, found in healthy runs: what each fault case branches from.

Two journeys. *Fresh*: a rested lamp on a full pack is pressed and lit until heat cuts it back; what
happens in the dark behind it branches from its steady light. *Low*: the same lamp on a pack from
which a use soon reaches the pack's cutback. A moment that a build's journey never reaches (no
cutback within its auto-off, no second level, no cells) is absent, and the screen says which.
"""

from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass

from diodedriver import words
from diodewright.build import Build
from diodewright.derive import settings
from diodewright.faults import MOMENTS
from diodewright.plant import record
from diodewright.rehearse.causes import cause_words
from diodewright.rehearse.use import PRESS_S, dark_A, rested, start_charge, tail_charge
from diodewright.sim import Engine, Event, Machine, new_tally

__all__ = ["LEAD_IN_MS", "NoHealthyStart", "Stand", "fresh", "snapshots"]

STEADY_S = 60
#: A machine stands so long before its strike.
LEAD_IN_MS = 100
#: The longest wait for a journey's next event [s]: cutback by heat, by the pack, a lockout.
_HEAT_S, _PACK_S, _LOCKOUT_S = 1500, 900, 60
#: From a change to its judgement in the dark, and what a hand takes between two acts [ms].
_SECOND_MS, _HAND_MS = 1000, 200
#: Charge of a pack that locks out at once.
_EMPTY_SOC = 0.02
#: A soft-start of fewer ticks has no tenths.
_TENTHS_TICKS = 20
_HEAT_BOUNDS = (1, 2, 3)
_PACK_BOUNDS = (4, 5)
_AT_LEVEL = ("run", "limited")
_RISING = ("dark", "delay", "close", "start", "soft_start")
#: A healthy rise is over within this, beside its delay [ms].
_RISING_MS = 60_000
#: So long a part of it is run at a time [ms].
_LOOK_MS = 500


class NoHealthyStart(Exception):
    """The healthy build never reached its soft-start; says what latched.

    `stopped_by` is the row that latched, or the mode in which it stayed.
    """

    def __init__(self, said: str, stopped_by: str = "") -> None:
        super().__init__(said)
        self.stopped_by = stopped_by


@dataclass(frozen=True)
class Stand:
    """A healthy machine shortly before a moment, and how it would go on.

    Attributes
    ----------
    machine : `LEAD_IN_MS` before the strike; never run, only copied.
    events : what a person does from there on.
    again_ms : from the strike until the healthy light is at its level; 0 where it is there.
    lit : whether the healthy light is lit in the end.
    drive_A : what the healthy law asks of its stage then [A].
    """

    machine: Machine
    events: tuple[Event, ...] = ()
    again_ms: int = 0
    lit: bool = True
    drive_A: float = 0.0

    @property
    def strike(self) -> int:
        """The tick of the moment."""
        return self.machine.now + LEAD_IN_MS


def snapshots(
    build: Build, engine: Engine, seed: int, wanted: Collection[str] = tuple(MOMENTS)
) -> dict[str, Stand]:
    """Return where the healthy light stands at each of `wanted` that this build reaches.

    Raises
    ------
    NoHealthyStart
        It never reached its soft-start.
    """
    machine = rested(build, engine, seed, start_charge(build), build.comparator.trip_max_A)
    low = machine.copy()
    tally = new_tally(engine, dark_A(build))
    taken = fresh(build, machine, tally, settings(build)["ramp_ticks"], wanted)
    taken |= _low(build, low, wanted)
    return {at: taken[at] for at in MOMENTS if at in taken and at in wanted}


def fresh(
    build: Build,
    machine: Machine,
    tally: record.Filled,
    ramp_ticks: int,
    wanted: Collection[str],
) -> dict[str, Stand]:
    """Press the trigger of a dark machine and return where it stands at moments of `wanted`.

    `machine` itself stands at the last moment of its light then, and `tally` holds its way there;
    `ramp_ticks` is the length of the law's soft-start.

    Raises
    ------
    NoHealthyStart
        It never reached its soft-start.
    """
    taken = {}
    if "dark" in wanted:
        later = machine.now + LEAD_IN_MS + _SECOND_MS
        taken["dark"] = _stand(build, machine, (_trigger(later, 1),))
    press = _trigger(machine.now + 1000 * PRESS_S, 1)
    times = _times(_rise(build, machine, press), build, press, ramp_ticks)
    needed = {"level-step", "release", "released", "latched"} & set(wanted)
    for at, strike in sorted(times.items(), key=lambda item: item[1]):
        if at in wanted or (at == "steady" and needed):
            machine.run(max(machine.now, strike - LEAD_IN_MS), tally, (press,))
            taken[at] = _stand(build, machine, (press,))
    if needed:
        taken |= _behind(build, taken["steady"].machine)
    if "cutback" in wanted and (late := _until(machine, _HEAT_BOUNDS, _HEAT_S)):
        late.run(late.now + 20 * 1000 - LEAD_IN_MS, _scrap(build, late))
        if late.mode() == "limited":
            taken["cutback"] = _stand(build, late)
    return taken


def _trigger(at: int, value: int) -> Event:
    return Event(at, "plant.trigger", value, f"trigger {'pressed' if value else 'released'}")


def _scrap(build: Build, machine: Machine) -> record.Filled:
    """Return a Tally that nobody reads."""
    return new_tally(machine.engine, dark_A(build))


def _rise(build: Build, machine: Machine, press: Event) -> dict[str, int]:
    """Return the tick at which each mode of a healthy rise begins, as seen from its delay's end."""
    probe = machine.copy()
    begun: dict[str, int] = {}
    last = press.tick + _RISING_MS + round(1000 * build.limits.delay_s)
    tally = _scrap(build, probe)
    probe.run(press.tick + max(1, int(1000 * build.limits.delay_s) - 50), tally, (press,))
    while not probe.cause() and probe.now <= last:
        rise = probe.run(probe.now + _LOOK_MS, tally, (press,), {})
        assert rise is not None
        # a Trace has a row of every change of mode; a mode is there from the next tick on
        for time_s, code in zip(rise["time_s"], rise["mode"], strict=True):
            mode, at = words.MODES[int(code)][0], round(1000 * time_s) + 1
            if mode in _AT_LEVEL:
                return {**begun, "run": at}
            begun.setdefault(mode, at)
    condition, _ = cause_words(probe.cause())
    stopped_by = probe.cause() or probe.mode()
    raise NoHealthyStart(
        f"no light to inject faults into: {stopped_by}{': ' + condition if condition else ''}",
        stopped_by,
    )


def _times(begun: dict[str, int], build: Build, press: Event, ramp_ticks: int) -> dict[str, int]:
    """Return moment -> strike tick on the way from press to steady light."""
    soft, at_level = begun.get("soft_start", begun["run"]), begun["run"]
    half = soft + ramp_ticks // 2
    times = {"start": begun.get("start", soft), "soft-start": half}
    if build.limits.delay_s >= 2 * LEAD_IN_MS / 1000:
        times["delay"] = press.tick + round(500 * build.limits.delay_s)
    if ramp_ticks >= _TENTHS_TICKS:
        tenths = {f"soft-start-{i}": soft + ramp_ticks * i // 10 for i in range(10)}
        times |= {at: tick for at, tick in tenths.items() if at in MOMENTS}
    return times | {
        "run-1": at_level,
        "run-10": at_level + 10,
        "warming": half + 10_000,
        "steady": half + 1000 * STEADY_S,
    }


def _behind(build: Build, steady: Machine) -> dict[str, Stand]:
    """Return what branches from steady light: another level, the release, the dark behind it."""
    strike = steady.now + LEAD_IN_MS
    levels = build.levels.by_current
    taken = {"release": _stand(build, steady, (_trigger(strike, 0),))}
    if len(levels) > 1:
        lowest = Event(strike, "board.level", len(levels) - 1, f"{levels[-1][0]} chosen")
        back = Event(strike + 2 * _SECOND_MS, "board.level", 0, f"{levels[0][0]} chosen")
        taken["level-step"] = _stand(build, steady, (lowest, back))
    off = _moved(build, steady, strike + _SECOND_MS, _trigger(strike, 0))
    later = strike + _SECOND_MS
    taken["released"] = _stand(build, off, (_trigger(later + _SECOND_MS, 1),))
    shut = _moved(build, steady, later, Event(strike, "true.trip_inject", 1, "latch tripped"))
    if shut.cause() == "latch":
        taken["latched"] = _stand(build, shut, tuple(_cleared(build, later)))
    return taken


def _moved(build: Build, machine: Machine, strike: int, *events: Event) -> Machine:
    """Return a copy of `machine` that stands before tick `strike`, with `events` on the way."""
    on = machine.copy()
    on.run(strike - LEAD_IN_MS, _scrap(build, on), events)
    return on


def _cleared(build: Build, at: int) -> Iterator[Event]:
    """Yield what clears a latched comparator and asks for light again."""
    yield _trigger(at + _HAND_MS, 0)
    for what in ("interlock", "key"):
        if getattr(build.controls, what):
            yield Event(at + 2 * _HAND_MS, f"plant.{what}", 0, f"{what} opened")
            yield Event(at + 3 * _HAND_MS, f"plant.{what}", 1, f"{what} made again")
            break
    yield _trigger(at + _SECOND_MS, 1)


def _low(build: Build, machine: Machine, wanted: Collection[str]) -> dict[str, Stand]:
    """Return the moments near the end of a pack; `machine` is dark and rested."""
    if build.pack.kind != "cells" or not {"pack-cutback", "locked-out"} & set(wanted):
        return {}
    drawn = Event(machine.now, "true.soc", tail_charge(build, settings(build)))
    press = _trigger(machine.now + 10_000, 1)
    machine.run(press.tick + 1000, _scrap(build, machine), (drawn, press))
    low = _until(machine, _PACK_BOUNDS, _PACK_S)
    if low is None:
        return {}
    low = _moved(build, low, low.now + 5000)
    taken = {"pack-cutback": _stand(build, low)}
    empty = low.copy()
    emptied = Event(empty.now, "true.soc", _EMPTY_SOC)
    if _wait(empty, lambda: empty.mode() == "pack_low", _LOCKOUT_S, (emptied,)):
        strike = empty.now + _SECOND_MS
        again = (_trigger(strike + _HAND_MS, 0), _trigger(strike + _SECOND_MS, 1))
        taken["locked-out"] = _stand(build, _moved(build, empty, strike), again)
    return taken


def _until(machine: Machine, bounds: tuple[int, ...], longest_s: int) -> Machine | None:
    """Return a copy of `machine` within a second of being held back by one of `bounds`."""
    on = machine.copy()

    def held() -> bool:
        return on.mode() == "limited" and on.word("bound") in bounds

    return on if _wait(on, held, longest_s) else None


def _wait(
    machine: Machine, reached: Callable[[], bool], longest_s: int, events: tuple[Event, ...] = ()
) -> bool:
    """Run `machine` in seconds until `reached`; False where it went dark or time ran out."""
    tally = new_tally(machine.engine, 0.0)
    for _ in range(longest_s):
        machine.run(machine.now + 1000, tally, events)
        if reached():
            return True
        if machine.mode() in ("dark", "fault"):
            return False
    return False


def _stand(build: Build, machine: Machine, events: tuple[Event, ...] = ()) -> Stand:
    """Return `machine` as it stands, and what becomes of it where nothing fails."""
    on = machine.copy()
    strike = on.now + LEAD_IN_MS
    tally = _scrap(build, on)
    on.run(max(strike, *(event.tick for event in events), 0) + 1, tally, events)
    latest = on.now + _RISING_MS + round(1000 * build.limits.delay_s)
    drive = -1
    while (
        on.word("hard") == 0
        and on.now < latest
        and (on.mode() in _RISING or on.word("drive") > drive)
    ):
        drive = on.word("drive")
        on.run(on.now + 10, tally, events)
    again = on.now - strike if on.mode() in _AT_LEVEL and on.now > strike + 20 else 0
    on.run(on.now + 2 * _SECOND_MS, tally, events)
    lit = on.true("diode_A") > dark_A(build)
    return Stand(machine.copy(), events, again, lit, on.word("drive") / 64000)
