"""The stage: a buck converter that regulates its current on its own shunt, with a set input.

Equations. Set path: duty times full scale (it follows the rail, as a filtered PWM does), two
equal poles, gain and offset errors. Own loop: first order towards
``I = (set * gain + offset) / own_shunt_gain``. Averaged buck with drops:
``D = (Vo + I (R_L + R_sh + R_lo)) / (Vin - I R_hi + I R_lo)``; ripple
``dI = V_on D / (L f)``, V_on the voltage across the inductance in the on time; peak I + dI/2,
or below the boundary dI = 2I (discontinuous) sqrt(2 I dI); ``I_rms^2 = I^2 + dI^2/12``, or
2/3 I I_peak. Losses: I_rms^2 times the resistances (by duty), ``Vin I t_edges f / 2``, idle.
Dropout: beyond `duty_max` the current is the one at which
``D (Vs - R D I) = Vo(I) + I R_drop`` (found by a bracketed Newton iteration).

Source. Erickson and Maksimovic, Hart (averaged model, ripple, rms); example 6-1 is a test.

Validity. Averages over a switching period; loop faster than 1 ms; `stage_kind` 0 only: a linear
sink or a gated module (1, 2) gives no current here and a later part adds them. Left out:
subharmonics, core loss, reverse inductor current (diode emulation is assumed), the ripple's
filtering by the output capacitor other than by `ripple_share`, switching loss in dropout, input
capacitor and input ripple, charging of inductor and output capacitor from the pack (below 0.1 mJ
a start). Turn-on overshoot is one peak, in the sub-step in which the current starts.
"""

import math

from diodewright.plant.diode import forward_slope_ohm, forward_V
from diodewright.plant.kernel import Record, kernel

FULL_ON_A = 1000.0
DROPOUT_ROUNDS = 60
DROPOUT_NEAR_A = 1e-12


@kernel
def follow_set(p: Record, x: Record) -> None:
    """Move the set filter by a sub-step: `set_A` is what the stage's set input asks for."""
    asked_A = x.duty * x.rail_V * p.set_A_V
    if p.set_stuck_full > 0.5:
        asked_A = x.rail_V * p.set_A_V
    if p.set_open > 0.5:
        asked_A = 0.0
    first_A = x.set_pole_A - asked_A
    x.set_A = asked_A + (x.set_A - asked_A) * p.set_decay + first_A * p.set_carry
    x.set_pole_A = asked_A + first_A * p.set_decay


@kernel
def stage_goal_A(p: Record, x: Record) -> float:
    """Return the current [A] that the stage's loop is heading for."""
    meant_A = x.set_A * p.set_gain + p.set_offset_A
    if p.shunt_gain_inverse <= 0.0:
        return FULL_ON_A
    if meant_A <= 0.0:
        return 0.0
    return float(meant_A * p.shunt_gain_inverse)


@kernel
def stage_runs(p: Record, x: Record, source_V: float) -> bool:
    """Return whether the stage switches: enabled and started up, or stuck full on."""
    if source_V <= 0.0 or p.stage_stuck_off > 0.5 or p.stage_kind != 0.0:
        return False
    if p.stage_stuck_full > 0.5:
        return True
    return bool(x.b_on > 0.5 and x.b_on_s >= p.stage_startup_s)


@kernel
def buck_ripple_A(on_V: float, duty: float, ripple_A_V: float) -> float:
    """Return the ripple [A peak to peak] for `on_V` [V] across the inductance at `duty`.

    `ripple_A_V` is 1 / (inductance times frequency) [A/V]. Hart, example 6-1: (50 - 20) V at 0.4
    in 400 uH at 20 kHz is 1.5 A.
    """
    if on_V <= 0.0:
        return 0.0
    return on_V * duty * ripple_A_V


@kernel
def buck_peak_A(mean_A: float, ripple_A: float) -> float:
    """Return the inductor's peak [A]: mean + half the ripple, or its discontinuous form."""
    if ripple_A <= 2.0 * mean_A:
        return mean_A + 0.5 * ripple_A
    return math.sqrt(2.0 * mean_A * ripple_A)


@kernel
def buck_square_A2(mean_A: float, ripple_A: float) -> float:
    """Return the square of the inductor's rms current [A^2], continuous or discontinuous."""
    if ripple_A <= 2.0 * mean_A:
        return mean_A * mean_A + ripple_A * ripple_A / 12.0
    return 2.0 / 3.0 * mean_A * math.sqrt(2.0 * mean_A * ripple_A)


@kernel
def drop_ohm(p: Record, duty: float) -> float:
    """Return the stage's resistance in the inductor's path [ohm], averaged at `duty`."""
    switches_ohm = duty * p.high_side_ohm + (1.0 - duty) * p.low_side_ohm
    return float(switches_ohm + p.inductor_ohm + p.own_shunt_ohm)


@kernel
def buck_duty(p: Record, in_V: float, out_V: float, current_A: float) -> float:
    """Return the duty for `in_V` and `out_V` [V] at `current_A` [A]; above 1 it can't be had."""
    below_V = out_V + current_A * (p.inductor_ohm + p.own_shunt_ohm + p.low_side_ohm)
    across_V = in_V - current_A * (p.high_side_ohm - p.low_side_ohm)
    if across_V <= 0.0:
        return 2.0
    return float(below_V / across_V)


@kernel
def dropout_A(
    p: Record,
    source_V: float,
    duty: float,
    fixed_A: float,
    leak_A: float,
    path_ohm: float,
    knee: float,
) -> float:
    """Return the diode current [A] at a fixed `duty`, the stage being a mere divider.

    `source_V` [V] is behind the pack's fast resistance; `fixed_A` [A] is drawn besides;
    `leak_A` [A] flows past the diode; `path_ohm` [ohm] is in series with it, `knee` [V] its
    voltage at no current. The balance falls strictly with the current, so that one root is
    bracketed; Newton's step is taken where it stays inside, else the bracket is halved.
    """
    series_ohm = drop_ohm(p, duty) + duty * duty * p.pack_fast_ohm
    open_V = duty * (source_V - fixed_A * p.pack_fast_ohm) - leak_A * series_ohm
    if open_V <= knee:
        return 0.0
    low_A = 0.0
    high_A = (open_V - knee) / (series_ohm + path_ohm)
    current_A = 0.5 * high_A
    for _ in range(DROPOUT_ROUNDS):
        balance_V = open_V - current_A * (series_ohm + path_ohm) - forward_V(p, knee, current_A)
        if balance_V > 0.0:
            low_A = current_A
        else:
            high_A = current_A
        slope_ohm = series_ohm + path_ohm + forward_slope_ohm(p, current_A)
        moved_A = current_A + balance_V / slope_ohm
        if moved_A <= low_A or moved_A >= high_A:
            moved_A = 0.5 * (low_A + high_A)
        step_A = moved_A - current_A
        current_A = moved_A
        if step_A < DROPOUT_NEAR_A and step_A > -DROPOUT_NEAR_A:
            break
    return float(current_A)
