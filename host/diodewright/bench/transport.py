"""The one adapter over mpremote's transport: a board at MicroPython's prompt, and its files.

Nothing else here knows that transport; it promises no stable interface, so its release is pinned.
Every failure is a `BenchError` that names the port.
"""

import ast
import contextlib
import errno
import io
import struct
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import serial

from diodewright.bench.line import vanished
from diodewright.bench.problems import BenchError
from diodewright.build.extras import Missing
from diodewright.build.plain_file import printable

__all__ = ["Facts", "Prompt"]

#: How long the board may say nothing [s]: erasing flash takes up to 0.4 s a block.
_WAIT_S = 10.0
_PIECE = 512
_SHOWN = 90
_FULL = "the board's flash is full"
_NOBODY = "no MicroPython answers, or its program does not let go"

_FACTS = """
import sys, os, machine
_i = sys.implementation
_s = os.statvfs(os.getcwd())
print(repr((_i.name, tuple(_i.version)[:3], _i._machine, getattr(_i, "_mpy", 0),
    "".join("%02x" % b for b in machine.unique_id()), _s[0] * _s[3])))
"""
_HASHES = """
import os, hashlib
def _hash(p):
    h = hashlib.sha256()
    with open(p, "rb") as f:
        while True:
            b = f.read(512)
            if not b:
                break
            h.update(b)
    return "".join("%02x" % x for x in h.digest())
_d = {}
for _n in os.listdir():
    if os.stat(_n)[0] & 0x8000:
        if _n in NAMES:
            _d[_n] = (_hash(_n), os.stat(_n)[6])
    elif _n == FOLDER:
        for _m in os.listdir(_n):
            _p = _n + "/" + _m
            _d[_p] = (_hash(_p), os.stat(_p)[6])
print(repr(_d))
"""
#: The pause lets the port's last answer out before USB goes down.
_RESET = "import machine, time\ntime.sleep_ms(100)\nmachine.reset()"
_READ = """
try:
    with open(NAME, "rb") as _f:
        print(repr(_f.read()))
except OSError:
    print(repr(b""))
"""


@dataclass(frozen=True)
class Facts:
    """What a board says of itself at the prompt.

    Attributes
    ----------
    system : "micropython".
    release : its version, three numbers.
    machine : its name of board and chip.
    mpy : what compiled files it loads, as `sys.implementation._mpy` gives it; 0: none.
    unit : the chip's own number.
    free_bytes : of its flash.
    """

    system: str
    release: tuple[int, int, int]
    machine: str
    mpy: int
    unit: str
    free_bytes: int


class Prompt:
    """A board in raw mode; entering it ends what runs there.

    Raises
    ------
    BenchError
        The port can't be opened, or no MicroPython answers.
    Missing
        mpremote is not here.
    """

    def __init__(self, port: str, maintained: bool = False) -> None:
        try:
            from mpremote.transport import TransportError, TransportExecError
            from mpremote.transport_serial import SerialTransport
        except ImportError:
            raise Missing("mpremote") from None
        self.port = port
        #: Whether our firmware was asked for maintenance first: no watchdog is armed then.
        self.maintained = maintained
        self._made = SerialTransport
        self._failed: tuple[type[Exception], type[Exception]] = (TransportExecError, TransportError)
        self._board: Any = None
        self.open(port)

    def open(self, port: str) -> None:
        """Open `port` and enter raw mode; what was open before is closed."""
        self.close()
        self.port = port
        with self._spoken(_NOBODY):
            self._board = self._made(port, timeout=_WAIT_S)
        try:
            self.enter()
        except BaseException:
            self.close()
            raise

    def enter(self) -> None:
        """Begin anew at the prompt: nothing loaded, boot.py run."""
        with self._spoken(_NOBODY):
            self._board.enter_raw_repl(timeout_overall=_WAIT_S)

    def __enter__(self) -> "Prompt":
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the port; the board stays at its prompt."""
        if self._board is not None:
            with contextlib.suppress(OSError, serial.SerialException):
                self._board.serial.close()
            self._board = None

    @contextlib.contextmanager
    def _spoken(self, otherwise: str) -> Iterator[None]:
        """Turn what the transport raises into one line; what it prints is dropped."""
        refused, failed = self._failed
        try:
            with contextlib.redirect_stdout(io.StringIO()):
                yield
        except refused as error:
            said = str(getattr(error, "error_output", error)).strip().rpartition("\n")[2]
            if "ENOSPC" in said:
                raise BenchError(f"{self.port}: {_FULL}") from None
            raise BenchError(printable(f"{self.port}: {otherwise}: {said[:_SHOWN]}")) from None
        except (failed, struct.error) as error:
            raise BenchError(printable(f"{self.port}: {otherwise} ({error})"[:200])) from None
        except (serial.SerialException, OSError, TypeError) as error:
            # the transport gives an error of the board's own files this machine's class
            if getattr(error, "errno", None) == errno.ENOSPC:
                raise BenchError(f"{self.port}: {_FULL}") from None
            raise vanished(self.port, error) from None

    def run(self, code: str) -> str:
        """Run `code` on the board and return what it printed."""
        with self._spoken("the board refused"):
            return str(self._board.exec(code).decode("utf-8", "replace"))

    def value(self, code: str) -> Any:
        """Run `code`, which prints one plain value, and return that."""
        said = self.run(code)
        try:
            return ast.literal_eval(said.strip())
        except (ValueError, SyntaxError):
            raise BenchError(printable(f"{self.port}: damaged answer {said[:_SHOWN]!r}")) from None

    def facts(self) -> Facts:
        """Return what the board says of itself."""
        found = self.value(_FACTS)
        if not isinstance(found, tuple) or len(found) != len(Facts.__dataclass_fields__):
            raise BenchError(printable(f"{self.port}: damaged answer {found!r}"[:200]))
        return Facts(*found)

    def hashes(self, folder: str, names: tuple[str, ...]) -> dict[str, tuple[str, int]]:
        """Return path -> SHA-256 and size of `names` at the root and of all files in `folder`."""
        found = self.value(f"NAMES = {names!r}\nFOLDER = {folder!r}\n{_HASHES}")
        return {str(path): (str(digest), int(size)) for path, (digest, size) in found.items()}

    def read(self, path: str) -> bytes:
        """Return a file's bytes; none where it is not there."""
        text = self.value(f"NAME = {path!r}\n{_READ}")
        return bytes(text)

    def write(self, path: str, data: bytes) -> None:
        """Write a file; what stood there is gone where this fails half-way."""
        with self._spoken(f"can't write {path}"):
            self._board.fs_writefile(path, data, chunk_size=_PIECE)

    def make_folder(self, path: str) -> None:
        """Make a folder where there is none."""
        self.run(f"import os\nif {path!r} not in os.listdir():\n    os.mkdir({path!r})")

    def remove(self, path: str) -> None:
        """Remove a file."""
        self.run(f"import os\nos.remove({path!r})")

    def rename(self, old: str, new: str) -> None:
        """Put one file in place of another, in one step."""
        self.run(f"import os\nos.rename({old!r}, {new!r})")

    def reset(self) -> None:
        """Reset the chip, which ends this."""
        with self._spoken("does not restart"):
            self._board.exec_raw_no_follow(_RESET)
        self.close()
