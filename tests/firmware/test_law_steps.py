"""One step of each part of the law, worked out by hand: what a word is exactly after one tick."""

import pytest

from desk import PLACES, Desk
from diodedriver import law, words

RUN, LIMITED, START = 6, 7, 4


def _desk(
    state: dict[str, int] | None = None, readings: dict[str, int] | None = None, **settings: int
) -> Desk:
    desk = Desk(**settings)
    for place, values in ((0, state or {}), (2, readings or {})):
        for name, value in values.items():
            (desk.state, desk.limits, desk.readings)[place][PLACES[place][name]] = value
    return desk


def _heat(state: dict[str, int], readings: dict[str, int], **settings: int) -> Desk:
    desk = _desk(state, readings, **settings)
    law.observe_heat(desk.state, desk.limits, desk.readings)
    return desk


def _stores(state: dict[str, int], readings: dict[str, int], **settings: int) -> Desk:
    desk = _desk(state, readings, **settings)
    law.observe_stores(desk.state, desk.limits, desk.readings)
    return desk


# codes to units


def test_highest_code_reads_one_step_below_full_scale() -> None:
    desk = _desk()
    desk.raw[0] = desk.raw[1] = 4095
    law.convert(desk.limits, desk.readings, desk.raw)
    # 3000 mA and 10000 mV at code 4096
    assert (desk.reading("current_mA"), desk.reading("output_mV")) == (2999, 9997)


def test_a_channel_just_read_is_of_age_zero() -> None:
    desk = _desk({}, {"mount_age": 7})
    desk.raw[3], desk.raw[5] = 3, 1
    law.convert(desk.limits, desk.readings, desk.raw)
    assert desk.reading("mount_age") == 0


def test_between_two_points_of_the_table_every_code_counts() -> None:
    desk = _desk()
    desk.raw[2], desk.raw[3] = 10 * 128 + 127, 3
    law.convert(desk.limits, desk.readings, desk.raw)
    # point 10 is 37315 cK, the next 500 lower: 127/128 of that is 496.1, rounded away from it
    assert desk.reading("mount_cK") == 37315 - 497


def test_first_look_takes_difference_and_pack_as_they_are_read() -> None:
    readings = {"mount_cK": 31000, "sink_cK": 30000, "pack_mV": 8000}
    desk = _desk({}, readings)
    law.first_look(desk.state, desk.limits, desk.readings)
    assert (desk.word("model") / 1024, desk.word("pack") / 1024) == (1000, 8000)


# heat


def test_power_is_current_times_voltage_to_the_milliwatt() -> None:
    assert _heat({}, {"current_mA": 2500, "output_mV": 4000}).reading("power_mW") == 10000


def test_junction_takes_one_step_of_its_filter() -> None:
    readings = {"current_mA": 2500, "output_mV": 4000}
    desk = _heat({"rise": 0}, readings, junction_shift=4, junction_cK_W=700)
    # 10 W at 7 K/W settle at 70 K; a sixteenth of that in a tick
    assert desk.word("rise") / 64 == 7000 / 16


def test_modelled_difference_takes_one_step_of_its_filter() -> None:
    readings = {"current_mA": 2500, "output_mV": 4000}
    desk = _heat({"model": 200 << 10}, readings, model_shift=8, mount_cK_W=120)
    # 10 W at 1.2 K/W settle at 12 K, which is 10 K more than now; a 256th of that in a tick
    assert desk.word("model") == (200 << 10) + 1000 * 1024 // 256


def test_mount_filters_take_one_step_each_and_the_lag_is_added_by_its_factor() -> None:
    state = {"smooth": 30000 << 10, "slow": 29000 << 10}
    desk = _heat(state, {"mount_cK": 30256}, lead_x16=10, lead_shift=10)
    assert desk.word("smooth") / 1024 == 30001, "a 256th of 2.56 K"
    assert desk.word("slow") == (29000 << 10) + 1001, "a 1024th of 10.01 K"
    # 1000.02 cK between the two, 10/16 of 1000
    assert desk.reading("lead_cK") == 30001 + 625


# stores


def test_budget_takes_in_power_less_its_leak_and_carries_the_rest_over() -> None:
    state = {"budget": 702_000, "budget_part": 1000}
    desk = _stores(state, {"power_mW": 3047, "pack_mV": 8000}, budget_leak_s=351)
    # 1000 + 3047 - 702000 / 351 = 2047: one whole step and 1023 parts
    assert (desk.word("budget"), desk.word("budget_part")) == (702_001, 1023)


