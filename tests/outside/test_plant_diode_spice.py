"""The diode's curve, and where it settles behind a pack, against a circuit simulator.

Judge: ngspice's own junction diode, I = Is (exp(V / (n Vt)) - 1) with a series resistance, at
25 degC. The plant's b is n Vt and its floor is Is; a voltage source carries the rest of the knee.
"""

import math
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from scipy.optimize import brentq

from diodewright.build import load
from diodewright.derive import plant_values
from diodewright.plant import diode, dropout
from spice import simulate

#: k T / q at 25 degC (CODATA) [V].
THERMAL_V = 8.617333e-5 * 298.15
#: a, b, series resistance: a 450 nm laser diode through its sheet's 4.8 V at 1.2 A, invented
#: elsewhere; and what is fitted to the points of the shipped white LED.
LED = plant_values(load("cave_lamp"))
CURVES = {
    "blue laser diode": (4.42, 0.10, 0.30),
    "red laser diode": (2.05, 0.05, 0.15),
    "shipped LED": tuple(float(LED[f"diode_{of}"]) for of in ("a_V", "b_V", "rs_ohm")),  # type: ignore[arg-type]
}
FLOOR_A = 1e-4


def _part(a_V: float, b_V: float, rs_ohm: float) -> Any:
    return SimpleNamespace(
        diode_short=0.0,
        diode_b_V=b_V,
        diode_rs_ohm=rs_ohm,
        diode_floor_A=FLOOR_A,
        diode_knee_V=a_V + b_V * math.log(FLOOR_A),
    )


def _netlist(p: Any, anode: str) -> str:
    emission = p.diode_b_V / THERMAL_V
    return f"""
Vk knee 0 {p.diode_knee_V:.12g}
D1 {anode} knee part
.model part d(is={FLOOR_A:.12g} n={emission:.12g} rs={p.diode_rs_ohm:.12g})
.options temp=25 tnom=25 reltol=1e-7 vntol=1e-9 abstol=1e-13
"""


def test_the_shipped_led_has_a_logarithm_to_judge() -> None:
    assert CURVES["shipped LED"][1] > 0.01


@pytest.mark.parametrize("name", CURVES)
def test_forward_voltage_is_the_simulators_from_a_milliampere_to_2_A(
    name: str, tmp_path: Path
) -> None:
    p = _part(*CURVES[name])
    deck = _netlist(p, "anode") + "I1 0 anode 1m\n.dc I1 1m 2 13m\n"
    current_A, volts = simulate(tmp_path, deck, "v(anode)")
    found = [diode.forward_V(p, p.diode_knee_V, float(amperes)) for amperes in current_A]
    assert len(found) > 150
    np.testing.assert_allclose(found, volts, rtol=1e-4)


@pytest.mark.parametrize("name", CURVES)
@pytest.mark.parametrize("source_V", [2.3, 3.2, 4.2, 5.0, 8.4])
def test_a_diode_behind_a_pack_settles_where_the_simulator_puts_it(
    name: str, source_V: float, tmp_path: Path
) -> None:
    # A linear stage fully on: pack, its own resistances, path and diode in series, controller and
    # bleeder beside. A second judge, SciPy's brentq on the same sum, is not ngspice's iteration.
    p = _part(*CURVES[name])
    p.pack_fast_ohm, own_ohm, path_ohm, fixed_A, leak_A = 0.12, 0.09, 0.11, 0.02, 4e-4
    found_A = dropout.dropout_A(
        p, source_V, 1.0, own_ohm, fixed_A, leak_A, path_ohm, p.diode_knee_V
    )
    deck = f"""{_netlist(p, "through")}
V1 cells 0 {source_V}
R1 cells pack {p.pack_fast_ohm}
I1 pack 0 {fixed_A}
R2 pack out {own_ohm}
I2 out 0 {leak_A}
R3 out anode {path_ohm}
V2 anode through 0
.op
"""

    def balance_V(current_A: float) -> float:
        stage_A = current_A + leak_A
        out_V = source_V - 0.12 * (stage_A + fixed_A) - own_ohm * stage_A - path_ohm * current_A
        junction_V = p.diode_b_V * math.log1p(current_A / FLOOR_A)
        return float(out_V - p.diode_knee_V - p.diode_rs_ohm * current_A - junction_V)

    dark = balance_V(0.0) <= 0
    root_A = 0.0 if dark else brentq(balance_V, 0.0, 50.0, xtol=1e-13)
    assert found_A == pytest.approx(root_A, rel=1e-8)
    _, judged_A = simulate(tmp_path, deck, "i(V2)")
    assert found_A == pytest.approx(max(float(judged_A[0]), 0.0), rel=1e-3)
