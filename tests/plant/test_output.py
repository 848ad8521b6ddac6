"""The output node: hot reconnection, bleeding down, the self-test's trickle."""

from collections.abc import Callable
from typing import Any

import pytest

Maker = Callable[..., Any]


def test_a_contact_re_made_onto_a_charged_output_gives_the_closed_form_peak(rig: Maker) -> None:
    made = rig(over_voltage_dead=1, over_current_dead=1)
    made.light()
    made.change(diode_open=1)
    made.ticks(5)
    charged_V = made.x.output_V
    knee_V = 3.85 - 0.003 * (made.x.junction_degC - 25)
    loop_ohm = 0.55 + 0.05 + 0.02 + 0.02 * (1 + 0.005 * (made.x.a_degC - 25))
    made.change(diode_open=0)
    made.step()
    assert made.x.diode_peak_A == pytest.approx((charged_V - knee_V) / loop_ohm, rel=1e-9)
    assert made.x.diode_peak_A > 6
    made.step()
    assert made.x.diode_peak_A < 2


def test_a_surge_trips_the_comparator_but_too_late_for_itself(rig: Maker) -> None:
    made = rig(over_voltage_dead=1)
    made.light()
    made.change(diode_open=1)
    made.ticks(5)
    made.change(diode_open=0)
    made.step()
    assert (made.x.latch, made.x.latch_cause) == (1, 1)
    assert made.x.diode_peak_A > 6 and made.x.diode_A == 0
    knee_V = 3.85 - 0.003 * (made.x.junction_degC - 25)
    assert made.x.output_V < knee_V + 0.1


def test_the_diodes_voltage_is_the_outputs_in_the_dark_and_none_with_the_path_open(
    rig: Maker,
) -> None:
    made = rig()
    made.light()
    made.put(enable_b=0)
    made.ticks(2)
    assert made.x.diode_V == made.x.output_V > 3
    made.change(a_open=1)
    made.ticks(1)
    assert made.x.diode_V == 0 and made.x.output_V > 2
    driven = rig(over_voltage_dead=1)
    driven.light()
    driven.change(diode_open=1)
    driven.ticks(1)
    assert driven.x.diode_V == 0 and driven.x.output_V > 7


def test_an_ordinary_start_has_no_surge(rig: Maker) -> None:
    made = rig()
    made.put(enable_b=1, duty=0.1 / 1.65)
    assert made.ticks(30) < 0.2
    assert made.peaks(1)["output_peak_V"] == pytest.approx(made.x.output_V, rel=1e-3)


def test_the_highest_output_of_a_sub_step_counts_where_it_rises(rig: Maker) -> None:
    made = rig()
    made.put(enable_b=1, duty=1.5 / 1.65)
    while made.x.diode_A == 0:
        made.put(pulse_edge=1)
        made.step()
    assert made.x.output_peak_V == made.x.output_V > 4


def test_a_closed_before_the_bleeder_is_done_finds_a_charged_output(rig: Maker) -> None:
    made = rig()
    made.light()
    made.change(diode_open=1)
    made.ticks(1)
    made.put(enable_b=0, latch_reset=1)
    made.change(diode_open=0)
    early_A = made.ticks(1)
    assert early_A > 4
    assert made.x.latch == 1 and made.x.output_V < 4
    patient = rig()
    patient.light()
    patient.change(diode_open=1)
    patient.ticks(1)
    patient.put(enable_b=0)
    patient.change(diode_open=0)
    patient.ticks(30)
    patient.put(latch_reset=1)
    assert patient.ticks(1) == 0


def test_after_b_goes_off_the_output_falls_to_the_knee_and_on_by_the_bleeder(rig: Maker) -> None:
    made = rig()
    made.light()
    made.put(enable_b=0)
    made.step()
    knee_V = 3.85 - 0.003 * (made.x.junction_degC - 25)
    assert made.x.output_V == pytest.approx(knee_V * 0.9753, rel=2e-3)
    assert made.x.diode_A == 0
    made.ticks(60)
    assert made.x.output_V < 0.02


def test_the_trickle_tells_a_open_a_closed_and_a_short(rig: Maker) -> None:
    opened = rig(trickle=1, latch=1, trickle_clamp_V=4.2)
    opened.ticks(60)
    assert opened.x.output_V == pytest.approx(4.2, rel=1e-2)
    closed = rig(trickle=1, trickle_clamp_V=4.2)
    closed.ticks(60)
    assert closed.x.output_V == pytest.approx(3.84, abs=0.01)
    assert 0.001 < closed.x.diode_A < 0.002
    assert closed.x.light_W == 0
    shorted = rig(trickle=1, trickle_clamp_V=4.2, diode_short=1)
    shorted.ticks(60)
    assert shorted.x.output_V < 0.001
    missing = rig(trickle=1, trickle_clamp_V=4.2, diode_open=1)
    missing.ticks(60)
    assert missing.x.output_V == pytest.approx(4.2, rel=1e-2)


def test_a_too_weak_stage_never_reaches_the_knee(rig: Maker) -> None:
    made = rig(bleeder_ohm=1000)
    made.put(enable_b=1, duty=0.002 / 1.65)
    made.ticks(50)
    assert made.x.diode_A == 0
    assert made.x.output_V == pytest.approx(2.0, rel=1e-2)


def test_zero_duty_with_the_stage_left_enabled_ends_dark(rig: Maker) -> None:
    made = rig()
    made.light()
    made.put(duty=0)
    made.ticks(20)
    assert made.x.diode_A == 0 and made.x.b_on == 1


@pytest.mark.xdist_group("plant_compiled")
def test_what_has_decayed_beyond_any_part_is_gone_and_costs_no_time(
    fast_rig: Callable[..., Any],
) -> None:
    made = fast_rig()
    made.put(enable_b=1, duty=1.2 / 1.65)
    made.ticks(50)
    assert made.x.output_V > 3
    made.put(enable_b=0, duty=0)
    made.ticks(30_000)
    assert (made.x.output_V, made.x.junction_rise_K, made.x.monitor_A) == (0, 0, 0)
