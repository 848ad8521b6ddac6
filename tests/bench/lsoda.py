"""The same lamp for SciPy's LSODA: the circuit as differential equations, the law at every tick.

The equations are those of the plant's docstrings, written once more and in continuous time. What
the hardware gates (cut-offs, their edges) and what the sensors show is the plant's own, so that
the law meets the pins that it knows. Dark, only temperatures and pack move.
"""

import math
from typing import Any

import numpy as np
from scipy.integrate import odeint

import story
from diodewright.plant.factors import LAST_OCV_POINT
from diodewright.plant.stage import stage_runs
from diodewright.plant.switch import age_cutoffs, gate_cutoffs, take_edges
from diodewright.sim import plain
from diodewright.sim.loop import step_law
from diodewright.sim.seam import pass_time

__all__ = ["run"]

TICK_s = 1e-3
KEPT = (
    "set_pole_A",
    "set_A",
    "stage_A",
    "pack_slow_V",
    "soc",
    "junction_rise_K",
    "mount_degC",
    "sink_degC",
    "monitor_A",
    "mount_ntc_degC",
    "sink_ntc_degC",
    "a_degC",
)


def _source_V(p: Any, soc: float, slow_V: float) -> float:
    ocv_V = np.interp(soc, p.ocv_soc[: LAST_OCV_POINT + 1], p.ocv_V[: LAST_OCV_POINT + 1])
    return float(p.cells_series * ocv_V - slow_V)


def _lit(p: Any, y: Any, source_V: float, standing_W: float) -> dict[str, float]:
    """Return the algebraic side of the lit loop."""
    stage_A, rise_K = y[2], y[5] + y[6] - p.diode_ref_degC
    knee_V = p.diode_knee_V + p.diode_tempco_V_K * rise_K
    path_ohm = p.series_ohm + p.a_ohm * (1 + p.a_tempco_1_K * (y[11] - 25))

    def volts(amps: float) -> float:
        bent_V = p.diode_b_V * math.log1p(amps / p.diode_floor_A)
        return float(knee_V + amps * p.diode_rs_ohm + bent_V)

    leak_A = (volts(max(stage_A, 0.0)) + stage_A * path_ohm) / p.bleeder_ohm
    amps = max(stage_A - leak_A, 0.0)
    diode_V = volts(amps)
    out_V = diode_V + amps * path_ohm
    in_V, pack_A, ripple_A = source_V, 0.0, 0.0
    for _ in range(6):
        across_V = in_V - stage_A * (p.high_side_ohm - p.low_side_ohm)
        ways_ohm = p.inductor_ohm + p.own_shunt_ohm
        duty = min((out_V + stage_A * (ways_ohm + p.low_side_ohm)) / across_V, 1.0)
        on_V = max(in_V - out_V - stage_A * (ways_ohm + p.high_side_ohm), 0.0)
        ripple_A = on_V * duty / (p.inductor_H * p.switching_Hz)
        square = stage_A**2 + ripple_A**2 / 12
        if ripple_A > 2 * stage_A:
            square = 2 / 3 * stage_A * math.sqrt(2 * max(stage_A, 0.0) * ripple_A)
        ohm = duty * p.high_side_ohm + (1 - duty) * p.low_side_ohm + ways_ohm
        lost_W = square * ohm + 0.5 * in_V * stage_A * p.switching_edges_s * p.switching_Hz
        load_W = out_V * stage_A + lost_W + p.stage_idle_W + standing_W
        inside = source_V**2 - 4 * p.pack_fast_ohm * load_W
        pack_A = (source_V - math.sqrt(inside)) / (2 * p.pack_fast_ohm)
        in_V = source_V - pack_A * p.pack_fast_ohm
    threshold_A = p.threshold_A * p.threshold_factor * math.exp(rise_K / p.threshold_T0_K)
    slope_W_A = p.slope_W_A * p.light_factor * math.exp(-rise_K / p.slope_T1_K)
    light_W = max(slope_W_A * (amps - threshold_A), 0.0)
    peak_A = amps + p.ripple_share * 0.5 * ripple_A
    if ripple_A > 2 * stage_A:
        peak_A = amps + p.ripple_share * (math.sqrt(2 * stage_A * ripple_A) - stage_A)
    return {
        "diode_A": amps,
        "diode_V": diode_V,
        "output_V": out_V,
        "pack_A": pack_A,
        "pack_V": in_V,
        "heat_W": diode_V * amps - light_W,
        "light_W": light_W,
        "peak_A": peak_A,
        "a_loss_W": amps**2 * (path_ohm - p.series_ohm),
    }


