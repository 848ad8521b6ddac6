"""A serial line to a board that runs: commands, replies, and what the board sends by itself.

The board answers in order and says nothing to a command (docs/serial.md); a line that begins with
``@`` is telemetry and may come between any two replies. Nothing here can light: the firmware has no
such command.

Limits. The wall clock decides when a reply counts as missing, nothing else. A second program that
opens the port is kept out by the system's lock where that program asks for it as well.
"""

import errno
import os
import time
from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass
from types import TracebackType
from typing import Self
from zlib import crc32

import serial

from diodedriver.run import VERSION
from diodedriver.scpi import LINE_BYTES
from diodewright.bench.problems import BenchError
from diodewright.build.plain_file import printable, why

__all__ = ["Identity", "Line", "Refused", "checked"]

MAKER = "diodewright"
#: A dark board erases flash for up to 0.4 s a block and answers after.
REPLY_S = 5.0
_LOOK_S = 0.05
_SHOWN = 60
_QUEUE = 1000
#: Longer than any line of the board: what comes then is no line of ours.
_LONGEST = 4096


class Refused(BenchError):
    """The board would not: SCPI's number and text of its error."""


@dataclass(frozen=True)
class Identity:
    """What a board says that it is.

    Attributes
    ----------
    build : first 16 digits of the fingerprint of the build its settings came from; "0" for none.
    unit : the chip's own number.
    version : of the firmware.
    """

    build: str
    unit: str
    version: str


def checked(line: str) -> str | None:
    """Return a sealed line without its sum (docs/serial.md); None where the sum is wrong."""
    text, comma, said = line.rpartition(",")
    if not comma or len(said) != 8:
        return None
    try:
        wanted = int(said, 16)
    except ValueError:
        return None
    return text if crc32(text.encode()) == wanted else None


class Line:
    """An open port with a board of ours behind it.

    Parameters
    ----------
    name : path of the port.
    reply_s : how long a reply may take [s].
    any_version : take firmware of another version than this package's too.

    Raises
    ------
    BenchError
        No such port, in use by another program, no reply, or something else than a board of ours.
    """

    def __init__(self, name: str, reply_s: float = REPLY_S, any_version: bool = False) -> None:
        self.name = name
        self.reply_s = reply_s
        #: Telemetry that came and was not taken yet, whole lines as sent.
        self.heard: deque[str] = deque(maxlen=_QUEUE)
        #: Lines that came unasked and were no telemetry: damaged ones, most likely.
        self.strays: deque[str] = deque(maxlen=_QUEUE)
        self._buffer = bytearray()
        try:
            self._port = serial.Serial(name, timeout=_LOOK_S, write_timeout=reply_s, exclusive=True)
        except (serial.SerialException, OSError, ValueError) as error:
            raise BenchError(printable(f"{name}: {_not_opened(error)}")) from None
        try:
            self.identity = self._greet(any_version)
        except BaseException:
            self._port.close()
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the port; the board goes on."""
        self._port.close()

    # the way in

    def _greet(self, any_version: bool) -> Identity:
        """Find out who is there; what was said before is dropped."""
        self._port.reset_input_buffer()
        self._send("\n*CLS")  # an unfinished line of somebody before ends here
        self._buffer.clear()
        reply = self.ask("*IDN?")
        for _ in range(8):  # what an earlier program asked for may still be on its way
            if reply.startswith(f"{MAKER},"):
                break
            reply = self._reply(printable(reply))
        parts = reply.split(",")
        if len(parts) != 4:
            raise BenchError(printable(f"{self.name}: no board of ours, it says {reply[:_SHOWN]}"))
        found = Identity(parts[1], parts[2], parts[3])
        if found.version != VERSION and not any_version:
            raise BenchError(
                f"{self.name}: firmware version {printable(found.version)}, this package speaks "
                f"version {VERSION}: flash the board again"
            )
        return found

    # words

    def tell(self, text: str) -> None:
        """Give a command and make sure that it was done.

        Raises
        ------
        Refused
            The board would not do it.
        BenchError
            The port is gone or nothing answers.
        """
        self._send(text)  # a line of its own: one that can't be read says nothing more
        reply = self.ask("SYST:ERR?")
        number, _, said = reply.partition(",")
        if number != "0":
            self._send("*CLS")
            name = text.partition(" ")[0]
            raise Refused(printable(f"{self.name}: {name}: {number} {said.strip(chr(34))}"))

    def ask(self, text: str) -> str:
        """Return the reply to a query; BenchError as in `tell`."""
        self._send(text)
        return self._reply("")

    def ask_sealed(self, text: str) -> str:
        """Return a reply that carries a sum, without it; BenchError where the sum is wrong."""
        reply = self.ask(text)
        found = checked(reply)
        if found is None:
            raise BenchError(printable(f"{self.name}: {text}: damaged reply {reply[:_SHOWN]}"))
        return found

    def listen(self, for_s: float) -> None:
        """Take in what the board sends by itself, for about so long [s], into `heard`."""
        until_s = time.monotonic() + for_s
        while (left_s := until_s - time.monotonic()) > 0:
            self._take(min(left_s, _LOOK_S))
            for line in self._lines():
                if line.startswith("@"):
                    self.heard.append(line)
                else:
                    self.strays.append(line)

    # bytes

    def _send(self, text: str) -> None:
        data = (text + "\n").encode("ascii")
        if len(data) > LINE_BYTES:
            raise ValueError(f"{len(data)} bytes, a line holds {LINE_BYTES}")
        try:
            self._port.write(data)
        except (serial.SerialException, OSError) as error:
            raise self._vanished(error) from None

    def _reply(self, odd: str) -> str:
        """Return the next line that is no telemetry."""
        until_s = time.monotonic() + self.reply_s
        while True:
            for line in self._lines():
                if not line.startswith("@"):
                    return line
                self.heard.append(line)
            if time.monotonic() > until_s:
                raise BenchError(f"{self.name}: {_silence(odd, bytes(self._buffer))}")
            self._take(_LOOK_S)

    def _lines(self) -> Iterator[str]:
        """Take whole lines out of what came, one at a time: the rest stays for who comes next."""
        while b"\n" in self._buffer:
            line = bytes(self._buffer.partition(b"\n")[0])
            del self._buffer[: len(line) + 1]
            yield line.decode("ascii", "replace").strip("\r")

    def _take(self, most_s: float) -> None:
        try:
            self._port.timeout = most_s
            self._buffer += self._port.read(max(1, self._port.in_waiting))
        except (serial.SerialException, OSError, TypeError) as error:
            # pyserial meets a port that was closed under it with a TypeError
            raise self._vanished(error) from None
        if len(self._buffer) > _LONGEST and b"\n" not in self._buffer:
            shown = printable(bytes(self._buffer[:_SHOWN]).decode("ascii", "replace"))
            raise BenchError(f"{self.name}: no board of ours, it sends {shown}")

    def _vanished(self, error: Exception) -> BenchError:
        said = why(error) if isinstance(error, OSError) else str(error)
        return BenchError(printable(f"{self.name}: the port is gone: {said}"))


def _not_opened(error: Exception) -> str:
    if "exclusively lock" in str(error):
        return "in use by another program: close that one first"
    number = getattr(error, "errno", None)
    if number == errno.ENOENT:
        return "no such port"
    return f"can't be opened: {os.strerror(number) if number else error}"


def _silence(odd: str, left: bytes) -> str:
    said = odd or printable(left.decode("ascii", "replace"))[:_SHOWN]
    if ">>>" in said:
        return "MicroPython's prompt answers, no firmware runs: flash the board"
    return f"no board of ours, it says {said}" if said else "nothing answers"
