"""Lit time and starts: counted, kept at a clean end, told over serial, never more than was."""

from diodewright.twin import Event
from stories import until


def told(twin) -> tuple[int, int]:
    twin.said()
    twin.send(b"SYST:HOUR?\n")
    twin.run(20)
    lit_s, starts = twin.said().split(b",")
    return int(lit_s), int(starts)


def light(twin, ms: int) -> None:
    twin.run(1, [Event(0, "plant.trigger", 1.0)])
    until(twin, "run")
    twin.run(ms)
    twin.run(1, [Event(0, "plant.trigger", 0.0)])
    until(twin, "dark")


def test_lit_time_and_starts_are_counted_and_kept_at_a_clean_end(board) -> None:
    twin = board()
    until(twin, "dark")
    twin.run(1000)
    assert told(twin) == (0, 0)
    light(twin, 2500)
    light(twin, 1700)
    assert told(twin) == (4, 2)
    twin.run(11_000)  # the armed marker goes: a clean end
    twin.reset()
    until(twin, "dark")
    assert told(twin) == (4, 2)


def test_what_a_reset_cuts_off_is_not_counted(board) -> None:
    twin = board()
    until(twin, "dark")
    twin.run(1000)
    light(twin, 2500)
    twin.reset()
    until(twin, "dark")
    assert told(twin) == (0, 0)


def test_a_damaged_file_begins_again_and_bars_nothing(board) -> None:
    from diodewright.twin.provision import put_files

    twin = board()
    twin.close()
    put_files(twin.flash, {"hours": b"\1" * 12})
    twin.reset()
    until(twin, "dark")
    assert told(twin) == (0, 0)
