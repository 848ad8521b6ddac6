"""Noise for the serial port, in real MicroPython: `micropython serial_fuzz.py SEED LINES`.

Half the lines are made from the command table and then spoilt or not; the other half is noise,
long lines, half lines, binary. What the port says is checked byte by byte. Printed at the end:
commands done, errors raised, the heap. Exit code 1 where one of them was never seen, or it grew.
"""

import gc
import sys
from array import array
from binascii import crc32

from desk_driver import DriverDesk
from diodedriver import grammar, panel, words
from diodedriver.commands import ANY, COMMANDS
from diodedriver.scpi import ERRORS, OUT_BYTES, QUEUE, Port

SAMPLES = 8
# what the collector itself may leave behind, in bytes; a leak of one byte a line would be 100,000
SLACK = 512
STATES = ("dark", "lit", "faulty", "barred", "testing")
WORDS = ("MIN", "MAX", "DEF", "ON", "OFF", "0", "1", "-1", "1E9", "1E-999999", "0.3", "#H1F", "#B2")
WORDS += (
    "1E999999",
    "",
    "1 V",
    "2A",
    "3 MA",
    "5 MS",
    "1.2.3",
    "FOO",
    '"a"',
    "'b",
    "1e",
    "#",
    "+",
    "9" * 30,
)
NOISE = "ABCDEFSTUVWXYZabcdefghi0123456789:;?*,.\"'#@ \t\r[]()+-_!"


class Dice:
    """The whole source of chance: one seed gives one run."""

    def __init__(self, seed: int) -> None:
        self.word = seed & 0x7FFFFFFF

    def below(self, count: int) -> int:
        self.word = (self.word * 1103515245 + 12345) & 0x7FFFFFFF
        return (self.word >> 8) % count

    def pick(self, items):
        return items[self.below(len(items))]

    def once_in(self, count: int) -> bool:
        return self.below(count) == 0


class Slots:
    """Settings in flash that refuse some records and fail on others."""

    class Refused(Exception):
        pass

    @staticmethod
    def unpack(blob, _unit):
        if blob[0] & 1:
            raise Slots.Refused

    @staticmethod
    def store(blob, _unit):
        if blob[0] & 2:
            raise OSError(5)


class Counted(Port):
    """A port that counts what it does."""

    def __init__(self, panel) -> None:
        self.done = {row[0]: 0 for row in COMMANDS}
        self.raised = dict.fromkeys(ERRORS, 0)
        Port.__init__(self, panel)

    def _do(self, row, values):
        if row[2] == ANY or self.panel.idle_dark():
            self.done[row[0]] += 1
        return Port._do(self, row, values)

    def error(self, number):
        full = self.waiting == QUEUE
        Port.error(self, number)
        self.raised[number] += 1
        if full:
            self.raised[-350] += 1

    def next_error(self):
        if not self.waiting:
            self.raised[0] += 1
        return Port.next_error(self)


def header(dice, row) -> str:
    words = []
    for word, optional in grammar.nodes(row[0]):
        if optional and dice.once_in(2):
            continue
        written = grammar.short(word) if dice.once_in(2) else word
        words.append(written.lower() if dice.once_in(4) else written)
    return (":" if dice.once_in(4) else "") + ":".join(words) + ("?" if row[0][-1] == "?" else "")


def value(dice, parameter) -> str:
    kind, low, high = parameter[1], parameter[3], parameter[4]
    if dice.once_in(4):
        return dice.pick(WORDS)
    if kind == "switch":
        return dice.pick(("ON", "OFF", "1", "0", "off"))
    if kind == "extreme":
        return dice.pick(("MIN", "MAX", "DEF"))
    if kind in ("text", "hex"):
        return '"' + "a" * dice.below(2 * high + 3) + '"'
    if not isinstance(low, int):
        return f"{dice.below(1600)} MA"
    return str(low + dice.below(high - low + 2)) + (" MS" if parameter[2] == "S" else "")


def from_table(dice) -> str:
    row = dice.pick(COMMANDS)
    values = [value(dice, parameter) for parameter in row[1]]
    if dice.once_in(16):
        values.append("1")
    line = header(dice, row) + " " + ",".join(values)
    return line + ";" + from_table(dice) if dice.once_in(6) else line


def spoilt(dice, line: str) -> str:
    """Change, drop, double or insert at one place."""
    at = dice.below(len(line) + 1)
    how = dice.below(5)
    if how == 0:
        return line[:at]
    if how == 1:
        return line[:at] + line[at + 1 :]
    if how == 2:
        return line[:at] + line[:at] + line[at:]
    char = dice.pick(NOISE)
    return line[:at] + char + line[at + (how == 3) :]


def noise(dice) -> bytes:
    how = dice.below(40)
    if how == 0:
        return bytes([dice.below(256) for _ in range(dice.below(40))])
    if how == 1:
        return dice.pick((b"*IDN?;", b"A" * 13 + b" ", b'"', b"\x00\xff", b"1,")) * dice.below(90)
    if how == 2:
        return b"CURR? MIN;:STEP? ;*IDN?;:BURS:FIRS:STAT?;READ?"
    return "".join([dice.pick(NOISE) for _ in range(dice.below(12))]).encode()


