"""The diode as a part of the example, and its bounds."""

from collections.abc import Callable
from typing import Any

import pytest

from diodewright.plant import diode

Maker = Callable[..., Any]


def test_the_example_worked_by_hand_gives_its_light_and_heat(rig: Maker) -> None:
    # 1.5 A at a junction of 79 degC: 0.82 W of light, 5.95 W of heat.
    made = rig()
    made.put(diode_A=1.5, junction_degC=79)
    made.x.diode_V = diode.forward_V(made.p, diode.knee_V(made.p, made.x), 1.5)
    diode.shine(made.p, made.x)
    assert made.x.light_W == pytest.approx(0.82, abs=0.005)
    assert made.x.heat_W == pytest.approx(5.95, abs=0.01)
    assert made.x.light_W + made.x.heat_W == pytest.approx(made.x.diode_V * 1.5, rel=1e-12)


def test_voltage_rises_strictly_from_the_knee(rig: Maker) -> None:
    p = rig(diode_b_V=0.1).p
    volts = [diode.forward_V(p, p.diode_knee_V, 1e-6 * 1.5**k) for k in range(36)]
    assert volts == sorted(set(volts))
    assert diode.forward_V(p, p.diode_knee_V, 0.0) == p.diode_knee_V


def test_slope_is_the_derivative_of_the_voltage(rig: Maker) -> None:
    p = rig(diode_b_V=0.1).p
    for current_A in (0.001, 0.1, 1.0):
        step_A = 1e-6 * current_A
        high, low = (diode.forward_V(p, 0.0, current_A + side * step_A) for side in (1, -1))
        slope_ohm = (high - low) / (2 * step_A)
        assert diode.forward_slope_ohm(p, current_A) == pytest.approx(slope_ohm, rel=1e-5)


def test_spread_and_temperature_move_the_voltage(rig: Maker) -> None:
    high = rig(diode_spread_V=0.35, over_voltage_dead=1)
    usual = rig(over_voltage_dead=1)
    for made in (high, usual):
        made.light()
    assert high.x.diode_V - usual.x.diode_V == pytest.approx(0.35, abs=0.03)
    hot = rig(ambient_degC=60)
    hot.light()
    rise_K = hot.x.junction_degC - usual.x.junction_degC
    assert hot.x.diode_V - usual.x.diode_V == pytest.approx(-0.003 * rise_K, rel=1e-3)


def test_a_short_is_dark_and_carries_its_set_current(rig: Maker) -> None:
    made = rig(diode_short=1)
    made.light(set_A=1.0)
    assert made.x.light_W == 0
    assert made.x.diode_A == pytest.approx(1.0, rel=1e-3)
    assert made.x.output_V < 0.2


def test_ageing_moves_threshold_and_light(rig: Maker) -> None:
    fresh, aged, burnt = rig(), rig(threshold_factor=1.5), rig(light_factor=0.1)
    for made in (fresh, aged, burnt):
        made.light()
    assert aged.x.light_W < fresh.x.light_W
    assert burnt.x.light_W == pytest.approx(0.1 * fresh.x.light_W, rel=0.05)
    assert burnt.x.heat_W > fresh.x.heat_W


def test_an_led_shines_from_the_smallest_current(rig: Maker) -> None:
    made = rig(threshold_A=0, slope_W_A=1.2, trip_A=3)
    made.light(set_A=0.02)
    assert made.x.light_W == pytest.approx(1.2 * made.x.diode_A, rel=2e-2)


def test_light_never_exceeds_the_electrical_power(rig: Maker) -> None:
    made = rig(slope_W_A=20, slope_T1_K=-30)
    made.light()
    assert made.x.light_W == made.x.diode_W and made.x.heat_W == 0


def test_the_laws_are_held_at_the_ends_of_their_range(rig: Maker) -> None:
    made = rig(threshold_T0_K=-1, slope_T1_K=1)
    for junction_degC in (-1e6, 1e6):
        made.put(diode_A=1.0, diode_V=4.0, junction_degC=junction_degC)
        x = made.x
        diode.shine(made.p, x)
        assert 0 <= x.light_W <= 4
