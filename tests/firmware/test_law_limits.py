"""On which side of each limit its row begins: at the limit itself, and one beyond it."""

from collections.abc import Callable

import pytest

from desk import PLACES, Desk
from diodedriver import law, words

ROW = {row[0]: 1 << i for i, row in enumerate(words.FAULTS)}
RUN, DARK, CLOSE, START, SOFT_START, LIMITED, FAULT = 6, 1, 3, 4, 5, 7, 9


def _desk(state: dict[str, int], readings: dict[str, int], **settings: int) -> Desk:
    """Return a healthy desk with words of state and readings set by hand."""
    healthy = {"reference_mV": 1250, "pack_mV": 8000, "rest_mV": 8000, "output_mV": 4000}
    warm = {"mount_cK": 30315, "sink_cK": 30315, "lead_cK": 30315, "indicator_uA": 5000}
    desk = Desk(**settings)
    for which, values in enumerate((state, {}, healthy | warm | readings)):
        for name, value in values.items():
            (desk.state, desk.limits, desk.readings)[which][PLACES[which][name]] = value
    return desk


def _watched(desk: Desk) -> int:
    arrays = (desk.state, desk.limits, desk.readings)
    watchers: tuple[Callable[..., int], ...] = (law.watch_dark, law.watch_light, law.watch_heat)
    bad = 0
    for watch in watchers:
        bad |= watch(*arrays)
    return bad | law.watch_supply(*arrays[1:]) | law.watch_time(*arrays)


# row, word that is judged, the limit, first value that is bad less the limit, mode
LIMITS = (
    ("stuck", "current_mA", "dark_mA", 1, DARK),
    ("overcurrent", "current_mA", "overcurrent_mA", 1, DARK),
    ("open", "output_mV", "open_mV", 1, RUN),
    ("short", "output_mV", "short_mV", -1, RUN),
    ("hot", "lead_cK", "trip_cK", 0, DARK),
    ("junction", "junction_cK", "junction_trip_cK", 0, DARK),
    ("sensor", "mount_cK", "sensor_min_cK", -1, DARK),
    ("sensor", "mount_cK", "sensor_max_cK", 1, DARK),
    ("sensor", "sink_cK", "sensor_min_cK", -1, DARK),
    ("sensor", "sink_cK", "sensor_max_cK", 1, DARK),
    ("sensor", "reference_mV", "reference_min_mV", -1, DARK),
    ("sensor", "reference_mV", "reference_max_mV", 1, DARK),
    ("pack_wrong", "pack_mV", "pack_max_mV", 1, DARK),
    ("pack_min", "pack_mV", "loaded_min_mV", -1, DARK),
    ("pack_low", "rest_mV", "lockout_mV", -1, DARK),
    ("stale", "pack_age", "age_ticks", 1, DARK),
    ("stale", "sink_age", "age_ticks", 1, DARK),
    ("indicator", "indicator_uA", "indicator_min_uA", -1, RUN),
    ("indicator", "indicator_uA", "indicator_max_uA", 1, RUN),
    ("late", "gap_ticks", "late_ticks", 1, DARK),
    ("beat", "beat_ticks", "beat_max_ticks", 1, DARK),
)


@pytest.mark.parametrize(("row", "word", "limit", "first_bad", "mode"), LIMITS)
def test_row_begins_exactly_where_its_limit_says(
    row: str, word: str, limit: str, first_bad: int, mode: int
) -> None:
    state = {"mode": mode, "enable": 4}
    last_good = first_bad + (1 if first_bad < 0 else -1)
    at = Desk().limit(limit)
    assert _watched(_desk(state, {word: at + first_bad})) & ROW[row]
    assert not _watched(_desk(state, {word: at + last_good})) & ROW[row]