def upload(dice) -> bytes:
    """Return the lines that send a whole record, which may be a bad one."""
    blob = bytes([dice.below(256) for _ in range(4)])
    digits = "".join([f"{byte:02x}" for byte in blob])
    return f'SETT:BEG 4\nSETT:DATA "{digits}"\nSETT:COMM {crc32(blob)}\n'.encode()


class Run:
    """One run: a port at a desk that changes its state now and then, and who listens to it."""

    def __init__(self, seed: int) -> None:
        self.dice = Dice(seed)
        self.desk = DriverDesk()
        self.desk.port = Counted(self.desk.panel)
        self.buffer = bytearray(64)
        self.tail = b""
        self.stalled = 0
        self.heap = []

    def state(self, name: str) -> None:
        desk = self.desk
        desk.driver.phase = 0
        desk.driver.state[:] = array("i", words.first_state())
        desk.driver.allowing = 1
        desk.desk.pins = {"key", "interlock"}
        desk.desk.forced.clear()
        desk.maintained = not desk.maintained
        getattr(desk, name)()

    def line(self) -> None:
        dice = self.dice
        if dice.once_in(600):
            data = upload(dice)
        elif dice.once_in(100):
            data = b"\n" + b"SYST:ERR?;" * (QUEUE + 1)
        elif dice.once_in(2):
            text = from_table(dice)
            data = (spoilt(dice, text) if dice.once_in(2) else text).encode()
        else:
            data = noise(dice)
        self.desk.send(data + dice.pick((b"\n", b"\n", b"\r\n", b"\n", b"\n", b"")))
        self.around()
        self.listen()

    def around(self) -> None:
        """Let the world go on: ticks, a person, telemetry, a flash that fails, a stalled host."""
        dice, desk = self.dice, self.desk
        if dice.once_in(4):
            desk.run(1 + dice.below(3))
            pressed = "trigger" in desk.desk.pins
            assert pressed or not desk.lights(), "light without a trigger"
        if dice.once_in(50):
            desk.desk.pins ^= {"trigger"}
            desk.run(2)
        if desk.panel.hertz and dice.once_in(3):
            desk.port.telemetry_line()
        if dice.once_in(300):
            broken = dice.pick((None, None, OSError(5), MemoryError()))
            desk.journal.broken = broken
        if dice.once_in(2000):
            self.state(dice.pick(STATES))
        if dice.once_in(400):
            self.stalled = 40

    def listen(self) -> None:
        """Take what is said; what is not a whole line of printable characters is an error."""
        port = self.desk.port
        assert port.length <= len(port.line) + 1 and port.waiting <= QUEUE and port.end <= OUT_BYTES
        if self.stalled:
            self.stalled -= 1
            return
        if self.dice.once_in(8) and port.take(self.buffer):
            port.keep()
        count = port.take(self.buffer)
        while count:
            self.tail += bytes(self.buffer[:count])
            count = port.take(self.buffer)
        assert not self.tail or self.tail[-1] == 10, "half a line"
        for byte in self.tail:
            assert byte == 10 or 32 <= byte <= 126, "not printable"
        for line in self.tail.split(b"\n"):
            if line[:1] == b"@":
                assert int(line[-8:], 16) == crc32(line[:-9]), "a spoilt line of telemetry"
        self.tail = b""

    def sample(self) -> None:
        """Note the heap where nothing is under way."""
        desk = self.desk
        self.stalled = 0
        self.state("dark")
        desk.panel.telemetry(0)
        desk.panel.settings_begin(1)
        desk.serviced.clear()
        desk.driver.test = desk.journal.broken = None
        desk.send(b"\nJOUR:REW;*CLS;:BURS:STAR 1 MS\n")
        self.listen()
        gc.collect()
        gc.collect()
        self.heap.append(gc.mem_alloc())

    def report(self) -> int:
        """Print what was reached; return how much was not."""
        port = self.desk.port
        missed = [name for name, count in port.done.items() if not count]
        missed += [str(number) for number, count in port.raised.items() if not count]
        for what in (port.done, port.raised):
            print(", ".join([f"{name} {count}" for name, count in what.items()]))
        print("heap", self.heap)
        grown = max(self.heap) - self.heap[0]
        if grown > SLACK:
            missed.append(f"the heap grew by {grown}")
        print("missed:", ", ".join(missed) or "nothing")
        return len(missed)


def main(seed: int, lines: int) -> int:
    panel.settings = Slots
    run = Run(seed)
    print("seed", seed, "lines", lines)
    run.state("dark")
    for number in range(lines):
        # the first sample once everything has been asked for that is kept
        if number % (lines // SAMPLES) == lines // SAMPLES // 2:
            run.sample()
        try:
            run.line()
        except Exception:
            print("at line", number)
            raise
    return 1 if run.report() else 0


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]), int(sys.argv[2])))
