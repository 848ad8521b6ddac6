"""Edges of every range: saturations, first looks, clamps that only a damaged board can reach."""

import pytest

from desk import Desk
from diodedriver import law, words


def _set(desk: Desk, **values: int) -> Desk:
    for name, value in values.items():
        desk.state[words.index(words.STATE, name)] = value
    return desk


@pytest.mark.parametrize("name", ["tick", "mode_ticks", "rest", "lamp_ticks", "on_ticks"])
def test_clocks_saturate_instead_of_wrapping(name: str) -> None:
    if name in ("lamp_ticks", "on_ticks"):
        desk = Desk(auto_off_ticks=86_400_000).lit()
    else:
        desk = Desk().tick(40)
    if name == "on_ticks":
        desk.limits = Desk(auto_off_ticks=86_400_000).limits
        _set(desk, on_ticks=86_400_000 - 1)
        assert desk.tick().mode == "run"
        assert desk.tick().mode == "dark", "auto-off ends it long before the clock does"
        return
    _set(desk, **{name: words.ONES})
    desk.tick(3)
    assert desk.word(name) == words.ONES


def test_clock_of_light_saturates_too() -> None:
    state = Desk().lit().state
    state[words.index(words.STATE, "on_ticks")] = words.ONES
    law.tally_time(state, 6)
    assert state[words.index(words.STATE, "on_ticks")] == words.ONES


def test_black_out_clock_saturates_and_keeps_counting_before() -> None:
    desk = _set(Desk().lit(), tick=words.ONES - 1)
    desk.limits[3] ^= 1
    assert [desk.tick().word("tick") for _ in range(3)] == [words.ONES] * 3
    assert desk.mode == "fault"


def test_flag_of_a_bad_settings_file_is_a_settings_fault() -> None:
    desk = Desk().lit()
    desk.pins.add("settings_bad")
    desk.tick()
    assert (desk.mode, desk.cause) == ("fault", "settings")


def test_a_channel_never_read_keeps_it_from_starting_and_is_called_stale() -> None:
    desk = Desk()
    desk.skipped.add("sink_cK")
    desk.tick(25)
    assert desk.mode == "boot"
    desk.tick(10)
    assert (desk.mode, desk.cause) == ("fault", "stale")


def test_code_below_the_zero_offset_is_no_current() -> None:
    desk = Desk(current_zero_code=20).tick(30)
    assert desk.reading("current_mA") == 0


def test_ages_saturate() -> None:
    desk = Desk().tick(30)
    desk.true["gap_ticks"] = 65535
    desk.tick(3)
    assert max(desk.reading(f"{name}_age") for name in ("pack", "mount", "sink")) == 65535


def test_first_look_starts_the_memories_at_their_pessimistic_end() -> None:
    desk = Desk()
    desk.true.update(mount_cK=30315, sink_cK=30915)
    desk.tick(10)
    assert desk.word("model") == 0, "a sink warmer than its mount is no negative model"
    assert desk.reading("junction_cK") >= desk.limit("junction_warm_cK") - 2000
    hot = Desk(warm_cK=38000, hot_cK=39000, trip_cK=39900, sensor_max_cK=40000)
    hot.true.update(mount_cK=38315, sink_cK=38315)
    hot.tick(10)
    assert hot.word("rise") == 0, "a mount above the junction's limit leaves no rise to add"


def test_lag_compensation_saturates() -> None:
    desk = Desk(lead_x16=64).tick(30)
    _set(desk, smooth=50000 << 10, slow=20000 << 10).tick()
    assert desk.reading("lead_cK") == 60000


def test_pack_load_is_bounded_where_the_reading_makes_it_absurd() -> None:
    desk = Desk(pack_shift=0).lit()
    for name, value in (("current_mA", 1500), ("output_mV", 9900), ("pack_mV", 600)):
        desk.readings[words.index(words.READINGS, name)] = value
    law.observe_stores(desk.state, desk.limits, desk.readings)
    # 1.5 A at 9.9 V from 0.6 V would be 24.8 A: 20 A, the largest load, times 110 mohm
    assert desk.reading("rest_mV") == 600 + 2200
    desk.readings[words.index(words.READINGS, "pack_mV")] = 0
    law.observe_stores(desk.state, desk.limits, desk.readings)
    assert desk.reading("rest_mV") == 0, "no pack, no load, no sag to add"


