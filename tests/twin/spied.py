"""Run pieces of the firmware on a `machine` that only notes; print the notes as JSON.

Arguments: the chip's name, what to run, its argument. In real MicroPython.
"""

import json
import sys


class Chip:
    def __init__(self, real, name):
        for attribute in dir(real):
            setattr(self, attribute, getattr(real, attribute))
        self.implementation = self
        self._machine = "a board with " + name


sys.modules["sys"] = Chip(sys, sys.argv[1])
import machine  # noqa: E402

from diodedriver import run  # noqa: E402
from diodedriver.board import Board  # noqa: E402
from diodedriver.driver import BARRED, TESTING, Driver  # noqa: E402
from diodedriver.selftest import Test  # noqa: E402


def boot(path):
    with open(path) as script:
        exec(script.read())
    return machine.notes


def board(_):
    made = Board()
    made.start_ticks(print)
    made.watch(run.WATCHDOG_MS)
    return machine.notes


def ticks(path):
    """Return the notes of one tick in each phase."""
    driver = Driver(Board())
    with open(path) as file:
        driver.take_settings(json.load(file))
    driver.test = Test(driver.board, driver.limits)
    found = {}
    for phase in (BARRED, TESTING, "live"):
        if phase == "live":
            driver.go_live()
        else:
            driver.phase = phase
        machine.notes.clear()
        driver.tick(None)
        found[str(phase)] = list(machine.notes)
        assert not driver.crashed
    return found


def codes(_):
    """Return the codes that the board takes for another than the converter's own."""
    made = Board()
    raw = [0] * 8
    wrong = []
    for code in range(4096):
        machine.code_u16 = code << 4 | code >> 8
        made.convert(raw)
        if raw[:3] != [code] * 3:
            wrong.append(code)
        machine.notes.clear()
    return wrong


def uptime(_):
    """Return the tick count around its last value of 30 bits."""
    driver = Driver(Board())
    driver.ticks = 0x3FFFFFFE
    found = []
    for _ in range(3):
        driver.tick(None)
        found.append(driver.ticks)
    return found


print(json.dumps(globals()[sys.argv[2]](sys.argv[3])))
