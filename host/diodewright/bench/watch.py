"""Watching a board: one line that is lost and found again, and what was heard over it.

`Watch.turn` takes in what came; what a screen shows stands in its attributes. All that it ever
sends is a row of `SENT`: it asks, sets the rate of telemetry, and can make dark. It can't light,
nor raise a limit, and what the light does while the cable is out is the board's business alone.

Limits. Whether the board was reset while it could not be heard is told by its rate of telemetry,
which every boot begins at none: a program that switched it off meanwhile passes for a reset.
"""

import csv
import math
import time
from collections import deque
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from diodedriver import words
from diodewright.bench.boards import boards, port_again
from diodewright.bench.keeping import Keeper
from diodewright.bench.line import Identity, Line
from diodewright.bench.outlook import Outlook
from diodewright.bench.problems import BenchError
from diodewright.bench.record import Heard
from diodewright.build import Build
from diodewright.build.plain_file import printable

__all__ = [
    "SENT",
    "Cause",
    "Watch",
    "other_build",
    "read_cause",
    "refuse_unit",
    "run_watch",
    "serial_of",
]

#: Everything that watching sends, beside a line's greeting (``*CLS``, ``*IDN?``) and ``SYST:ERR?``.
SENT: Mapping[str, str] = {
    "rate": "TEL {rate}",
    "rate?": "TEL?",
    "dark": "OUTP OFF",
    "gate?": "OUTP?",
    "state?": "STAT:OPER:COND?",
    "cause?": "STAT:CAUS?",
    "barred?": "STAT:BARR?",
}
#: After so long without a line the board is asked whether it is there, and since when.
SILENCE_S = 2.0
_SEEK_S = 0.5
_SEEK_REPLY_S = 1.0
_REPLY_S = 5.0
_LOOK_S = 0.05
_DARK_LOOK_S = 2.0
#: The operation register's bit for a light that is held dark behind an unclean end.
HELD = 1 << 12


@dataclass(frozen=True)
class Cause:
    """The first cause of a latched row, as the board keeps it.

    Attributes
    ----------
    row : place in `words.FAULTS`.
    tick : when, on the board's clock [ms].
    reading, limit : in the words' units.
    """

    row: int
    tick: int
    reading: int
    limit: int


def read_cause(reply: str) -> Cause | None:
    """Return the first cause of a reply to STATus:CAUSe?; None for none, or no such reply."""
    fields = next(csv.reader([reply]), [])
    try:
        row, tick, reading, limit = (int(fields[place]) for place in (0, 3, 4, 5))
    except (IndexError, ValueError):
        return None
    return Cause(row, tick, reading, limit) if 0 <= row < words.ROWS else None


def refuse_unit(unit: str, identity: Identity) -> None:
    """Raise BenchError where a board is not the unit [chip's number] that is meant; "" is any."""
    if unit and identity.unit != unit:
        raise BenchError(f"this is unit {printable(identity.unit)}, not {printable(unit)}")


def other_build(build: Build, identity: Identity) -> str:
    """Say how a board's settings are of another build than `build`; "" where they are of this."""
    if identity.build == "0":
        return "the board has no settings yet"
    if identity.build != build.fingerprint[: len(identity.build)]:
        return (
            f"the board was flashed for another build ({printable(identity.build)}); "
            f"{build.name} is {build.fingerprint[:16]}"
        )
    return ""


def serial_of(port: str) -> str:
    """Return the USB serial number behind a port, by which it is found again; "" for none."""
    return next((board.serial for board in boards() if board.port == port), "")


