"""A desk for everything between the pins and serial: real driver, panel, port and law.

The board is a fake that gives the codes of `desk.Desk`; the program is this class. Plain enough to
load in MicroPython as well.
"""

from binascii import crc32

from desk import SETTINGS, Desk
from diodedriver import words
from diodedriver.driver import TESTING, Driver
from diodedriver.panel import Panel
from diodedriver.scpi import Port
from diodedriver.selftest import Test

PLACE = {row[0]: place for place, row in enumerate(words.STATE)}
LIT = ("start", "soft_start", "run", "limited")
TOLD = ("fault", 7, 1234, "power on", 3, 6, 4321, 1627, 1650, [1650, 3700, 8000])


class Pin:
    def __init__(self, desk) -> None:
        self.desk = desk

    def value(self) -> int:
        return 1 if "trigger" in self.desk.pins else 0


class Board:
    """Gives the desk's codes, and keeps what a tick put out."""

    def __init__(self, desk) -> None:
        self.desk = desk
        self.trigger = Pin(desk)
        self.duty_u16 = 0
        self.enable = 0
        self.off = 0

    def convert(self, raw) -> int:
        self.desk.tick()
        for place in range(len(raw)):
            raw[place] = self.desk.raw[place]
        return raw[4]

    def put(self, duty_u16, enable, _pulse) -> None:
        self.duty_u16 = duty_u16
        self.enable = enable

    def put_test(self, _trickle, _inject) -> None:
        pass

    def dark(self) -> None:
        self.duty_u16 = self.enable = 0

    def quiet(self) -> int:
        self.off += 1
        return 0

    def loud(self, _before) -> None:
        self.off -= 1


class Entry:
    def told(self):
        return TOLD


class Journal:
    """A journal of a few entries; what is in `broken` is raised when it is read."""

    def __init__(self) -> None:
        self.kept = 3
        self.broken = None

    def entries(self, most):
        for _ in range(min(most, self.kept)):
            if self.broken is not None:
                raise self.broken
            yield Entry()


class Record:
    fingerprint = "0123456789abcdef"
    as_built = "passport 0123456789abcdef; despite use:junction"


class Hours:
    lit_s, starts = 7, 3


class DriverDesk:
    """The program, as far as the panel knows it."""

    def __init__(self, **changes) -> None:
        self.desk = Desk(law_tick=lambda *arrays: None)
        self.board = Board(self.desk)
        self.driver = Driver(self.board)
        self.driver.unit = "0011223344556677"
        self.desk.state = self.driver.state
        self.desk.limits = self.driver.limits
        self.settings = dict(SETTINGS)
        self.settings.update(changes)
        self.record = None
        self.hours = Hours()
        self.version = "1"
        self.journal = Journal()
        self.maintained = False
        self.restarted = 0
        self.serviced = []
        self.plug()

    def plug(self) -> None:
        """Connect serial afresh."""
        self.panel = Panel(self)
        self.port = Port(self.panel)

    def fork(self) -> "DriverDesk":
        """Return a copy of it all, with serial connected afresh; CPython only."""
        from copy import deepcopy

        kept = self.panel, self.port
        self.panel = self.port = None
        twin = deepcopy(self)
        self.panel, self.port = kept
        twin.plug()
        return twin

    # what the panel asks of its program

    def into_maintenance(self) -> None:
        """Write a marker that is not there, and restart a board that goes on: a press may wait."""
        self.driver.planned(lambda: None)
        self.restarted += 1

    def note_service(self, text: str) -> None:
        self.serviced.append(text)

    # the states that a test starts from

    def loaded(self) -> "DriverDesk":
        """Take the settings."""
        self.record = Record()
        self.driver.take_settings(self.settings)
        return self

    def dark(self) -> "DriverDesk":
        """Go live, with every channel read."""
        self.loaded().driver.barred_by = ""
        self.driver.go_live()
        self.run(30)
        self.driver.state[PLACE["budget"]] = 0
        assert self.mode == "dark", self.mode
        return self

    def lit(self) -> "DriverDesk":
        """Press and wait until it runs."""
        self.dark().press().run(900)
        assert self.mode == "run", (self.mode, self.panel.cause())
        return self

    def testing(self) -> "DriverDesk":
        """Stop within the self-test: it waits for the key."""
        self.loaded().driver.limits[words.index(words.SETTINGS, "indicator_min_uA")] = 0
        self.driver.barred_by = ""
        self.driver.test = Test(self.board, self.driver.limits)
        self.driver.phase = TESTING
        self.desk.pins.discard("key")
        self.run(100)
        assert self.driver.test.at == 3 and not self.driver.test.done
        return self

    def barred(self) -> "DriverDesk":
        self.loaded().driver.bar("service")
        return self

    def faulty(self) -> "DriverDesk":
        """Latch a row out of light: the diode opened."""
        self.lit().desk.forced.update({"current_mA": 0, "output_mV": 6000})
        self.run(20)
        assert self.mode == "fault", self.mode
        return self

    # what a person and the main loop do

    @property
    def mode(self) -> str:
        return self.panel.mode_name()

    def word(self, name: str) -> int:
        return self.driver.state[PLACE[name]]

    def lights(self) -> bool:
        """Return whether anything that a tick put out could make light."""
        return bool(self.board.duty_u16 or self.board.enable & 3 or self.word("drive"))

    def press(self) -> "DriverDesk":
        self.desk.pins.add("trigger")
        return self

    def release(self) -> "DriverDesk":
        self.desk.pins.discard("trigger")
        return self

    def run(self, ticks: int = 1) -> "DriverDesk":
        """Let ticks come, with a main loop that lives and arms as `run.Program` does."""
        driver = self.driver
        for _ in range(ticks):
            driver.beat = 0
            if not driver.armed and driver.wants_light():
                driver.armed = 1
            driver.tick(None)
        return self

    def send(self, data: bytes) -> None:
        """Give bytes to the port, as the main loop does: at most 64 at a time."""
        for start in range(0, len(data), 64):
            piece = data[start : start + 64]
            self.port.feed(piece, len(piece))

    def heard(self) -> bytes:
        """Return all that the port has to say."""
        buffer = bytearray(64)
        text = b""
        count = self.port.take(buffer)
        while count:
            text += bytes(buffer[:count])
            count = self.port.take(buffer)
        return text

    def ask(self, line: str) -> str:
        """Send one line and return what comes back, without its end."""
        self.send((line + "\n").encode())
        return self.heard().decode().rstrip("\n")

    def error(self) -> int:
        """Return the oldest error's number."""
        return int(self.ask("SYST:ERR?").split(",")[0])

    def upload(self, blob: bytes, checksum: int = -1) -> None:
        """Send a record as the host does, and commit it."""
        self.ask(f"SETT:BEG {len(blob)}")
        for start in range(0, len(blob), 96):
            digits = "".join(f"{byte:02x}" for byte in blob[start : start + 96])
            self.ask(f'SETT:DATA "{digits}"')
        self.ask(f"SETT:COMM {crc32(blob) if checksum < 0 else checksum}")
