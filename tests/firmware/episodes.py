"""Seeded episodes at the desk: healthy uses, hits at and around every limit, faults, recoveries.

Each episode aims at one fault row; between them lie grazes of the limits, noise over the whole
range of the raw words, and other settings up to the ends of their ranges.
"""

from collections.abc import Callable

from breaks import BREAKS, Dice, Script, stray
from desk import CHANNELS, COUNTS, SETTINGS
from diodedriver import words
from recording import LIMITS, STATE, Recorder, Recording

HEALTHY = {"pack_mV": 8000, "reference_mV": 1250, "gap_ticks": 1, "beat_ticks": 0, "level": 0}
# The desk's settings with the long waits made short, so that an episode is.
SHORT = {
    "delay_ticks": 40,
    "stage_ticks": 12,
    "ramp_ticks": 60,
    "rise_q64": 2800,
    "close_ticks": 60,
    "rest_ticks": 30,
    "pack_shift": 4,
    "count_pack_low": 40,
    "count_pack_min": 10,
    "count_pack_wrong": 20,
    "count_heat": 30,
    "auto_off_ticks": 1000,
}
GATED = {f"level_{i}_mA": 700 for i in range(4)} | {
    "gate_mA": 302,
    "start_mA": 700,
    "top_mA": 700,
    "absolute_mA": 700,
    "sustain_mA": 700,
    "authority_mA": 0,
    "ramp_ticks": 1,
}
KINDS: tuple[dict[str, int], ...] = (
    {},
    {},
    {"interlock_fitted": 0},
    GATED,
    {"headroom_mV": 1600, "sag_mohm": 0},
    {"count_" + name: 1 for name in COUNTS},
    {"authority_mA": 1000, "trim_shift": 2, "follow_mA": 1000, "junction_shift": 0},
)
# (how a graze is made, the limits it is made at)
GRAZES = (
    ("current_mA", ("overcurrent_mA", "dark_mA", "start_mA", "level_0_mA", "top_mA")),
    ("output_mV", ("short_mV", "open_mV", "safe_mV")),
    ("pack_mV", ("loaded_min_mV", "pack_max_mV", "lockout_mV", "cutback_mV", "cutback_end_mV")),
    ("pack_mV", ("rearm_mV", "warn_mV")),
    ("reference_mV", ("reference_min_mV", "reference_max_mV")),
    ("indicator_uA", ("indicator_min_uA", "indicator_max_uA")),
    ("mount_cK", ("sensor_min_cK", "sensor_max_cK", "warm_cK", "hot_cK", "trip_cK")),
    ("sink_cK", ("sensor_min_cK", "sensor_max_cK")),
    ("gap_ticks", ("late_ticks",)),
    ("beat_ticks", ("beat_max_ticks",)),
)
# (state word, limit, shift between them): the word is set to the limit, give or take one
NUDGES = (
    ("mode_ticks", "close_ticks", 0),
    ("mode_ticks", "stage_ticks", 0),
    ("mode_ticks", "age_ticks", 0),
    ("on_ticks", "auto_off_ticks", 0),
    ("lamp_ticks", "delay_ticks", 0),
    ("rest", "rest_ticks", 0),
    ("budget", "budget_cap", 0),
    ("smooth", "warm_cK", 10),
    ("smooth", "hot_cK", 10),
    ("smooth", "trip_cK", 10),
    ("slow", "warm_cK", 10),
    ("model", "model_min_cK", 10),
    ("pack", "lockout_mV", 10),
    ("pack", "cutback_mV", 10),
    ("pack", "rearm_mV", 10),
    ("drive", "level_0_mA", 6),
    ("drive", "absolute_mA", 6),
)
CLOCKS = ("tick", "mode_ticks", "on_ticks", "rest", "lamp_ticks")
# Recordings from this seed on are for engines of 64 bits: stray words reach the ends of int32,
# where 32-bit bytecode would need its heap before the guard could see them.
WIDE_SEED = 1000


