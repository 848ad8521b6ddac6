"""The panel: everything that serial may ask of the running program, and what it may not.

Each method answers at once, in the word tables' units; those that change something return 0 or
SCPI's own error number. Nothing here can light: the level asked for moves by the law's ramp, below
a limit that rises only while dark; the trigger's gate opens for a press that follows a release.
"""

from array import array
from binascii import crc32

from diodedriver import settings, words
from diodedriver.driver import BURST_TICKS, LIVE, PHASES, TESTING, WHOLE

MYPY = False
if MYPY:
    from collections.abc import Iterator

    from diodedriver.run import Program

_LIMITS = len(words.LIMITS)
_STATE = {row[0]: place for place, row in enumerate(words.STATE)}
_READ = {row[0]: place for place, row in enumerate(words.READINGS)}
_LIMIT = {row[0]: place for place, row in enumerate(words.SETTINGS)}
_S_MODE = _STATE["mode"]
_S_DRIVE = _STATE["drive"]
_S_FAULTS = _STATE["faults"]
_L_LEVEL_0 = _LIMIT["level_0_mA"]
_L_START = _LIMIT["start_mA"]
_SERIAL_LEVEL = 3

# SCPI-99 error numbers
SETTINGS_CONFLICT = -221
OUT_OF_RANGE = -222
ILLEGAL_VALUE = -224
CONFIGURATION_LOST = -315
LARGEST_UPLOAD = 4096


