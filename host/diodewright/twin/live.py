"""A session that a person and other programs take part in, in wall-clock time.

The wall clock decides how fast ticks pass and which tick a byte meets, nothing else; the session's
record has what came of it.
"""

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

from diodewright.faults import ENGINE, Fault
from diodewright.rehearse.cases import lacks
from diodewright.twin.levels import translated
from diodewright.twin.port import Port
from diodewright.twin.session import Session
from diodewright.twin.twin import Event

__all__ = ["KEYS", "Panel", "run_live"]

#: What the keys of the console do.
KEYS = {
    "t": "press or release the trigger",
    "k": "turn the key",
    "i": "open or close the interlock",
    "n": "next fault of the catalogue",
    "p": "the fault before",
    "x": "let that fault happen",
    "r": "reset the chip",
    "q": "end",
}
_PLANT = {"t": "plant.trigger", "k": "plant.key", "i": "plant.interlock"}
#: Ticks between two looks at port and keys [ms].
_SLICE_MS = 5
_SHOWN_S = 0.1


@dataclass
class Panel:
    """What the hand has on the board: two switches, a trigger, and the faults of this build."""

    session: Session
    faults: list[Fault] = field(init=False)
    at: int = 0
    struck: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        build = self.session.twin.build
        self.faults = [fault for fault in ENGINE if not lacks(build, fault)]

    def is_on(self, key: str) -> bool:
        """Return whether trigger, key or interlock (its key on the console) is on."""
        name = _PLANT[key].partition(".")[2]
        return bool(self.session.twin.given(name) > 0.5)

    def events(self, key: str) -> list[Event]:
        """Return what a key of the console makes happen; nothing for one without meaning."""
        if key in _PLANT:
            return [Event(0, _PLANT[key], 0.0 if self.is_on(key) else 1.0)]
        if key in ("n", "p"):
            self.at = (self.at + (1 if key == "n" else -1)) % len(self.faults)
        elif key == "x":
            fault = self.faults[self.at]
            self.struck.append(fault.id)
            return [translated(Event(0, target, value)) for target, value in fault.changes]
        elif key == "r":
            return [Event(0, "chip.reset", 3.0)]
        return []


def run_live(
    panel: Panel,
    port: Port,
    speed: float,
    until_ms: int | None,
    keys: Callable[[], Iterator[str]],
    show: Callable[[Panel], None],
) -> None:
    """Run until `until_ms` (simulated; None: no end), or the key that ends it.

    Parameters
    ----------
    speed : simulated over wall-clock time; 0 for as fast as it goes.
    keys : yields the keys pressed since.
    show : shows the board's state, ten times a second.
    """
    session = panel.session
    begun_s = shown_s = time.monotonic()
    while until_ms is None or session.twin.now < until_ms:
        events = []
        for key in keys():
            if key == "q":
                return
            events += panel.events(key)
        data = port.read()
        for _ in range(_SLICE_MS):
            said = session.step(data, events)
            data, events = b"", []
            if said:
                port.write(said)
        now_s = time.monotonic()
        if now_s - shown_s > _SHOWN_S:
            shown_s = now_s
            show(panel)
        ahead_s = session.twin.now / 1000 / speed - (now_s - begun_s) if speed else 0.0
        if ahead_s > 0:
            time.sleep(ahead_s)
