"""Recordings of simulated lamps with other parts than their build file says.

For tests and examples. The law runs compiled, with the settings of the build file; the plant behind
the sensors has other values, which a fit or a comparison must find. What the law read and did goes
through the same lines of telemetry and the same recorder as a board's.
"""

from collections import deque
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from diodedriver import acts, words
from diodedriver.run import VERSION
from diodewright.bench.burst import take
from diodewright.bench.line import Identity
from diodewright.bench.record import Recorder, provenance_of
from diodewright.build import Build
from diodewright.derive import plant_values, settings
from diodewright.sim import Event, Machine, Trace, compiled, new_tally, power_up
from diodewright.twin import Session

EXAMPLES = Path(__file__).parents[1] / "host/diodewright/examples"
#: Boot and self-test are over by then [ms].
BOOTED_MS = 3000
_STATE = {row[0]: place for place, row in enumerate(words.STATE)}
_READ = {row[0]: place for place, row in enumerate(words.READINGS)}

#: (second, what, value): "trigger", "level", or an event's whole target.
Use = Sequence[tuple[float, str, float]]
#: From cold, with a rest before it: heat-up and cool-down.
HEAT_UP: Use = ((10, "trigger", 1), (400, "trigger", 0))
#: The reserve level for 20 s, then the highest for 40 s, then dark.
PULSE: Use = ((2, "level", 2), (3, "trigger", 1), (28, "level", 0), (68, "trigger", 0))


def machine_of(build: Build, hidden: Mapping[str, float], seed: int, charge: float) -> Machine:
    """Return a machine at power-up with `hidden` parameters of the plant; `charge` 0 to 1."""
    values = {**plant_values(build), **hidden}
    return power_up(compiled(), values, settings(build), {"soc": charge}, seed)


def telemetry(machine: Machine) -> str:
    """Return the line that the board would send now."""
    said = [
        int(machine.state[_STATE[name]] if table == "state" else machine.readings[_READ[name]])
        for name, table in acts.TELEMETRY
    ]
    return acts.sealed(",".join(["@" + machine.mode(), *map(str, said)]))


def recorded(
    build: Build,
    hidden: Mapping[str, float],
    seed: int,
    use: Use,
    until_s: float,
    rate_Hz: int = 20,
    charge: float = 0.9,
) -> Trace:
    """Return the recording of one use of a lamp with `hidden` parameters."""
    machine = machine_of(build, hidden, seed, charge)
    tally = new_tally(machine.engine, 0.01)
    named = {"trigger": "plant.trigger", "level": "board.level"}
    events = [Event(round(1000 * at), named.get(what, what), value) for at, what, value in use]
    said = provenance_of(build, Identity(build.fingerprint[:16], "simulated", "1"), rate_Hz)
    recorder = Recorder(rate_Hz, {**said, "origin": "simulated, compiled engine", "seed": seed})
    period = 1000 // rate_Hz
    for tick in range(0, round(1000 * until_s), period):
        machine.run(tick + period, tally, [e for e in events if tick <= e.tick < tick + period])
        recorder.take(telemetry(machine), tick / 1000)
    return recorder.trace()


class Stepped:
    """A board's line without a port: the simulated board steps while its answer is waited for.

    What `bench.Line` offers, as far as a burst needs it; which tick a byte meets is no chance here.
    """

    name, reply_s = "simulated board", 5.0

    def __init__(self, session: Session, hand: Mapping[int, Event]) -> None:
        self.session, self.hand = session, hand
        self.begun = session.twin.now
        self.heard: deque[str] = deque()
        self.replies: deque[str] = deque()
        self._bytes = b""
        self.identity = Identity(session.twin.build.fingerprint[:16], session.twin.unit, VERSION)

    def _step(self, data: bytes = b"") -> None:
        event = self.hand.get(self.session.twin.now - self.begun)
        self._bytes += self.session.step(data, [event] if event else ())
        *whole, self._bytes = self._bytes.split(b"\n")
        for line in whole:
            text = line.decode().strip("\r")
            (self.heard if text.startswith("@") else self.replies).append(text)

    def ask(self, text: str) -> str:
        """Return the reply to a query."""
        self._step(text.encode() + b"\n")
        while not self.replies:
            self._step()
        return self.replies.popleft()

    def tell(self, text: str) -> None:
        """Give a command; ValueError where the board would not."""
        self._step(text.encode() + b"\n")
        if (said := self.ask("SYST:ERR?")) != '0,"No error"':
            raise ValueError(f"{text}: {said}")

    def listen(self, for_s: float) -> None:
        """Let so long pass [s]."""
        for _ in range(max(1, round(1000 * for_s))):
            self._step()


def burst(
    build: Build, seed: int, press_s: float, release_s: float, from_mode: str, after_s: float
) -> Trace:
    """Return a burst of the real firmware on the simulated board, begun behind `from_mode`."""
    with Session(build, seed) as session:
        for _ in range(BOOTED_MS):
            session.step()
        hand = {
            round(1000 * press_s): Event(0, "plant.trigger", 1.0),
            round(1000 * release_s): Event(0, "plant.trigger", 0.0),
        }
        trace = take(Stepped(session, hand), build, from_mode=from_mode, after_s=after_s)  # type: ignore[arg-type]
    origin = {"origin": "simulated board (twin)", "seed": seed}
    return replace(trace, provenance={**trace.provenance, **origin})
