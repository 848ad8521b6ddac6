"""The linear stage: a pass MOSFET between pack and output."""

import math
from collections.abc import Callable
from typing import Any

import pytest
from scipy.optimize import brentq

from diodewright.plant import comparator

Maker = Callable[..., Any]
OWN_ohm = 0.05 + 0.05  # choke and shunt
DEAD = {"over_current_dead": 1, "over_voltage_dead": 1}


@pytest.fixture
def linear(rig: Maker) -> Maker:
    """Return a maker of rigs with a linear stage."""
    return lambda **changes: rig(stage_kind=1, **changes)


@pytest.mark.parametrize("soc", [1.0, 0.3])
def test_the_pack_gives_the_stages_current_whatever_its_voltage(linear: Maker, soc: float) -> None:
    made = linear(soc=soc, stage_idle_W=0.03)
    made.light(set_A=1.2)
    x = made.x
    assert x.dropout == 0 and x.stage_A == pytest.approx(1.2, rel=1e-6)
    assert x.pack_A - x.stage_A == pytest.approx((0.1 + 0.03) / x.pack_V, rel=1e-9)


def test_on_usb_the_pack_gives_the_stages_current_and_its_idling_only(linear: Maker) -> None:
    made = linear(usb=1, stage_idle_W=0)
    made.light()
    assert made.x.pack_A == made.x.stage_A


def test_the_pass_burns_what_the_output_leaves(linear: Maker) -> None:
    made = linear(stage_idle_W=0.03)
    made.light(set_A=1.2)
    x = made.x
    across_V = x.pack_V - x.output_V
    assert across_V > 3
    pass_W = across_V * x.stage_A - x.stage_A**2 * OWN_ohm
    assert x.pass_loss_W == pytest.approx(pass_W, rel=1e-12)
    assert x.stage_loss_W == pytest.approx(across_V * x.stage_A + 0.03, rel=1e-12)


def test_it_neither_ripples_nor_switches(linear: Maker) -> None:
    made, other = linear(), linear(switching_Hz=1e6, switching_edges_s=1e-6, high_side_ohm=5)
    made.light()
    other.light()
    assert made.x.ripple_A == 0 and made.x.stage_duty == 1
    assert made.x.diode_peak_A == pytest.approx(made.x.diode_A, rel=1e-6)
    assert other.x.stage_loss_W == made.x.stage_loss_W


def test_a_lower_forward_voltage_is_paid_for_by_the_pass(linear: Maker) -> None:
    made, low = linear(), linear(diode_spread_V=-0.35)
    made.light()
    low.light()
    assert low.x.diode_W < made.x.diode_W - 0.5
    assert low.x.pack_A == pytest.approx(made.x.pack_A, rel=1e-6)
    more_W = low.x.pass_loss_W - made.x.pass_loss_W
    assert more_W == pytest.approx(made.x.diode_W - low.x.diode_W, rel=1e-2)


def test_a_shorted_diode_puts_nearly_the_whole_pack_on_the_pass(linear: Maker) -> None:
    made = linear()
    made.light()
    before_W = made.x.pass_loss_W
    made.change(diode_short=1)
    made.ticks(5)
    assert made.x.latch == 0 and made.x.stage_A == pytest.approx(1.5, rel=1e-6)
    left_V = made.x.pack_V - 1.5 * (OWN_ohm + 0.02 + 0.05 + 0.02 + 0.02)
    assert made.x.pass_loss_W == pytest.approx(1.5 * left_V, rel=1e-3)
    assert made.x.pass_loss_W > 2.2 * before_W


@pytest.mark.parametrize("source_V", [4.2, 4.6, 5.0, 5.3])
def test_dropout_is_the_root_that_an_independent_solver_finds(
    linear: Maker, source_V: float
) -> None:
    made = linear(
        pack_kind=1,
        bench_V=source_V,
        bench_limit_A=50,
        bench_ohm=0.1,
        pass_ohm=0.08,
        diode_tempco_V_K=0,
        a_tempco_1_K=0,
        pass_tempco_1_K=0,
        duty_max=0.9,
        **DEAD,
    )
    made.light(ticks=60)
    x = made.x

    def balance_V(current_A: float) -> float:
        stage_A = current_A + x.output_V / 1e4
        pack_V = source_V - 0.16 * (stage_A + 0.12 / x.pack_V)
        path_ohm = 0.55 + 0.05 + 0.02 + 0.02
        return float(pack_V - stage_A * (0.08 + OWN_ohm) - 3.85 - current_A * path_ohm)

    assert x.dropout == 1 and x.stage_duty == 1
    assert x.diode_A == pytest.approx(brentq(balance_V, 0, 50, xtol=1e-14), rel=1e-6)
    assert x.pass_loss_W == pytest.approx(x.stage_A**2 * 0.08, rel=1e-9)


