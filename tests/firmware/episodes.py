"""Seeded episodes at the desk: healthy uses with hits at and around every limit.

Runs in CPython and in MicroPython. As a program it prints, for a seed and a number of ticks, one
line of running hash for every 1,000 ticks and a last line with what was reached.
"""

import sys

from desk import CHANNELS, Desk
from diodedriver import words

# (how a hit is made, lowest, highest): around the limits of the desk's settings
HITS = (
    ("current_mA", 0, 1700),
    ("current_mA", 1380, 1660),
    ("output_mV", 0, 6000),
    ("pack_mV", 5900, 9000),
    ("pack_mV", 5700, 6050),
    ("pack_mV", 6100, 6600),
    ("pack_mV", 6400, 7400),
    ("pack_mV", 8500, 9300),
    ("both_cK", 32900, 34000),
    ("mount_cK", 31800, 33400),
    ("mount_cK", 20300, 42000),
    ("sink_cK", 29000, 33400),
    ("reference_mV", 1190, 1310),
    ("gap_ticks", 1, 4),
    ("beat_ticks", 150, 260),
    ("level", 0, 3),
)
HEALTHY = {"pack_mV": 8000, "reference_mV": 1250, "gap_ticks": 1, "beat_ticks": 0, "level": 0}
# The desk's settings with the long waits made short, so that an episode is.
SHORT = {"count_pack_low": 60, "count_pack_min": 10, "pack_shift": 4, "count_heat": 60}


class Dice:
    """Linear congruential, 31 bits, so that every engine draws the same."""

    def __init__(self, seed):
        self.held = seed & 0x7FFFFFFF

    def draw(self, low, high):
        self.held = (self.held * 1103515245 + 12345) & 0x7FFFFFFF
        return low + (self.held >> 8) % (high - low + 1)


def _mend(desk, dice):
    desk.forced = {}
    desk.skipped = set()
    desk.dead_lamp = False
    desk.true.update(HEALTHY)
    desk.true["mount_cK"] = dice.draw(29800, 31600)
    desk.true["sink_cK"] = desk.true["mount_cK"] - dice.draw(0, 100)
    desk.pins.discard("latch")


def _hit(desk, dice):
    kind = dice.draw(0, len(HITS) + 3)
    if kind < len(HITS):
        name, low, high = HITS[kind]
        value = dice.draw(low, high)
        if name in ("current_mA", "output_mV"):
            desk.forced[name] = value
        elif name == "both_cK":
            desk.true["mount_cK"] = value
            desk.true["sink_cK"] = value - 300
        else:
            desk.true[name] = value
    elif kind == len(HITS):
        desk.pins.add("latch")
    elif kind == len(HITS) + 1:
        desk.dead_lamp = True
    elif kind == len(HITS) + 2:
        desk.skipped.add(CHANNELS[dice.draw(0, 4)])
    else:
        desk.pins.discard("interlock" if dice.draw(0, 1) else "key")


def _recover(desk, dice):
    """Do what a patient builder does: everything back, release, remake the interlock, rest."""
    _mend(desk, dice)
    desk.release()
    desk.pins.discard("interlock")
    yield 5
    desk.pins.add("interlock")
    desk.pins.add("key")
    if desk.word("faults") & 0b111 or desk.word("faults") >> 4 & 1:
        for place, value in enumerate(words.first_state()):  # service: a new power-up
            desk.state[place] = value
    yield dice.draw(31, 90)
    if dice.draw(0, 3) == 0:
        desk.state[words.index(words.STATE, "budget")] = 0


def _script(desk, dice):
    """Yield how many ticks pass between one thing that happens and the next."""
    while True:
        yield from _recover(desk, dice)
        desk.press()
        yield dice.draw(80, 300)
        yield dice.draw(1, 300)
        for _ in range(dice.draw(1, 3)):
            _hit(desk, dice)
            yield dice.draw(1, 400)
        if dice.draw(0, 1):
            desk.release()
            yield dice.draw(1, 30)
            desk.press()
            yield dice.draw(1, 40)


def run(seed, ticks, law_tick=None, ints=None):
    """Return (hash after every 1,000 ticks, modes -> ticks, first causes -> times)."""
    given = {} if law_tick is None else {"law_tick": law_tick, "ints": ints}
    desk = Desk(delay_ticks=60, ramp_ticks=120, rise_q64=1400, rest_ticks=50, **SHORT, **given)
    dice = Dice(seed)
    script = _script(desk, dice)
    left, held, before = 0, 2166136261, 0
    hashes, modes, causes = [], {}, {}
    for now in range(ticks):
        while left == 0:
            left = next(script)
        left -= 1
        desk.tick()
        for word in desk.state:
            held = ((held ^ int(word)) * 16777619) & 0x3FFFFFFF
        modes[desk.mode] = modes.get(desk.mode, 0) + 1
        cause = desk.word("cause")
        if cause and not before:
            causes[desk.cause] = causes.get(desk.cause, 0) + 1
        before = cause
        if now % 1000 == 999:
            hashes.append(held)
    return hashes, modes, causes


if __name__ == "__main__":
    found, in_modes, with_causes = run(int(sys.argv[1]), int(sys.argv[2]))
    for value in found:
        print(value)
    print(sorted(in_modes.items()), sorted(with_causes.items()))
