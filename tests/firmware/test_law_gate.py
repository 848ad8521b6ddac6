"""A gated stage has no partial current: it gives its start level or nothing, with hysteresis."""

from desk import Desk
from diodedriver import words

GATED = {
    "gate_mA": 302,
    "start_mA": 700,
    "level_0_mA": 700,
    "level_1_mA": 700,
    "level_2_mA": 700,
    "level_3_mA": 700,
    "top_mA": 700,
    "absolute_mA": 700,
    "sustain_mA": 700,
    "authority_mA": 0,
    "ramp_ticks": 1,
    "lead_x16": 0,
}


def _drives(desk: Desk, ticks: int) -> set[float]:
    return {desk.tick().drive_mA for _ in range(ticks)}


def test_gated_stage_gives_its_current_or_nothing_while_the_mount_warms_and_cools() -> None:
    desk = Desk(**GATED).lit()
    seen = set()
    for mount_cK in [*range(30315, 33100, 50), *[33100] * 30, *range(33100, 30315, -50)]:
        desk.true.update(mount_cK=mount_cK, sink_cK=mount_cK - 100)
        seen |= _drives(desk, 40)
    assert seen == {0, 700}
    assert desk.cause is None


def test_warming_gated_light_goes_dark_at_its_gate_and_a_press_is_used_up_until_cool() -> None:
    desk = Desk(**GATED).lit()
    desk.true.update(mount_cK=32400, sink_cK=32300)  # between warm and hot: stays as it is
    desk.tick(2000)
    assert desk.drive_mA == 700
    desk.true.update(mount_cK=32930, sink_cK=32830)
    desk.tick(2000)
    assert desk.mode == "dark"
    assert words.HARD[6] == "less allowed than a gated stage gives"
    assert desk.word("hard") & 64
    desk.true.update(mount_cK=32400, sink_cK=32300)
    desk.release().tick(2000)
    desk.press().tick(400)
    assert desk.mode == "dark"
    desk.true.update(mount_cK=31800, sink_cK=31700)
    desk.tick(3000)
    assert desk.mode == "dark"  # the press of before lights nothing
    desk.release().tick(5)
    desk.press().until("run")
    assert desk.drive_mA == 700


def test_gated_light_of_a_full_budget_that_is_not_sustained_goes_dark() -> None:
    desk = Desk(**{**GATED, "sustain_mA": 100}).lit()
    desk.state[words.index(words.STATE, "budget")] = desk.limit("budget_cap")
    desk.tick(3)
    assert desk.mode == "dark"
