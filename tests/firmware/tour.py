"""A short recording that takes every branch of the law: corners set by hand, then every row."""

from breaks import BREAKS, Dice, Script, flip_limit
from desk import CHANNELS
from diodedriver import words
from episodes import GATED, SHORT, go_to, mend, power_up, recover
from recording import READINGS, STATE, Recorder, Recording

# What chance hardly finds: (settings, mode to be in, words of state and readings to set there).
CORNERS: tuple[tuple[dict[str, int], str, dict[str, int], dict[str, int]], ...] = (
    ({"lead_x16": 64}, "dark", {"smooth": 50000 << 10, "slow": 20000 << 10}, {}),
    ({}, "run", {}, {"pack_mV": 500, "output_mV": 9900}),
    ({"current_zero_code": 20}, "run", {}, {}),
    ({}, "close", {"mode_ticks": 59}, {"output_mV": 3000}),
    ({}, "close", {"mode_ticks": 1, "lamp_ticks": 0}, {"output_mV": 3000}),
    ({}, "close", {"mode_ticks": 1}, {"output_mV": 0, "current_mA": 60}),
    ({}, "dark", {}, {"mount_cK": 41000}),
    ({}, "dark", {}, {"sink_cK": 41000}),
    ({}, "dark", {}, {"reference_mV": 1400}),
    ({}, "run", {}, {"indicator_uA": 9000}),
    ({}, "run", {"drive": 6400}, {"current_mA": 300}),
    ({}, "run", {}, {"current_mA": 0}),
    ({}, "dark", {}, {"pack_age": 65535}),
    ({"junction_warm_cK": 28000}, "dark", {}, {}),
    (GATED, "run", {"faults": 4, "cause": 3}, {}),
    ({}, "run", {"count_latch": 1, "faults": 4, "cause": 3}, {}),
    ({}, "run", {"tick": words.ONES, "mode_ticks": words.ONES, "lamp_ticks": words.ONES}, {}),
    ({"headroom_mV": 0}, "run", {}, {}),
    ({}, "run", {}, {"output_mV": 500}),
    ({"headroom_mV": 1700}, "run", {}, {}),
    ({}, "dark", {"rest": words.ONES}, {}),
    ({}, "close", {"on_ticks": words.ONES, "mode_ticks": 1}, {"output_mV": 0}),
    ({}, "run", {"trim": 0}, {}),
    ({}, "run", {"trim": 2 * words.TRIM_BIAS}, {}),
    ({"authority_mA": 1000, "level_0_mA": 150}, "run", {"trim": 1500, "drive": 0}, {}),
    ({}, "run", {"drive": 640_000}, {}),
    ({"duty_full_mA": 1000, "follow_mA": 5000}, "run", {}, {}),
    ({}, "run", {"drive": 6400}, {"pack_mV": 4000}),
    ({"headroom_mV": 1600}, "run", {"drive": 6400}, {}),
    (GATED, "run", {"budget": 1_700_000}, {}),
    (GATED | {"sustain_mA": 100}, "run", {"budget": 1_700_000}, {}),
    ({"interlock_fitted": 0}, "run", {"count_latch": 1, "faults": 4, "cause": 3}, {}),
)


def _corners(desk: Recorder, dice: Dice) -> Script:
    for settings, mode, state, readings in CORNERS:
        mend(desk, dice)
        desk.release().rebuild(SHORT | settings)
        yield 30
        desk.poke(STATE, "budget", 0)
        if mode != "dark":
            desk.forced = {"output_mV": 3000} if mode == "close" else {}
            desk.press()
        while desk.mode != mode:
            yield 1
        yield 40 if mode == "run" else 1
        if CHANNELS[desk.channel] in readings:  # it would be read afresh
            yield 1
        for name, value in state.items():
            desk.poke(STATE, name, value)
        for name, value in readings.items():
            if name in ("output_mV", "current_mA"):  # read afresh in each tick
                desk.forced[name] = value
            else:
                desk.poke(READINGS, name, value)
        yield 12
    for tick in (words.ONES, 5):
        desk.rebuild(SHORT)
        yield 30
        desk.poke(STATE, "tick", tick)
        yield from flip_limit(desk, dice)
        mend(desk, dice)
    desk.pins.add("settings_bad")
    yield 2


def _each_row(desk: Recorder, dice: Dice) -> Script:
    desk.rebuild(SHORT)
    yield from power_up(desk, dice)
    for modes, breaks in BREAKS.values():
        yield from go_to(desk, dice, modes.split()[-1])
        yield from breaks(desk, dice)
        yield from recover(desk, dice)


def tour() -> Recording:
    """Return a short recording that takes every branch: every corner, then every row."""
    desk = Recorder(SHORT)
    for script in (_corners(desk, Dice(1)), _each_row(desk, Dice(6))):
        for spent in script:
            desk.tick(spent)
    return desk.recording(desk.ticks)
