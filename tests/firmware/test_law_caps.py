"""Caps: mount, junction, heat budget and pack take light away, and give it back by the slew."""

import pytest

from desk import Desk
from diodedriver import words


@pytest.mark.parametrize(
    ("mount_cK", "allowed_mA"),
    [(31915, 1575), (32415, 938), (32915, 300), (33115, 300)],
)
def test_mount_cutback_is_linear_from_warm_to_hot(mount_cK: int, allowed_mA: int) -> None:
    desk = Desk(lead_x16=0).lit()
    desk.true.update(mount_cK=mount_cK, sink_cK=mount_cK - 300)
    desk.tick(3000)
    assert desk.word("allowed") == pytest.approx(allowed_mA, abs=10)
    assert desk.drive_mA <= desk.word("allowed")
    assert desk.mode == ("run" if allowed_mA > 1500 else "limited")


def test_lag_compensation_reads_a_rising_mount_hotter_and_a_falling_one_never_colder() -> None:
    desk = Desk().lit()
    for step in range(100):
        desk.true["mount_cK"] = 30315 + 10 * step
        desk.tick(20)
    # 5 K/s behind a 5 s sensor lag: the compensation adds up to 5 K/s * 5.1 s, less its filter
    assert 100 < desk.reading("lead_cK") - desk.reading("mount_cK") < 600
    desk.true["mount_cK"] = 30315
    desk.tick(2000)
    assert desk.reading("lead_cK") >= 30300


def test_full_budget_allows_no_more_than_sustainable_whatever_the_sensors_say() -> None:
    desk = Desk().lit()
    desk.state[words.index(words.STATE, "budget")] = desk.limit("budget_cap")
    desk.tick(30)
    assert desk.word("allowed") <= desk.limit("sustain_mA") + 1
    assert words.BOUNDS[desk.word("bound")] == "budget"


def test_budget_fills_at_the_electrical_power_and_starts_full_after_power_up() -> None:
    desk = Desk().tick(30)
    assert desk.word("budget") >= desk.limit("budget_cap") - 200
    desk.lit()
    desk.state[words.index(words.STATE, "budget")] = 0
    desk.tick(1000)
    power_mJ = desk.reading("power_mW")
    assert desk.word("budget") * 1.024 == pytest.approx(power_mJ, rel=0.01)


def test_current_sensor_that_reads_low_does_not_starve_the_budget() -> None:
    desk = Desk(follow_mA=5000, count_open=10000).lit()
    desk.forced["current_mA"] = 0
    desk.tick(5)
    assert desk.reading("power_mW") >= 1.5 * desk.reading("output_mV") - 50


@pytest.mark.parametrize(("pack_mV", "allowed_mA"), [(6900, 1575), (6700, 938), (6520, 364)])
def test_pack_cutback_is_linear_and_ends_at_the_reserve(pack_mV: int, allowed_mA: int) -> None:
    desk = Desk(sag_mohm=0).lit()
    desk.true["pack_mV"] = pack_mV
    desk.tick(3000)
    assert desk.word("allowed") == pytest.approx(allowed_mA, abs=15)


def test_pack_estimate_adds_back_the_sag_of_its_load() -> None:
    desk = Desk(sag_mohm=200).lit()
    desk.true["pack_mV"] = 7000
    desk.tick(3000)
    load_A = desk.reading("power_mW") / 7000
    assert desk.reading("rest_mV") == pytest.approx(7000 + 200 * load_A, abs=5)


def test_pack_low_re_arms_only_after_a_rest_above_re_arm_with_the_trigger_released() -> None:
    desk = Desk().lit()
    desk.true["pack_mV"] = 6200
    desk.until("pack_low")
    desk.release()
    desk.true["pack_mV"] = 7200
    desk.tick(7000)
    assert desk.mode == "pack_low", "7.2 V is below re-arm"
    desk.true["pack_mV"] = 7400
    desk.press().tick(3000)
    assert desk.mode == "pack_low", "held"
    desk.release().tick(2)
    assert desk.mode == "dark"


def test_warning_comes_before_pack_cutback() -> None:
    desk = Desk().lit()
    assert not desk.word("enable") & 16
    desk.true["pack_mV"] = 6850
    desk.tick(3000)
    assert desk.word("enable") & 16
    assert desk.mode == "run"


@pytest.mark.parametrize("read_mA", [1450, 1545])
def test_a_lying_current_sensor_moves_the_drive_only_by_the_authority(read_mA: int) -> None:
    desk = Desk().lit()
    desk.forced["current_mA"] = read_mA
    drives = [desk.tick().drive_mA for _ in range(3000)]
    assert desk.mode in ("run", "limited")
    assert max(abs(drive - 1500) for drive in drives) <= 75


def test_at_a_lower_level_the_authority_alone_bounds_the_trim() -> None:
    """No cap is near 750 mA: only the trim's own clamp stops it at 75 mA."""
    desk = Desk().lit()
    desk.true["level"] = 1
    desk.tick(100)
    desk.forced["current_mA"] = 740
    drives = [desk.tick().drive_mA for _ in range(3000)]
    assert desk.mode == "run"
    assert max(drives) == pytest.approx(825, abs=1)


def test_trim_is_frozen_while_capped_and_zero_when_dark() -> None:
    desk = Desk(lead_x16=0).lit()
    desk.forced["current_mA"] = 1450
    desk.tick(500)
    assert desk.word("trim") > words.TRIM_BIAS
    desk.true.update(mount_cK=32415, sink_cK=32100)
    desk.forced.clear()
    desk.tick(3000)
    frozen = desk.word("trim")
    assert desk.mode == "limited"
    desk.tick(500)
    assert desk.word("trim") == frozen
    desk.release().tick()
    assert desk.word("trim") == words.TRIM_BIAS


def test_cap_release_rises_no_faster_than_the_slew_limit() -> None:
    desk = Desk().lit()
    desk.state[words.index(words.STATE, "budget")] = desk.limit("budget_cap")
    desk.tick(30)
    desk.state[words.index(words.STATE, "budget")] = 0
    before = desk.drive_mA
    for _ in range(200):
        desk.tick()
        assert desk.drive_mA - before <= 270 / 64
        before = desk.drive_mA


def test_short_headroom_steps_the_light_down_and_does_not_hunt() -> None:
    pack = {"lockout_mV": 4300, "cutback_end_mV": 4400, "cutback_mV": 4600}
    desk = Desk(sag_mohm=0, loaded_min_mV=4000, warn_mV=4700, **pack).lit()
    desk.true["pack_mV"] = 4950  # 250 mV above the output at 1.5 A, where 300 mV are needed
    desk.tick(50)
    assert desk.mode == "limited"
    assert words.BOUNDS[desk.word("bound")] == "headroom"
    seen = {desk.tick().word("drive") for _ in range(500)}
    assert len(seen) == 1
    assert 750 < desk.drive_mA < 1500
    desk.true["pack_mV"] = 8000
    desk.tick(300)
    assert desk.mode == "run"


def test_headroom_never_takes_the_light_below_its_start_level() -> None:
    desk = Desk(headroom_mV=1600).lit()
    desk.true["pack_mV"] = 6850
    desk.forced["output_mV"] = 5300
    desk.tick(300)
    assert desk.drive_mA == desk.limit("start_mA")
    assert desk.mode == "limited"
    assert desk.cause is None