@pytest.mark.parametrize(
    ("row", "state", "readings", "holds"),
    [
        # a quarter of what is asked for, and one below
        ("open", {"mode": RUN, "drive": 400 << 6}, {"current_mA": 100}, False),
        ("open", {"mode": RUN, "drive": 400 << 6}, {"current_mA": 99}, True),
        # follow_mA 40 and a sixteenth of the drive
        ("follow", {"mode": SOFT_START, "drive": 1600 << 6}, {"current_mA": 1740}, False),
        ("follow", {"mode": SOFT_START, "drive": 1600 << 6}, {"current_mA": 1741}, True),
        ("follow", {"mode": LIMITED, "drive": 1600 << 6}, {"current_mA": 1459}, True),
        ("follow", {"mode": RUN, "drive": 0}, {"current_mA": 40}, False),
        ("follow", {"mode": START, "drive": 1600 << 6}, {"current_mA": 0}, False),
        ("stuck", {"mode": START}, {"current_mA": 60}, False),
        ("latch", {"mode": CLOSE}, {"pins": 8}, True),
        ("charged", {"mode": CLOSE, "mode_ticks": 499}, {}, False),
        ("charged", {"mode": CLOSE, "mode_ticks": 500}, {}, True),
        # model_min_cK 450: nothing is judged at it; a third of the model is enough above it
        ("heat", {"model": 450 << 10}, {}, False),
        ("heat", {"model": 451 << 10}, {}, True),
        ("heat", {"model": 600 << 10}, {"mount_cK": 30515}, False),
        ("heat", {"model": 601 << 10}, {"mount_cK": 30515}, True),
        # twice the model and model_extra_cK 500
        ("heat", {"model": 100 << 10}, {"mount_cK": 31015}, False),
        ("heat", {"model": 100 << 10}, {"mount_cK": 31016}, True),
    ],
)
def test_row_that_compares_two_words_begins_exactly_there(
    row: str, state: dict[str, int], readings: dict[str, int], holds: bool
) -> None:
    assert bool(_watched(_desk(state, readings)) & ROW[row]) == holds


@pytest.mark.parametrize(
    ("row", "word", "limit"),
    [("hot", "lead_cK", "warm_cK"), ("junction", "junction_cK", "junction_warm_cK")],
)
def test_thermal_row_clears_at_the_temperature_where_cutback_begins(
    row: str, word: str, limit: str
) -> None:
    for above, left in ((0, 0), (1, ROW[row])):
        desk = _desk({"faults": ROW[row]}, {word: Desk().limit(limit) + above})
        law.unlatch(desk.state, desk.limits, desk.readings)
        assert desk.word("faults") == left


@pytest.mark.parametrize(
    ("rest", "mV", "clears"), [(5000, 7300, 1), (4999, 7300, 0), (5000, 7299, 0)]
)
def test_pack_row_clears_exactly_at_its_rest_and_re_arm(rest: int, mV: int, clears: int) -> None:
    desk = _desk({"faults": ROW["pack_low"], "rest": rest}, {"rest_mV": mV})
    law.unlatch(desk.state, desk.limits, desk.readings)
    assert (desk.word("faults") == 0) == bool(clears)


def test_auto_off_comes_at_its_tick() -> None:
    for on_ticks, mode in ((60000, DARK), (59999, RUN)):
        desk = _desk({"mode": RUN, "on_ticks": on_ticks}, {})
        assert law.shine_on(desk.state, desk.limits, RUN) == mode


def test_boot_ends_where_the_oldest_reading_is_as_old_as_allowed() -> None:
    for age, mode in ((20, DARK), (21, 0)):
        desk = _desk({"mode_ticks": 21}, {"mount_age": age})
        assert law.boot(desk.state, desk.limits, desk.readings) == mode


def test_output_at_the_safe_voltage_is_empty() -> None:
    for output_mV, mode in ((1500, START), (1501, CLOSE)):
        desk = _desk({"mode": CLOSE, "mode_ticks": 1, "lamp_ticks": 100}, {"output_mV": output_mV})
        assert law.approach(desk.state, desk.limits, desk.readings, CLOSE) == mode


def test_code_one_below_its_zero_is_no_current() -> None:
    desk = _desk({}, {}, current_zero_code=20, current_full_mA=10000)
    desk.raw[0] = 19
    law.convert(desk.limits, desk.readings, desk.raw)
    assert desk.reading("current_mA") == 0


def test_unknown_channel_refreshes_nothing() -> None:
    desk = _desk({}, {})
    before = desk.readings[2:12]
    desk.raw[2], desk.raw[3] = 2048, 5
    law.convert(desk.limits, desk.readings, desk.raw)
    assert desk.readings[2:12] == before


@pytest.mark.parametrize(
    ("age", "gap", "then"),
    [(65533, 1, 65534), (65534, 1, 65535), (65535, 1, 65535), (65535, 9, 65535)],
)
def test_age_counts_up_to_its_end(age: int, gap: int, then: int) -> None:
    desk = _desk({}, {"sink_age": age})
    desk.raw[3], desk.raw[5] = 255, gap
    law.convert(desk.limits, desk.readings, desk.raw)
    assert desk.reading("sink_age") == then