def test_it_holds_down_to_what_the_fully_driven_pass_drops(linear: Maker) -> None:
    needed_V = 3.85 + 1.0 * (0.55 + 0.09) + 1.0 * (OWN_ohm + 0.2) + 0.01 * 1.014
    for bench_V, dropout in ((needed_V + 0.01, 0), (needed_V - 0.02, 1)):
        made = linear(
            pack_kind=1,
            bench_V=bench_V,
            bench_limit_A=50,
            wiring_ohm=0,
            bench_ohm=0.01,
            pass_ohm=0.2,
            usb=1,
            diode_tempco_V_K=0,
            a_tempco_1_K=0,
            pass_tempco_1_K=0,
        )
        made.light(set_A=1.0)
        assert made.x.dropout == dropout, bench_V


def test_a_hot_channel_has_more_resistance_and_drops_out_earlier(linear: Maker) -> None:
    currents_A = []
    for sink_degC in (25, 125):
        made = linear(soc=0.0, pass_ohm=0.3, pass_tempco_1_K=0.01, pass_tau_s=0.001)
        made.put(sink_degC=sink_degC)
        made.light(ticks=40)
        assert made.x.dropout == 1
        assert made.x.pass_degC == pytest.approx(sink_degC, abs=1)
        pass_ohm = made.x.pass_loss_W / made.x.stage_A**2
        assert pass_ohm == pytest.approx(0.3 * (1 + 0.01 * (made.x.pass_degC - 25)), rel=1e-3)
        currents_A.append(made.x.diode_A)
    assert currents_A[1] < currents_A[0] - 0.05


def test_a_bench_supply_at_its_limit_folds_down_onto_the_fully_driven_pass(linear: Maker) -> None:
    made = linear(pack_kind=1, bench_V=7.4, bench_limit_A=0.5, pass_tempco_1_K=0)
    made.light(ticks=30)
    x = made.x
    assert x.pack_A == 0.5 and x.dropout == 1
    assert x.pack_V == pytest.approx(x.output_V + x.stage_A * (0.05 + OWN_ohm), rel=1e-9)
    assert x.stage_A == pytest.approx(0.5 - 0.12 / x.pack_V, rel=1e-5)


def test_a_bench_supply_below_its_limit_keeps_its_voltage(linear: Maker) -> None:
    made = linear(pack_kind=1, bench_V=7.4, bench_limit_A=1.6)
    made.light()
    assert made.x.dropout == 0
    assert made.x.pack_V == pytest.approx(7.4 - made.x.pack_A * 0.07, rel=1e-9)


@pytest.mark.parametrize("inductor_uH", [47, 150])
def test_a_shorted_pass_trips_and_the_peak_is_trip_plus_slope_times_delay(
    linear: Maker, inductor_uH: float
) -> None:
    made = linear(inductor_H=inductor_uH * 1e-6)
    made.light()
    pack_V = made.x.pack_V
    made.change(stage_stuck_full=1)
    made.step()
    diode_V = 3.85 + 0.55 * 1.75 - 0.003 * (made.x.junction_degC - 25)
    slope = (pack_V - diode_V) / (inductor_uH * 1e-6)
    assert made.x.diode_peak_A == pytest.approx(1.75 + slope * 1e-6, rel=1e-3)
    assert (made.x.latch, made.x.latch_cause) == (1, 1)
    assert made.x.diode_A == 0 and made.x.a_closed == 0


def test_with_the_inductance_of_leads_only_the_resistances_end_the_peak(linear: Maker) -> None:
    made, dead = linear(inductor_H=2e-7), linear(inductor_H=2e-7, **DEAD)
    for each in (made, dead):
        each.light()
        each.change(stage_stuck_full=1)
        each.step()
    assert made.x.latch == 1
    assert made.x.diode_peak_A == dead.x.diode_A > 3


def test_a_shorted_pass_knows_no_enable_and_no_temperature(linear: Maker) -> None:
    currents_A = []
    for pass_degC in (25, 300):
        made = linear(stage_stuck_full=1, pass_tau_s=1e4, pass_sink_K_W=0.01, **DEAD)
        made.put(enable_b=0, pass_degC=pass_degC)
        made.put(pulse_edge=1)
        made.step()
        assert made.x.b_on == 0 and made.x.dropout == 1
        currents_A.append(made.x.diode_A)
        assert made.x.pass_loss_W == pytest.approx(made.x.stage_A**2 * 0.05, rel=1e-9)
    assert currents_A[0] == currents_A[1] > 4


