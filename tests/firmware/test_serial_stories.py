"""Whatever serial says while a person plays with the trigger: an observer of the bare board judges.

The observer knows what was sent, the trigger and what a tick put out; nothing of driver or panel.
"""

import random

import pytest

from desk_driver import DriverDesk
from diodedriver.commands import COMMANDS
from serial_lines import head_of, lines

DARK = DriverDesk().dark()
#: what ends the story: a stored record, a restart
ENDS = ("SETTings:COMMit", "SYSTem:MAINtenance")
EVERY = [line for row in COMMANDS if row[0] not in ENDS for line in set(lines(DARK, row))]
HELPFUL = ["OUTP ON", "OUTP OFF", "CURR:LIM MAX", "CURR MAX", "CURR MIN", "STEP 0", "CURR:LIM 0.6"]


class Observer:
    """Allows light for a press that follows a release which follows OUTPut ON, and no other."""

    def __init__(self, desk: DriverDesk) -> None:
        self.desk = desk
        self.open = True
        self.fresh = True  # a release was seen since the gate was opened
        self.limit_mA = 1500
        self.duty_u16 = 0
        self.lit_ticks = 0

    def line(self, line: str) -> None:
        lit = self.desk.lights()
        self.desk.ask(line)
        is_open = self.desk.ask("*CLS;:OUTP?") == "1"
        self.fresh = self.fresh and self.open
        self.open = is_open
        limit_mA = round(1000 * float(self.desk.ask("CURR:LIM?")))
        assert limit_mA <= self.limit_mA or not lit, line
        self.limit_mA = limit_mA

    def tick(self) -> None:
        desk = self.desk
        pressed = "trigger" in desk.desk.pins
        self.fresh = self.open and (self.fresh or not pressed)
        desk.run()
        duty_u16 = desk.board.duty_u16
        if desk.lights():
            assert pressed and self.open and self.fresh
            self.lit_ticks += 1
            highest = self.limit_mA + desk.settings["authority_mA"]
            full_mA = desk.settings["duty_full_mA"]
            assert duty_u16 <= max(self.duty_u16, highest * 65535 // full_mA + 1)
            step = desk.settings["rise_q64"] * 65535 // (64 * full_mA) + 65535 // 1250 + 1
            start = desk.settings["start_mA"] * 65535 // full_mA + 1
            assert duty_u16 <= max(start, self.duty_u16 + step), "faster than the ramp"
        self.duty_u16 = duty_u16


@pytest.mark.parametrize("seed", range(12))
def test_whatever_is_said_light_takes_a_fresh_press_and_stays_below_the_limit(seed: int) -> None:
    dice = random.Random(seed)
    observer = Observer(DARK.fork())
    for _ in range(120):
        what = dice.randrange(4)
        if what == 0:
            observer.desk.press()
        elif what == 1 and dice.randrange(2):
            observer.desk.release()
        for _ in range(dice.randrange(4)):
            observer.line(dice.choice(HELPFUL if dice.randrange(3) == 0 else EVERY))
        for _ in range(dice.choice((1, 5, 100))):
            observer.tick()
        if "trigger" in observer.desk.desk.pins and dice.randrange(2):
            observer.line("OUTP ON;:STEP 0")
            observer.desk.release()
            observer.tick()
            observer.desk.press()
            for _ in range(350):
                observer.tick()
    assert observer.lit_ticks > 500, "the story must have light in it"
    assert observer.desk.word("faults") == 0, "nothing that serial says is a fault"


def test_the_stories_draw_from_every_row_but_those_that_end_them() -> None:
    said = {line.split(" ")[0] for line in EVERY}
    assert said == {head_of(row) for row in COMMANDS if row[0] not in ENDS}
