"""What the board remembers through power-off: first causes, latched service, crashes."""

import pytest

from diodedriver import words
from diodewright.build import load
from diodewright.derive import settings
from diodewright.twin import Event, Twin
from stories import (
    ask,
    blinked,
    journal,
    lit,
    lit_ticks,
    power_cycle,
    press,
    release,
    tell,
    until,
)

NAME = "gel_viewer"
ROWS = [row[0] for row in words.FAULTS]
MODES = [row[0] for row in words.MODES]
CONFLICT = -221


def of_kind(twin: Twin, kind: str) -> list[dict[str, object]]:
    return [entry for entry in journal(twin) if entry["kind"] == kind]


def test_a_first_cause_is_in_the_journal_with_what_was_read_and_survives_power_off(board) -> None:
    twin = lit(board(NAME))
    twin.run(1000)
    twin.strike(Event(0, "plant.pack_read_gain", 1.5))
    strikes = twin.now
    until(twin, "fault", "pack_low")
    fault_after = twin.now - strikes
    release(twin)
    twin.run(200)
    told = ask(twin, "STAT:CAUS?").split(",")
    row, tick, reading, limit = (int(told[place]) for place in (0, 3, 4, 5))
    assert ROWS[row] == "pack_wrong" and fault_after < 100
    twin.strike(Event(0, "plant.pack_read_gain", 1.0))
    power_cycle(twin)
    [entry] = [entry for entry in of_kind(twin, "fault") if entry["boot"] == 1][-1:]
    assert (entry["row"], entry["tick"]) == (row, tick)
    assert (entry["reading"], entry["limit"]) == (reading, limit)
    assert limit == settings(load(NAME))["pack_max_mV"] < reading
    seen = entry["seen"]
    assert isinstance(seen, list)
    assert seen[words.index(words.READINGS, "pack_mV")] == reading
    assert MODES[entry["mode"]] == "run", "the mode that it ended"
    assert entry["uptime_s"] == 2 and entry["cause"] == "power on"
    newest = journal(twin)[0]
    assert (newest["kind"], newest["boot"]) == ("unclean", 2)


def test_a_fault_is_written_once_however_long_the_trigger_is_held(board) -> None:
    twin = lit(board(NAME))
    twin.strike(Event(0, "plant.diode_open", 1))
    twin.run(3000)
    release(twin)
    twin.run(1000)
    assert len(of_kind(twin, "fault")) == 1


def test_a_fault_that_comes_again_at_once_wears_no_flash(board) -> None:
    """Late ticks clear and latch again with nobody's hand on the trigger: one entry in 10 s."""
    twin = board(NAME)
    until(twin, "dark")
    for _ in range(40):
        twin.strike(Event(0, "chip.stride", 3))
        twin.run(40)
        twin.strike(Event(0, "chip.stride", 1))
        twin.run(60)
    assert twin.look.cause == "late" or twin.look.mode == "dark"
    late = [entry for entry in of_kind(twin, "fault") if ROWS[int(entry["row"])] == "late"]
    assert len(late) == 1


def test_a_service_fault_bars_light_at_every_boot_until_it_was_mended(board) -> None:
    twin = lit(board(NAME))
    twin.strike(Event(0, "limits.trip_cK", 1))
    until(twin, "fault")
    twin.run(100)
    release(twin)
    assert tell(twin, "SYST:SERV 'not in maintenance'") == CONFLICT
    for _ in range(2):
        power_cycle(twin)
        assert ask(twin, "STAT:BARR?") == '"service"'
        press(twin)
        assert not lit_ticks(twin.run(2500))
        release(twin)
    assert blinked(twin) == words.blinks(ROWS.index("settings"))
    twin.send(b"SYST:MAIN\n")
    twin.run(600)
    assert ask(twin, "STAT:BARR?") == '"maintenance"'
    assert tell(twin, "SYST:SERV 'found and mended'") == 0
    power_cycle(twin)
    until(twin, "dark")
    twin.run(6000)
    assert lit_ticks(lit(twin).run(10)), "rested behind the unclean end, it lights again"


def test_maintenance_alone_mends_nothing(board) -> None:
    twin = lit(board(NAME))
    twin.strike(Event(0, "limits.trip_cK", 1))
    until(twin, "fault")
    twin.run(100)
    twin.send(b"SYST:MAIN\n")
    twin.run(600)
    power_cycle(twin)
    assert ask(twin, "STAT:BARR?") == '"service"'


def crashed_in_the_tick(board, edited) -> Twin:
    line = "        self.gaps = raw[5]\n"
    broken = "        self.gaps = raw[8 * (self.state[_S_DRIVE] > 0)]\n"
    twin = board(NAME, firmware=edited("driver.py", line, broken))
    until(twin, "dark")
    twin.run(50)
    press(twin)
    until(twin, "start", "soft_start", "run")
    twin.run(300)
    assert ask(twin, "STAT:BARR?") == '"crash"'
    return twin


def crashed_in_the_main_loop(board, _edited) -> Twin:
    twin = lit(board(NAME))
    twin.strike(Event(0, "chip.raise", 1))
    twin.run(300)
    assert twin.ended_at is not None
    return twin


@pytest.mark.parametrize("crashed", [crashed_in_the_tick, crashed_in_the_main_loop])
def test_a_crash_is_dark_then_written_once_with_the_laws_last_mode(board, edited, crashed) -> None:
    twin = crashed(board, edited)
    assert not lit_ticks(twin.run(20))
    looks = twin.run(7000)
    assert not lit_ticks(looks)
    assert [cause for _, cause in twin.resets] == [3], "nothing feeds the watchdog any more"
    release(twin)
    until(twin, "dark")
    [entry] = of_kind(twin, "crash")
    assert entry["boot"] == 1 and entry["row"] == -1
    assert MODES[entry["mode"]] in ("start", "soft_start", "run")
    assert entry["tick"] > 1000 and entry["cause"] == "power on"
    newest = journal(twin)[0]
    assert (newest["kind"], newest["cause"]) == ("unclean", "watchdog")


def test_a_crash_that_flash_cannot_keep_still_ends_dark_and_tells_why(board, edited) -> None:
    firmware = edited(
        "journal.py",
        "        if kind not in KINDS:\n",
        "        if kind == 'crash':\n            raise OSError\n        if kind not in KINDS:\n",
    )
    twin = lit(board(NAME, firmware=firmware))
    twin.strike(Event(0, "chip.raise", 1))
    assert not lit_ticks(twin.run(300)[2:])
    assert "Injected" in twin.said().decode()
