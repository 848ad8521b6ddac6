"""A board whose sensors carry the tick's number, with every completed tick's words kept."""

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from diodedriver import acts, words
from diodedriver.driver import unfold
from diodewright.build import load
from diodewright.sim import compiled
from diodewright.twin import Event, Twin

STATE = {row[0]: place for place, row in enumerate(words.STATE)}
READ = {row[0]: place for place, row in enumerate(words.READINGS)}
SEEN = STATE["seen_" + words.READINGS[0][0]]
#: What is broken in a copy of the firmware: (file, old text, new text).
Edits = tuple[tuple[str, str, str], ...]
#: So many low bits of every code are the number of its tick.
BITS = 3


@dataclass(frozen=True)
class Words:
    """The law's words behind one completed tick."""

    state: tuple[int, ...]
    readings: tuple[int, ...]
    raw: tuple[int, ...]


class Marked(Twin):
    """A board of which `ticks` keeps the words behind every tick of the law, while it `keeps`."""

    def __init__(self, folder: Path, firmware: Path, seed: int, name: str) -> None:
        self.ticks: dict[int, Words] = {}
        self.keeps = True
        super().__init__(load(name), compiled(), folder, seed, firmware=firmware)

    def _read(self, channel: int) -> None:
        super()._read(channel)
        if self.look.mode:
            low = (1 << BITS) - 1
            for place in range(3):
                self._codes[place] = int(self._codes[place]) & ~low | self.now & low

    def _exchange(self, events: Iterable[Event] = ()) -> None:
        if self.keeps and self._law[0]:
            self._ask_words()
        super()._exchange(events)
        if self._parted is not None:
            state, _, readings, raw = self._parted[1]
            self._parted = None
            self.ticks[state[STATE["tick"]]] = Words(tuple(state), tuple(readings), tuple(raw))

    def ask(self, line: str, most_ms: int = 3000) -> tuple[str, list[str]]:
        """Send a query; return its reply and the lines of telemetry that came before it."""
        self.send(line.encode() + b"\n")
        text, between = "", []
        for _ in range(most_ms):
            self.run(1)
            text += self.said().decode()
            while "\n" in text:
                got, _, text = text.partition("\n")
                if not got.startswith("@"):
                    # what has begun after the reply is of the next one's
                    self.heard[:0] = text.encode()
                    return got, between
                between.append(got)
        raise AssertionError(f"no reply to {line} in {most_ms} ms: {text!r}, {self.console}")

    def lines(self) -> list[str]:
        """Return the whole lines that came since; the rest stays."""
        text = self.said().decode()
        whole, mark, rest = text.rpartition("\n")
        self.heard[:0] = rest.encode()
        return (whole + mark).splitlines()


def torn_telemetry(twin: Marked, line: str) -> list[str]:
    """Return the words of one line that are not of the tick that it names."""
    mode, *values = line[1:].split(",")[:-1]
    if not values:
        return []
    tick = twin.ticks[int(values[0])]
    rows = [
        (name, (STATE, tick.state) if table == "state" else (READ, tick.readings))
        for name, table in acts.TELEMETRY
    ]
    wrong = [
        name
        for (name, (places, array)), value in zip(rows, values, strict=True)
        if array[places[name]] != int(value)
    ]
    return wrong + ["mode"] * (words.MODES[tick.state[0]][0] != mode)


def torn_cause(twin: Marked, limits: dict[str, int], reply: str, since: int) -> bool:
    """Return whether no tick from `since` on had what STATus:CAUSe? says."""
    row, _, _, *numbers = reply.split(",")
    return (int(row), *map(int, numbers)) not in {
        cause_of(tick.state, limits) for number, tick in twin.ticks.items() if number >= since
    }


def cause_of(state: tuple[int, ...], limits: dict[str, int]) -> tuple[int, ...]:
    """Return row, tick, reading and limit of the first cause; row -1 and zeros for none."""
    row = state[STATE["cause"]] - 1
    if row < 0:
        return -1, 0, 0, 0
    _, _, judged, limit, _ = words.FAULTS[row]
    return row, state[STATE["cause_tick"]], state[SEEN + READ[judged]], limits.get(limit, 0)


def torn_entries(twin: Marked, limits: dict[str, int], entries: list[str]) -> list[str]:
    """Return the entries of faults that no completed tick had."""
    told: set[tuple[Any, ...]] = set()
    for tick in twin.ticks.values():
        row, at, reading, limit = cause_of(tick.state, limits)
        told.add(
            (
                row,
                tick.state[STATE["cause_mode"]],
                at,
                limit,
                reading,
                *tick.state[SEEN : SEEN + len(READ)],
            )
        )
    faults = [entry for entry in entries if entry.startswith('"fault"')]
    return [entry for entry in faults if tuple(map(int, entry.split(",")[4:-1])) not in told]


def torn_rows(twin: Marked, state: str, readings: str, rows: list[str]) -> list[int]:
    """Return the rows of a burst that are not of their tick; -1: what it begins with is not."""
    first = tuple(map(int, state.split(",")[:-1]))
    number = first[STATE["tick"]]
    begin = twin.ticks[number]
    wrong = []
    if (first, tuple(map(int, readings.split(",")[:-1]))) != (begin.state, begin.readings):
        wrong.append(-1)
    for place, row in enumerate(rows):
        raw = unfold(int(row[:8], 16), int(row[8:], 16))
        low = {code & (1 << BITS) - 1 for code in raw[:3]}
        if len(low) > 1 or raw != twin.ticks[number + 1 + place].raw:
            wrong.append(place)
    return wrong