@pytest.mark.parametrize("clock", ["tick", "mode_ticks", "rest", "on_ticks", "lamp_ticks"])
def test_clock_reaches_its_very_end(clock: str) -> None:
    mode = RUN if clock in ("on_ticks", "lamp_ticks") else DARK
    desk = _desk({"mode": mode, clock: words.ONES - 1}, {})
    law.tally_time(desk.state, mode)
    law.advance_mode(desk.state, desk.limits, desk.readings, 0 if mode == RUN else 1)
    assert desk.word(clock) == words.ONES


def test_compensated_mount_saturates_one_above_its_end() -> None:
    state = {"smooth": 60000 << 10, "slow": 59999 << 10}
    desk = _desk(state, {"mount_cK": 60000}, lead_x16=17, lead_shift=15)
    law.observe_heat(desk.state, desk.limits, desk.readings)
    assert desk.reading("lead_cK") == 60000


@pytest.mark.parametrize(
    ("pack_mV", "current_mA", "output_mV", "rest_mV"),
    [
        (499, 1000, 4000, 499),  # no pack to speak of: no load
        (500, 1000, 4000, 500 + 16000),  # 8 A at 2 ohm
        (500, 2500, 4000, 500 + 40000),  # 20 A: the largest load
        (500, 2504, 3994, 500 + 40000),  # 20.001 A
    ],
)
def test_load_of_the_pack_is_bounded_on_both_sides(
    pack_mV: int, current_mA: int, output_mV: int, rest_mV: int
) -> None:
    desk = _desk(
        {"drive": 640_000},
        {"pack_mV": pack_mV, "current_mA": current_mA, "output_mV": output_mV},
        pack_shift=0,
        sag_mohm=2000,
    )
    law.observe_stores(desk.state, desk.limits, desk.readings)
    assert desk.reading("rest_mV") == rest_mV


@pytest.mark.parametrize(
    ("mode", "pack_mV", "held_mA"),
    [
        (RUN, 4600, 20000),  # twice 300 mV above the output: nothing holds
        (RUN, 4599, 1500),  # below it, no rise
        (RUN, 4300, 1500),
        (RUN, 4299, 1500 - 40),  # short of it, down by half the largest fall and one
        (START, 4299, 1500 - 40),
        (DARK, 4299, 20000),
    ],
)
def test_headroom_holds_and_lowers_exactly_at_its_limits(
    mode: int, pack_mV: int, held_mA: int
) -> None:
    desk = _desk({"mode": mode, "drive": 1500 << 6}, {"pack_mV": pack_mV})
    assert law.hold_headroom(desk.state, desk.limits, desk.readings) == held_mA


@pytest.mark.parametrize(
    ("mode", "allowed_mA", "starved"),
    [
        (DARK, 699, 1), (DARK, 700, 0), (CLOSE, 699, 1), (START, 699, 0), (RUN, 302, 0),
        (RUN, 301, 1), (LIMITED, 302, 0), (8, 699, 1), (9, 302, 1),
    ],
)  # fmt: skip
def test_gated_stage_starts_at_its_current_and_stays_down_to_its_gate(
    mode: int, allowed_mA: int, starved: int
) -> None:
    desk = _desk({"mode": mode, "allowed": allowed_mA}, {}, gate_mA=302, start_mA=700)
    assert law.starved(desk.state, desk.limits) == starved


def test_of_two_caps_that_take_alike_the_first_is_named() -> None:
    state = {"mode": RUN, "drive": 1500 << 6}
    desk = _desk(state, {"lead_cK": 32915, "junction_cK": 38815})
    law.allow(desk.state, desk.limits, desk.readings)
    assert (desk.word("allowed"), words.BOUNDS[desk.word("bound")]) == (300, "mount")


def test_headroom_that_holds_at_a_cap_is_not_what_binds() -> None:
    state = {"mode": RUN, "drive": 300 << 6}
    desk = _desk(state, {"lead_cK": 32915, "pack_mV": 4400})
    law.allow(desk.state, desk.limits, desk.readings)
    assert (desk.word("allowed"), words.BOUNDS[desk.word("bound")]) == (300, "mount")


