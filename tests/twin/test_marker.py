"""The armed marker: in flash before there can be light, gone behind a clean end."""

from diodewright.twin import Event, Twin
from stories import ask, journal, lit, lit_ticks, power_cycle, press, release, tell, until

NAME = "cave_lamp"
#: Dark for so long is a clean end; so long has the pack to rest behind one that was not [ms].
REST_MS, HOLD_MS = 10_000, 5000
HELD = 1 << 12


def next_boot(board, image: bytes) -> str:
    """Return what a board with this flash says in its journal of the boot."""
    twin = board(NAME)
    twin.flash.write_bytes(image)
    twin.run(700)
    return str(journal(twin)[0]["kind"])


def is_held(twin: Twin) -> bool:
    return bool(int(ask(twin, "STAT:OPER:COND?")) & HELD)


def ended_unclean(twin: Twin) -> Twin:
    """Light it, take its power away, fit the pack again and let the trigger go."""
    lit(twin)
    power_cycle(twin)
    release(twin)
    until(twin, "dark")
    return twin


def test_the_marker_is_in_flash_before_the_law_sees_the_press(board) -> None:
    twin = board(NAME)
    until(twin, "dark")
    twin.run(50)
    before = twin.flash.read_bytes()
    press(twin)
    begin = twin.now
    until(twin, "delay", "close", "start", "soft_start")
    assert twin.now - begin > 1, "the press waits for flash"
    at_the_press = twin.flash.read_bytes()
    twin.close()
    assert next_boot(board, before) == "boot"
    assert next_boot(board, at_the_press) == "unclean"


def test_a_board_without_room_for_the_marker_does_not_light(board, edited) -> None:
    firmware = edited(
        "settings.py", '    with open(ARMED, "wb"):\n        pass\n', "    raise OSError(28)\n"
    )
    twin = board(NAME, firmware=firmware)
    until(twin, "dark")
    press(twin)
    assert not lit_ticks(twin.run(4000))


def test_the_marker_goes_behind_a_clean_end_and_not_before(board) -> None:
    twin = lit(board(NAME))
    release(twin)
    twin.run(REST_MS - 500)
    early = twin.flash.read_bytes()
    twin.run(1000)
    late = twin.flash.read_bytes()
    press(twin)
    assert lit_ticks(twin.run(2000)), "and it comes again with the next press"
    again = twin.flash.read_bytes()
    twin.close()
    assert next_boot(board, early) == "unclean"
    assert next_boot(board, late) == "boot"
    assert next_boot(board, again) == "unclean"


def test_an_unclean_end_holds_the_light_until_the_pack_has_rested(board) -> None:
    twin = ended_unclean(board(NAME))
    assert journal(twin)[0]["kind"] == "unclean"
    assert is_held(twin)
    press(twin)
    assert not lit_ticks(twin.run(1500)), "a press while held is none"
    release(twin)
    twin.run(HOLD_MS)
    assert not is_held(twin)
    press(twin)
    assert lit_ticks(twin.run(1500))


def test_a_trigger_held_from_within_the_hold_lights_nothing_when_it_ends(board) -> None:
    twin = ended_unclean(board(NAME))
    press(twin)
    assert not lit_ticks(twin.run(2 * HOLD_MS))
    assert not is_held(twin)
    release(twin)
    twin.run(50)
    press(twin)
    assert lit_ticks(twin.run(1500)), "a fresh press does"


def test_a_pack_below_re_arm_keeps_an_unclean_end_dark_until_it_is_charged(board) -> None:
    twin = ended_unclean(board(NAME, soc=0.2))
    for _ in range(4):
        twin.run(HOLD_MS)
        press(twin)
        assert not lit_ticks(twin.run(500))
        release(twin)
    assert is_held(twin)
    assert tell(twin, "OUTP ON") == 0
    press(twin)
    assert not lit_ticks(twin.run(1000)), "serial can't lift it either"
    release(twin)
    twin.strike(Event(0, "true.soc", 1.0))
    twin.run(HOLD_MS)
    assert not is_held(twin)
    press(twin)
    assert lit_ticks(twin.run(1500))


def test_an_unclean_end_that_is_over_is_not_found_a_second_time(board) -> None:
    twin = ended_unclean(board(NAME))
    before = twin.flash.read_bytes()
    twin.run(HOLD_MS + 500)
    after = twin.flash.read_bytes()
    twin.close()
    assert next_boot(board, before) == "unclean", "power lost within the hold: held again"
    assert next_boot(board, after) == "boot"
