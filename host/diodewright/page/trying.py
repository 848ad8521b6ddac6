"""The simulated light as a source: hands on it, parts broken and mended, time at will.

A trigger is held by whoever presses it and released when all let go; a client that goes away lets
go. Wall-clock time only says how many ticks are due.
"""

from collections.abc import Callable, Mapping
from typing import Any

from diodewright.page.hands import MOST_ACTS, NotDone
from diodewright.page.pace import Pace
from diodewright.page.run import LiveRun
from diodewright.page.source import PICKED, Asked, Frame, Refused, frame_of, obey
from diodewright.page.telling import told
from diodewright.sim.machine import peek

__all__ = ["Trying"]

#: Up to this speed every tick is shown; beyond, every tick around changes.
_EVERY_UP_TO = 5
_MOST_STEP = 1000
_LONGEST_WINDOW_S = 600.0
_TRIGGER = "trigger"


class Trying:
    """A simulated light that clients share."""

    kind = "light"
    columns: tuple[str, ...] = PICKED

    def __init__(self, run: LiveRun) -> None:
        self.run = run
        self.pace = Pace()
        self._holders: set[int] = set()
        self._shown: list[Frame] = []
        self._does: dict[str, Callable[[Asked], None]] = {
            "press": self._press,
            "let-go": lambda wish: self._let_go(wish.client),
            "set": self._set,
            "break": lambda wish: self._act("break", wish.what),
            "mend": lambda wish: self._act("mend", wish.what),
            "speed": self.pace.set_speed,
            "pause": lambda _: self.pace.pause(True),
            "go": lambda _: self.pace.pause(False),
            "step": self._step,
            "seek": self._seek,
            "begin": lambda _: self._begin(),
        }

    def asked(self, wish: Asked) -> None:
        """Do what a client asks; `Refused` says why not."""
        obey(self._does, wish)

    def gone(self, client: int) -> None:
        """Let the trigger go where only this client held it."""
        self._let_go(client)

    def _act(self, do: str, what: str, value: float = 0.0) -> None:
        try:
            self.run.do(do, what, value)
        except NotDone as error:
            raise Refused(str(error)) from None

    def _press(self, wish: Asked) -> None:
        self._holders.add(wish.client)
        if self.run.present().held[_TRIGGER] == 0.0:
            self._act("set", _TRIGGER, 1.0)

    def _let_go(self, client: int) -> None:
        held = client in self._holders
        self._holders.discard(client)
        if held and not self._holders and self.run.present().held[_TRIGGER] == 1.0:
            self._act("set", _TRIGGER, 0.0)

    def _set(self, wish: Asked) -> None:
        if wish.what == _TRIGGER:
            raise Refused("the trigger is pressed and let go, not set")
        self._act("set", wish.what, wish.value)

    def _step(self, wish: Asked) -> None:
        if not self.pace.paused:
            raise Refused("pause first, then step")
        if not 1 <= wish.value <= _MOST_STEP:
            raise Refused(f"step {wish.value:g}: 1 to {_MOST_STEP} ticks")
        self._shown.append(frame_of(self.run.run(int(wish.value), every=True), PICKED))

    def _seek(self, wish: Asked) -> None:
        """Stand where one looks back to; whoever held the trigger then holds it, nobody else."""
        if not 0 <= wish.value <= self.run.end:
            raise Refused(f"tick {wish.value:g}: 0 to {self.run.end}")
        self.pace.pause(True)
        self._holders.clear()
        self.run.seek(int(wish.value))
        self._shown = [self.back(_LONGEST_WINDOW_S)]

    def _begin(self) -> None:
        self._holders.clear()
        self.run.restart()
        self.pace.pause(False)
        self._shown = [self.back(_LONGEST_WINDOW_S)]

    def turn(self, elapsed_s: float) -> Frame | None:
        """Run what is due and return the oldest rows that were not handed out yet."""
        if due := self.pace.due(elapsed_s):
            every = self.pace.speed <= _EVERY_UP_TO
            self._shown.append(frame_of(self.run.run(due, every), PICKED))
        return self._shown.pop(0) if self._shown else None

    def back(self, window_s: float) -> Frame:
        """Return again what the last `window_s` [s] showed, run once more from a snapshot."""
        window_ms = round(1000 * min(max(window_s, 0.0), _LONGEST_WINDOW_S))
        return frame_of(self.run.shown(self.run.now - window_ms), PICKED, anew=True)

    def state(self) -> Mapping[str, Any]:
        """Return how the light stands, in words and figures."""
        run, machine, hands = self.run, self.run.machine, self.run.present()
        cause = machine.cause()
        said = told(
            machine.mode(),
            machine.word("hard"),
            machine.word("bound"),
            cause,
            int(machine.raw[4]),
        )
        charge = 100 * machine.true("soc")
        held = {**hands.held, "charge": charge} if "charge" in hands.held else hands.held
        return {
            "tick": run.now,
            "end": run.end,
            "speed": self.pace.speed,
            "paused": self.pace.paused,
            **said.as_dict(),
            "alarm": self._alarm(),
            "held": held,
            "broken": [*hands.broken],
            "acts": len(hands.acts),
            "room": MOST_ACTS,
        }

    def _alarm(self) -> str:
        """Return what killed the diode, were it real; "" where nothing did."""
        build, tally = self.run.build, self.run.tally
        for name, limit, unit, what in (
            ("peak_current_A", build.diode.absolute_A, "A", "current"),
            ("peak_junction_degC", build.diode.junction_max_degC, "°C", "junction"),
        ):
            peak = peek(tally, name)
            if peak > limit:
                return (
                    f"The diode would be lost: {what} reached {peak:.2f} {unit}, "
                    f"it takes {limit:g} {unit}"
                )
        return ""

    def close(self) -> None:
        """Nothing is open."""
