"""The self-test finds every broken part of the circuit before light, and lights nothing itself."""

import pytest

from diodedriver.selftest import STEPS
from diodewright.build import load
from diodewright.twin import Event
from stories import blinked, lit, lit_ticks, modes, press, until

BUILDS = ("smoke_tunnel", "cave_lamp", "gel_viewer", "smoke_tunnel_bench", "smoke_tunnel_dummy")
NAMES = [row[0] for row in STEPS]
#: What is broken from power-on -> the step that must find it.
BROKEN = {
    "mount-ntc-open": ((("plant.mount_read_fault", 1),), "dark"),
    "mount-ntc-short": ((("plant.mount_read_fault", 2),), "dark"),
    "sink-ntc-open": ((("plant.sink_read_fault", 1),), "dark"),
    "reference-off": ((("plant.check_read_gain", 0.9),), "dark"),
    "pack-reads-high": ((("plant.pack_read_gain", 1.3),), "dark"),
    "monitor-offset": ((("plant.current_read_offset_V", 0.3),), "dark"),
    "multiplexer-stuck": ((("chip.mux_stuck", 0),), "dark"),
    "indicator-open": ((("plant.indicator_open", 1),), "lamp"),
    "over-current-dead": ((("plant.over_current_dead", 1), ("true.latch", 0)), "trip"),
    "latch-not-reset": ((("plant.reset_stuck", 1),), "reset"),
    "b-stuck-on": ((("plant.b_stuck_on", 1),), "stage off"),
    "stage-stuck-full": ((("plant.stage_stuck_full", 1), ("plant.b_stuck_on", 1)), "empty"),
    "a-shorted": ((("plant.a_short", 1),), "a open"),
    "trickle-dead": ((("plant.trickle_A", 0),), "a open"),
    "a-dead": ((("plant.a_open", 1),), "diode"),
    "diode-open": ((("plant.diode_open", 1),), "diode"),
    "diode-short": ((("plant.diode_short", 1),), "diode"),
    "enable-never-drops": ((("plant.pulse_hold_s", 100),), "enable"),
    "stage-dead": ((("plant.stage_stuck_off", 1),), "open load"),
    "over-voltage-dead": ((("plant.over_voltage_dead", 1),), "open load"),
}


@pytest.mark.parametrize("name", BUILDS)
def test_a_good_circuit_passes_and_nothing_lights(board, name: str) -> None:
    twin = board(name)
    looks = until(twin, "dark", most=1500)
    assert modes(looks) == ["boot", "dark"]
    assert not lit_ticks(looks)
    assert twin.tally.flat[twin_row("peak_current_A")] < 0.0021  # the trickle, 2 mA


def twin_row(name: str) -> int:
    from diodewright.plant.params import index_of
    from diodewright.sim.tally import TALLY

    return index_of(TALLY)[name]


def test_a_pack_below_the_over_voltage_trip_passes_and_lights(board) -> None:
    """A linear stage lifts nothing above its pack: half charged, it never meets the trip."""
    twin = lit(board("cave_lamp", soc=0.5))
    assert twin.true("pack_V") < load("cave_lamp").comparator.over_voltage_V


@pytest.mark.parametrize(
    ("part", "soc"), [("over_voltage_dead", 1.0), ("stage_stuck_off", 0.5), ("stage_stuck_off", 1)]
)
def test_a_linear_stage_that_does_not_reach_what_its_pack_gives_fails(board, part, soc) -> None:
    twin = board("cave_lamp", soc=soc)
    twin.strike(Event(0, f"plant.{part}", 1))
    twin.run(1500)
    assert not twin.look.mode
    assert blinked(twin) == (5, NAMES.index("open load") + 1)


@pytest.mark.parametrize("broken", BROKEN)
def test_a_broken_circuit_never_lights_and_the_step_is_named_by_blinks(board, broken: str) -> None:
    changes, step = BROKEN[broken]
    twin = board("smoke_tunnel")
    for target, value in changes:
        twin.strike(Event(0, target, value))
    twin.run(3000)
    press(twin)
    looks = twin.run(3000)
    assert not any(look.mode for look in looks), "the law was let run"
    assert not lit_ticks(looks)
    assert blinked(twin) == (5, NAMES.index(step) + 1)
