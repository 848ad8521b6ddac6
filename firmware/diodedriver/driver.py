"""The running program: the law's arrays, and the tick that steps it.

The tick runs in the timer's interrupt, everything else in the main loop. What both touch is one
small integer each, written by one side only, or taken by the other with interrupts off.

The trigger reaches the law only through a gate: serial's OUTPUT OFF closes it, and so does a
missing armed marker. A gate that opens again passes the trigger only once it was seen released,
so that nothing but a hand on the trigger ever lights the diode. While flash is written a press
waits, but a trigger that was held is still shown as held: to the law a gap in it would be a
release, hence the next tick a fresh press.
"""

from array import array

from diodedriver import words
from diodedriver.law import tick as law_tick

MYPY = False
if MYPY:
    from collections.abc import Callable

    from diodedriver.board import Board
    from diodedriver.selftest import Test


class _Taken:
    def __getitem__(self, key: "slice") -> "slice":
        return key


# "[:]" itself is made on the heap: with interrupts off that could collect garbage for 20 ms
WHOLE = _Taken()[:]

PIN_TRIGGER = 1
MODE_DARK = 1
MODE_LIMITED = 7

# what the tick does
BARRED = 0
TESTING = 1
LIVE = 2
PHASES = ("barred", "testing", "live")

_FULL_U16 = 65535
# beyond 30 bits an integer takes heap, which no interrupt has: 12 days of ticks
_LAST_TICK = 0x3FFFFFFF
_LIMITS = len(words.LIMITS)
_STATE = {row[0]: place for place, row in enumerate(words.STATE)}
_READ = {row[0]: place for place, row in enumerate(words.READINGS)}
_LIMIT = {row[0]: place for place, row in enumerate(words.SETTINGS)}
_S_MODE = _STATE["mode"]
_S_TICK = _STATE["tick"]
_S_DRIVE = _STATE["drive"]
_S_ENABLE = _STATE["enable"]
_S_PULSE = _STATE["pulse"]
_S_DUTY = _STATE["duty"]
_S_CAUSE = _STATE["cause"]
_S_FAULTS = _STATE["faults"]
_S_REST = _STATE["rest"]
_L_DUTY_TOP = _LIMIT["duty_top"]
_L_LATE = _LIMIT["late_ticks"]
_S_CAUSE_TICK = _STATE["cause_tick"]
_S_CAUSE_MODE = _STATE["cause_mode"]
_S_SEEN = _STATE["seen_current_mA"]
_L_LEVEL_0 = _LIMIT["level_0_mA"]
_L_REST_TICKS = _LIMIT["rest_ticks"]
_L_REARM = _LIMIT["rearm_mV"]
_R_REST = _READ["rest_mV"]

# A burst keeps the raw codes: with the state it starts from, the law gives every reading again.
BURST_TICKS = 6000
_BURST_GAP = 15
_BURST_BEAT = 127


def fold(raw: "array[int]", row: int, into: "array[int]") -> bool:
    """Keep one tick's raw codes in two words; return whether they fit.

    current, output, channel in the one; multiplexed code, pins, level, gap, heartbeat in the other.
    """
    if raw[5] > _BURST_GAP or raw[6] > _BURST_BEAT:
        return False
    into[2 * row] = raw[0] | raw[1] << 12 | raw[3] << 24
    into[2 * row + 1] = raw[2] | raw[4] << 12 | raw[7] << 17 | raw[5] << 19 | raw[6] << 23
    return True


def unfold(first: int, second: int) -> "tuple[int, ...]":
    """Return the raw codes, in the order of words.RAW, that `fold` kept in two words."""
    return (
        first & 4095,
        first >> 12 & 4095,
        second & 4095,
        first >> 24 & 7,
        second >> 12 & 31,
        second >> 19 & 15,
        second >> 23 & 127,
        second >> 17 & 3,
    )


