"""Start the firmware as the board's boot does: file system, boot.py, main.py.

Arguments: folder of firmware, flash image, blocks, reset cause, unit; descriptors of the pipes;
the chip's name, and the levels that its pins kept through a soft reset.
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

    def __init__(self, chip):
        self.name = "micropython"
        self._machine = "a simulated board with " + chip


firmware, image, blocks, cause, unit, reads, writes, chip, kept = sys.argv[1:10]
_Board("micropython", kbd_intr=machine._keep_break)
_Board("sys", implementation=_Implementation(chip))
from diodedriver import law, words  # noqa: E402
from diodedriver.board import kind  # noqa: E402
from diodedriver.pins import BOARDS  # noqa: E402

_DRIVE = words.index(words.STATE, "drive")
_CAUSE = words.index(words.STATE, "cause")
_BOUND = words.index(words.STATE, "bound")
_FAULTS = words.index(words.STATE, "faults")
_OUT = machine._OUT
_law = machine._law
_tick = law.tick


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


law.tick = _watched
machine._begin(
    open("/dev/fd/" + reads, "rb"),
    open("/dev/fd/" + writes, "wb"),
    int(cause),
    bytes.fromhex(unit),
    chip,
    BOARDS[kind()],
    int(kept),
)
mount(machine.Flash(image, int(blocks)))
os.chdir("/flash")


def _script(name):
    with open(firmware + "/rootfs/" + name) as file:
        exec(file.read(), {"__name__": "__main__"})


try:
    _script("boot.py")
    _script("main.py")
except BaseException as error:
    sys.print_exception(error, sys.stdout)
# a program that ends leaves its pins as they are, and falls to the prompt
from prompt import serve  # noqa: E402

serve(lambda: _script("boot.py"))
