"""The linear stage: a pass MOSFET in series, which turns what the output leaves into heat.

Equations. The pack gives the stage's own current, ``I_pack = I + P_besides / V_pack`` (controller,
indicator and idling draw a constant power beside it). Across the pass MOSFET stands
``V_ds = V_pack - Vo - I (R_L + R_sh)``, and it burns ``V_ds I``; the stage holds its current while
``V_ds >= I R_on``, R_on the fully driven MOSFET at its present temperature (`switch`). Channel:
one lump over the sink that it shares with the diode (`heat`). Without idling the efficiency is
``Vo / V_pack``. `inductor_H` is that of leads and choke: no ripple, no switching loss, but the
slope after a trip and the dump into the output capacitor (`comparator`) as for the buck.

A pass MOSFET that has failed short (`stage_stuck_full`) is taken as `pass_ohm` without its
temperature coefficient, that is as a healthy one fully driven at 25 degC: what a molten channel
leaves is not published and may be less, which lets more current through.

Source. Series regulators in any text on electronics; efficiency and dissipation as in Toshiba,
Basics of low-dropout (LDO) regulators, 4-1 and 4-2.

Validity. Range: a loop slower than L over the resistances, so that the current follows it; a
freewheeling diode behind the MOSFET. Where L is that of leads only, ``L / R`` is shorter than
the comparator's delay and the trip's peak, a straight slope held at where the resistances end it,
errs high. Left out: gate drive (the gate is taken to reach what R_on needs even in dropout), the
region between triode and saturation, safe operating area and hot spots in linear operation (a real
part may fail there at a channel temperature that looks harmless: judge the maker's figure, not
this model), leakage when off.
"""

from diodewright.plant.kernel import Record, kernel
from diodewright.plant.pack import draw_beside
from diodewright.plant.switch import warm_ohm


@kernel
def pass_now_ohm(p: Record, x: Record) -> float:
    """Return the resistance [ohm] of the fully driven pass MOSFET, or of the shorted one."""
    if p.stage_stuck_full > 0.5:
        return float(p.pass_ohm)
    return warm_ohm(p.pass_ohm, p.pass_tempco_1_K, x.pass_degC)


@kernel
def linear_ohm(p: Record, x: Record) -> float:
    """Return the resistance [ohm] of the linear stage when its pass MOSFET is fully on."""
    return float(pass_now_ohm(p, x) + p.inductor_ohm + p.own_shunt_ohm)


@kernel
def hold_linear(p: Record, x: Record, source_V: float) -> bool:
    """Let the pass MOSFET give `stage_A` at `output_V`; return False if the pack can't hold it.

    `source_V` [V] is behind the pack's fast resistance.
    """
    x.ripple_A = 0.0
    x.stage_duty = 1.0
    if not draw_beside(p, x, source_V, x.stage_A, x.standing_W + p.stage_idle_W):
        return False
    burn_linear(p, x, p.stage_idle_W)
    return bool(x.pack_V - x.output_V >= x.stage_A * linear_ohm(p, x))


@kernel
def burn_linear(p: Record, x: Record, idle_W: float) -> None:
    """Set the losses from pack voltage, output voltage and `stage_A`; `idle_W` [W] besides."""
    across_W = (x.pack_V - x.output_V) * x.stage_A
    in_pass_W = across_W - x.stage_A * x.stage_A * (p.inductor_ohm + p.own_shunt_ohm)
    x.pass_loss_W = in_pass_W if in_pass_W > 0.0 else 0.0
    x.stage_loss_W = across_W + idle_W


@kernel
def passed_A(p: Record, x: Record, source_V: float, wanted_A: float) -> float:
    """Return what the pass MOSFET lets of `wanted_A` [A] from `source_V` [V] into an open output.

    At most what all resistances allow at the sub-step's start (but the bleeder's current always)
    and what a bench supply's limit leaves.
    """
    most_A = (source_V - x.output_V) / (p.pack_fast_ohm + linear_ohm(p, x))
    bled_A = source_V * p.bleeder_S
    if most_A < bled_A:
        most_A = bled_A
    if p.pack_kind != 0.0:
        left_A = p.bench_limit_A - (x.standing_W + p.stage_idle_W) / source_V
        if most_A > left_A:
            most_A = left_A if left_A > 0.0 else 0.0
    return float(wanted_A if wanted_A < most_A else most_A)


@kernel
def charge_linear(p: Record, x: Record, source_V: float, mean_A: float, given_W: float) -> None:
    """Charge an open output with `mean_A` [A], which gives it `given_W` [W]; the rest is heat."""
    draw_beside(p, x, source_V, mean_A, x.standing_W + p.stage_idle_W)
    x.pass_loss_W = x.pack_V * mean_A - given_W
    x.stage_loss_W = x.pass_loss_W + p.stage_idle_W
