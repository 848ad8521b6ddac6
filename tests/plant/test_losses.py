"""Each loss is what its own formula says, and nothing is drawn or spent twice."""

from collections.abc import Callable
from typing import Any

import pytest

Maker = Callable[..., Any]


def test_a_held_stage_loses_what_its_resistances_edges_and_idling_take(rig: Maker) -> None:
    made = rig(
        high_side_ohm=0.08,
        low_side_ohm=0.03,
        inductor_ohm=0.06,
        own_shunt_ohm=0.04,
        switching_edges_s=5e-8,
        stage_idle_W=0.03,
    )
    made.light()
    x = made.x
    mean_A, duty = x.stage_A, x.stage_duty
    square_A2 = mean_A**2 + x.ripple_A**2 / 12
    conduction_W = square_A2 * (duty * 0.08 + (1 - duty) * 0.03 + 0.06 + 0.04)
    edges_W = 0.5 * x.pack_V * mean_A * 5e-8 * 400e3
    assert x.stage_loss_W == pytest.approx(conduction_W + edges_W + 0.03, rel=1e-4)
    on_V = x.pack_V - x.output_V - mean_A * (0.08 + 0.06 + 0.04)
    assert x.ripple_A == pytest.approx(on_V * duty / (47e-6 * 400e3), rel=1e-4)


def test_a_stage_in_dropout_loses_in_its_path_and_its_idling(rig: Maker) -> None:
    made = rig(soc=0.0, stage_idle_W=0.03)
    made.light(ticks=30)
    x = made.x
    assert x.dropout == 1 and x.diode_A > 0.1
    path_ohm = 0.05 + 0.05 + 0.05
    assert x.stage_loss_W == pytest.approx(x.stage_A**2 * path_ohm + 0.03, rel=1e-3)
    assert x.stage_A - x.diode_A == pytest.approx(x.output_V / 1e4, rel=1e-3)


def test_shunt_leads_and_cutoff_lose_i_squared_r(rig: Maker) -> None:
    made = rig(lead_ohm=0.03, monitor_ohm=0.06, ambient_degC=25, a_air_K_W=0.1)
    made.light()
    square_A2 = made.x.diode_A**2
    assert made.x.path_loss_W == pytest.approx(square_A2 * 0.09, rel=1e-6)
    assert made.x.a_loss_W == pytest.approx(square_A2 * 0.02, rel=1e-3)
    volts = made.x.diode_V + made.x.diode_A * (0.09 + 0.02)
    assert made.x.output_V == pytest.approx(volts, rel=1e-4)


def test_charging_an_open_output_takes_its_energy_from_the_pack(rig: Maker) -> None:
    made = rig(diode_open=1, over_voltage_dead=1)
    made.put(enable_b=1, duty=1.0 / 1.65)
    made.ticks(3)
    before_J = made.x.pack_J - made.x.wiring_J - made.x.controller_J - made.x.stage_J
    made.ticks(4)
    x = made.x
    taken_J = x.pack_J - x.wiring_J - x.controller_J - x.stage_J - before_J
    stored_J = 0.5 * 1e-6 * x.output_V**2
    assert x.output_V > 8
    assert taken_J == pytest.approx(x.output_J + stored_J, abs=2e-9)
    assert 0 < x.output_J < 0.5 * x.output_V**2 / 1e4 * 0.008


def test_an_open_output_held_up_costs_the_bleeders_power(rig: Maker) -> None:
    made = rig(over_voltage_dead=1)
    made.light(ticks=20)
    made.change(diode_open=1)
    made.ticks(20)
    start_J = made.x.output_J
    made.ticks(100)
    bled_J = made.x.output_V**2 / 1e4 * 0.1
    assert made.x.output_J - start_J == pytest.approx(bled_J, rel=1e-3)
    load_W = made.x.output_V**2 / 1e4 + 0.02 + 0.1
    assert made.x.pack_V * made.x.pack_A == pytest.approx(load_W, rel=1e-3)
    assert made.x.ripple_A == 0


def test_a_dark_plant_draws_its_controller_indicator_and_idling_stage_only(rig: Maker) -> None:
    made = rig(indicator=1)
    made.ticks(5)
    assert made.x.pack_V * made.x.pack_A == pytest.approx(0.1 + 0.005 * 3.3, rel=1e-9)
    made.put(enable_b=1)
    made.ticks(1)
    assert made.x.pack_V * made.x.pack_A == pytest.approx(0.12 + 0.005 * 3.3, rel=1e-9)
    powered = rig(indicator=1, usb=1)
    powered.ticks(5)
    assert powered.x.pack_A == 0
