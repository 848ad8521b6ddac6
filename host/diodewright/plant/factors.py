"""Factors that depend on parameters and sub-step only, computed once instead of every sub-step.

Every first-order lag of the plant is advanced with its exact solution for an input held over the
sub-step, ``y' = u + (y - u) exp(-dt/tau)``, so that no time constant, however short, limits the
sub-step. Two equal poles in cascade have the exact solution
``y2' = u + (y2 - u) e + (y1 - u) (dt/tau) e`` with ``e = exp(-dt/tau)``.
"""

import math

from diodewright.plant.kernel import Record, kernel

LAST_OCV_POINT = 12
SECONDS_PER_HOUR = 3600.0
SHUNT_GAIN_MIN = 0.001
GONE = 1e-100


@kernel
def faded(value: float) -> float:
    """Return `value`, or 0 where it has decayed to less than `GONE`.

    No part knows the difference; numbers near the smallest that there are, and products that fall
    below it, take the processor several times as long.
    """
    if value < GONE and value > -GONE:
        return 0.0
    return value


@kernel
def decay(dt_s: float, tau_s: float) -> float:
    """Return exp(-dt/tau) []; `dt_s` and `tau_s` in [s], tau above zero."""
    return math.exp(-dt_s / tau_s)


@kernel
def prepare(p: Record, dt_s: float) -> None:
    """Fill in the factors of `p` for sub-steps of `dt_s` [s].

    To be called once at the start and again after any change of a parameter.
    """
    prepare_supply(p, dt_s)
    prepare_stage(p, dt_s)
    p.diode_knee_V = p.diode_a_V + p.diode_spread_V + p.diode_b_V * math.log(p.diode_floor_A)
    p.diode_floor_1_A = 1.0 / p.diode_floor_A
    p.threshold_1_K = 1.0 / p.threshold_T0_K
    p.slope_1_K = 1.0 / p.slope_T1_K
    p.junction_decay = decay(dt_s, p.junction_tau_s)
    p.junction_J_K = p.junction_tau_s / p.junction_mount_K_W
    p.mount_sink_W_K = 1.0 / p.mount_sink_K_W
    p.sink_air_W_K = 1.0 / p.sink_air_K_W
    p.mount_K_J = 1.0 / p.mount_J_K
    p.sink_K_J = 1.0 / p.sink_J_K
    p.monitor_decay = decay(dt_s, p.monitor_lag_s)
    mount_lag_s = p.ntc_lag_s
    if p.mount_read_fault == 4.0:
        mount_lag_s = p.ntc_air_lag_s
    p.mount_ntc_decay = decay(dt_s, mount_lag_s)
    sink_lag_s = p.ntc_lag_s
    if p.sink_read_fault == 4.0:
        sink_lag_s = p.ntc_air_lag_s
    p.sink_ntc_decay = decay(dt_s, sink_lag_s)


@kernel
def prepare_supply(p: Record, dt_s: float) -> None:
    """Fill in the factors of pack and rail for sub-steps of `dt_s` [s]."""
    if p.pack_kind == 0.0:
        strings = p.cell_R_factor * p.cells_series / p.cells_parallel
        p.pack_fast_ohm = p.cell_R0_ohm * strings + p.wiring_ohm
        p.pack_slow_ohm = p.cell_R1_ohm * strings
    else:
        p.pack_fast_ohm = p.bench_ohm + p.wiring_ohm
        p.pack_slow_ohm = 0.0
    p.pack_slow_decay = decay(dt_s, p.cell_tau_s)
    p.soc_per_C = 1.0 / (p.cell_capacity_Ah * SECONDS_PER_HOUR * p.cells_parallel)
    for k in range(1, LAST_OCV_POINT + 1):
        rise_V = p.ocv_V[k] - p.ocv_V[k - 1]
        p.ocv_slope_V[k] = rise_V / (p.ocv_soc[k] - p.ocv_soc[k - 1])
    p.rail_decay = decay(dt_s, p.rail_hold_s)


@kernel
def prepare_stage(p: Record, dt_s: float) -> None:
    """Fill in the factors of set path, stage, output and cut-off A for sub-steps of `dt_s` [s]."""
    p.step_s = dt_s
    p.set_decay = decay(dt_s, p.set_filter_s)
    p.set_carry = p.set_decay * dt_s / p.set_filter_s
    p.loop_decay = decay(dt_s, p.stage_loop_s)
    p.set_A_V = p.set_full_A / p.set_rail_V
    p.shunt_gain_inverse = 0.0
    if p.own_shunt_gain >= SHUNT_GAIN_MIN:
        p.shunt_gain_inverse = 1.0 / p.own_shunt_gain
    p.ripple_A_V = 1.0 / (p.inductor_H * p.inductor_factor * p.switching_Hz)
    p.bleeder_S = 1.0 / p.bleeder_ohm
    p.bleeder_decay = decay(dt_s, p.bleeder_ohm * p.output_F)
    p.series_ohm = p.monitor_ohm + p.lead_ohm
    p.surge_ohm = math.sqrt(p.loop_H / p.output_F)
    p.a_decay = decay(dt_s, p.a_tau_s)
    p.pass_decay = decay(dt_s, p.pass_tau_s)
    p.pass_J_K = p.pass_tau_s / p.pass_sink_K_W
