"""The serial port: a line in, its commands done, one line out. Fixed buffers, nothing grows.

Sources: IEEE 488.2-1992 (status, chapter 11; messages, chapters 6 to 8) and SCPI-99, volume 1,
chapters 6 to 9, and volume 2 (SYSTem, STATus, error numbers in chapter 21.8).
"""

from array import array

from diodedriver import acts, grammar
from diodedriver.commands import COMMANDS, DARK
from diodedriver.grammar import Wrong

MYPY = False
if MYPY:
    from collections.abc import Iterator
    from typing import Any

    from diodedriver.panel import Panel

LINE_BYTES = 256
OUT_BYTES = 1024
QUEUE = 16

SETTINGS_CONFLICT = -221
SYSTEM = -310
NO_MEMORY = -321
QUEUE_OVERFLOW = -350
COMMUNICATION = -360
OVERRUN = -363
DEADLOCKED = -430
# every error that can be in the queue, with SCPI-99's text
ERRORS = {
    0: "No error",
    -102: "Syntax error",
    -103: "Invalid separator",
    -104: "Data type error",
    -108: "Parameter not allowed",
    -109: "Missing parameter",
    -112: "Program mnemonic too long",
    -113: "Undefined header",
    -121: "Invalid character in number",
    -131: "Invalid suffix",
    -138: "Suffix not allowed",
    -221: "Settings conflict",
    -222: "Data out of range",
    -224: "Illegal parameter value",
    -310: "System error",
    -315: "Configuration memory lost",
    -321: "Out of memory",
    -350: "Queue overflow",
    -360: "Communication error",
    -363: "Input buffer overrun",
    -430: "Query DEADLOCKED",
}

# bits of the standard event register, by the hundred of an error's number
EVENT_BITS = (0, 32, 16, 8, 4)
POWER_ON = 128
# bits of the status byte
ERROR_WAITS = 4
QUESTIONABLE = 8
MESSAGE_WAITS = 16
EVENT = 32
MASTER = 64
OPERATION = 128

_LF = 10
_SPACE = 32
_LAST_PRINTABLE = 126


