"""The whole program: boot order, main loop, and every way to end, all of them dark.

Order: outputs dark; journal; settings of this very unit; watchdog; ticks; self-test; law. Whatever
goes wrong on that way bars light until the next boot, and is told by blinks and over serial.

The main loop serves serial, keeps the journal, shows blinks, gives the heartbeat, and feeds the
watchdog only where ticks came since it last fed, and all is sane. Flash is written while dark
alone: interrupts are off meanwhile, up to 400 ms.
"""

import os

from diodedriver import journal, settings, words
from diodedriver.driver import LIVE, TESTING, Driver
from diodedriver.hours import Hours
from diodedriver.panel import Panel
from diodedriver.scpi import Port
from diodedriver.selftest import STEPS, Test

MYPY = False
if MYPY:
    from diodedriver.board import Board

# a littlefs write may erase several blocks of up to 400 ms; darkness never waits for this
WATCHDOG_MS = 5000
# the armed marker goes away after so long a dark: a clean end
REST_MS = 10_000
# one fault, coming again and again, is written this often
AGAIN_MS = 10_000
MAINTENANCE = "maintenance"
# a blink code that no fault row has: so many long ones, then the self-test's step
TEST_BLINKS = len(words.FAULTS) // 5 + 1
SHORT_MS = 200
LONG_MS = 800
GAP_MS = 300
PAUSE_MS = 1500
VERSION = "1"


def mark_maintenance() -> None:
    """Leave the marker that the next boot finds."""
    with open(MAINTENANCE, "w") as marker:
        marker.write("1")


class Blinker:
    """Shows a code of long and short blinks, over and over; (0, 0) is none."""

    def __init__(self) -> None:
        self.code = (0, 0)
        self.place = 0
        self.since = 0

    def show(self, code: "tuple[int, int]") -> None:
        """Show `code` from its beginning, where it is another than before."""
        if code != self.code:
            self.code = code
            self.place = 0
            self.since = 0

    def step(self, elapsed_ms: int) -> int:
        """Let `elapsed_ms` pass and return whether the lamp is on."""
        blinks = self.code[0] + self.code[1]
        if blinks == 0:
            return 0
        self.since += elapsed_ms
        on = LONG_MS if self.place < self.code[0] else SHORT_MS
        off = PAUSE_MS if self.place == blinks - 1 else GAP_MS
        if self.since >= on + off:
            self.since = 0
            self.place = (self.place + 1) % blinks
        return 1 if self.since < on else 0