def test_an_opened_load_takes_the_energy_of_choke_and_leads(linear: Maker) -> None:
    rises_V = []
    for inductor_H in (47e-6, 1e-6):
        made = linear(output_clamp_V=1000, inductor_H=inductor_H)
        made.light()
        current_A = made.x.stage_A
        made.change(diode_open=1)
        made.step()
        assert (made.x.latch, made.x.latch_cause, made.x.b_on) == (1, 2, 0)
        trip_V = comparator.open_trip_V(made.p, current_A, 1000)
        expected_V = math.sqrt(trip_V**2 + inductor_H * current_A**2 / 1e-6)
        assert made.x.output_peak_V == pytest.approx(expected_V, rel=1e-3)
        rises_V.append(made.x.output_peak_V)
    assert rises_V[0] > rises_V[1] + 4


def test_a_dead_over_voltage_leaves_the_packs_voltage_on_the_output(linear: Maker) -> None:
    made = linear(over_voltage_dead=1, duty_max=0.9, usb=1, stage_idle_W=0)
    made.light()
    made.change(diode_open=1)
    made.ticks(5)
    for _ in range(40):
        made.put(pulse_edge=1)
        made.step()
        assert made.x.output_V == pytest.approx(made.x.pack_V, rel=1e-3)
    assert made.x.pack_A == pytest.approx(made.x.pack_V / 1e4, rel=1e-2)


def test_charging_a_capacitor_burns_as_much_in_the_pass_as_it_stores(linear: Maker) -> None:
    # Textbook: from a source at V a capacitor takes C V^2 and keeps half of it.
    made = linear(
        pack_kind=1, bench_V=8, bench_limit_A=20, usb=1, stage_idle_W=0, bleeder_ohm=1e7,
        diode_open=1, over_voltage_dead=1,
    )  # fmt: skip
    made.put(enable_b=1, duty=1.0 / 1.65)
    made.ticks(12)
    x = made.x
    stored_J = 0.5e-6 * x.output_V**2
    assert x.output_V == pytest.approx(8, rel=1e-2)
    assert x.pack_J == pytest.approx(2 * stored_J, rel=1e-2)
    assert x.pass_J == pytest.approx(stored_J, rel=1e-2)
    assert x.stage_J == pytest.approx(x.pass_J, rel=1e-9)


def test_a_large_output_capacitor_is_charged_no_faster_than_the_resistances_allow(
    linear: Maker,
) -> None:
    made = linear(output_F=1e-3, diode_open=1, stage_stuck_full=1, **DEAD)
    made.step()
    most_A = made.x.pack_ocv_V / (0.052 + 0.06 + 0.05 + OWN_ohm)
    assert made.x.output_V == pytest.approx(most_A * 0.00025 / 1e-3, rel=1e-2)
    assert made.x.pack_V > 0


def test_the_pass_heats_the_sink_that_it_shares_with_the_diode(fast_rig: Maker) -> None:
    made = fast_rig(stage_kind=1, mount_J_K=0.5, sink_J_K=1, pass_sink_K_W=3)
    made.light(set_A=0.8)
    made.ticks(60_000)
    x = made.x
    assert x.pass_loss_W > 2
    assert x.sink_degC - 30 == pytest.approx(5 * (x.heat_W + x.pass_loss_W), rel=1e-3)
    assert x.pass_degC - x.sink_degC == pytest.approx(3 * x.pass_loss_W, rel=1e-3)
    cool = fast_rig(mount_J_K=0.5, sink_J_K=1)
    cool.light(set_A=0.8)
    cool.ticks(60_000)
    assert x.mount_degC > cool.x.mount_degC + 10


def test_the_channel_follows_within_its_time_constant_and_cools_in_the_dark(linear: Maker) -> None:
    made = linear(pass_tau_s=0.05, sink_J_K=1e5, pass_sink_K_W=4)
    made.light(ticks=6)
    start_K = made.x.pass_rise_K
    made.ticks(50)
    end_K = 4 * made.x.pass_loss_W
    assert made.x.pass_rise_K == pytest.approx(end_K + (start_K - end_K) * math.exp(-1), rel=1e-2)
    made.put(enable_b=0)
    made.ticks(1)
    hot_K = made.x.pass_rise_K
    assert made.x.pass_loss_W == 0
    made.ticks(50)
    assert made.x.pass_rise_K == pytest.approx(hot_K * math.exp(-1), rel=1e-6)
    made.engine.settle(made.p, made.x)
    assert (made.x.pass_rise_K, made.x.pass_degC) == (0, 30)


def test_a_buck_has_no_pass(rig: Maker) -> None:
    made = rig()
    made.light()
    assert (made.x.pass_loss_W, made.x.pass_J, made.x.pass_rise_K) == (0, 0, 0)