def mend(desk: Recorder, dice: Dice) -> None:
    desk.noise = None
    desk.forced = {}
    desk.skipped = set()
    desk.dead_lamp = False
    desk.true.update(HEALTHY)
    desk.true["mount_cK"] = dice.draw(29800, 31600)
    desk.true["sink_cK"] = desk.true["mount_cK"] - dice.draw(0, 100)
    desk.pins = desk.pins - {"latch", "settings_bad"} | {"key", "interlock"}
    for place in range(len(words.LIMITS)):  # a flipped limit flips back
        whole = desk.limits[place + len(words.LIMITS)] ^ words.ONES
        if desk.limits[place] != whole:
            desk.poke(LIMITS, place, whole)


def recover(desk: Recorder, dice: Dice) -> Script:
    """Do what a patient builder does: insist, mend, insist, release, remake the interlock, rest."""
    for _ in range(dice.draw(0, 2)):
        desk.release()
        yield dice.draw(1, 4)
        desk.press()
        yield dice.draw(1, 12)
    mend(desk, dice)
    yield dice.draw(1, 20)
    desk.release()
    yield dice.draw(1, 4)
    desk.pins.discard(dice.pick(("interlock", "key")))
    yield dice.draw(1, 3)
    desk.pins |= {"interlock", "key"}
    rest = min(desk.limit("rest_ticks"), 40)
    yield dice.draw(3, 6) + (rest if "pack" in str(desk.cause) or dice.draw(0, 9) == 0 else 0)
    if desk.word("faults"):  # hot still, or only service helps: a new power-up
        yield from power_up(desk, dice)


def power_up(desk: Recorder, dice: Dice) -> Script:
    mend(desk, dice)
    desk.release()
    desk.power_up()
    if dice.draw(0, 4) == 0:
        desk.press()
    if dice.draw(0, 9) == 0:
        desk.skipped.add(dice.pick(CHANNELS))
    yield desk.limit("age_ticks") % 50 + dice.draw(0, 9)
    desk.release()
    desk.skipped = set()
    yield dice.draw(3, 8)


def _settings(dice: Dice) -> dict[str, int]:
    """Draw settings: a kind that lights, some words of it at their ends, or anything accepted."""
    settings = SETTINGS | SHORT | dice.pick(KINDS)
    share = dice.draw(0, 9)
    if share < 5:
        return settings
    rows = list(words.SETTINGS)
    for _ in range(dice.draw(1, 4) if share < 9 else len(rows)):
        name, _, low, high, _ = dice.pick(rows)
        if share < 9 or dice.draw(0, 2):
            settings[name] = dice.pick((low, min(low + 1, high), max(high - 1, low), high))
        else:
            settings[name] = dice.draw(low, high)
    return _ordered(settings)


def _ordered(settings: dict[str, int]) -> dict[str, int]:
    """Move what contradicts itself until the board would accept it."""
    rows = {row[0]: row for row in words.SETTINGS}
    for _ in range(40):
        for lower, higher, least in words.ORDER:
            if settings[higher] - settings[lower] < least:
                settings[higher] = min(rows[higher][3], settings[lower] + least)
                settings[lower] = max(rows[lower][2], settings[higher] - least)
    try:
        words.assemble(settings)
    except ValueError:
        return SETTINGS | SHORT
    return settings


def _graze(desk: Recorder, dice: Dice) -> None:
    name, limits = dice.pick(GRAZES)
    value = max(0, desk.limit(dice.pick(limits)) + dice.draw(-4, 4))
    if name in desk.true and name not in ("gap_ticks", "beat_ticks"):
        desk.true[name] = value
    elif name in desk.true:
        desk.true[name] = min(65535, value if dice.draw(0, 9) else 65535)
    else:
        desk.forced[name] = value


def _nudge(desk: Recorder, dice: Dice) -> None:
    if dice.draw(0, 7) == 0:
        desk.poke(STATE, dice.pick(CLOCKS), words.ONES - dice.draw(0, 2))
        return
    if dice.draw(0, 7) == 0:
        name, _, low, high, _ = dice.pick(words.STATE)
        desk.poke(STATE, name, dice.pick((low, high)))
        return
    name, limit, shift = dice.pick(NUDGES)
    high = words.STATE[words.index(words.STATE, name)][3]
    value = (desk.limit(limit) << shift) + dice.draw(-2, 1)
    desk.poke(STATE, name, min(high, max(0, value)))


