"""Every way out of the program, and every way it may fail to run, ends dark."""

import pytest

from diodewright.twin import Event, Twin
from stories import lit, lit_ticks, press, release, until

#: The dynamic enable drops 4 to 10 ms behind its last edge, in hardware.
DROPS_MS = 10


def dark_within(twin: Twin, ms: int, watch_ms: int = 300) -> None:
    """Assert that light ends within `ms` and stays away, the trigger still held."""
    begin = twin.now
    looks = twin.run(watch_ms)
    late = [tick - begin for tick in lit_ticks(looks) if tick > begin + ms]
    assert not late, f"still lit {late[:5]} ms after: {twin.look}"


def told(twin: Twin) -> str:
    return twin.said().decode(errors="replace")


def test_a_dead_timer_goes_dark_by_the_enable_and_the_watchdog_resets(board) -> None:
    twin = lit(board("smoke_tunnel"))
    twin.strike(Event(0, "chip.timer_dead", 1))
    dark_within(twin, DROPS_MS)
    looks = twin.run(6000)
    assert [cause for _, cause in twin.resets] == [3], "ticks stopped, so the feed must"
    assert not lit_ticks(looks)


def test_a_starved_main_loop_goes_dark_within_its_heartbeat_and_is_reset(board) -> None:
    twin = lit(board("smoke_tunnel"))
    twin.strike(Event(0, "chip.main_starved", 1))
    dark_within(twin, 210)
    twin.run(6000)
    assert [cause for _, cause in twin.resets] == [3]


def test_ticks_that_stay_late_starve_the_watchdog(board) -> None:
    twin = board("gel_viewer")
    until(twin, "dark")
    twin.strike(Event(0, "chip.stride", 3))
    twin.run(6000)
    assert [cause for _, cause in twin.resets] == [3]


def test_an_exception_in_the_main_loop_goes_dark_at_once(board) -> None:
    twin = lit(board("smoke_tunnel"))
    twin.strike(Event(0, "chip.raise", 1))
    dark_within(twin, 2)
    assert twin.ended_at is not None, "the program ended"
    assert "Injected" in told(twin)
    assert not twin.level("enable_b") and not twin.level("indicator")


def test_an_exception_in_the_tick_goes_dark_at_once_and_bars_light(board, edited) -> None:
    line = "        self.gaps = raw[5]\n"
    broken = "        self.gaps = raw[8 * (self.state[_S_DRIVE] > 64000)]\n"
    firmware = edited("driver.py", line, broken)
    twin = board("smoke_tunnel", firmware=firmware)
    until(twin, "dark")
    press(twin)
    looks = twin.run(8000)
    lit_for = lit_ticks(looks)
    assert lit_for
    assert twin.now - lit_for[-1] > 500, "up to 1 A, where the tick breaks, and dark from there"
    assert not lit_ticks(twin.run(5000))
    assert [cause for _, cause in twin.resets] == [3], "a crashed tick stops the feed"


@pytest.mark.parametrize("cause", [1, 3])
def test_a_reset_while_lit_is_dark_and_asks_for_rest_and_a_fresh_press(board, cause: int) -> None:
    twin = lit(board("smoke_tunnel"))
    twin.strike(Event(0, "chip.reset", cause))
    dark_within(twin, DROPS_MS, 12000)
    assert twin.look.mode in ("", "dark", "boot")


def test_the_supply_lost_and_back_while_lit_stays_dark(board) -> None:
    twin = lit(board("smoke_tunnel"))
    twin.strike(Event(0, "plant.pack_connected", 0))
    dark_within(twin, 10, 500)
    assert [cause for _, cause in twin.resets] == [1]
    twin.strike(Event(0, "plant.pack_connected", 1))
    assert not lit_ticks(twin.run(3000)), "the trigger is still held"


def test_a_flash_write_while_lit_ends_the_program_dark(board, edited) -> None:
    firmware = edited(
        "run.py",
        "        if driver.held and driver.rested():\n",
        "        if driver.state[4] > 60000:\n            self.note('fault')\n"
        "        if driver.held and driver.rested():\n",
    )
    twin = board("smoke_tunnel", firmware=firmware)
    until(twin, "dark")
    press(twin)
    twin.run(7000)
    assert twin.ended_at is not None
    assert "flash is never written while lit" in told(twin)
    assert not lit_ticks(twin.run(500))


def test_an_unannounced_flash_write_while_lit_drops_the_enable(board, edited) -> None:
    """The guard itself is broken: interrupts are off for 45 ms, the hardware acts alone.

    A opens first; the stage, still enabled, runs into the over-voltage trip.
    """
    firmware = edited(
        "run.py",
        "        if driver.held and driver.rested():\n",
        "        if driver.state[4] > 60000:\n"
        "            with open('stray', 'w') as stray:\n                stray.write('x' * 9000)\n"
        "        if driver.held and driver.rested():\n",
    )
    twin = board("smoke_tunnel", firmware=firmware)
    until(twin, "dark")
    press(twin)
    looks = twin.run(7000)
    lit_for = lit_ticks(looks)
    assert lit_for[-1] - lit_for[0] < 600
    assert looks[-1].cause == "latch"


def test_ctrl_c_does_not_interrupt_a_program_that_may_light(board) -> None:
    twin = lit(board("smoke_tunnel"))
    twin.send(b"\x03" * 8)
    looks = twin.run(200)
    assert twin.ended_at is None
    assert len(lit_ticks(looks)) == 200


def test_a_file_that_cannot_be_read_ends_dark(board, edited) -> None:
    firmware = edited("scpi.py", "class Port:", "class Port(:")
    twin = board("smoke_tunnel", firmware=firmware)
    press(twin)
    looks = twin.run(1000)
    assert twin.ended_at is not None
    assert "SyntaxError" in told(twin)
    assert not lit_ticks(looks)


def test_power_up_with_the_trigger_held_does_not_light(board) -> None:
    twin = board("smoke_tunnel")
    press(twin)
    assert not lit_ticks(twin.run(9000))
    assert twin.look.mode == "", "the self-test waits for a release"
    release(twin)
    until(twin, "dark")
    assert not lit_ticks(twin.run(2000))