class Driver:
    """All that runs; `board` is the only thing here that knows a pin."""

    def __init__(self, board: "Board") -> None:
        self.board = board
        self.phase = BARRED
        self.barred_by = "boot"
        self.crashed = False
        self.state = array("i", words.first_state())
        self.limits = array("i", [0] * (2 * _LIMITS))
        self.readings = array("i", [0] * len(words.READINGS))
        self.raw = array("i", [0] * len(words.RAW))
        self.ticks = 0
        self.gaps = 0
        # state of one completed tick, for all that is told of the first cause
        self.kept = array("i", self.state)
        self.beat = 0
        self.level = 0
        self.writing = 0
        self.released = 0
        self.armed = 0
        self.allowing = 1
        self.held = 0
        self.shown = 0
        self.test: Test | None = None
        self.duty_top = 1
        self.most_mA = 0
        self.limit_mA = 0
        self.unit = ""
        self.burst = array("i")
        self.burst_at = 0
        self.burst_end = 0
        self.tick = self._tick

    # the tick: no allocation, no float, and no exception that leaves it

    def _tick(self, _timer: object) -> None:
        try:
            self._step()
        except BaseException:  # noqa: BLE001 an exception that left would stop the timer, pins as they are
            self.board.dark()
            self.phase = BARRED
            self.crashed = True
        self.ticks = self.ticks + 1 if self.ticks < _LAST_TICK else 0

    def _step(self) -> None:
        raw = self.raw
        board = self.board
        pins = board.convert(raw)
        if self.writing and self.state[_S_DRIVE] == 0:
            raw[5] = 1  # a flash write, announced and dark, held interrupts off: no fault
        self.gaps = raw[5]
        raw[6] = self.beat
        if self.beat < _FULL_U16:
            self.beat += 1
        raw[7] = self.level
        if self.phase == LIVE:
            if not self._shows(pins):
                raw[4] = pins & ~PIN_TRIGGER
            law_tick(self.state, self.limits, self.readings, raw)
            state = self.state
            duty_u16 = state[_S_DUTY] * _FULL_U16 // self.duty_top
            board.put(duty_u16, state[_S_ENABLE], state[_S_PULSE])
            if self.burst_at < self.burst_end:
                if fold(raw, self.burst_at, self.burst):
                    self.burst_at += 1
                else:
                    self.burst_end = self.burst_at
        elif self.phase == TESTING and self.test is not None:
            self.test.step(raw)
        else:
            board.dark()

    def _shows(self, pins: int) -> int:
        """Return whether the law sees the trigger pressed: by the hand, and through the gate."""
        if not pins & PIN_TRIGGER:
            self.released = 1
            self.shown = 0
        elif self.held or not (self.allowing and self.armed and self.released):
            self.shown = 0
        elif not self.writing:
            self.shown = 1
        return self.shown

    # what the main loop does

    def take_settings(self, values: "dict[str, int]") -> None:
        """Take checked settings; only while nothing runs on them."""
        if self.phase == LIVE:
            raise RuntimeError("settings are taken while barred")
        for place, value in enumerate(words.assemble(values)):
            self.limits[place] = value
        self.duty_top = self.limits[_L_DUTY_TOP]
        self.most_mA = max(self.limits[_L_LEVEL_0 + n] for n in range(4))
        self.limit_mA = self.most_mA

    def bar(self, why: str) -> None:
        """Make light impossible until the next boot."""
        self.phase = BARRED
        self.barred_by = why
        self.board.dark()

    def go_live(self) -> None:
        """Let the law run from its first state; not behind a tick that has crashed since."""
        for place, value in enumerate(words.first_state()):
            self.state[place] = value
        self.released = 0
        before = self.board.quiet()
        if not self.crashed:
            self.phase = LIVE
        self.board.loud(before)

    def live(self) -> bool:
        """Return whether the law runs."""
        return self.phase == LIVE

    def sane(self) -> bool:
        """Return whether the watchdog may be fed: on time, no crash, a known phase and mode."""
        return (
            not self.crashed
            and self.gaps <= max(self.limits[_L_LATE], 1)
            and self.phase in (BARRED, TESTING, LIVE)
            and 0 <= self.state[_S_MODE] < len(words.MODES)
        )

    def idle_dark(self) -> bool:
        """Return whether nothing lights and nothing is about to: flash may be written.

        While barred nothing does, whatever mode the law was in when it was stopped.
        """
        if self.phase != LIVE:
            return self.phase == BARRED
        return not MODE_DARK < self.state[_S_MODE] <= MODE_LIMITED

    def pressed(self) -> bool:
        """Return whether the trigger itself is pressed, whatever the gate makes of it."""
        return bool(self.board.trigger.value())

    def wants_light(self) -> bool:
        """Return whether a press waits for nothing but the armed marker."""
        return bool(
            self.pressed()
            and self.released
            and self.allowing
            and not self.held
            and self.state[_S_MODE] == MODE_DARK
        )

    def rested(self) -> bool:
        """Return whether an unclean end is over: released, rested, the pack above re-arm."""
        return bool(
            self.released
            and self.state[_S_REST] >= self.limits[_L_REST_TICKS]
            and self.readings[_R_REST] >= self.limits[_L_REARM]
        )

    def lift(self) -> None:
        """Let a press through again, one that follows a release from here on."""
        self.released = 0
        self.held = 0

    def hold(self) -> bool:
        """Return whether flash may be written; then no press gets through until `planned` ends.

        `idle_dark` alone is worth nothing to a writer: the very next tick may see a press.
        """
        self.writing = 1
        if not self.idle_dark():
            self.writing = 0
        return bool(self.writing)

    def planned(self, write: "Callable[[], None]") -> None:
        """Write flash while dark; the gaps that this makes in the ticks are no faults.

        No press gets through meanwhile. Raises RuntimeError while lit: that must never happen, so
        it ends the program, dark.
        """
        self.writing = 1
        try:
            if not self.idle_dark():
                raise RuntimeError("flash is never written while lit")
            write()
            self.beat = 0
        finally:
            self.writing = 0

    def keep(self) -> None:
        """Keep the state of one completed tick; what follows here tells of it alone."""
        before = self.board.quiet()
        self.kept[WHOLE] = self.state
        self.board.loud(before)

    def kept_mode(self) -> int:
        """Return the law's mode."""
        return self.kept[_S_MODE]

    def kept_tick(self) -> int:
        """Return the law's own count of ticks."""
        return self.kept[_S_TICK]

    def cause_row(self) -> int:
        """Return the first cause's row, -1 for none."""
        return self.kept[_S_CAUSE] - 1

    def cause_tick(self) -> int:
        """Return the tick of the first cause."""
        return self.kept[_S_CAUSE_TICK]

    def cause_mode(self) -> int:
        """Return the law's mode in that tick, before it went dark."""
        return self.kept[_S_CAUSE_MODE]

    def seen(self) -> list[int]:
        """Return the readings kept at the first cause."""
        return [self.kept[_S_SEEN + place] for place in range(len(words.READINGS))]

    def seen_of(self, row: int) -> int:
        """Return the reading on which fault `row` was judged, as kept at the first cause."""
        return self.kept[_S_SEEN + _READ[words.FAULTS[row][2]]]

    def limit_of(self, row: int) -> int:
        """Return the limit that fault `row` was judged against; 0 where it is no setting."""
        place = _LIMIT.get(words.FAULTS[row][3], -1)
        return self.limits[place] if place >= 0 else 0