@pytest.mark.parametrize(("name", "high"), [(row[0], row[3]) for row in words.STATE])
def test_guard_accepts_both_ends_of_every_state_word_and_nothing_beyond(
    name: str, high: int
) -> None:
    for value, bits in ((0, 0), (high, 0), (-1, ROW["state"]), (high + 1, ROW["state"])):
        desk = _desk({name: value}, {})
        assert law.guard(desk.state, desk.limits, desk.readings) == bits
        if bits:
            left = {row[0]: held for row, held in zip(words.STATE, desk.state, strict=True) if held}
            full = desk.limit("budget_cap")
            assert left == {"mode": FAULT, "trim": words.TRIM_BIAS, "budget": full}
            assert not any(desk.readings)


@pytest.mark.parametrize(
    ("name", "high"),
    [(row[0], row[3]) for row in words.READINGS[2:12]],
)
def test_guard_accepts_what_a_kept_reading_can_be_and_nothing_beyond(name: str, high: int) -> None:
    for value, bits in ((0, 0), (high, 0), (-1, ROW["state"]), (high + 1, ROW["state"])):
        desk = _desk({}, {name: value})
        assert law.guard(desk.state, desk.limits, desk.readings) == bits


def test_guard_sees_one_flipped_bit_in_any_limit_and_in_any_complement() -> None:
    desk = _desk({}, {})
    for place in range(len(desk.limits)):
        desk.limits[place] ^= 1 << place % 30
        assert law.guard(desk.state, desk.limits, desk.readings) == ROW["settings"], place
        desk.limits[place] ^= 1 << place % 30
    assert law.guard(desk.state, desk.limits, desk.readings) == 0


def test_boot_looks_at_the_ages_of_the_channels_and_at_nothing_behind_them() -> None:
    desk = _desk({"mode_ticks": 6}, {"pins": 31, "gap_ticks": 9}, age_ticks=5)
    assert law.boot(desk.state, desk.limits, desk.readings) == DARK
    assert not law.watch_time(desk.state, desk.limits, desk.readings) & ROW["stale"]


def test_first_look_takes_nothing_below_zero() -> None:
    readings = {"mount_cK": 37816, "sink_cK": 37817}
    desk = _desk({}, readings)
    law.first_look(desk.state, desk.limits, desk.readings)
    assert (desk.word("model"), desk.word("rise")) == (0, 0)


def test_mount_and_budget_that_take_alike_name_the_mount() -> None:
    full = Desk().limit("budget_cap")
    desk = _desk({"mode": RUN, "budget": full}, {"lead_cK": 32915}, dim_mA=1000)
    law.allow(desk.state, desk.limits, desk.readings)
    assert (desk.word("allowed"), words.BOUNDS[desk.word("bound")]) == (1000, "mount")


def test_headroom_of_zero_is_off_even_below_the_output() -> None:
    desk = _desk({"mode": RUN, "drive": 96000}, {"pack_mV": 3900}, headroom_mV=0)
    assert law.hold_headroom(desk.state, desk.limits, desk.readings) == 20000


def test_stage_with_a_set_input_is_never_starved() -> None:
    desk = _desk({"mode": DARK, "allowed": 0}, {})
    assert law.starved(desk.state, desk.limits) == 0


def test_black_out_leaves_nothing_lit_or_begun() -> None:
    desk = Desk()
    for place in range(len(desk.state)):
        desk.state[place] = 1
    law.black_out(desk.state)
    for name in ("drive", "ramp", "on_ticks", "lamp_ticks", "ready", "allowed", "duty"):
        assert desk.word(name) == 0, name
    assert (desk.word("enable"), desk.word("pulse")) == (0, 0)
    assert (desk.mode, desk.word("trim"), desk.word("mode_ticks")) == ("fault", 65536, 0)


@pytest.mark.parametrize(("drive", "clamped"), [(640_001, 640_000), (-1, 0)])
def test_last_clamp_begins_exactly_at_its_ends(drive: int, clamped: int) -> None:
    desk = _desk({"mode": RUN, "drive": drive}, {})
    desk.limits[PLACES[1]["absolute_mA"]] = 20_000
    law.put_out(desk.state, desk.limits, desk.readings)
    assert desk.word("drive") == clamped


def test_light_from_nothing_begins_at_the_start_level_in_any_mode() -> None:
    state = {"mode": RUN, "allowed": 1575, "trim": words.TRIM_BIAS}
    desk = _desk(state, {})
    law.drive(desk.state, desk.limits, desk.readings)
    assert desk.drive_mA == desk.limit("start_mA")
