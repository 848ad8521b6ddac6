"""What fault parameters do to the parts: each changes what its meaning says and nothing healthy."""

import struct
from collections.abc import Callable
from typing import Any

import pytest

from diodewright.sim.seam import input_levels, routed

Maker = Callable[..., Any]
HEALTHY = 255


def test_a_frozen_set_input_goes_on_asking_for_what_it_asks(rig: Maker) -> None:
    made = rig()
    made.light(1.0)
    asked_A = made.x.set_A
    made.change(set_frozen=1)
    made.light(0.2)
    assert asked_A == pytest.approx(1.0, rel=1e-3)
    assert made.x.set_A == pytest.approx(asked_A, rel=1e-6)
    made.change(set_frozen=0)
    made.light(0.2)
    assert made.x.set_A == pytest.approx(0.2, rel=1e-3)


@pytest.mark.parametrize("gate", ["key", "interlock"])
def test_dead_gate_logic_opens_nothing_and_still_lets_the_latch_act(rig: Maker, gate: str) -> None:
    made = rig(gates_dead=1)
    made.light()
    made.change(**{gate: 0})
    made.put(pulse_edge=1)
    made.step()
    assert (made.x.a_closed, made.x.b_on) == (1, 1)
    made.put(trip_inject=1, pulse_edge=1)
    made.step()
    assert (made.x.a_closed, made.x.b_on) == (0, 0)


@pytest.mark.parametrize("control", ["trigger", "key", "interlock"])
def test_a_stuck_control_reads_closed_and_gates_nothing_whatever_the_hand_does(
    rig: Maker, control: str
) -> None:
    made = rig(trigger=1)
    made.light()
    made.change(**{f"{control}_stuck": 1, control: 0})
    made.put(pulse_edge=1)
    made.step()
    assert (made.x.a_closed, made.x.b_on) == (1, 1)
    assert input_levels(made.p, made.x) == 7
    made.change(**{f"{control}_stuck": 0})
    assert input_levels(made.p, made.x) == 7 - {"trigger": 1, "key": 2, "interlock": 4}[control]


def test_half_an_inductance_doubles_the_ripple_and_the_rise_behind_a_trip(rig: Maker) -> None:
    """dI = V D / (L f) and slope = V / L: both as 1 / L."""
    whole, half = rig(), rig(inductor_factor=0.5)
    for made in (whole, half):
        made.light()
    assert half.x.ripple_A == pytest.approx(2 * whole.x.ripple_A, rel=1e-3)
    over_A = []
    for factor in (1.0, 0.5):
        made = rig(inductor_factor=factor, ripple_share=0)
        made.light()
        made.change(stage_stuck_full=1)
        over_A.append(made.peaks(1)["diode_peak_A"] - 1.75)
    assert over_A[1] == pytest.approx(2 * over_A[0], rel=1e-3)


@pytest.mark.parametrize(("factor", "dark"), [(0.7, True), (1.0, False), (1.5, False)])
def test_a_drifted_over_current_trip_acts_at_its_factor(
    rig: Maker, factor: float, dark: bool
) -> None:
    made = rig(trip_A_factor=factor)
    made.light(1.5)
    assert (made.x.latch > 0) is dark
    assert not dark or made.x.latch_cause == 1


@pytest.mark.parametrize(("factor", "dark"), [(0.8, True), (1.0, False), (1.25, False)])
def test_a_drifted_over_voltage_trip_acts_at_its_factor(
    rig: Maker, factor: float, dark: bool
) -> None:
    """The light stands between 4.4 V and 5.5 V at its output."""
    made = rig(trip_V_factor=factor)
    made.light(1.5)
    assert (made.x.latch > 0) is dark
    assert not dark or made.x.latch_cause == 2


@pytest.mark.parametrize("factor", [1.0, 1.25])
def test_an_open_load_ends_at_the_drifted_over_voltage_trip(rig: Maker, factor: float) -> None:
    made = rig(trip_V_factor=factor, diode_open=1, output_F=1e-6, output_clamp_V=5.5 * factor)
    made.put(enable_b=1, duty=0.1)
    tops = made.peaks(20)
    assert made.x.latch_cause == 2
    assert tops["output_peak_V"] == pytest.approx(5.5 * factor, rel=0.05)


def test_a_multiplexer_gives_its_channels_in_order_in_health() -> None:
    assert [routed(k, HEALTHY, 0, 0, 0) for k in range(5)] == [0, 1, 2, 3, 4]


@pytest.mark.parametrize(
    ("words", "given"),
    [
        ((2, 0, 0, 0), [2, 2, 2, 2, 2]),
        ((HEALTHY, 1, 0, 0), [0, 0, 2, 2, 4]),
        ((HEALTHY, 2, 0, 0), [0, 1, 0, 1, 4]),
        ((HEALTHY, 0, 1, 0), [4, 0, 1, 2, 3]),
        ((HEALTHY, 0, 0, 1), [0, 1, 2, 4, 3]),
    ],
    ids=["stuck", "bit 0 low", "bit 1 low", "one late", "swapped"],
)
def test_a_multiplexer_that_fails_gives_another_channel(
    words: tuple[int, int, int, int], given: list[int]
) -> None:
    assert [routed(k, *words) for k in range(5)] == given


@pytest.mark.xdist_group("plant_compiled")
@pytest.mark.parametrize("kind", [0, 1, 2], ids=["buck", "linear", "gated"])
def test_both_engines_give_the_same_bits_under_each_of_these_faults(
    rig: Maker, fast_rig: Maker, kind: int
) -> None:
    faults = {
        "set_frozen": 1,
        "gates_dead": 1,
        "inductor_factor": 0.5,
        "trip_A_factor": 0.9,
        "trip_V_factor": 0.8,
    }
    seen = set()
    for name, value in faults.items():
        rigs = rig(stage_kind=kind), fast_rig(stage_kind=kind)
        for made in rigs:
            made.light(1.0, ticks=10)
            made.change(**{name: value})
            made.light(1.5, ticks=5)
            made.change(key=0, stage_stuck_full=1)
            made.ticks(5)
        one, other = (struct.pack(f"<{len(m.state.flat)}d", *m.state.flat) for m in rigs)
        assert one == other, name
        seen.add(one)
    assert len(seen) >= 3, "faults that change nothing compare nothing"