class Port:
    """One serial port over one panel."""

    def __init__(self, panel: "Panel") -> None:
        self.panel = panel
        self.headers = grammar.Headers([row[0] for row in COMMANDS])
        self.line = bytearray(LINE_BYTES)
        self.length = 0
        self.binary = False
        self.out = memoryview(bytearray(OUT_BYTES))
        self.start = 0
        self.end = 0
        self.taken = 0
        self.lost = False
        self.queue = array("h", [0] * QUEUE)
        self.oldest = 0
        self.waiting = 0
        self.esr = POWER_ON
        self.ese = 0
        self.sre = 0
        # operation, questionable
        self.conditions = [0, 0]
        self.events = [0, 0]
        self.enables = [0, 0]
        self.entries: Iterator[Any] | None = None
        # of the line that is being done
        self.path: list[str] = []
        self.begin = 0
        self.fits = True

    # bytes in

    def feed(self, buffer: "bytes | bytearray", count: int) -> None:
        """Take `count` bytes from USB; whatever lines they end are done at once."""
        for place in range(count):
            byte = buffer[place]
            if byte == _LF:
                self._end_line()
            elif self.length < LINE_BYTES:
                if byte > _LAST_PRINTABLE:
                    self.binary = True
                # 488.2: every other control character is white space, CR too
                self.line[self.length] = byte if byte > _SPACE else _SPACE
                self.length += 1
            else:
                self.length = LINE_BYTES + 1

    def _end_line(self) -> None:
        length, binary = self.length, self.binary
        self.length = 0
        self.binary = False
        if length > LINE_BYTES:
            self.error(OVERRUN)
        elif binary:
            self.error(grammar.SYNTAX)
        else:
            self._compact()
            self.begin = self.end
            try:
                self._obey(length)
            except MemoryError:
                self.end = self.begin
                self.error(NO_MEMORY)

    def _obey(self, length: int) -> None:
        """Do one line's commands in order; one that can't be read ends the line."""
        self.fits = True
        self.path = []
        try:
            units = grammar.split(bytes(self.line[:length]).decode(), ";")
        except Wrong as wrong:
            self.error(wrong.number)
            return
        for unit in units:
            try:
                self._unit(unit.strip())
            except Wrong as wrong:
                self.error(wrong.number)
                if wrong.number > grammar.FIRST_EXECUTION:
                    break
        if self.end > self.begin:
            self.fits = self.fits and self._append("\n")
        if not self.fits:
            self.end = self.begin
            self.error(DEADLOCKED)

    def _unit(self, unit: str) -> None:
        """Do one command; raise Wrong where it can't be done."""
        if not unit:
            return
        self.panel.beat()
        head, _, rest = unit.partition(" ")
        names = head.upper()
        asks = names.endswith("?")
        names = names[:-1] if asks else names
        if names.startswith(":"):
            self.path = []
            names = names[1:]
        words = names.split(":")
        if not names.startswith("*"):
            words = self.path + words
            self.path = words[:-1]
        row = COMMANDS[self.headers.find(words, asks)]
        reply = self._do(row, grammar.parameters(rest.strip(), row[1], self.bound))
        if not isinstance(reply, str):
            if reply:
                raise Wrong(reply)
            return
        if self.end > self.begin:
            reply = ";" + reply
        self.fits = self.fits and self._append(reply)

    def _do(self, row: "tuple[Any, ...]", values: "list[Any]") -> "str | int":
        if row[2] == DARK and not self.panel.idle_dark():
            return SETTINGS_CONFLICT
        try:
            reply: str | int = row[3](self, *values)
        except MemoryError:
            return NO_MEMORY
        except OSError:
            return SYSTEM
        return reply

    def bound(self, name: str) -> int:
        """Return an end of a range that moves [mA]."""
        if name == "start":
            return self.panel.limit("start_mA")
        return self.panel.current_limit() if name == "limit" else self.panel.highest_current()

    # bytes out

    def take(self, buffer: bytearray) -> int:
        """Fill what is to be sent into `buffer`; return how many bytes that is."""
        self.watch()
        count = min(self.end - self.start, len(buffer))
        buffer[:count] = self.out[self.start : self.start + count]
        self.start += count
        self.taken = count
        if self.start == self.end:
            self.lost = False
        return count

    def keep(self) -> None:
        """Take back what was just taken: it could not be sent, and half a line never is."""
        self.start -= self.taken
        self.taken = 0

    def telemetry_line(self) -> None:
        """Append one line of telemetry, whole or not at all; tell once that lines were lost."""
        self._compact()
        begin = self.end
        try:
            if self._append(acts.telemetry_text(self)) and self._append("\n"):
                return
        except MemoryError:
            pass  # as for want of room
        self.end = begin
        if not self.lost:
            self.lost = True
            self.error(COMMUNICATION)

    def _compact(self) -> None:
        """Move what waits to the buffer's begin."""
        if self.start:
            waits = self.end - self.start
            self.out[:waits] = self.out[self.start : self.end]
            self.start = self.taken = 0
            self.end = waits

    def _append(self, text: str) -> bool:
        """Put text behind what waits; return whether it fits."""
        data = text.encode()
        if self.end + len(data) > OUT_BYTES:
            return False
        self.out[self.end : self.end + len(data)] = data
        self.end += len(data)
        return True

    # registers and queue

    def error(self, number: int) -> None:
        """Put an error into the queue; a full queue's newest becomes -350."""
        self.esr |= EVENT_BITS[-number // 100]
        if self.waiting < QUEUE:
            self.waiting += 1
        else:
            number = QUEUE_OVERFLOW
            self.esr |= EVENT_BITS[3]
        self.queue[(self.oldest + self.waiting - 1) % QUEUE] = number

    def next_error(self) -> str:
        """Return the oldest error and drop it."""
        number = 0
        if self.waiting:
            number = self.queue[self.oldest]
            self.oldest = (self.oldest + 1) % QUEUE
            self.waiting -= 1
        return f"{number},{acts.quoted(ERRORS[number])}"

    def clear(self) -> None:
        """Empty the queue and every event register."""
        self.waiting = 0
        self.esr = 0
        self.events[0] = self.events[1] = 0

    def watch(self) -> None:
        """Look at both conditions; what has come since the last look becomes an event."""
        for which in range(2):
            now = acts.WATCHED[which](self.panel)
            self.events[which] |= now & ~self.conditions[which]
            self.conditions[which] = now

    def status_byte(self) -> int:
        """Return the status byte (488.2, 11.2)."""
        self.watch()
        bits = ERROR_WAITS if self.waiting else 0
        if self.events[1] & self.enables[1]:
            bits |= QUESTIONABLE
        if self.end > self.start:
            bits |= MESSAGE_WAITS
        if self.esr & self.ese:
            bits |= EVENT
        if self.events[0] & self.enables[0]:
            bits |= OPERATION
        return bits | MASTER if bits & self.sre else bits
