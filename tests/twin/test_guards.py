"""What only guards: found dead at power-on where the catalogue says so, or lit over unseen.

Each row is broken before power-on, so that the self-test meets it as a builder's would.
"""

import pytest

from diodewright.build import load
from diodewright.faults import ENGINE, Fault
from diodewright.rehearse.cases import lacks
from diodewright.twin import Event, Twin
from diodewright.twin.levels import translated
from stories import lit, lit_ticks, press

#: What holds its last value has none at power-on: here it holds a plausible one.
HELD = {
    "check-frozen": ("true.check_held_V", 1.25),
    "sink-ntc-frozen": ("true.sink_held_V", 1.3),
    # the latch powers up tripped: a comparator that is dead can't be told by that
    "overcurrent-dead": ("true.latch", 0.0),
    "latch-dead": ("true.latch", 0.0),
}
#: What is not the settings' at all -> build, what is fitted instead.
FOREIGN = {
    "pack-few": ("gel_viewer", (("plant.cells_series", 1),)),
    "pack-many": (
        "gel_viewer",
        (("plant.pack_kind", 1), ("plant.bench_V", 16.8), ("plant.bench_limit_A", 5)),
    ),
    "pack-many, one cell": (
        "cave_lamp",
        (("plant.pack_kind", 1), ("plant.bench_V", 8.4), ("plant.bench_limit_A", 5)),
    ),
    "diode-wrong, half": ("smoke_tunnel", (("plant.diode_spread_V", -2.6),)),
    "diode-wrong, twice": ("smoke_tunnel", (("plant.diode_spread_V", 3.0),)),
    "diode-wrong, LED": ("cave_lamp", (("plant.diode_spread_V", -1.8),)),
}


def rows(guard: str) -> list[object]:
    return [pytest.param(row, id=row.id) for row in ENGINE if row.guard == guard]


def broken(twin: Twin, fault: Fault) -> Twin:
    """Break the part before the first tick."""
    assert not lacks(twin.build, fault)
    for target, value in (*fault.changes, *([HELD[fault.id]] if fault.id in HELD else [])):
        twin.strike(translated(Event(0, target, value)))
    return twin


@pytest.mark.parametrize("fault", rows("seen at start"))
def test_a_guard_whose_death_is_seen_at_start_bars_the_light(board, fault: Fault) -> None:
    twin = broken(board("smoke_tunnel"), fault)
    twin.run(1500)
    press(twin)
    looks = twin.run(500)
    assert not any(look.mode for look in looks), "the law was let run"
    assert not lit_ticks(looks)


@pytest.mark.parametrize("fault", rows("latent"))
def test_a_latent_guard_may_be_dead_and_the_light_comes_all_the_same(board, fault: Fault) -> None:
    name = "smoke_tunnel" if lacks(load("gel_viewer"), fault) else "gel_viewer"
    twin = lit(broken(board(name), fault))
    assert twin.look.diode_A > 0.5


@pytest.mark.parametrize("fitted", FOREIGN)
def test_what_no_part_of_the_board_stands_for_never_lights(board, fitted: str) -> None:
    name, changes = FOREIGN[fitted]
    twin = board(name)
    for target, value in changes:
        twin.strike(Event(0, target, value))
    looks = twin.run(1500)
    press(twin)
    looks += twin.run(3000)
    assert not lit_ticks(looks)
