"""The first cause without a computer: so many long blinks, then so many short ones."""

from collections.abc import Iterator

import pytest

from diodedriver import words
from diodedriver.run import TEST_BLINKS, Blinker
from diodedriver.selftest import STEPS
from diodewright.twin import Event
from stories import blinked, decoded, lit

ROWS = [row[0] for row in words.FAULTS]


def levels(blinker: Blinker, period_ms: int) -> Iterator[int]:
    """Yield the lamp's level every millisecond, from a main loop that comes every `period_ms`."""
    while True:
        level = blinker.step(period_ms)
        yield from [level] * period_ms


def shown(code: tuple[int, int], period_ms: int = 1) -> tuple[int, int]:
    blinker = Blinker()
    blinker.show(code)
    return decoded(levels(blinker, period_ms))


@pytest.mark.parametrize("period_ms", [1, 7, 60])
def test_every_row_and_every_step_of_the_self_test_is_told_from_all_others(period_ms: int) -> None:
    by_code: dict[tuple[int, int], str] = {}
    codes = [(words.blinks(row), name) for row, name in enumerate(ROWS)]
    codes += [((TEST_BLINKS, step + 1), f"self-test {row[0]}") for step, row in enumerate(STEPS)]
    for code, name in codes:
        seen = shown(code, period_ms)
        assert seen == code, name
        assert seen not in by_code, f"{name} looks like {by_code.get(seen)}"
        by_code[seen] = name
    assert len(by_code) == words.ROWS + len(STEPS)


def test_no_code_is_dark_and_a_new_code_begins_at_its_beginning() -> None:
    blinker = Blinker()
    assert not any(blinker.step(1) for _ in range(5000))
    blinker.show((4, 5))
    for _ in range(2345):
        blinker.step(1)
    blinker.show((1, 2))
    seen = [blinker.step(1) for _ in range(799)]
    assert all(seen), "one long one first"
    blinker.show((1, 2))
    assert [blinker.step(1) for _ in range(3)] == [0, 0, 0], "the same code goes on"


#: what befalls a lit board -> the row that it latches
BEFALLS = {"plant.pack_read_gain": (1.5, "pack_wrong"), "limits.trip_cK": (1, "settings")}


@pytest.mark.parametrize("target", BEFALLS)
def test_the_board_blinks_the_first_cause_of_its_darkness(board, target: str) -> None:
    value, row = BEFALLS[target]
    twin = lit(board("gel_viewer"))
    assert not any(twin.level("blink") for _ in range(400) if twin.run(1))
    twin.strike(Event(0, target, value))
    twin.run(100)
    assert twin.look.cause == row
    assert blinked(twin) == words.blinks(ROWS.index(row))
