"""Serial can't light, whatever it says: every row of the table, in every state, at its extremes."""

import pytest

from desk_driver import LIT, DriverDesk
from diodedriver import words
from diodedriver.commands import COMMANDS, DARK
from diodedriver.driver import LIVE, TESTING
from serial_lines import head_of, lines

ROWS = {row[0]: row for row in COMMANDS}
L_SERIAL = words.index(words.SETTINGS, "level_3_mA")
STARTS = ("lit", "rising", "dark", "pressed", "shut", "held", "faulty", "barred", "testing")


def began(name: str) -> DriverDesk:
    """Return a desk in a named state; `pressed`, `shut` and `held` have the trigger held."""
    desk = DriverDesk()
    if name in ("lit", "faulty", "barred", "testing", "dark"):
        getattr(desk, name)()
    else:
        desk.dark()
    if name == "rising":
        desk.press().run(300)
        assert desk.mode == "soft_start"
    elif name == "pressed":  # since before the light was let on: a row has just cleared
        desk.driver.released = 0
        desk.press().run(5)
    elif name == "shut":
        desk.ask("OUTP OFF")
        desk.press().run(5)
    elif name == "held":
        desk.driver.held = 1
        desk.press().run(5)
    # a lowered limit, so that what may not rise could
    desk.driver.limit_mA = 800
    desk.ask("CURR 0.8")
    desk.port.clear()
    if name == "lit":
        desk.run(900)
    return desk


STARTED = {name: began(name) for name in STARTS}


def kept(desk: DriverDesk) -> dict[str, object]:
    """Return what no line may change, whatever the state."""
    limits = list(desk.driver.limits)
    both = len(limits) // 2
    for place in (L_SERIAL, both + L_SERIAL):
        limits[place] = 0
    driver = desk.driver
    return {
        "limits": limits,
        "state": list(driver.state),
        "most": driver.most_mA,
        "held": driver.held,
        "unit": driver.unit,
        "duty": desk.board.duty_u16,
        "enable": desk.board.enable,
        "interrupts": desk.board.off,
    }


def check_limits(before: DriverDesk, after: DriverDesk) -> None:
    old, new = before.driver, after.driver
    assert new.limit_mA <= old.limit_mA or before.driver.idle_dark()
    assert new.limit_mA <= new.most_mA
    serial = new.limits[L_SERIAL]
    assert serial ^ words.ONES == new.limits[len(new.limits) // 2 + L_SERIAL]
    assert serial == old.limits[L_SERIAL] or serial <= new.limit_mA
    if new.phase == LIVE:
        assert after.panel.current() <= max(new.limit_mA, before.panel.current())


def check_gate(before: DriverDesk, after: DriverDesk) -> None:
    old, new = before.driver, after.driver
    assert new.released <= old.released
    assert new.armed <= old.armed
    assert new.phase in (old.phase, 0), "only a stored record may bar, nothing may go live"
    if old.barred_by:
        assert new.barred_by == old.barred_by or new.barred_by == "new settings: restart"
    if before.mode == "fault" or not new.live():
        assert new.allowing <= old.allowing


def check_after(before: DriverDesk, after: DriverDesk, line: str) -> None:
    """Run on and watch each tick."""
    was_lit = before.mode in LIT
    rise = before.driver.limits[words.index(words.SETTINGS, "rise_q64")]
    # the level asked for, at most, or what there was, and the desk's trim
    top = max(64 * (before.driver.limit_mA + 75), before.word("drive") + rise)
    drive = after.word("drive")
    faults = after.word("faults")
    for _ in range(8):
        after.run()
        assert after.word("drive") - drive <= rise
        drive = after.word("drive")
        assert drive <= top
        assert after.word("faults") & faults == faults
        assert was_lit or not after.lights(), line
        assert was_lit or after.mode in (before.mode, "barred"), line
    assert after.word("faults") == before.word("faults"), "a line made a fault"


@pytest.mark.parametrize("start", STARTS)
@pytest.mark.parametrize("header", ROWS)
def test_no_row_lights_or_weakens_a_limit(header: str, start: str) -> None:
    before = STARTED[start]
    row = ROWS[header]
    refused = row[2] == DARK and start in ("lit", "rising", "testing")
    count = 0
    for line in lines(before, row):
        after = before.fork()
        want = kept(after)
        reply = after.ask(line)
        got = kept(after)
        if after.restarted or after.driver.barred_by != before.driver.barred_by:
            assert not refused
        assert got == want, line
        check_limits(before, after)
        check_gate(before, after)
        if refused:
            assert reply == "" and after.port.waiting == 1, line
            assert not after.restarted and not after.serviced and not after.panel.upload
        check_after(before, after, line)
        count += 1
    assert count >= 2


@pytest.mark.parametrize("start", ["lit", "rising", "testing"])
def test_what_needs_darkness_is_refused_with_a_settings_conflict(start: str) -> None:
    good = {"size": "16", "bytes": '"00"', "crc": "0", "note": '"done"', "row": "0", "count": "1"}
    asked = 0
    for row in COMMANDS:
        if row[2] != DARK:
            continue
        desk = STARTED[start].fork()
        desk.ask(f"{head_of(row)} {','.join(good[parameter[0]] for parameter in row[1])}")
        assert desk.error() == -221, row[0]
        asked += 1
    assert asked >= 10


def test_the_states_are_what_they_are_called() -> None:
    assert STARTED["lit"].lights() and STARTED["rising"].lights()
    assert STARTED["testing"].driver.phase == TESTING
    for name in STARTS[2:]:
        desk = STARTED[name].fork()
        desk.run(400)
        assert not desk.lights(), name


def test_only_a_press_that_follows_output_on_lights() -> None:
    desk = STARTED["shut"].fork()
    desk.ask("OUTP ON")
    desk.run(400)
    assert not desk.lights(), "the trigger was held all along"
    desk.release().run(5).press().run(400)
    assert desk.lights()


def test_output_off_is_dark_at_the_next_tick_and_stays_so_while_held() -> None:
    desk = STARTED["lit"].fork()
    desk.ask("OUTP OFF")
    desk.run()
    assert not desk.lights()
    desk.ask("OUTP ON")
    desk.run(400)
    assert not desk.lights()


def test_a_limit_falls_while_lit_and_rises_only_while_dark() -> None:
    desk = STARTED["lit"].fork()
    desk.ask("CURR:LIM 0.5")
    assert desk.ask("CURR:LIM?;:CURR?") == "0.500;0.500"
    desk.ask("CURR:LIM 0.501")
    assert (desk.error(), desk.ask("CURR:LIM?")) == (-221, "0.500")
    desk.ask("CURR 0.501;:STEP 0")
    assert (desk.error(), desk.error(), desk.ask("CURR?")) == (-222, -222, "0.500")
    desk.run(2000)
    assert desk.word("drive") <= 64 * 575
    desk.release().run(5)
    desk.ask("CURR:LIM MAX")
    assert desk.ask("CURR:LIM?") == "1.500"


def test_the_lit_current_moves_by_the_ramp_of_the_law() -> None:
    desk = STARTED["lit"].fork()
    desk.ask("CURR MIN")
    desk.run(300)
    assert desk.word("drive") <= 64 * 175
    desk.ask("CURR MAX")
    rise = desk.panel.limit("rise_q64")
    drive, ticks = desk.word("drive"), 0
    while desk.word("drive") < 64 * 750:
        desk.run()
        assert desk.word("drive") - drive <= rise and ticks < 2000
        drive, ticks = desk.word("drive"), ticks + 1
    assert ticks >= 64 * (750 - 175) // rise
