"""Comparators: what they catch within a sub-step, and what stays when they are dead."""

import math
from collections.abc import Callable
from typing import Any

import pytest

from diodewright.plant import comparator
from diodewright.plant.params import STATE

Maker = Callable[..., Any]


def test_the_latch_powers_up_tripped_and_needs_an_edge(rig: Maker) -> None:
    assert next(row for row in STATE if row.name == "latch").start == 1
    made = rig(latch=1)
    made.light(ticks=20)
    assert made.x.diode_A == 0
    made.put(latch_reset=1)
    made.ticks(20)
    assert made.x.diode_A > 1.4
    assert made.x.latch_reset == 0


def test_a_stage_stuck_full_trips_and_the_peak_is_trip_plus_slope_times_delay(rig: Maker) -> None:
    made = rig()
    made.light()
    pack_V = made.x.pack_V
    made.change(stage_stuck_full=1)
    made.step()
    rise_K = made.x.junction_degC - 25
    diode_V = 3.85 + 0.55 * 1.75 - 0.003 * rise_K
    slope = (pack_V - diode_V) / 47e-6
    assert made.x.diode_peak_A == pytest.approx(1.75 + slope * 1e-6, rel=1e-3)
    assert (made.x.latch, made.x.latch_cause) == (1, 1)
    assert made.x.diode_A == 0 and made.x.light_W == 0 and made.x.a_closed == 0


@pytest.mark.parametrize(
    ("inductor_uH", "delay_us", "survives"), [(47, 1, True), (47, 5, False), (22, 1, False)]
)
def test_the_example_survives_1_us_at_47_uH_only(
    rig: Maker, inductor_uH: float, delay_us: float, survives: bool
) -> None:
    # Worked by hand for the example: absolute maximum 2.0 A, trip at most 1.82 A, full pack,
    # the lowest forward voltage (a low part on a mount at the end of its cutback).
    made = rig(
        trip_A=1.82,
        inductor_H=inductor_uH * 1e-6,
        trip_delay_s=delay_us * 1e-6,
        diode_spread_V=-0.35,
    )
    made.put(mount_degC=56)
    made.light(set_A=0.1)
    made.change(stage_stuck_full=1)
    made.step()
    assert (made.x.diode_peak_A < 2.0) is survives


def test_a_trip_never_exceeds_where_the_current_was_heading(rig: Maker) -> None:
    p = rig(trip_delay_s=1e-3).p
    assert comparator.trip_peak_A(p, 1.75, 8.0, 4.5, 1.9) == 1.9
    assert comparator.trip_peak_A(p, 1.75, 4.0, 4.5, 1.9) == 1.75


def test_the_ripple_counts_for_the_trip(rig: Maker) -> None:
    quiet = rig(trip_A=1.53, ripple_share=0)
    quiet.light()
    assert quiet.x.latch == 0
    rippled = rig(trip_A=1.53, ripple_share=1)
    rippled.light()
    assert (rippled.x.latch, rippled.x.latch_cause) == (1, 1)


def test_a_dead_comparator_leaves_the_current_to_the_resistances(rig: Maker) -> None:
    made = rig(over_current_dead=1, over_voltage_dead=1)
    made.light()
    made.change(stage_stuck_full=1)
    peak_A = made.ticks(5)
    assert made.x.latch == 0
    assert peak_A > 3.0
    assert made.x.dropout == 1


def test_a_shorted_cutoff_and_a_stuck_stage_together_defeat_the_latch(rig: Maker) -> None:
    made = rig(a_short=1)
    made.light()
    made.change(stage_stuck_full=1)
    made.ticks(2)
    assert made.x.latch == 1
    assert made.x.diode_A > 3


def test_a_reset_onto_a_standing_fault_trips_again_at_once(rig: Maker) -> None:
    made = rig(own_shunt_gain=0.5)
    made.light()
    assert made.x.latch == 1
    made.put(latch_reset=1)
    made.ticks(10)
    assert made.x.latch == 1 and made.x.diode_A == 0


def test_the_first_cause_is_kept(rig: Maker) -> None:
    made = rig(own_shunt_gain=0.5)
    made.light()
    made.put(trip_inject=1)
    made.ticks(1)
    assert made.x.latch_cause == 1
    made.put(latch_reset=1, trip_inject=1)
    made.ticks(1)
    assert (made.x.latch, made.x.latch_cause) == (1, 3)