def _noise(dice: Dice) -> Callable[[object], None]:
    wild = dice.draw(0, 1)

    def shake(raw) -> None:
        for place, (_, _, low, high, _) in enumerate(words.RAW):
            if wild or dice.draw(0, 15) == 0:
                raw[place] = dice.draw(low, high) if dice.draw(0, 1) else dice.pick((low, high))

    return shake


def _empty_late(desk: Recorder, dice: Dice, mode: str) -> Script:
    """Let the output stay charged for a while, or for good where `mode` is "close"."""
    desk.forced["output_mV"] = desk.limit("safe_mV") + dice.draw(-3, 900)
    for _ in range(desk.limit("delay_ticks") % 100 + dice.draw(1, 55)):
        if mode == desk.mode == "close":
            break
        yield 1
    if mode != "close":
        desk.forced.pop("output_mV")


def go_to(desk: Recorder, dice: Dice, mode: str) -> Script:
    """Press and wait until `mode`, or until it will not come."""
    if mode == "dark" or (desk.word("faults") and dice.draw(0, 3)):
        return
    if dice.draw(0, 3):
        desk.poke(STATE, "budget", 0)
    desk.true["level"] = 0 if mode == "limited" else dice.draw(0, 3)
    desk.press()
    if mode == "close" or dice.draw(0, 2) == 0:
        yield from _empty_late(desk, dice, mode)
    if mode == "limited" and dice.draw(0, 1):
        desk.true["pack_mV"] = desk.limit("cutback_mV") - dice.draw(20, 250)
    for _ in range(250):
        if desk.mode == mode or desk.mode in ("pack_low", "fault"):
            break
        if mode == "limited" and desk.mode == "run":
            desk.poke(STATE, "budget", desk.limit("budget_cap"))
        yield 1
    yield dice.draw(20, 100) if desk.mode == "limited" else dice.draw(0, 40)


def _between(desk: Recorder, dice: Dice) -> Script:
    """Graze, nudge, shake, let go and press again."""
    kind = dice.draw(0, 11)
    if kind < 4:
        _graze(desk, dice)
    elif kind < 8:
        _nudge(desk, dice)
    elif kind == 8:
        desk.noise = _noise(dice)
        yield dice.draw(1, 30)
        desk.noise = None
    elif kind == 9:
        desk.true["level"] = dice.draw(0, 3)
    elif kind == 10:
        desk.release()
        yield dice.draw(1, 3)
        desk.press()
    else:
        desk.pins ^= {dice.pick(("interlock", "key", "latch"))}
    yield dice.draw(1, 20)


def _script(desk: Recorder, dice: Dice, wide: bool) -> Script:
    """Yield how many ticks pass between one thing that happens and the next."""
    rows: list[str] = []
    yield from power_up(desk, dice)
    while True:
        if dice.draw(0, 5) == 0:
            mend(desk, dice)
            desk.rebuild(_settings(dice))
            yield from power_up(desk, dice)
        if not rows:
            rows = list(BREAKS)
        row = rows.pop(dice.draw(0, len(rows) - 1))
        modes, breaks = BREAKS[row]
        yield from go_to(desk, dice, dice.pick(modes.split()))
        if dice.draw(0, 3) == 0:
            for _ in range(dice.draw(1, 4)):
                yield from _between(desk, dice)
        yield from stray(wide=True)(desk, dice) if wide and dice.draw(0, 1) else breaks(desk, dice)
        yield from recover(desk, dice)


def record(seed: int, ticks: int) -> Recording:
    """Return `ticks` of episodes, the same for the same seed and law."""
    desk = Recorder(SHORT)
    dice = Dice(seed * 7919 + 1)
    script = _script(desk, dice, wide=seed >= WIDE_SEED)
    while desk.ticks < ticks:
        desk.tick(next(script))
    return desk.recording(ticks)