@pytest.mark.parametrize("above", [0, 1, 5])
def test_full_budget_stays_at_its_cap_and_carries_nothing_over(above: int) -> None:
    cap = 1_700_000
    leak = (cap - 1) // 351
    readings = {"power_mW": leak + 1030 + 1024 * above, "pack_mV": 8000}
    desk = _stores({"budget": cap - 1, "budget_part": 0}, readings)
    assert (desk.word("budget"), desk.word("budget_part")) == (cap, 0)


@pytest.mark.parametrize(("asked_mA", "read_mA"), [(500, 1000), (1000, 500)])
def test_sag_is_that_of_the_smaller_of_asked_and_read_current(asked_mA: int, read_mA: int) -> None:
    readings = {"current_mA": read_mA, "output_mV": 4000, "pack_mV": 8000}
    desk = _stores({"drive": asked_mA << 6}, readings, pack_shift=0, sag_mohm=200)
    # 500 mA at 4 V take 250 mA out of 8 V: 50 mV at 200 mohm
    assert desk.reading("rest_mV") == 8050


# rows


def test_count_of_a_row_stops_where_it_latches() -> None:
    desk = _desk({"count_hot": 18}, {}, count_hot=20)
    hot = 1 << words.index(words.FAULTS, "hot")
    counts = []
    for _ in range(4):
        law.latch(desk.state, desk.limits, desk.readings, hot)
        counts.append(desk.word("count_hot"))
    assert counts == [19, 20, 20, 20]


def test_first_cause_keeps_the_mode_it_was_found_in() -> None:
    desk = Desk().lit()
    desk.true["gap_ticks"] = 9
    desk.tick()
    assert (desk.mode, words.MODES[desk.word("cause_mode")][0]) == ("fault", "run")


def test_what_was_seen_at_the_first_cause_is_still_there_when_its_row_has_cleared() -> None:
    desk = Desk().lit()
    desk.true["gap_ticks"] = 9
    lit_mA = desk.tick().word("seen_current_mA")
    assert lit_mA == pytest.approx(1500, abs=2)
    seen = list(desk.state[words.index(words.STATE, "seen_current_mA") :])
    at = desk.word("cause_tick")
    desk.true["gap_ticks"] = 1
    desk.release().tick(20)
    assert desk.mode == "dark"
    assert list(desk.state[words.index(words.STATE, "seen_current_mA") :]) == seen
    assert (desk.word("cause_tick"), desk.word("cause_mode")) == (at, RUN)


def test_one_opening_of_the_interlock_clears_once() -> None:
    desk = Desk().lit()
    desk.release().tick()
    desk.pins.discard("interlock")
    desk.tick()
    desk.pins.add("interlock")
    assert desk.word("opened") == 1
    assert desk.tick().word("opened") == 0, "used up, whether or not a row was latched"


# waits


@pytest.mark.parametrize(("lamp_ticks", "mode"), [(99, "delay"), (100, "close")])
def test_delay_is_over_exactly_at_its_ticks(lamp_ticks: int, mode: str) -> None:
    desk = Desk().tick(30).press()
    desk.tick(5)
    desk.state[PLACES[0]["lamp_ticks"]] = lamp_ticks
    assert (desk.tick().mode, desk.limit("delay_ticks")) == (mode, 100)


def test_latch_reset_stands_for_a_whole_tick_before_any_light() -> None:
    desk = Desk().tick(30).press()
    desk.until("close")
    assert desk.word("enable") & 8 and desk.word("mode_ticks") == 0
    assert desk.tick().mode == "close"
    assert desk.tick().mode == "start"


@pytest.mark.parametrize(("spent", "mode"), [(7, "start"), (8, "soft_start")])
def test_start_is_over_exactly_at_the_stages_own_ticks(spent: int, mode: str) -> None:
    desk = Desk(stage_ticks=8).tick(30).press()
    desk.until("start")
    desk.state[PLACES[0]["mode_ticks"]] = spent
    assert desk.tick().mode == mode


def test_rise_begins_at_its_first_step_even_where_its_place_strays_in_the_tick_before() -> None:
    desk = Desk().tick(30).press()
    desk.until("start")
    desk.tick(desk.limit("stage_ticks"))
    desk.state[PLACES[0]["ramp"]] = 400
    assert (desk.tick().mode, desk.word("ramp")) == ("soft_start", 1)


@pytest.mark.parametrize(("spent", "mode"), [(20, "boot"), (21, "dark")])
def test_boot_lasts_longer_than_a_reading_may_be_old(spent: int, mode: str) -> None:
    desk = Desk(age_ticks=20).tick(10)
    desk.state[PLACES[0]["mode_ticks"]] = spent
    assert desk.tick().mode == mode