class Watch:
    """A board that is watched.

    Parameters
    ----------
    line : open, to the board that is meant.
    keeper : takes all that is heard.
    serial : USB serial number, by which the port is found again; "" for its path alone.
    clock : the host's steady clock [s].

    Attributes
    ----------
    seen : the last whole line, None while there was none since the line came.
    lost : why nothing comes, "" while the line stands; `lost_at_s` on the host's clock.
    cause, barred : why it is dark, where the board says so.
    gate : whether the trigger may light; None while not known.
    held : dark behind an unclean end.
    said : what happened, newest last.
    over : why watching can't go on, "" while it does.
    """

    def __init__(
        self,
        line: Line,
        keeper: Keeper,
        outlook: Outlook,
        rate_Hz: int,
        serial: str = "",
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self.port = line.name
        self.identity = line.identity
        self.keeper = keeper
        self.outlook = outlook
        self.rate_Hz = rate_Hz
        self.clock = clock
        self.seen: Heard | None = None
        self.lost = ""
        self.lost_at_s = 0.0
        self.cause: Cause | None = None
        self.barred = ""
        self.gate: bool | None = None
        self.held = False
        self.said: deque[str] = deque(maxlen=3)
        self.over = ""
        self._serial = serial
        self._line: Line | None = line
        self._heard_at_s = self._asked_at_s = self._sought_at_s = clock()
        self._faults = 0
        self._with(self._begin)

    # what the screen calls

    def turn(self) -> None:
        """Take in what came since, for about a twentieth of a second; seek a lost board."""
        if self._line is None:
            self._seek()
        else:
            self._with(self._listen)

    def make_dark(self) -> None:
        """Send OUTPut OFF: dark at once, and the trigger lights no more."""
        if self._line is None:
            self._tell("NOT SENT, no line to the board: use trigger, key or interlock")
        else:
            self._with(self._off)

    def end(self) -> None:
        """Stop the telemetry, if the board can hear it, and let go of the port."""
        if self._line is not None:
            self._line.reply_s = _SEEK_REPLY_S
            self._with(lambda line: line.tell(SENT["rate"].format(rate=0)))
        if self._line is not None:
            self._line.close()
            self._line = None

    # with a line

    def _with(self, act: Callable[[Line], None]) -> None:
        """Do something that needs the line; where it fails the line is lost."""
        if self._line is None:
            return
        try:
            act(self._line)
        except BenchError as error:
            self._lose(str(error).removeprefix(f"{self._line.name}: "))

    def _begin(self, line: Line) -> None:
        line.tell(SENT["rate"].format(rate=self.rate_Hz))
        self._heard_at_s = self.clock()
        self._look(line)

    def _listen(self, line: Line) -> None:
        line.listen(_LOOK_S)
        now_s = self.clock()
        while line.strays:
            self.keeper.take(line.strays.popleft(), now_s)
        while line.heard:
            heard = self.keeper.take(line.heard.popleft(), now_s)
            self._heard_at_s = now_s
            if heard is not None:
                self._take(line, heard)
        quiet_s = now_s - self._heard_at_s
        if quiet_s > max(SILENCE_S, 5 / self.rate_Hz):
            self._wake(line)
        elif self._is_dark() and now_s - self._asked_at_s > _DARK_LOOK_S:
            self._look(line)

    def _take(self, line: Line, heard: Heard) -> None:
        """Follow one reading: what is new about it is asked for."""
        before, self.seen = self.seen, heard
        if heard.words:
            self.outlook.add(heard)
        else:
            self.outlook.forget()
        if before is None or heard.mode != before.mode:
            self._asked_at_s = -math.inf
            self.barred = ""
            if heard.mode == "barred":
                self.barred = printable(line.ask(SENT["barred?"])).strip('"')
                self._tell(f"barred: {self.barred}")
        faults = heard.words.get("faults", 0)
        if faults != self._faults:
            self._faults = faults
            self.cause = read_cause(line.ask(SENT["cause?"])) if faults else None
            if self.cause is not None:
                self._tell(f"fault: {words.FAULTS[self.cause.row][0]}")

    def _is_dark(self) -> bool:
        return self.seen is not None and self.seen.mode == "dark"

    def _look(self, line: Line) -> None:
        """Ask whether the trigger may light."""
        self._asked_at_s = self.clock()
        self.gate = line.ask(SENT["gate?"]) == "1"
        state = line.ask(SENT["state?"])
        self.held = state.isdigit() and bool(int(state) & HELD)

    def _off(self, line: Line) -> None:
        line.tell(SENT["dark"])
        self.gate = line.ask(SENT["gate?"]) == "1"
        self._tell("made dark: OUTPut OFF" if not self.gate else "OUTPut OFF was not obeyed")

    def _wake(self, line: Line) -> None:
        """Ask a silent board whether it still sends; one that was reset has to be told again."""
        if self._was_reset(line):
            self.keeper.restarted(self.clock())
            self._forget()
        self._begin(line)

    def _was_reset(self, line: Line) -> bool:
        return line.ask(SENT["rate?"]) != str(self.rate_Hz)

    def _tell(self, text: str) -> None:
        self.said.append(text)
        self.keeper.note(text, self.clock())

    def _forget(self) -> None:
        """Know nothing of the board any more."""
        self.seen = self.cause = self.gate = None
        self.barred, self.held, self._faults = "", False, 0
        self.outlook.forget()

    # without one

    def _lose(self, why: str) -> None:
        if self._line is not None:
            self._line.close()
        self._line = None
        self.lost, self.lost_at_s = why, self.clock()
        self._forget()
        self.keeper.lost(f"line lost: {why}", self.clock())

    def _seek(self) -> None:
        """Try the port again, half a second after the last time."""
        wait_s = self._sought_at_s + _SEEK_S - self.clock()
        if wait_s > 0:
            time.sleep(min(wait_s, _LOOK_S))
            return
        port = port_again(self.port, self._serial)
        try:
            line = Line(port, reply_s=_SEEK_REPLY_S)
        except BenchError as error:
            self.lost = str(error).removeprefix(f"{port}: ")
            self._sought_at_s = self.clock()
            return
        self._sought_at_s = self.clock()
        self._meet(line)

    def _meet(self, line: Line) -> None:
        """Go on with a board that came back, where it is the same one with the same settings."""
        found, before = line.identity, self.identity
        if found.unit != before.unit:
            self.lost = f"another unit is at {line.name}: {printable(found.unit)}"
            line.close()
        elif found != before:
            self.over = f"the board was flashed anew, for build {printable(found.build)}"
            line.close()
        else:
            self._line = line
            self._with(self._resume)

    def _resume(self, line: Line) -> None:
        was_reset = self._was_reset(line)
        line.reply_s = _REPLY_S
        if was_reset:
            self.keeper.restarted(self.clock())
        self._tell(f"line back after {self.clock() - self.lost_at_s:.1f} s")
        self.port, self.lost = line.name, ""
        self._begin(line)


def run_watch(
    watch: Watch,
    keys: Callable[[], Iterator[str]],
    show: Callable[[Watch], None],
    for_s: float | None,
) -> None:
    """Watch until a key ends it, until `for_s` [s] have been recorded or passed, or it is over.

    Parameters
    ----------
    keys : yields the keys pressed since: ``o`` makes dark, ``q`` ends.
    show : shows the board's state.
    """
    begun_s = watch.clock()
    while not watch.over:
        for key in keys():
            if key == "q":
                return
            if key == "o":
                watch.make_dark()
        watch.turn()
        show(watch)
        if for_s is not None:
            recorded_s = watch.seen.time_s if watch.seen is not None else 0.0
            if max(recorded_s, watch.clock() - begun_s) >= for_s:
                return
