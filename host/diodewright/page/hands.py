"""What a person does to a simulated light, as acts, and the events that follow from them.

An act is what was meant at a tick: the trigger pressed, a part broken. Events are what the engine
then writes. The same acts always give the same events; what has failed does not follow the hand
until it is mended, and then stands where the hand has it.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace

from diodewright.build import Build
from diodewright.faults import ENGINE, Fault
from diodewright.rehearse.cases import lacks
from diodewright.sim import Event

__all__ = ["MOST_ACTS", "Act", "Control", "Hands", "NotDone", "breakable", "controls_of"]

#: A run of more acts is not kept: it is saved and begun anew.
MOST_ACTS = 20_000
#: Air beyond what the build was made for may be tried as well, so far [K].
_AIR_BEYOND_K = 20.0


class NotDone(Exception):
    """An act that this light, or this moment, does not take; says why in one line."""


@dataclass(frozen=True)
class Act:
    """One act: `do` is "set", "break" or "mend"; `what` a control or a fault; `value` for "set"."""

    tick: int
    do: str
    what: str
    value: float = 0.0


@dataclass(frozen=True)
class Control:
    """Something that a hand moves.

    Attributes
    ----------
    name, title : for programs and for people.
    kind : "hold" (only while held), "switch", "slider" or "choice".
    target : what an event of it writes.
    low, high, unit : of its value as people read it.
    factor : what is written, over what people read.
    words : of a switch or a choice, what its values mean.
    """

    name: str
    title: str
    kind: str
    target: str
    low: float = 0.0
    high: float = 1.0
    unit: str = ""
    factor: float = 1.0
    words: tuple[str, ...] = ()

    def said(self, value: float) -> str:
        """Return what a person would say happened."""
        if self.words:
            return f"{self.title} {self.words[round(value)]}"
        return f"{self.title} {value:g} {self.unit}"


def controls_of(build: Build) -> tuple[Control, ...]:
    """Return what a hand can move on this build, in the order of a use."""
    found = [Control("trigger", "trigger", "hold", "plant.trigger", words=("released", "pressed"))]
    if build.controls.key:
        found.append(Control("key", "key", "switch", "plant.key", words=("off", "on")))
    if build.controls.interlock:
        found.append(
            Control("interlock", "interlock", "switch", "plant.interlock", words=("open", "closed"))
        )
    levels = tuple(f"{name.removesuffix('_A')}, {amps:g} A" for name, amps in _levels(build))
    if len(levels) > 1:
        top = len(levels) - 1
        found.append(Control("level", "level", "choice", "board.level", high=top, words=levels))
    heat = build.heat
    found.append(
        Control(
            *("ambient", "air", "slider", "plant.ambient_degC"),
            low=heat.ambient_min_degC - _AIR_BEYOND_K,
            high=heat.ambient_max_degC + _AIR_BEYOND_K,
            unit="degC",
        )
    )
    if build.pack.kind == "cells":
        found.append(
            Control("charge", "pack charge", "slider", "true.soc", 0, 100, "%", factor=0.01)
        )
    return tuple(found)


def _levels(build: Build) -> list[tuple[str, float]]:
    return [(str(name), float(amps)) for name, amps in build.levels.by_current]


def breakable(build: Build) -> dict[str, Fault]:
    """Return the faults of the catalogue that this build can have and the engine can show."""
    return {fault.id: fault for fault in ENGINE if not lacks(build, fault)}


@dataclass
class Hands:
    """All that was done, what it made happen, and how things stand now.

    Attributes
    ----------
    healthy : event target -> what stands there where nothing is broken or moved.
    acts, events : everything so far, in order.
    held : control -> where the hand has it, as people read it.
    broken : fault -> the tick at which it is over by itself; None where it stays.
    """

    build: Build
    healthy: Callable[[str], float]
    acts: list[Act] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)
    held: dict[str, float] = field(default_factory=dict)
    broken: dict[str, int | None] = field(default_factory=dict)
    controls: Mapping[str, Control] = field(init=False)
    faults: Mapping[str, Fault] = field(init=False)

    def __post_init__(self) -> None:
        self.controls = {control.name: control for control in controls_of(self.build)}
        self.faults = breakable(self.build)
        for control in self.controls.values():
            self.held[control.name] = self.healthy(control.target) / control.factor

    def again(self, acts: Iterable[Act]) -> "Hands":
        """Return the same hands after `acts` alone."""
        fresh = Hands(self.build, self.healthy)
        for act in acts:
            fresh.act(act)
        return fresh

    def act(self, act: Act) -> None:
        """Take one act, not before any other; what it makes happen is added to `events`.

        Raises
        ------
        NotDone
            There is no such control or fault here, the value is beyond its range, or it stands so.
        """
        if len(self.acts) >= MOST_ACTS:
            raise NotDone(f"{MOST_ACTS} acts are kept: save this run and begin again")
        does = {"set": self._set, "break": self._break, "mend": self._mend}.get(act.do)
        if does is None:
            raise NotDone(f"no such act: {act.do}")
        self.settle(act.tick)
        does(act)
        self.acts.append(act)

    def settle(self, now: int) -> None:
        """Drop what was over by itself before tick `now`."""
        over = [name for name, until in self.broken.items() if until is not None and until < now]
        for name in over:
            del self.broken[name]

    def _set(self, act: Act) -> None:
        control = self.controls.get(act.what)
        if control is None:
            raise NotDone(f"this light has no {act.what}")
        if not control.low <= act.value <= control.high:
            allowed = f"{control.low:g} to {control.high:g} {control.unit}".rstrip()
            raise NotDone(f"{control.title} {act.value:g}: allowed {allowed}")
        whole = control.kind != "slider"
        if whole and act.value != int(act.value):
            raise NotDone(f"{control.title} {act.value:g}: a whole number")
        if whole and self.held[act.what] == act.value:
            raise NotDone(f"{control.said(act.value)} already")
        self.held[act.what] = act.value
        written = act.value * control.factor
        if self._failed(control.target) is None:
            self._write(act.tick, control.target, written, self._said(act))
        else:
            self._give_back(act.tick, control.target, written)

    def _give_back(self, now: int, target: str, value: float) -> None:
        """Have what comes back by itself come back to where the hand has it by then."""
        self.events = [
            replace(event, value=value) if event.tick > now and event.target == target else event
            for event in self.events
        ]

    def _said(self, act: Act) -> str:
        """Return an act's line in a Trace; a slider under way says nothing."""
        control = self.controls[act.what]
        return "" if control.kind == "slider" else control.said(act.value)

    def _break(self, act: Act) -> None:
        fault = self.faults.get(act.what)
        if fault is None:
            raise NotDone(f"this light can't fail by {act.what}")
        if act.what in self.broken:
            raise NotDone(f"{act.what} already")
        for place, (target, value) in enumerate(fault.changes):
            self._write(act.tick, target, value, fault.id if place == 0 else "")
        last = {target: after_ms for after_ms, target, _ in fault.restores}
        for after_ms, target, value in fault.restores:
            over = target in dict(fault.changes) and after_ms == last[target]
            # back is where it stands by now: by the hand, by another fault, or as it was made
            back = self._stands(target) if over else value
            self._write(act.tick + round(after_ms), target, back, f"{fault.id}: back")
        self.broken[act.what] = _over(fault, act.tick)

    def _mend(self, act: Act) -> None:
        if act.what not in self.broken:
            raise NotDone(f"{act.what} is not broken")
        del self.broken[act.what]
        fault = self.faults[act.what]
        targets = [*_writes(fault)]
        self.events = [
            event
            for event in self.events
            if not (event.tick > act.tick and event.target in targets)
        ]
        for place, target in enumerate(targets):
            if target.startswith(("plant.", "board.", "limits.")):
                text = f"{fault.id}: mended" if place == 0 else ""
                self._write(act.tick, target, self._stands(target), text)

    def _failed(self, target: str) -> float | None:
        """Return what the last fault that is there writes to `target`; None where none does."""
        for name in reversed(self.broken):
            writes = _writes(self.faults[name])
            if target in writes:
                return writes[target]
        return None

    def _stands(self, target: str) -> float:
        """Return where `target` belongs: by a fault, else by the hand, else as it was made."""
        failed = self._failed(target)
        if failed is not None:
            return failed
        for control in self.controls.values():
            if control.target == target:
                return self.held[control.name] * control.factor
        return self.healthy(target)

    def _write(self, tick: int, target: str, value: float, text: str) -> None:
        self.events.append(Event(tick, target, float(value), text))


def _writes(fault: Fault) -> dict[str, float]:
    """Return target -> value of all that a fault changes, what follows later included."""
    later = {target: value for _, target, value in fault.restores}
    return later | dict(fault.changes)


def _over(fault: Fault, at: int) -> int | None:
    """Return when a fault that struck at tick `at` is over by itself; None where it stays."""
    changed = {target for target, _ in fault.changes}
    if fault.restores and changed <= {target for _, target, _ in fault.restores}:
        return at + max(round(after_ms) for after_ms, _, _ in fault.restores)
    if all(target.startswith(("true.", "law.")) for target in changed):
        return at
    return None