class Panel:
    """What `scpi.Port` may call; `program` is the one that runs."""

    def __init__(self, program: "Program") -> None:
        self.program = program
        self.driver = program.driver
        # copied whole with interrupts off: what serial reads is of one completed tick
        self.seen_state = array("i", self.driver.state)
        self.seen_readings = array("i", self.driver.readings)
        self.upload = bytearray(0)
        self.got = 0
        self.hertz = 0
        self.burst_words: tuple[array[int], array[int]] | None = None

    # what is so

    def identity(self) -> str:
        """Return maker, build, this chip's number and the firmware's version."""
        record = self.program.record
        build = record.fingerprint if record else "0"
        return f"diodewright,{build or '0'},{self.driver.unit},{self.program.version}"

    def snapshot(self) -> None:
        """Copy state and readings of one completed tick for `reading` and `word` to read."""
        driver = self.driver
        before = driver.board.quiet()
        self.seen_state[WHOLE] = driver.state
        self.seen_readings[WHOLE] = driver.readings
        driver.board.loud(before)

    def reading(self, name: str) -> int:
        """Return one reading of the last snapshot by name."""
        return self.seen_readings[_READ[name]]

    def word(self, name: str) -> int:
        """Return one word of the law's state of the last snapshot by name."""
        return self.seen_state[_STATE[name]]

    def limit(self, name: str) -> int:
        """Return one setting by name."""
        return self.driver.limits[_LIMIT[name]]

    def lit(self) -> bool:
        """Return whether the law asks for light."""
        return self.driver.state[_S_DRIVE] > 0

    def mode_name(self) -> str:
        """Return the law's mode by name, or what the program does instead of it."""
        return self._named(self.driver.state[_S_MODE])

    def seen_mode_name(self) -> str:
        """Return the same of the last snapshot."""
        return self._named(self.seen_state[_S_MODE])

    def _named(self, mode: int) -> str:
        phase = self.driver.phase
        return words.MODES[mode][0] if phase == LIVE else PHASES[phase]

    def barred_by(self) -> str:
        """Return why light is impossible until the next boot; "" where it is not."""
        return self.driver.barred_by

    def cause_row(self) -> int:
        """Return the first cause's row, -1 for none."""
        self.driver.keep()
        return self.driver.cause_row()

    def self_test(self) -> int:
        """Return the step at which the last self-test failed, 0: none, -1: it never ended."""
        test = self.driver.test
        return test.failed if test is not None and test.done else -1

    def knee(self) -> int:
        """Return where the self-test's trickle left the output [mV], -1: it did not come so far."""
        test = self.driver.test
        return test.knee_mV if test is not None else -1

    # one word each, read at once: for the status registers, in every turn of the main loop

    def live(self) -> bool:
        """Return whether the law runs."""
        return self.driver.phase == LIVE

    def testing(self) -> bool:
        """Return whether the self-test runs."""
        return self.driver.phase == TESTING

    def idle_dark(self) -> bool:
        """Return whether nothing lights and nothing is about to."""
        return self.driver.idle_dark()

    def held(self) -> bool:
        """Return whether an unclean end holds the light dark until the pack has rested."""
        return bool(self.driver.held)

    def bursting(self) -> bool:
        """Return whether a burst is being kept."""
        return self.driver.burst_at < self.driver.burst_end

    def mode_now(self) -> int:
        """Return the law's mode by number."""
        return self.driver.state[_S_MODE]

    def faults_now(self) -> int:
        """Return the latched rows as bits."""
        return self.driver.state[_S_FAULTS]

    def cause(self) -> "tuple[int, int, int, int]":
        """Return the first cause's row, its tick, what was read and the limit; row -1 for none."""
        driver = self.driver
        driver.keep()
        row = driver.cause_row()
        if row < 0:
            return -1, 0, 0, 0
        return row, driver.cause_tick(), driver.seen_of(row), driver.limit_of(row)

    def beat(self) -> None:
        """Give the main loop's heartbeat: between two commands of a line that holds many."""
        self.driver.beat = 0

    # the level asked for

    def highest_current(self) -> int:
        """Return the highest named level [mA]: where the current limit starts from."""
        return self.driver.most_mA

    def current(self) -> int:
        """Return the level asked for [mA]."""
        driver = self.driver
        return driver.limits[_L_LEVEL_0 + driver.level]

    def current_limit(self) -> int:
        """Return the highest level [mA] that serial may ask for."""
        return self.driver.limit_mA

    def level(self) -> int:
        """Return which named level is asked for."""
        return self.driver.level

    def set_current(self, asked_mA: int) -> int:
        """Ask for `asked_mA`, by the ramp where lit; return 0 or the SCPI error.

        The level's limit word and its complement change with interrupts off: a tick that met one
        without the other would latch row "settings".
        """
        driver = self.driver
        if driver.phase != LIVE:
            return SETTINGS_CONFLICT
        if not driver.limits[_L_START] <= asked_mA <= driver.limit_mA:
            return OUT_OF_RANGE
        place = _L_LEVEL_0 + _SERIAL_LEVEL
        before = driver.board.quiet()
        driver.limits[place] = asked_mA
        driver.limits[_LIMITS + place] = asked_mA ^ words.ONES
        driver.level = _SERIAL_LEVEL
        driver.board.loud(before)
        return 0

    def set_current_limit(self, asked_mA: int) -> int:
        """Move the highest level that serial may ask for: down at any time, up only while dark."""
        driver = self.driver
        if driver.phase != LIVE:
            return SETTINGS_CONFLICT
        if not driver.limits[_L_START] <= asked_mA <= driver.most_mA:
            return OUT_OF_RANGE
        if asked_mA > driver.limit_mA and not driver.idle_dark():
            return SETTINGS_CONFLICT
        driver.limit_mA = asked_mA
        return self.set_current(asked_mA) if self.current() > asked_mA else 0

    def set_level(self, number: int) -> int:
        """Ask for a named level; return 0 or the SCPI error."""
        driver = self.driver
        if not 0 <= number <= 3 or driver.limits[_L_LEVEL_0 + number] > driver.limit_mA:
            return OUT_OF_RANGE
        driver.level = number
        return 0

    # the trigger's gate, and latched rows

    def allowed(self) -> bool:
        """Return whether the trigger may light."""
        return bool(self.driver.allowing)

    def allow(self, on: bool) -> int:
        """Close the trigger's gate at once, or open it for a press that follows a release."""
        driver = self.driver
        if not on:
            driver.allowing = 0
            return 0
        if driver.phase != LIVE or driver.state[_S_FAULTS]:
            return SETTINGS_CONFLICT
        if not driver.allowing:
            driver.released = 0
            driver.allowing = 1
        return 0

    def clear_protection(self) -> int:
        """Return 0 where nothing is latched: every rule asks for an act at the light itself."""
        latched = self.driver.phase != LIVE or self.driver.state[_S_FAULTS]
        return SETTINGS_CONFLICT if latched else 0

    # memory and flash, both while dark

    def telemetry(self, hertz: int) -> int:
        """Send so many lines a second, 0 for none; return 0 or the SCPI error."""
        if not 0 <= hertz <= 50:
            return OUT_OF_RANGE
        self.hertz = hertz
        return 0

    def burst_start(self, ticks: int) -> int:
        """Keep the next `ticks` ticks in memory; return 0 or the SCPI error."""
        driver = self.driver
        if not 1 <= ticks <= BURST_TICKS:
            return OUT_OF_RANGE
        driver.burst_end = 0
        if not driver.burst:
            if not driver.idle_dark():
                return SETTINGS_CONFLICT  # the first one asks for much memory
            driver.burst = array("i", range(2 * BURST_TICKS))  # of a list it would be made twice
        state, readings = array("i", driver.state), array("i", driver.readings)
        self.burst_words = state, readings
        before = driver.board.quiet()
        state[WHOLE] = driver.state
        readings[WHOLE] = driver.readings
        driver.burst_at = 0
        driver.burst_end = ticks
        driver.board.loud(before)
        return 0

    def burst_state(self) -> "tuple[int, int]":
        """Return ticks kept and ticks asked for; the same once it has ended."""
        return self.driver.burst_at, self.driver.burst_end

    def burst_begin(self) -> "tuple[array[int], array[int]] | None":
        """Return the law's state and readings at the burst's first tick, None without one."""
        return self.burst_words

    def burst_read(self, row: int) -> "tuple[int, int]":
        """Return one tick's two words, as `driver.fold` made them."""
        return self.driver.burst[2 * row], self.driver.burst[2 * row + 1]

    def journal_entries(self, most: int) -> "Iterator[tuple[object, ...]]":
        """Yield what the newest entries say, at most `most`, newest first."""
        for entry in self.program.journal.entries(most):
            yield entry.told()

    def settings_fingerprint(self) -> str:
        """Return the fingerprint of the build that the settings came from, "" without any."""
        return self.program.record.fingerprint if self.program.record else ""

    def as_built(self) -> str:
        """Return the settings' as-built text, "" without any."""
        return self.program.record.as_built if self.program.record else ""

    def settings_begin(self, size: int) -> int:
        """Make room for a record of `size` bytes; return 0 or the SCPI error."""
        if not 0 < size <= LARGEST_UPLOAD:
            return OUT_OF_RANGE
        if not self.driver.idle_dark():
            return SETTINGS_CONFLICT
        self.upload = bytearray(size)
        self.got = 0
        return 0

    def settings_data(self, piece: bytes) -> int:
        """Take the next bytes of the record; return 0 or the SCPI error."""
        if self.got + len(piece) > len(self.upload):
            return OUT_OF_RANGE
        self.upload[self.got : self.got + len(piece)] = piece
        self.got += len(piece)
        return 0

    def settings_commit(self, checksum: int) -> int:
        """Check the record whole and store it; light is barred until the board restarts with it."""
        driver = self.driver
        blob, self.upload = bytes(self.upload), bytearray(0)
        if self.got == 0 or self.got != len(blob) or crc32(blob) != checksum:
            return CONFIGURATION_LOST
        if not driver.idle_dark():
            return SETTINGS_CONFLICT
        try:
            settings.unpack(blob, driver.unit)
        except settings.Refused:
            return ILLEGAL_VALUE
        if not driver.hold():
            return SETTINGS_CONFLICT
        try:
            driver.planned(lambda: settings.store(blob, driver.unit))
        except (OSError, settings.Refused):
            return CONFIGURATION_LOST
        driver.bar("new settings: restart")
        return 0

    def maintenance(self) -> int:
        """Restart, while dark, into a boot in which light is impossible; or the SCPI error."""
        if not self.driver.hold():
            return SETTINGS_CONFLICT
        self.program.into_maintenance()
        return 0

    def hours(self) -> "tuple[int, int]":
        """Return lit time [s] and starts, both lower bounds."""
        return self.program.hours.lit_s, self.program.hours.starts

    def service_done(self, text: str) -> int:
        """Write down that what a service fault showed was mended; only in maintenance."""
        if not self.program.maintained:
            return SETTINGS_CONFLICT
        self.program.note_service(text)
        return 0