def _dark(p: Any, source_V: float, standing_W: float) -> dict[str, float]:
    inside = source_V**2 - 4 * p.pack_fast_ohm * standing_W
    pack_A = (source_V - math.sqrt(inside)) / (2 * p.pack_fast_ohm)
    names = ("diode_A", "diode_V", "output_V", "heat_W", "light_W", "peak_A", "a_loss_W")
    return dict.fromkeys(names, 0.0) | {
        "pack_A": pack_A,
        "pack_V": source_V - pack_A * p.pack_fast_ohm,
    }


def _algebra(p: Any, x: Any, y: Any, lit: bool) -> dict[str, float]:
    source_V = _source_V(p, y[4], y[3])
    standing_W = p.controller_W + x.indicator_lit * p.indicator_A * x.rail_V
    return _lit(p, y, source_V, standing_W) if lit else _dark(p, source_V, standing_W)


def _slopes(y: Any, _: float, p: Any, x: Any, lit: bool) -> list[float]:
    now = _algebra(p, x, y, lit)
    asked_A = x.duty * x.rail_V * p.set_A_V
    meant_A = max((y[1] * p.set_gain + p.set_offset_A) * p.shunt_gain_inverse, 0.0)
    rise_1_s = (now["heat_W"] * p.junction_mount_K_W - y[5]) / p.junction_tau_s
    to_sink_W = (y[6] - y[7]) / p.mount_sink_K_W
    flow_W = now["heat_W"] - p.junction_J_K * rise_1_s - to_sink_W
    return [
        (asked_A - y[0]) / p.set_filter_s,
        (y[0] - y[1]) / p.set_filter_s,
        (meant_A - y[2]) / p.stage_loop_s if lit else 0.0,
        (now["pack_A"] * p.pack_slow_ohm - y[3]) / p.cell_tau_s,
        -now["pack_A"] * p.soc_per_C,
        rise_1_s,
        flow_W / p.mount_J_K,
        (to_sink_W - (y[7] - p.ambient_degC) / p.sink_air_K_W) / p.sink_J_K,
        (now["diode_A"] - y[8]) / p.monitor_lag_s,
        (y[6] - y[9]) / p.ntc_lag_s,
        (y[7] - y[10]) / p.ntc_lag_s,
        (p.ambient_degC + now["a_loss_W"] * p.a_air_K_W - y[11]) / p.a_tau_s,
    ]


def run(ticks: int) -> story.Ran:
    """Run the use for so many ticks from its press."""
    machine = story.awake(plain())
    p, x = machine.p.record, machine.x.record
    p.trigger = 1.0
    words = (machine.state, machine.limits, machine.readings, machine.raw, machine.board)
    peak_A, junction_degC = 0.0, -300.0
    for _ in range(ticks):
        if pass_time(machine.board):
            step_law(p, x, *words)
        x.indicator_lit = x.indicator
        take_edges(p, x)
        gate_cutoffs(p, x)
        lit = x.a_closed > 0.5 and stage_runs(p, x, x.pack_V)
        y = [getattr(x, name) for name in KEPT]
        if not lit:
            y[2] = 0.0
        span = (0.0, TICK_s)
        y = odeint(_slopes, y, span, args=(p, x, lit), rtol=1e-8, atol=1e-10)[-1]
        now = _algebra(p, x, y, lit)
        peak_A = max(peak_A, now.pop("peak_A"))
        junction_degC = max(junction_degC, y[5] + y[6])
        for name, value in (*zip(KEPT, map(float, y), strict=True), *now.items()):
            setattr(x, name, value)
        x.junction_degC = x.mount_degC + x.junction_rise_K
        age_cutoffs(x, TICK_s)
    return story.Ran(peak_A, junction_degC)