class Program:
    """What boot makes and the main loop runs."""

    def __init__(self, board: "Board") -> None:
        self.board = board
        self.driver = Driver(board)
        self.blinker = Blinker()
        self.journal = journal.Journal()
        self.hours = Hours()
        self.record: settings.Record | None = None
        self.cause = board.reset_cause()
        self.maintained = MAINTENANCE in os.listdir()
        self.unclean = settings.was_armed()
        self.dark_since = board.millis()
        self.shown = board.millis()
        self.fed_at = 0
        self.noted = 0
        self.noted_row = -1
        self.noted_at = board.millis()
        self.crash_noted = False
        self.seconds = 0
        self.second_at = board.millis()
        self.buffer = bytearray(64)
        self.version = VERSION
        self.panel = Panel(self)
        self.port = Port(self.panel)
        self.spoken = board.millis()

    # boot

    def start(self) -> None:
        """Do everything in its order up to the first tick."""
        board = self.board
        driver = self.driver
        driver.unit = board.unit()
        self.note("unclean" if self.unclean else "boot")
        if self.maintained:
            os.remove(MAINTENANCE)
            board.keep_break(True)
            driver.bar("maintenance")
        elif self.take_settings():
            board.watch(WATCHDOG_MS)
        board.start_ticks(driver.tick)

    def take_settings(self) -> bool:
        """Take the settings, unless something bars light; return whether the test may begin."""
        driver = self.driver
        row = self.journal.needs_service()
        if row >= 0:
            driver.bar("service")
            self.blinker.show(words.blinks(row))
            return False
        try:
            self.record = settings.load(driver.unit)
            driver.take_settings(self.record.values)
        except settings.Refused as error:
            driver.bar(f"settings: {error}")
            self.blinker.show(words.blinks(0))
            return False
        driver.held = 1 if self.unclean else 0
        driver.test = Test(self.board, driver.limits)
        driver.phase = TESTING
        driver.barred_by = ""
        return True

    # the main loop

    def turn(self) -> None:
        """Go round once."""
        board = self.board
        driver = self.driver
        driver.beat = 0
        if driver.ticks != self.fed_at and driver.sane():
            self.fed_at = driver.ticks
            board.feed()
        if driver.crashed:
            self.note_crash()
        if driver.phase == TESTING and self.panel.self_test() >= 0:
            self.end_test()
        if driver.phase == LIVE:
            self.attend()
        self.serve()
        elapsed = board.since(self.shown)
        self.shown = board.millis()
        board.blink.value(self.blinker.step(elapsed))
        self.hours.passes(elapsed, self.panel.lit())
        if board.since(self.second_at) >= 1000:
            self.second_at = board.millis()
            self.seconds += 1
        board.idle()

    def end_test(self) -> None:
        """Go live behind a test that passed; bar light behind one that failed."""
        driver = self.driver
        step = self.panel.self_test()
        if step == 0:
            driver.go_live()
            return
        name, _, _, _, hint = STEPS[step - 1]
        driver.bar(f"self-test {name}: {hint}")
        self.blinker.show((TEST_BLINKS, step))

    def attend(self) -> None:
        """Keep armed marker and journal in step with what the law did; all of it while dark."""
        driver = self.driver
        driver.keep()
        cause = driver.cause_row()
        if cause >= 0:
            self.blinker.show(words.blinks(cause))
            if self.worth_noting(cause) and driver.hold():
                self.noted = driver.cause_tick() + 1
                self.noted_row = cause
                self.noted_at = self.board.millis()
                self.note("fault")
        else:
            self.blinker.show((0, 0))
        if driver.held and driver.rested():
            driver.planned(settings.disarm)  # the unclean end is over: the next boot is not one
            driver.lift()
        if not driver.idle_dark() or driver.pressed():
            self.dark_since = self.board.millis()
        if not driver.armed and driver.wants_light():
            driver.planned(settings.arm)
            driver.armed = 1
        elif driver.armed and self.board.since(self.dark_since) > REST_MS and driver.hold():
            driver.armed = 0
            driver.planned(self.end_clean)

    def end_clean(self) -> None:
        """Take the armed marker away, and keep what was lit."""
        settings.disarm()
        self.hours.keep()

    def worth_noting(self, row: int) -> bool:
        """Return whether this first cause is not in the journal yet.

        A row that clears and comes again at once would wear the flash: one entry in ten seconds.
        """
        if self.noted == self.driver.cause_tick() + 1:
            return False
        again = row == self.noted_row
        return not again or self.board.since(self.noted_at) > AGAIN_MS

    def note(self, kind: str) -> None:
        """Write one entry into the journal; dark, as every flash write.

        A fault's is about its first cause, of the state that the driver keeps; every other's is
        about now.
        """
        driver = self.driver
        fault = kind == "fault"
        if not fault:
            driver.keep()
        mode = driver.cause_mode() if fault else driver.kept_mode()
        tick = driver.cause_tick() if fault else driver.kept_tick()
        seen = driver.seen() if fault else list(driver.readings)
        row = driver.cause_row() if fault else -1
        if row >= len(words.FAULTS):
            row = -1  # a flipped bit: the entry is worth more than its row
        limit = reading = 0
        if row >= 0:
            limit = driver.limit_of(row)
            reading = driver.seen_of(row)
        driver.planned(
            lambda: self.journal.add(
                kind,
                self.journal.boots,
                self.seconds,
                self.cause,
                row,
                mode,
                tick,
                limit,
                reading,
                seen,
            )
        )

    def note_crash(self) -> None:
        """Bar light and write down, once, that the program failed, with the law's last words."""
        if self.crash_noted:
            return
        self.crash_noted = True
        self.driver.bar("crash")
        try:
            self.note("crash")
        except (OSError, ValueError, MemoryError):
            pass  # what it failed of is worth more than its entry

    def note_service(self, _text: str) -> None:
        """Write down that a service fault was mended."""
        self.note("service")

    def into_maintenance(self) -> None:
        """Restart into a boot that arms no watchdog and steps no law."""
        self.driver.planned(mark_maintenance)
        self.board.dark()
        self.board.restart()

    def serve(self) -> None:
        """Take what serial sent, say what there is room for, and telemetry at its rate."""
        board = self.board
        taken = board.hear(self.buffer)
        if taken:
            self.port.feed(self.buffer, taken)
        hertz = self.panel.hertz
        if hertz and board.since(self.spoken) * hertz >= 1000:
            self.spoken = board.millis()
            self.port.telemetry_line()
        waiting = self.port.take(self.buffer)
        if waiting and not board.say(memoryview(self.buffer)[:waiting]):
            self.port.keep()


def end(board: "Board") -> None:
    """Stop the ticks and go dark."""
    try:
        board.stop_ticks()
    finally:
        board.dark()


def main() -> None:
    """Run until the board is reset; dark on every way out, and only then is a crash written."""
    from diodedriver.board import Board

    board = Board()
    board.keep_break(False)
    program = None
    try:
        program = Program(board)
        program.start()
        while True:
            program.turn()
    except Exception:
        end(board)
        if program is not None:
            program.note_crash()
        raise
    finally:
        end(board)
