"""How each fault row is broken at the desk, with what is left to chance in it."""

from collections.abc import Callable, Iterator

from desk import CHANNELS
from diodedriver import words
from recording import LIMITS, READINGS, STATE, Recorder

Script = Iterator[int]
WIDE = (-(2**31), -(2**30), 2**30, 2**31 - 1)


class Dice:
    """Linear congruential, 31 bits: the same draws in every version of every Python."""

    def __init__(self, seed: int) -> None:
        self.held = seed & 0x7FFFFFFF
        self.draw(0, 1)

    def draw(self, low: int, high: int) -> int:
        self.held = (self.held * 1103515245 + 12345) & 0x7FFFFFFF
        return low + (self.held >> 8) % (high - low + 1)

    def pick(self, items):
        return items[self.draw(0, len(items) - 1)]


def flip_limit(desk: Recorder, dice: Dice) -> Script:
    place = dice.draw(0, len(words.LIMITS) - 1)
    desk.poke(LIMITS, place, desk.limits[place] ^ 1 << dice.draw(0, 29))
    yield dice.draw(1, 6)


def stray(wide: bool) -> Callable[[Recorder, Dice], Script]:
    def set_out_of_range(desk: Recorder, dice: Dice) -> Script:
        which, table = dice.pick(((STATE, words.STATE), (READINGS, words.READINGS[2:12])))
        row = dice.draw(0, len(table) - 1)
        high = table[row][3]
        value = dice.pick((-1, -dice.draw(1, 2**20), high + 1))
        if high == words.ONES and not wide:
            return
        if wide and dice.draw(0, 1):
            value = dice.pick(WIDE)
        desk.poke(which, row + (2 if which == READINGS else 0), value)
        yield dice.draw(1, 6)

    return set_out_of_range


def _hot(desk: Recorder, dice: Dice) -> Script:
    over = dice.draw(5, 300)
    desk.true["mount_cK"] = min(60000, desk.limit("trip_cK") + over)
    desk.true["sink_cK"] = desk.true["mount_cK"] - 200
    for name in ("smooth", "slow"):
        desk.poke(STATE, name, desk.true["mount_cK"] << 10)
    yield desk.limit("count_hot") % 100 + dice.draw(0, 6)


def _junction(desk: Recorder, dice: Dice) -> Script:
    rise = desk.limit("junction_trip_cK") - desk.reading("lead_cK") + dice.draw(50, 2000)
    for _ in range(desk.limit("count_junction") % 20 + 1):
        desk.poke(STATE, "rise", max(0, rise) << 6)
        yield 1


def _heat(desk: Recorder, dice: Dice) -> Script:
    if dice.draw(0, 1):
        desk.poke(STATE, "model", (desk.limit("model_min_cK") + dice.draw(0, 300)) << 10)
    else:
        desk.true["sink_cK"] = desk.true["mount_cK"] - desk.limit("model_extra_cK") - 100
    yield desk.limit("count_heat") % 100 + dice.draw(0, 9)


def _read(name: str, *ways: Callable[[Recorder, Dice], int], longest: int = 45):
    """Return a break that holds the reading `name` at a drawn value until its row must see it."""

    def hold(desk: Recorder, dice: Dice) -> Script:
        place = desk.true if name in desk.true else desk.forced
        place[name] = max(0, dice.pick(ways)(desk, dice))
        yield dice.draw(longest // 20, longest)

    return hold


def _pin(name: str) -> Callable[[Recorder, Dice], Script]:
    def put(desk: Recorder, dice: Dice) -> Script:
        desk.pins.add(name)
        yield dice.draw(1, 6)

    return put


def _skip(desk: Recorder, dice: Dice) -> Script:
    desk.skipped.add(dice.pick(CHANNELS))
    yield desk.limit("age_ticks") % 50 + dice.draw(5, 20)


def _off(limit: str, low: int, high: int) -> Callable[[Recorder, Dice], int]:
    return lambda desk, dice: desk.limit(limit) + dice.draw(low, high)


# row -> (modes in which it can be the first, how it is broken)
BREAKS: dict[str, tuple[str, Callable[[Recorder, Dice], Script]]] = {
    "settings": ("dark delay start soft_start run limited", flip_limit),
    "state": ("dark delay start soft_start run limited", stray(wide=False)),
    "latch": ("start soft_start run limited", _pin("latch")),
    "overcurrent": ("soft_start run", _read("current_mA", _off("overcurrent_mA", 1, 60))),
    "stuck": ("dark delay", _read("current_mA", _off("dark_mA", 1, 90))),
    "short": ("soft_start run limited", _read("output_mV", _off("short_mV", -500, -3))),
    "open": ("soft_start run", _read("output_mV", _off("open_mV", 3, 500))),
    "follow": (
        "run",
        _read("current_mA", lambda desk, dice: int(desk.drive_mA) * 3 // 4 + dice.draw(-60, 60)),
    ),
    "hot": ("dark soft_start run", _hot),
    "junction": ("soft_start run", _junction),
    "heat": ("dark soft_start run", _heat),
    "sensor": (
        "dark run limited",
        _read("reference_mV", _off("reference_min_mV", -90, -2), _off("reference_max_mV", 2, 90)),
    ),
    "stale": ("dark delay soft_start run", _skip),
    "indicator": (
        "delay run",
        _read("indicator_uA", _off("indicator_min_uA", -900, -5), _off("indicator_max_uA", 5, 900)),
    ),
    "pack_wrong": ("dark run limited", _read("pack_mV", _off("pack_max_mV", 4, 500))),
    "pack_min": ("dark run limited", _read("pack_mV", _off("loaded_min_mV", -900, -4))),
    "pack_low": ("dark run limited", _read("pack_mV", _off("lockout_mV", -300, -90), longest=140)),
    "late": ("dark delay soft_start run", _read("gap_ticks", _off("late_ticks", 1, 2))),
    "beat": ("dark delay soft_start run", _read("beat_ticks", _off("beat_max_ticks", 1, 9))),
    "charged": ("close", _read("output_mV", _off("safe_mV", 4, 900), longest=90)),
}
