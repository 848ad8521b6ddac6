"""The whole settled loop of each shipped stage against an independent solver.

Judge: SciPy's root (hybrid Powell) on the parts' equations written once more below, pack to air,
all unknowns at once; the plant gets there by its sub-steps. Steady state within 0.1 %.
"""

import math
from typing import Any

import pytest
from scipy.optimize import root

from diodewright.build import CHEMISTRIES, load
from diodewright.derive import plant_values
from diodewright.plant import factors, record, step
from diodewright.plant.params import PARAM_RECORD, STATE

DT_s = 0.00025
CHARGE = 0.6
#: Small masses settle soon, a large cell stands still; where it settles does not depend on them.
SOON = {
    "mount_J_K": 0.05,
    "sink_J_K": 0.05,
    "a_tau_s": 0.1,
    "pass_tau_s": 0.05,
    "cell_tau_s": 0.1,
    "cell_capacity_Ah": 100,
    "adc_noise_lsb": 0,
}
UNKNOWN = ("junction_degC", "a_degC", "pass_degC", "diode_A", "pack_A")


def _settled(name: str, set_A: float) -> tuple[Any, Any]:
    """Return parameters and state of a shipped light after 9 s at `set_A`."""
    build = load(name)
    p = record.make(PARAM_RECORD, plant_values(build) | SOON, compiled=False).record
    x = record.make(STATE, {"latch": 0, "enable_b": 1, "soc": CHARGE}, compiled=False).record
    factors.prepare(p, DT_s)
    step.settle(p, x)
    x.duty = set_A / p.set_full_A * p.set_rail_V / 3.3
    for _ in range(round(9 / DT_s)):
        x.pulse_edge = 1.0
        step.advance(p, x, DT_s)
    return p, x


def _diode(p: Any, amperes: float, junction_degC: float) -> tuple[float, float]:
    """Return volts and watts of light."""
    rise_K = junction_degC - p.diode_ref_degC
    volts = p.diode_a_V + amperes * p.diode_rs_ohm + p.diode_tempco_V_K * rise_K
    if p.diode_b_V:
        volts += p.diode_b_V * math.log(amperes + p.diode_floor_A)
    threshold_A = p.threshold_A * math.exp(rise_K / p.threshold_T0_K)
    return volts, p.slope_W_A * math.exp(-rise_K / p.slope_T1_K) * (amperes - threshold_A)


def _lost_W(p: Any, in_V: float, out_V: float, stage_A: float, pass_degC: float) -> float:
    """Return what a buck or a linear stage loses, its idling besides."""
    if p.stage_kind == 1:
        return (in_V - out_V) * stage_A
    drops_ohm = p.inductor_ohm + p.own_shunt_ohm
    duty = (out_V + stage_A * (drops_ohm + p.low_side_ohm)) / (
        in_V - stage_A * (p.high_side_ohm - p.low_side_ohm)
    )
    on_V = in_V - out_V - stage_A * (p.high_side_ohm + drops_ohm)
    ripple_A = on_V * duty / p.inductor_H / p.switching_Hz
    switches_ohm = duty * p.high_side_ohm + (1 - duty) * p.low_side_ohm
    conduction_W = (stage_A**2 + ripple_A**2 / 12) * (switches_ohm + drops_ohm)
    return conduction_W + 0.5 * in_V * stage_A * p.switching_edges_s * p.switching_Hz


def _judged(name: str, p: Any, set_A: float) -> dict[str, float]:
    """Return what the solver finds of the same parameters."""
    curve = CHEMISTRIES[load(name).pack.chemistry or "lithium_ion"].curve_V
    ocv_V = p.cells_series * dict(curve)[CHARGE]
    strings = p.cells_series / p.cells_parallel
    pack_ohm = (p.cell_R0_ohm + p.cell_R1_ohm) * strings + p.wiring_ohm
    found: dict[str, float] = {}

    def wrong(at: Any) -> list[float]:
        junction_degC, a_degC, pass_degC, diode_A, pack_A = map(float, at)
        volts, light_W = _diode(p, diode_A, junction_degC)
        heat_W = volts * diode_A - light_W
        a_ohm = p.a_ohm * (1 + p.a_tempco_1_K * (a_degC - 25))
        out_V = volts + diode_A * (p.monitor_ohm + p.lead_ohm + a_ohm)
        stage_A = diode_A + out_V / p.bleeder_ohm
        in_V = ocv_V - pack_A * pack_ohm
        lost_W = _lost_W(p, in_V, out_V, stage_A, pass_degC)
        pass_W = lost_W - stage_A**2 * (p.inductor_ohm + p.own_shunt_ohm)
        sink_W = heat_W + (pass_W if p.stage_kind == 1 else 0.0)
        sink_degC = p.ambient_degC + sink_W * p.sink_air_K_W
        mount_degC = sink_degC + heat_W * p.mount_sink_K_W
        found.update(
            diode_A=diode_A,
            output_V=out_V,
            light_W=light_W,
            heat_W=heat_W,
            junction_degC=junction_degC,
            mount_degC=mount_degC,
            sink_degC=sink_degC,
            a_degC=a_degC,
            pack_A=pack_A,
            pack_V=in_V,
            stage_loss_W=lost_W + p.stage_idle_W,
        )
        taken_W = out_V * stage_A + lost_W + p.stage_idle_W + p.controller_W
        return [
            mount_degC + heat_W * p.junction_mount_K_W - junction_degC,
            p.ambient_degC + p.a_air_K_W * diode_A**2 * a_ohm - a_degC,
            sink_degC + pass_W * p.pass_sink_K_W - pass_degC if p.stage_kind == 1 else pass_degC,
            stage_A - set_A,
            in_V * pack_A - taken_W,
        ]

    solved = root(wrong, [60.0, 40.0, 40.0, set_A, set_A], tol=1e-12)
    assert solved.success, solved.message
    wrong(solved.x)
    return found


@pytest.mark.parametrize(
    ("name", "set_A"),
    [
        ("smoke_tunnel", 1.5),
        ("smoke_tunnel", 0.3),
        ("cave_lamp", 1.5),
        ("cave_lamp", 0.1),
        ("gel_viewer", 0.7),
    ],
)
def test_a_shipped_light_settles_where_an_independent_solver_puts_it(
    name: str, set_A: float
) -> None:
    p, x = _settled(name, set_A)
    assert x.dropout == 0 and x.diode_A > 0.9 * set_A
    judged = _judged(name, p, set_A)
    assert len(judged) == 11
    for quantity, value in judged.items():
        assert getattr(x, quantity) == pytest.approx(value, rel=1e-3), quantity
