"""Starts dark: what it takes to get light, and how the light rises."""

from itertools import pairwise

import pytest

from desk import Desk


def test_trigger_held_at_power_up_never_lights() -> None:
    desk = Desk().press()
    desk.tick(3000)
    assert desk.mode == "dark"
    desk.release().tick(1)
    desk.press().tick(1)
    assert desk.mode == "delay"


def test_a_press_made_while_the_interlock_is_open_is_used_up() -> None:
    desk = Desk().tick(30)
    desk.pins.discard("interlock")
    desk.press().tick(10)
    desk.pins.add("interlock")
    desk.tick(2000)
    assert desk.mode == "dark"


def test_no_light_before_indicator_was_healthy_for_the_whole_delay() -> None:
    desk = Desk().tick(30).press()
    lit_at = desk.until("start")
    assert lit_at >= desk.limit("delay_ticks")
    assert desk.word("lamp_ticks") >= desk.limit("delay_ticks")
    assert desk.word("enable") & 4


def test_indicator_that_flickers_during_the_delay_starts_the_delay_over() -> None:
    desk = Desk(delay_ticks=200).tick(30).press()
    desk.tick(150)
    desk.dead_lamp = True
    desk.tick(10)
    desk.dead_lamp = False
    assert desk.mode == "delay"
    assert desk.until("start") >= 195


def test_dead_indicator_latches_before_any_light() -> None:
    desk = Desk(delay_ticks=200).tick(30)
    desk.dead_lamp = True
    desk.press().until("fault")
    assert desk.cause == "indicator"
    assert desk.word("on_ticks") == 0


def test_soft_start_is_smooth_from_start_level_and_takes_its_time() -> None:
    desk = Desk().tick(30)
    desk.state[21] = 0
    desk.press().until("soft_start")
    assert desk.drive_mA == pytest.approx(100, abs=1)
    rise = [desk.drive_mA]
    for _ in range(500):
        desk.tick()
        rise.append(desk.drive_mA)
    assert desk.mode in ("soft_start", "run")
    steps = [after - before for before, after in pairwise(rise)]
    assert min(steps) >= 0
    # 3x^2 - 2x^3 is steepest in its middle: 1.5 * 1400 mA / 500 ticks = 4.2 mA a tick
    assert max(steps) == pytest.approx(4.2, rel=0.05)
    # half way after half the time
    assert rise[250] == pytest.approx(800, abs=5)


def test_light_stands_at_its_start_level_for_the_whole_of_the_stages_start_up() -> None:
    desk = Desk(stage_ticks=50).tick(30).press()
    desk.until("start")
    assert {desk.tick().drive_mA for _ in range(50)} == {100}
    assert desk.tick().mode == "soft_start"


def test_cut_off_a_never_closes_onto_a_charged_output() -> None:
    desk = Desk().tick(30)
    desk.forced["output_mV"] = 4000
    desk.press().tick(desk.limit("delay_ticks") + desk.limit("close_ticks") + 20)
    assert desk.mode == "fault"
    assert desk.cause == "charged"
    assert not desk.word("enable") & 1


def test_dynamic_enable_toggles_at_every_lit_tick_and_never_in_the_dark() -> None:
    desk = Desk().lit()
    levels = []
    for _ in range(6):
        desk.tick()
        levels.append(desk.word("pulse"))
    assert levels in ([0, 1] * 3, [1, 0] * 3)
    desk.release().tick(1)
    assert [desk.tick().word("pulse") for _ in range(4)] == [0, 0, 0, 0]


def test_release_is_dark_in_the_same_tick_and_relights_only_through_delay_and_start_level() -> None:
    desk = Desk().lit()
    desk.release().tick()
    assert (desk.mode, desk.drive_mA, desk.word("duty"), desk.word("enable") & 3) == (
        "dark",
        0,
        0,
        0,
    )
    desk.press().tick()
    assert desk.mode == "delay"
    desk.until("start")
    assert desk.drive_mA <= 100


def test_auto_off_goes_dark_and_stays_dark_while_held() -> None:
    desk = Desk(auto_off_ticks=1500).lit()
    desk.tick(2000)
    assert desk.mode == "dark"
    desk.release().tick()
    desk.press().tick()
    assert desk.mode == "delay"


def test_level_change_moves_by_the_slew_limit() -> None:
    desk = Desk().lit()
    desk.true["level"] = 2
    desk.tick(60)
    assert desk.drive_mA == pytest.approx(300, abs=2)
    desk.true["level"] = 0
    before = desk.drive_mA
    desk.tick()
    assert 0 < desk.drive_mA - before <= 270 / 64


def test_indicator_that_falls_ill_while_closing_starts_the_delay_over() -> None:
    desk = Desk(delay_ticks=60, count_indicator=10000).tick(30).press()
    desk.forced["output_mV"] = 5000  # charged: cut-off A must wait
    desk.until("close")
    desk.dead_lamp = True
    desk.until("delay")
    desk.dead_lamp = False
    desk.forced.clear()
    assert desk.until("start") >= 60


def test_nothing_lights_in_a_tick_that_has_anything_suspect() -> None:
    desk = Desk(count_sensor=10000).tick(30).press()
    desk.forced["output_mV"] = 5000  # charged: cut-off A must wait
    desk.until("close")
    desk.true["reference_mV"] = 1900
    desk.tick(10)
    desk.forced.clear()
    desk.tick(100)
    assert desk.mode == "close"
    desk.true["reference_mV"] = 1250
    desk.until("start", most=10)