def test_clock_of_light_starts_over_in_the_dark_and_clock_of_rest_in_the_light() -> None:
    desk = Desk().lit()
    assert desk.word("on_ticks") > 0 and desk.word("rest") == 0
    desk.release().tick(3)
    assert (desk.word("on_ticks"), desk.word("rest")) == (0, 3)
    desk.press().until("start")
    assert desk.word("rest") == 0


@pytest.mark.parametrize("mode", [START, RUN, LIMITED])
def test_light_of_any_kind_is_light_to_the_clocks(mode: int) -> None:
    desk = _desk({"on_ticks": 41, "rest": 9, "lamp_ticks": 50})
    law.tally_time(desk.state, mode)
    assert (desk.word("on_ticks"), desk.word("rest"), desk.word("lamp_ticks")) == (42, 0, 51)


@pytest.mark.parametrize(("mode", "suspect"), [(1, ""), (8, ""), (9, ""), (RUN, "indicator")])
def test_indicators_clock_starts_over_where_it_is_off_or_ill(mode: int, suspect: str) -> None:
    bits = 1 << words.index(words.FAULTS, suspect) if suspect else 0
    desk = _desk({"lamp_ticks": 50, "suspect": bits})
    law.tally_time(desk.state, mode)
    assert desk.word("lamp_ticks") == 0


# caps


@pytest.mark.parametrize(
    ("value", "taken"), [(99, 0), (100, 0), (101, 1), (150, 50), (199, 99), (200, 100), (900, 100)]
)
def test_cap_takes_nothing_where_it_begins_and_its_whole_depth_where_it_ends(
    value: int, taken: int
) -> None:
    assert law.fade(value, 100, 200, 100) == taken


HEALTHY = {"lead_cK": 30315, "junction_cK": 30315, "rest_mV": 8000, "pack_mV": 8000}
# half way through each cap: what it takes is half of its depth
HALF = {
    "mount": ({}, {"lead_cK": 32415}, 1575 - 637),
    "junction": ({}, {"junction_cK": 38315}, 1575 - 637),
    "budget": ({"budget": (26562 - 1660) << 6}, {}, 1575 - 287),
    "pack": ({}, {"rest_mV": 6700}, 1575 - 637),
}


@pytest.mark.parametrize("cap", HALF)
def test_cap_half_way_takes_half_of_its_depth_and_is_named(cap: str) -> None:
    state, readings, allowed_mA = HALF[cap]
    desk = _desk({"mode": RUN} | state, HEALTHY | readings, headroom_mV=0)
    assert law.allow(desk.state, desk.limits, desk.readings) == allowed_mA
    assert (desk.word("allowed"), words.BOUNDS[desk.word("bound")]) == (allowed_mA, cap)


@pytest.mark.parametrize("pair", [("mount", "junction"), ("junction", "pack"), ("mount", "pack")])
def test_of_caps_that_take_alike_the_first_in_order_is_named(pair: tuple[str, str]) -> None:
    readings = HEALTHY | HALF[pair[0]][1] | HALF[pair[1]][1]
    desk = _desk({"mode": RUN}, readings, headroom_mV=0)
    assert law.allow(desk.state, desk.limits, desk.readings) == 938
    assert words.BOUNDS[desk.word("bound")] == pair[0]


@pytest.mark.parametrize(("level", "bound"), [(0, "pack"), (1, "level"), (2, "level")])
def test_cap_above_the_level_asked_for_does_not_bind(level: int, bound: str) -> None:
    readings = HEALTHY | HALF["pack"][1] | {"level": level}
    desk = _desk({"mode": RUN}, readings, headroom_mV=0)
    assert law.allow(desk.state, desk.limits, desk.readings) == 938
    assert words.BOUNDS[desk.word("bound")] == bound


# outputs


@pytest.mark.parametrize(("drive_mA", "counts"), [(0, 0), (66, 50), (825, 625), (1650, 1250)])
def test_counts_are_the_drives_share_of_full_scale(drive_mA: int, counts: int) -> None:
    # 1250 counts stand for 1650 mA
    desk = _desk({"mode": RUN, "drive": drive_mA << 6}, HEALTHY, absolute_mA=1650)
    assert law.put_out(desk.state, desk.limits, desk.readings) == counts
    assert desk.word("duty") == counts