def test_sag_is_added_for_no_more_current_than_was_read() -> None:
    desk = Desk(sag_mohm=200, follow_mA=5000).lit()
    desk.true["pack_mV"] = 7000
    desk.forced["current_mA"] = 500
    desk.tick(3000)
    load_A = 0.5 * desk.reading("output_mV") / 7000
    assert desk.reading("rest_mV") == pytest.approx(7000 + 200 * load_A, abs=5)


def test_drive_in_range_but_above_its_limit_is_clamped_in_the_same_tick() -> None:
    desk = _set(Desk().lit(), drive=640_000)
    desk.tick()
    assert desk.drive_mA <= desk.limit("absolute_mA")


@pytest.mark.parametrize(("drive", "clamped"), [(700_000, 640_000), (-5, 0)])
def test_last_clamp_holds_whatever_the_settings_say(drive: int, clamped: int) -> None:
    desk = _set(Desk().lit(), drive=drive)
    desk.limits[words.index(words.LIMITS, "absolute_mA")] = 20_000
    law.put_out(desk.state, desk.limits, desk.readings)
    assert desk.word("drive") == clamped


def test_duty_never_passes_full_where_full_scale_is_below_the_level() -> None:
    desk = Desk(duty_full_mA=1000, follow_mA=5000).lit()
    assert desk.word("duty") == desk.limit("duty_top")


def test_an_empty_budget_stays_empty_and_a_nearly_empty_one_ends_there() -> None:
    desk = Desk().tick(30)
    _set(desk, budget=1, budget_part=0)
    desk.tick(5000)
    assert desk.word("budget") in (0, 1)
    _set(desk, budget=0, budget_part=0)
    desk.tick(10)
    assert (desk.word("budget"), desk.word("budget_part")) == (0, 0)


@pytest.mark.parametrize("reference_mV", [1190, 1310])
def test_reference_off_its_window_is_an_implausible_sensor(reference_mV: int) -> None:
    desk = Desk().lit()
    desk.true["reference_mV"] = reference_mV
    desk.until("fault", most=15 + 6)
    assert desk.cause == "sensor"
    assert desk.word("seen_reference_mV") == pytest.approx(reference_mV, abs=1)


@pytest.mark.parametrize(
    ("name", "value"),
    [("pack_mV", 20001), ("mount_cK", 60001), ("sink_cK", -1), ("mount_age", 65536)],
)
def test_a_kept_reading_out_of_its_range_is_a_state_fault_and_dark_in_that_tick(
    name: str, value: int
) -> None:
    desk = Desk().lit()
    desk.readings[words.index(words.READINGS, name)] = value
    desk.tick()
    assert (desk.mode, desk.cause) == ("fault", "state")
    assert desk.word("enable") & 3 == 0


@pytest.mark.parametrize("value", [-5, 0, 10000])
def test_settings_fault_latches_at_once_whatever_its_own_count_became(value: int) -> None:
    desk = Desk().lit()
    desk.limits[words.index(words.LIMITS, "count_settings")] = value
    desk.tick()
    assert (desk.mode, desk.cause) == ("fault", "settings")
    assert desk.word("count_settings") == 1


def test_a_stale_place_in_the_ramp_does_not_reach_the_next_soft_start() -> None:
    desk = Desk().tick(30)
    desk.press().until("start")
    _set(desk, ramp=60000)
    assert desk.tick().word("ramp") == 0


def test_a_trim_larger_than_the_level_gives_nothing_and_never_less() -> None:
    desk = Desk(authority_mA=1000, level_0_mA=150, start_mA=100).lit()
    _set(desk, trim=words.TRIM_BIAS - 64 * 1000, drive=0)
    assert law.heading(desk.state, desk.limits, desk.readings) == 0


def test_every_rise_begins_at_its_first_step_whatever_the_ramp_word_held() -> None:
    desk = Desk(stage_ticks=20).tick(30).press()
    desk.until("start")
    _set(desk, ramp=60_000).until("soft_start")
    assert desk.word("ramp") == 1


def test_kept_reading_above_its_range_is_a_stray_word_and_never_becomes_evidence() -> None:
    desk = Desk().tick(30)
    desk.readings[words.index(words.READINGS, "reference_mV")] = 20_001
    desk.tick()
    assert (desk.mode, desk.cause) == ("fault", "state")
