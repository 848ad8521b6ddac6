"""The whole program on its board and the law alone in the engine do the same, tick for tick."""

import pytest

from diodewright.build import load
from diodewright.derive import criteria
from diodewright.faults import ENGINE, Fault
from diodewright.judge import judge
from diodewright.rehearse.cases import lacks, strike_events
from diodewright.twin import Event, Twin
from diodewright.twin.levels import Meeting, side_by_side
from stories import lit, press, release, until

#: Strikes this long after both levels part [ms], watched for so long.
STRIKE, WATCHED = 100, 2000
NAMES = ("smoke_tunnel", "cave_lamp", "gel_viewer")


def one_turn_later(met: Meeting, _: Twin) -> None:
    """A main loop that hangs had its turn just before: its heartbeat is a tick younger."""
    assert len(met.differ) == 1


def without_supply(met: Meeting, twin: Twin) -> None:
    """The law alone goes on without a chip; on the board nothing runs, and nothing lights."""
    begin = twin.now - met.ticks
    assert [cause for _, cause in twin.resets] == [1]
    assert min(met.differ) >= twin.resets[0][0] - begin - 1
    assert met.board["last_lit_s"] == met.alone["last_lit_s"]


#: Catalogue rows that differ between the levels by design -> what may differ.
BY_DESIGN = {
    "main-hung": one_turn_later,
    "pack-lost": without_supply,
    "freewheel-short": without_supply,
    "rail-lost": without_supply,
}


def rows(name: str) -> list[object]:
    """Return every fault that a build can have; the first build's first of each part at once."""
    parts = [row.part for row in ENGINE]
    firsts = {ENGINE[parts.index(part)].id for part in parts} | BY_DESIGN.keys()
    at_once = firsts if name == NAMES[0] else set()
    return [
        pytest.param(
            name,
            fault,
            id=f"{name}-{fault.id}",
            marks=() if fault.id in at_once else (pytest.mark.long,),
        )
        for fault in ENGINE
        if not lacks(load(name), fault)
    ]


def meeting(twin: Twin, fault: Fault) -> Meeting:
    return side_by_side(twin, strike_events(fault, STRIKE), WATCHED)


@pytest.mark.parametrize(("name", "fault"), [row for name in NAMES for row in rows(name)])
def test_a_fault_ends_alike_on_the_board_and_in_the_engine(board, name: str, fault: Fault) -> None:
    twin = lit(board(name))
    met = meeting(twin, fault)
    assert met.ticks == WATCHED
    if fault.id in BY_DESIGN:
        BY_DESIGN[fault.id](met, twin)
    else:
        assert met.differ == (), met.first
        assert met.furthest_A == 0.0
        assert met.board == met.alone
    verdicts = [judge(criteria(twin.build), seen, "fault") for seen in (met.board, met.alone)]
    assert [row.status for row in verdicts[0]] == [row.status for row in verdicts[1]]


def test_a_whole_use_is_the_same_on_both_levels(board) -> None:
    """From the press to the dark behind the release, the armed marker written before."""
    twin = board("smoke_tunnel")
    until(twin, "dark")
    press(twin)
    until(twin, "delay")
    release(twin)
    twin.run(200)
    assert twin.look.mode == "dark"
    events = [(100, 1), (7000, 0), (8000, 1), (8100, 0)]
    met = side_by_side(twin, [Event(at, "plant.trigger", on) for at, on in events], 9000)
    assert met.differ == (), met.first
    assert met.modes[:5] == ("dark", "delay", "close", "start", "soft_start")
    assert met.board == met.alone


def test_another_law_on_the_board_is_told_from_the_engines(board, edited) -> None:
    line = "    duty = wanted * limits"
    firmware = edited("law.py", line, f"    state[_S_DRIVE] = wanted - (wanted >> 9)\n{line}")
    met = meeting(lit(board("gel_viewer", firmware=firmware)), ENGINE[0])
    assert met.differ
    assert "law alone" in met.first
