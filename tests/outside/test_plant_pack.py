"""Cells and constant-power loads against closed forms, a published set and an ODE solver."""

import math
from typing import Any

import pytest
from scipy.integrate import solve_ivp

from diodewright.plant import factors, pack
from diodewright.plant.params import PARAM_RECORD, STATE
from diodewright.plant.record import make

#: Open-circuit voltages of PyBaMM 26.10's set Chen2020 (LG M50, NMC against graphite-silicon).
SOC = [0, 0.01, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1]
OCV = [2.5, 2.711, 3.109, 3.296, 3.485, 3.581, 3.667, 3.751, 3.841, 3.948, 4.042, 4.097, 4.2]


def _cell(dt_s: float, **values: float) -> tuple[Any, Any]:
    """Return parameters and state of one cell; what is no pack's takes its lowest value."""
    usual: dict[str, Any] = {
        row.name: min(max(row.low, 0.1), row.high) for row in PARAM_RECORD if row.start is None
    }
    usual |= {"ocv_soc": SOC, "ocv_V": OCV, "wiring_ohm": 0.0, "rail_nominal_V": 3.3}
    p = make(PARAM_RECORD, usual | values, compiled=False).record
    x = make(STATE, {}, compiled=False).record
    factors.prepare_supply(p, dt_s)
    return p, x


def test_a_2_A_step_of_10_s_drops_64_6_mV() -> None:
    # Thevenin: I R0 + I R1 (1 - exp(-t/R1C1)), 2 A, 25 mOhm, 15 mOhm, 1000 F, 10 s.
    p, x = _cell(0.00025, cell_R0_ohm=0.025, cell_R1_ohm=0.015, cell_tau_s=15, cell_capacity_Ah=100)
    p.soc_per_C = 0.0
    start_V = pack.pack_source_V(p, x)
    for _ in range(40_000):
        x.pack_A = 2.0
        pack.discharge(p, x, 0.00025)
    drop_V = start_V - (pack.pack_source_V(p, x) - x.pack_A * p.pack_fast_ohm)
    assert drop_V == pytest.approx(0.0646, abs=5e-5)


@pytest.mark.parametrize(
    ("source_V", "source_ohm", "amperes", "terminal_V"),
    [(3.7, 0.1, 1.934, 3.507), (3.5, 0.15, 2.132, 3.180)],
)
def test_a_constant_power_of_6_78_W_draws_its_current(
    source_V: float, source_ohm: float, amperes: float, terminal_V: float
) -> None:
    # I = (OCV - sqrt(OCV^2 - 4RP))/2R, worked numbers of the closed form (6.78 W is rounded there:
    # 1.9335 A by its own figures; the contract for steady states is 0.1 %).
    p, x = _cell(0.00025)
    p.pack_fast_ohm = source_ohm
    pack.draw(p, x, source_V, 6.78)
    assert x.pack_A == pytest.approx(amperes, rel=1e-3)
    assert x.pack_V == pytest.approx(terminal_V, rel=1e-3)


def test_above_a_quarter_of_V_squared_over_R_it_collapses() -> None:
    # P_max = OCV^2 / 4R (maximum power transfer): 3.7 V behind 0.5 Ohm gives 6.845 W at most.
    assert not pack.collapses(3.7, 0.5, 6.844)
    assert pack.collapses(3.7, 0.5, 6.846)
    assert pack.constant_power_A(3.7, 0.5, 7.0) == pytest.approx(3.7)


def test_the_curve_is_the_published_set() -> None:
    p, _ = _cell(0.00025)
    for soc, volts in zip(SOC, OCV, strict=True):
        assert pack.cell_ocv_V(p, soc) == pytest.approx(volts, abs=1e-9)


def test_a_constant_power_discharge_is_what_an_ode_solver_gives() -> None:
    # Judge: SciPy's LSODA on u' = (I R1 - u)/tau, soc' = -I/Q with I from the quadratic.
    capacity_C = 0.1 * 3600
    p, x = _cell(0.01, cell_R0_ohm=0.05, cell_R1_ohm=0.04, cell_tau_s=20, cell_capacity_Ah=0.1)
    for _ in range(20_000):
        pack.draw(p, x, pack.pack_source_V(p, x), 2.0)
        pack.discharge(p, x, 0.01)

    def ocv_V(soc: float) -> float:
        k = next(k for k in range(1, 13) if soc <= SOC[k])
        part = (soc - SOC[k - 1]) / (SOC[k] - SOC[k - 1])
        return OCV[k - 1] + part * (OCV[k] - OCV[k - 1])

    def slope(_: float, y: Any) -> list[float]:
        source_V = ocv_V(y[1]) - y[0]
        current_A = (source_V - math.sqrt(source_V**2 - 4 * 0.05 * 2.0)) / (2 * 0.05)
        return [(current_A * 0.04 - y[0]) / 20, -current_A / capacity_C]

    judged = solve_ivp(slope, (0, 200), [0.0, 1.0], method="LSODA", rtol=1e-8, atol=1e-10)
    assert x.pack_slow_V == pytest.approx(judged.y[0][-1], rel=1e-3)
    assert x.soc == pytest.approx(judged.y[1][-1], rel=1e-3)
    assert x.soc < 0.75


def test_resistances_of_the_published_example_scale_to_2_5_Ah() -> None:
    # PyBaMM ECM_Example (100 Ah): R0 0.4026 mOhm, R1 0.6038 mOhm, tau 30.55 s at 25 degC and half
    # charge; by capacity a 2.5 Ah cell has 16 and 24 mOhm. A minute at 1 A drops both but e^-1.96.
    p, x = _cell(0.1, cell_R0_ohm=0.01610, cell_R1_ohm=0.02415, cell_tau_s=30.55)
    for _ in range(600):
        x.pack_A = 1.0
        pack.discharge(p, x, 0.1)
    expected_V = 0.02415 * (1 - math.exp(-60 / 30.55))
    assert x.pack_slow_V == pytest.approx(expected_V, rel=1e-9)
