"""Start the firmware as the board's boot does: file system, boot.py, main.py.

Arguments: folder of these two, "" where they are what the flash itself holds; flash image, blocks,
reset cause, unit; descriptors of the pipes; the chip's name, and the levels that its pins kept
through a soft reset; the file with the pin tables by which it is wired; the release that
MicroPython says it is, "" for its own.
"""

import os
import sys

import machine
from disk import mount


class _Board:
    """A built-in module with a few things as they are on the board."""

    def __init__(self, name, **changes):
        real = __import__(name)
        for attribute in dir(real):
            setattr(self, attribute, getattr(real, attribute))
        for attribute in changes:
            setattr(self, attribute, changes[attribute])
        sys.modules[name] = self


class _Implementation:
    """What `sys` says of a chip."""

    def __init__(self, chip, release):
        real = sys.implementation
        self.name = "micropython"
        self.version = tuple(int(part) for part in release.split(".")) if release else real.version
        self._mpy = real._mpy
        self._machine = "a simulated board with " + chip


scripts, image, blocks, cause, unit, reads, writes, chip, kept, pins, release = sys.argv[1:12]
implementation = _Implementation(chip, release)
_Board("micropython", kbd_intr=machine._keep_break)
_Board("sys", implementation=implementation)
_wiring = {}
with open(pins) as file:
    exec(file.read(), _wiring)


_OUT = machine._OUT
_law = machine._law
# globals, not a closure's: a call of that asks for heap, which no tick has
_tick = None
_DRIVE = _CAUSE = _BOUND = _FAULTS = 0


def _watched(state, limits, readings, raw):
    """Step the law and note for the host what it did; the firmware's files stay as they are."""
    if _law[0] is not state:
        _law[0] = state
        _law[1] = limits
        _law[2] = readings
        _law[3] = raw
    mode = _tick(state, limits, readings, raw)
    _OUT[5] = mode + 1
    _OUT[6] = state[_DRIVE]
    _OUT[7] = state[_CAUSE]
    _OUT[8] = state[_BOUND]
    _OUT[9] = state[_FAULTS]
    return mode


def _watch(law, words):
    """Take the law that is to be watched; return the tick to call in place of its own."""
    global _tick, _DRIVE, _CAUSE, _BOUND, _FAULTS
    _tick = law.tick
    _DRIVE = words.index(words.STATE, "drive")
    _CAUSE = words.index(words.STATE, "cause")
    _BOUND = words.index(words.STATE, "bound")
    _FAULTS = words.index(words.STATE, "faults")
    return _watched


def _watch_own():
    """Watch the law of a program from the flash, once it starts its ticks."""
    modules = sys.modules
    if "diodedriver.driver" in modules:
        watched = _watch(modules["diodedriver.law"], modules["diodedriver.words"])
        modules["diodedriver.driver"].law_tick = watched


if scripts:
    from diodedriver import law, words

    law.tick = _watch(law, words)
else:
    machine._timer_starts = _watch_own
    # as on the board, with its root at /flash; this folder stands in for built-in modules
    sys.path[:] = [sys.path[0], "", ".frozen", "/flash/lib"]

machine._begin(
    open("/dev/fd/" + reads, "rb"),
    open("/dev/fd/" + writes, "wb"),
    int(cause),
    bytes.fromhex(unit),
    chip,
    _wiring["BOARDS"]["rp2350" if "RP2350" in chip else "rp2040"],
    int(kept),
)
mount(machine.Flash(image, int(blocks)))
os.chdir("/flash")


def _script(name):
    with open((scripts + "/" if scripts else "") + name) as file:
        exec(file.read(), {"__name__": "__main__"})


def _own(name):
    """Run one script of the flash, where there is one; the next is run whatever comes of it."""
    if name in os.listdir():
        try:
            _script(name)
        except BaseException as error:
            sys.print_exception(error, sys.stdout)


def _anew():
    """Begin with nothing loaded and boot.py, as a soft reset in raw mode does."""
    if scripts:
        _script("boot.py")
        return
    machine._timer = None
    os.chdir("/flash")
    for name in list(sys.modules):
        if name.startswith("diodedriver"):
            del sys.modules[name]
    _own("boot.py")


if scripts:
    try:
        _script("boot.py")
        _script("main.py")
    except BaseException as error:
        sys.print_exception(error, sys.stdout)
else:
    _own("boot.py")
    _own("main.py")
# a program that ends leaves its pins as they are, and falls to the prompt
from prompt import serve  # noqa: E402

serve(_anew)
