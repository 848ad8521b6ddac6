"""Diode laws against published devices."""

import math
from types import SimpleNamespace
from typing import Any

import pytest

from diodewright.plant import diode


def _part(**values: float) -> Any:
    """Return diode parameters: at 25 degC, no spread, no ageing, no fault, unless given."""
    usual = {
        "diode_short": 0.0,
        "diode_b_V": 0.0,
        "diode_rs_ohm": 0.0,
        "diode_floor_A": 1e-4,
        "diode_tempco_V_K": 0.0,
        "diode_ref_degC": 25.0,
        "diode_knee_V": 0.0,
        "threshold_factor": 1.0,
        "light_factor": 1.0,
        "threshold_1_K": 0.0,
        "slope_1_K": 0.0,
    }
    return SimpleNamespace(**(usual | values))


def _unlit(**values: float) -> SimpleNamespace:
    """Return a diode's state whose functions were last evaluated at the reference."""
    usual = {"threshold_from": 0.0, "threshold_there": 1.0, "slope_from": 0.0, "slope_there": 1.0}
    return SimpleNamespace(**(usual | values))


def test_a_blue_450_nm_laser_diode_gives_its_sheets_light_heat_and_efficiency() -> None:
    # Maker's data sheet of a 450 nm TO56 laser diode (PL TB450B V1.1, 2019): 1.6 W at 1.2 A and
    # 4.8 V, threshold 0.2 A; hence slope 1.6 W/A, 5.76 W in, 4.16 W of heat, 27.8 %.
    p = _part(threshold_A=0.2, slope_W_A=1.6)
    x = _unlit(diode_A=1.2, diode_V=4.8, junction_degC=25.0)
    diode.shine(p, x)
    assert x.light_W == pytest.approx(1.6, rel=5e-3)
    assert x.diode_W == pytest.approx(5.76, rel=5e-3)
    assert x.heat_W == pytest.approx(4.16, rel=5e-3)
    assert x.light_W / x.diode_W == pytest.approx(0.278, rel=5e-3)


@pytest.mark.parametrize(
    ("T0_K", "factor"), [(170.0, 1.265), (80.0, 1.649), (60.0, 1.948), (-170.0, 1 / 1.265)]
)
def test_the_threshold_rises_by_its_T0_over_40_K(T0_K: float, factor: float) -> None:
    # Ith = I0 exp(dT/T0); T0 = 170 K: Nakamura 1997 (InGaN, abstract): 0.2 A -> 0.2531 A at 65
    # degC. T0 of 60 to 100 K for red AlGaInP from memory. Negative T0: published for InGaN.
    p = _part(threshold_A=0.2, threshold_1_K=1 / T0_K)
    assert diode.threshold_now_A(p, _unlit(), 40.0) == pytest.approx(0.2 * factor, rel=5e-4)


def test_the_slope_falls_by_its_T1_over_40_K() -> None:
    # eta = eta0 exp(-dT/T1), T1 = 200 K: 0.819 (computed from the law).
    p = _part(slope_W_A=1.0, slope_1_K=1 / 200)
    assert diode.slope_now_W_A(p, _unlit(), 40.0) == pytest.approx(0.819, rel=5e-4)


def test_the_logarithm_gives_118_mV_a_decade_for_an_ideality_of_2() -> None:
    # Shockley with series resistance: n kT/q ln 10, kT/q(298.15 K) = 25.693 mV (CODATA).
    p = _part(diode_b_V=2 * 0.025693, diode_floor_A=1e-6)
    decade_V = diode.forward_V(p, 2.5, 1.0) - diode.forward_V(p, 2.5, 0.1)
    assert decade_V == pytest.approx(0.1183, rel=1e-3)


def test_the_flattened_logarithm_agrees_with_shockleys_law() -> None:
    # V = n kT/q ln(I/Is + 1) + I Rs with Is = the floor is the same curve from the knee up.
    b_V, floor_A = 0.1, 1e-4
    p = _part(diode_b_V=b_V, diode_floor_A=floor_A, diode_rs_ohm=0.3)
    knee_V = 4.0 + b_V * math.log(floor_A)
    for current_A in (0.01, 0.25, 1.5):
        shockley_V = 4.0 + b_V * math.log(current_A) + 0.3 * current_A
        volts = diode.forward_V(p, knee_V, current_A)
        assert volts - shockley_V == pytest.approx(b_V * floor_A / current_A, rel=1e-2)