@pytest.mark.parametrize(
    ("changed", "latched"),
    [
        ({}, 1),
        ({"trip_A_factor": 1.04}, 1),
        ({"trip_A_factor": 1.06}, 0),
        ({"trip_delay_s": 1.9e-6}, 1),
        ({"trip_delay_s": 2.1e-6}, 0),
    ],
)
def test_an_injected_pulse_is_answered_by_a_comparator_of_its_height_and_speed_alone(
    rig: Maker, changed: dict[str, float], latched: int
) -> None:
    made = rig(trip_A=1.8, inject_A=1.89, inject_s=2e-6, trip_delay_s=1e-6)
    made.change(**changed)
    made.put(latch_reset=1)
    made.ticks(1)
    assert made.x.latch == 0
    made.put(trip_inject=1)
    made.ticks(1)
    assert made.x.latch == latched


def test_an_opened_load_trips_on_over_voltage_and_empties_by_the_bleeder(rig: Maker) -> None:
    made = rig()
    made.light()
    made.change(diode_open=1)
    made.step()
    assert (made.x.latch, made.x.latch_cause) == (1, 2)
    assert made.x.a_closed == 0 and made.x.b_on == 0 and made.x.diode_A == 0
    first_V = made.x.output_V
    for _ in range(40):
        made.step()
    assert made.x.output_V == pytest.approx(first_V * math.exp(-0.01 / 0.01), rel=1e-9)


def test_without_a_clamp_the_inductor_drives_an_open_output_up(rig: Maker) -> None:
    made = rig(output_clamp_V=1000)
    made.light()
    current_A = made.x.stage_A
    made.change(diode_open=1)
    made.step()
    trip_V = 5.5 + current_A * 1e-6 / 1e-6
    expected_V = math.sqrt(trip_V**2 + 47e-6 * current_A**2 / 1e-6)
    assert made.x.output_peak_V == pytest.approx(expected_V, rel=1e-3)
    clamped = rig(output_clamp_V=8)
    clamped.light()
    clamped.change(diode_open=1)
    clamped.step()
    assert clamped.x.output_peak_V == 8


def test_after_an_over_current_trip_the_inductor_empties_into_the_output(rig: Maker) -> None:
    made = rig(output_clamp_V=1000)
    made.light()
    made.change(own_shunt_gain=0)
    made.step()
    current_A = made.x.diode_peak_A
    knee_V = 3.85 - 0.003 * (made.x.junction_degC - 25)
    before_V = knee_V + current_A * (0.55 + 0.05 + 0.02 + 0.02)
    expected_V = math.sqrt(before_V**2 + 47e-6 * current_A**2 / 1e-6)
    assert made.x.output_peak_V == pytest.approx(expected_V, rel=2e-3)


def test_a_dead_over_voltage_leaves_the_packs_voltage_on_the_output(rig: Maker) -> None:
    made = rig(over_voltage_dead=1)
    made.light()
    made.change(diode_open=1)
    made.ticks(5)
    assert made.x.latch == 0
    assert made.x.output_V == pytest.approx(made.x.pack_V, rel=5e-3)


def test_a_latch_reset_over_a_charged_output_sets_again_and_leaves_it_bleeding(
    rig: Maker,
) -> None:
    made = rig()
    made.light()
    made.change(diode_open=1)
    made.ticks(1)
    made.put(enable_b=0, latch_reset=1)
    before_V = made.x.output_V
    assert before_V > 5.5
    made.step()
    assert made.x.latch == 1
    assert made.x.output_V == pytest.approx(before_V * math.exp(-0.00025 / 0.01), rel=1e-9)


def test_an_aged_diode_with_too_much_voltage_trips_while_lit(rig: Maker) -> None:
    made = rig(diode_spread_V=1.2)
    made.put(enable_b=1, duty=1.5 / 1.65)
    peak_A = made.ticks(20)
    assert (made.x.latch, made.x.latch_cause) == (1, 2)
    assert made.x.diode_A == 0
    # it tripped on the way up, where forward voltage and path reach 5.5 V
    trip_A = (5.5 - 3.85 - 1.2 + 0.003 * 5) / (0.55 + 0.05 + 0.02 + 0.02)
    slope = (8.4 - 5.5) / 47e-6
    assert peak_A == pytest.approx(trip_A + slope * 1e-6, rel=0.02)
