"""The buck converter: averaged, with drops, ripple and losses; a constant power to the pack.

Equations. ``D = (Vo + I (R_L + R_sh + R_lo)) / (Vin - I R_hi + I R_lo)``; ripple
``dI = V_on D / (L f)``, V_on the voltage across the inductance in the on time; peak I + dI/2,
or below the boundary dI = 2I (discontinuous) sqrt(2 I dI); ``I_rms^2 = I^2 + dI^2/12``, or
2/3 I I_peak. Losses: I_rms^2 times the resistances (by duty), ``Vin I t_edges f / 2``, idle.
The pack sees ``Vo I`` and all losses as a constant power.

Source. Erickson and Maksimovic, Hart (averaged model, ripple, rms); example 6-1 is a test.

Validity. Averages over a switching period; the range of `duty_max`, beyond it see `dropout`. Left
out: subharmonics, core loss, reverse inductor current (diode emulation is assumed), the ripple's
filtering by the output capacitor other than by `ripple_share`, switching loss in dropout, input
capacitor and input ripple, charging of inductor and output capacitor from the pack (below 0.1 mJ
a start). The duty that sets losses and ripple takes the pack's voltage at the previous sub-step's
current; whether the stage holds is judged with the new one.
"""

import math

from diodewright.plant.kernel import Record, kernel
from diodewright.plant.pack import collapses, draw

TWELFTH = 0.08333333333333333


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
        return mean_A * mean_A + ripple_A * ripple_A * TWELFTH
    return 2.0 / 3.0 * mean_A * math.sqrt(2.0 * mean_A * ripple_A)


@kernel
def buck_ohm(p: Record, duty: float) -> float:
    """Return the buck's resistance in the inductor's path [ohm], averaged at `duty`."""
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
def hold_buck(p: Record, x: Record, source_V: float) -> bool:
    """Let the buck give `stage_A` at `output_V`; return False if the pack can't hold it.

    `source_V` [V] is behind the pack's fast resistance.
    """
    seen_V = source_V - x.pack_A * p.pack_fast_ohm
    duty = buck_duty(p, seen_V, x.output_V, x.stage_A)
    if duty > 1.0:
        duty = 1.0
    on_V = seen_V - x.output_V - x.stage_A * (p.high_side_ohm + p.inductor_ohm + p.own_shunt_ohm)
    x.ripple_A = buck_ripple_A(on_V, duty, p.ripple_A_V)
    conduction_W = buck_square_A2(x.stage_A, x.ripple_A) * buck_ohm(p, duty)
    edges_W = 0.5 * seen_V * x.stage_A * p.switching_edges_s * p.switching_Hz
    x.stage_loss_W = conduction_W + edges_W + p.stage_idle_W
    load_W = x.output_V * x.stage_A + x.stage_loss_W + x.standing_W
    if collapses(source_V, p.pack_fast_ohm, load_W):
        return False
    draw(p, x, source_V, load_W)
    if p.pack_kind != 0.0 and x.pack_A >= p.bench_limit_A:
        return False
    x.stage_duty = buck_duty(p, x.pack_V, x.output_V, x.stage_A)
    return bool(x.stage_duty <= p.duty_max)
