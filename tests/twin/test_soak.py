"""Ten simulated minutes of random use on two boards; what the soak claims, it can find broken.

Hours of it: `python tests/twin/soak.py HOURS SEED`.
"""

import pytest

from soak import Soak

MS = 300_000
#: What is broken -> (file, old, new, what the soak then says).
BROKEN = {
    "a trigger that stays pressed": (
        "driver.py",
        "                raw[4] = pins & ~PIN_TRIGGER\n",
        "                raw[4] = pins & ~PIN_TRIGGER\n            if self.state[_S_DRIVE]:\n"
        "                raw[4] |= PIN_TRIGGER\n",
        "lit",
    ),
    "a tick that is lost now and then": (
        "driver.py",
        "            law_tick(self.state, self.limits, self.readings, raw)\n",
        "            if self.ticks % 5000:\n"
        "                law_tick(self.state, self.limits, self.readings, raw)\n",
        "ticks",
    ),
    "a reset of its own": (
        "run.py",
        "            self.seconds += 1\n",
        "            self.seconds += 1\n            if self.seconds == 40:\n"
        "                board.restart()\n",
        "reset",
    ),
    "an end of the program": (
        "run.py",
        "            self.seconds += 1\n",
        "            self.seconds += 1\n            if self.seconds == 40:\n"
        "                return self.nothing\n",
        "ended",
    ),
    "a heap that fills": (
        "run.py",
        "            self.seconds += 1\n",
        "            self.seconds += 1\n"
        '            self.hoard = bytearray(400), getattr(self, "hoard", None)\n',
        "heap",
    ),
}


@pytest.mark.parametrize(("name", "seed"), [("smoke_tunnel", 1), ("cave_lamp", 2)])
def test_random_use_lights_only_when_pressed_and_loses_no_tick(board, name: str, seed: int) -> None:
    soak = Soak(board(name, seed=seed), seed)
    soak.run(MS)
    print(soak.told())
    assert not soak.verdict(MS / 3_600_000)


@pytest.mark.parametrize("broken", BROKEN)
def test_the_soak_finds(board, edited, broken: str) -> None:
    file, old, new, found = BROKEN[broken]
    soak = Soak(board("cave_lamp", firmware=edited(file, old, new)), 4)
    said = ""
    try:
        soak.run(MS // 2)
        said = "; ".join(soak.verdict(0))
    except AssertionError as error:
        said = str(error)
    assert f"{found}:" in said, said


def test_a_soak_that_reaches_little_is_no_soak(board) -> None:
    soak = Soak(board("cave_lamp"), 1)
    soak.run(2000)
    assert any(line.startswith("mode run") for line in soak.verdict(0.1))