@pytest.mark.parametrize(("above", "drive"), [(-1, 1575 * 64 - 1), (0, 1575 * 64), (1, 1575 * 64)])
def test_drive_ends_exactly_at_the_absolute_limit(above: int, drive: int) -> None:
    desk = _desk({"mode": RUN, "drive": 1575 * 64 + above}, HEALTHY, absolute_mA=1575)
    law.put_out(desk.state, desk.limits, desk.readings)
    assert desk.word("drive") == drive


# cut-offs A and B 1 + 2, indicator 4, latch reset 8
OUTPUTS = {"delay": 4, "close": 4 + 8, "start": 7, "soft_start": 7, "run": 7, "limited": 7}


@pytest.mark.parametrize("mode", [name for name, _ in words.MODES])
def test_each_mode_has_its_outputs_and_light_its_pulse(mode: str) -> None:
    code = words.index(words.MODES, mode)
    desk = _desk({"mode": code, "pulse": 0}, HEALTHY)
    law.put_out(desk.state, desk.limits, desk.readings)
    assert desk.word("enable") == OUTPUTS.get(mode, 0)
    assert desk.word("pulse") == (OUTPUTS.get(mode) == 7)


@pytest.mark.parametrize("divisor", ["duty_full_mA", "ramp_ticks", "budget_leak_s"])
def test_a_divisor_that_became_zero_divides_nothing_and_is_dark_at_once(divisor: str) -> None:
    desk = Desk().lit()
    desk.limits[PLACES[1][divisor]] = 0
    desk.tick()
    assert (desk.mode, desk.cause, desk.word("enable")) == ("fault", "settings", 0)


@pytest.mark.parametrize(("rest_mV", "warn"), [(7000, 0), (6999, 16)])
def test_warning_begins_one_below_its_limit(rest_mV: int, warn: int) -> None:
    desk = _desk({"mode": 1}, HEALTHY | {"rest_mV": rest_mV}, warn_mV=7000)
    law.put_out(desk.state, desk.limits, desk.readings)
    assert desk.word("enable") == warn


# drive


def _driven(state: dict[str, int], readings: dict[str, int] | None = None) -> Desk:
    full = {"allowed": 1575, "trim": words.TRIM_BIAS}
    desk = _desk(full | state, HEALTHY | (readings or {}))
    law.drive(desk.state, desk.limits, desk.readings)
    return desk


def test_light_falls_by_its_slew_limit_in_a_tick() -> None:
    desk = _driven({"mode": LIMITED, "drive": 1500 << 6, "allowed": 300})
    assert desk.word("drive") == (1500 << 6) - desk.limit("fall_q64")


def test_light_stays_to_the_step_where_it_would_rise_while_anything_is_suspect() -> None:
    assert _driven({"mode": RUN, "drive": 1000 << 6, "suspect": 1}).word("drive") == 1000 << 6


def test_start_gives_the_start_level_and_dark_gives_nothing() -> None:
    assert _driven({"mode": START}).drive_mA == 100
    dark = _driven({"mode": 1, "drive": 640, "ramp": 7, "trim": 1})
    assert [dark.word(name) for name in ("drive", "ramp", "trim")] == [0, 0, words.TRIM_BIAS]


@pytest.mark.parametrize(("mode", "ramp"), [(START, 0), (5, 401), (RUN, 400), (LIMITED, 400)])
def test_place_in_the_rise_is_kept_from_soft_start_on(mode: int, ramp: int) -> None:
    assert _driven({"mode": mode, "drive": 100 << 6, "ramp": 400}).word("ramp") == ramp


def test_rise_ends_exactly_at_its_goal() -> None:
    desk = _desk({"ramp": 499}, {}, ramp_ticks=500)
    assert law.shape(desk.state, desk.limits, 1500 << 6) == 1500 << 6


@pytest.mark.parametrize(("trim_mA", "kept_mA"), [(-1000, -75), (-75, -75), (75, 75), (1000, 75)])
def test_trim_ends_at_its_authority_on_either_side(trim_mA: int, kept_mA: int) -> None:
    desk = _desk({"mode": LIMITED, "trim": words.TRIM_BIAS + 64 * trim_mA}, HEALTHY)
    assert law.regulate(desk.state, desk.limits, desk.readings, 1500 << 6) == kept_mA * 64


def test_trim_takes_its_share_of_what_is_missing_in_a_tick() -> None:
    state = {"mode": RUN, "drive": 1500 << 6, "trim": words.TRIM_BIAS}
    desk = _desk(state, HEALTHY | {"current_mA": 1436}, trim_shift=6)
    # 64 mA too little: a 64th of that
    assert law.regulate(desk.state, desk.limits, desk.readings, 1500 << 6) == 64
