"""The loop while the stage feeds the diode: pack, stage, diode and path solved together.

Either the stage holds its current, and the pack sees a constant power (``Vo I`` and all losses);
or this pack can't give that (collapse, a duty beyond the largest, a bench supply at its limit)
and the stage is a divider at its largest duty. A bench supply at its limit folds down until the
stage is there: ``I = limit / D``.

The duty that sets losses and ripple takes the pack's voltage at the previous sub-step's current;
whether the stage holds is judged with the new one. Source, range: see `stage` and `pack`.
"""

from diodewright.plant.diode import forward_V
from diodewright.plant.kernel import Record, kernel
from diodewright.plant.pack import collapses, constant_power_A, draw
from diodewright.plant.stage import (
    buck_duty,
    buck_peak_A,
    buck_ripple_A,
    buck_square_A2,
    drop_ohm,
    dropout_A,
    stage_goal_A,
)


@kernel
def solve_lit(p: Record, x: Record, source_V: float, path_ohm: float, knee: float) -> float:
    """Solve the loop with the stage running into the diode; return the peak it heads for [A].

    `source_V` [V] is behind the pack's fast resistance, `path_ohm` [ohm] in series with the
    diode, `knee` [V] its voltage at no current.
    """
    goal_A = stage_goal_A(p, x)
    wanted_A = goal_A + (x.stage_A - goal_A) * p.loop_decay
    start_V = x.output_V if x.output_V > knee else knee
    leak_A = start_V * p.bleeder_S
    before_V = x.pack_V
    held = False
    if p.stage_stuck_full < 0.5:
        held = hold_current(p, x, source_V, path_ohm, knee, wanted_A, leak_A)
    if held:
        heading_A = goal_A if goal_A > wanted_A else wanted_A
        if x.stage_live < 0.5:
            heading_A += goal_A * p.overshoot
        heading_A -= leak_A
    else:
        drop_out(p, x, source_V, path_ohm, knee, wanted_A, leak_A, before_V)
        heading_A = x.diode_A
    x.output_loss_W = x.output_V * (x.stage_A - x.diode_A)
    heading_A += p.ripple_share * (buck_peak_A(x.stage_A, x.ripple_A) - x.stage_A)
    return heading_A if heading_A > 0.0 else 0.0


@kernel
def hold_current(
    p: Record,
    x: Record,
    source_V: float,
    path_ohm: float,
    knee: float,
    wanted_A: float,
    leak_A: float,
) -> bool:
    """Solve the loop with the stage at `wanted_A` [A]; return False if the pack can't hold it."""
    x.stage_A = wanted_A
    if wanted_A > leak_A:
        x.diode_A = wanted_A - leak_A
        x.diode_V = forward_V(p, knee, x.diode_A)
        x.output_V = x.diode_V + x.diode_A * path_ohm
    else:
        x.diode_A = 0.0
        x.output_V = wanted_A * p.bleeder_ohm
        x.diode_V = x.output_V
    seen_V = source_V - x.pack_A * p.pack_fast_ohm
    duty = buck_duty(p, seen_V, x.output_V, wanted_A)
    if duty > 1.0:
        duty = 1.0
    on_V = seen_V - x.output_V - wanted_A * (p.high_side_ohm + p.inductor_ohm + p.own_shunt_ohm)
    x.ripple_A = buck_ripple_A(on_V, duty, p.ripple_A_V)
    conduction_W = buck_square_A2(wanted_A, x.ripple_A) * drop_ohm(p, duty)
    edges_W = 0.5 * seen_V * wanted_A * p.switching_edges_s * p.switching_Hz
    x.stage_loss_W = conduction_W + edges_W + p.stage_idle_W
    load_W = x.output_V * wanted_A + x.stage_loss_W + x.standing_W
    if collapses(source_V, p.pack_fast_ohm, load_W):
        return False
    draw(p, x, source_V, load_W)
    if p.pack_kind != 0.0 and x.pack_A >= p.bench_limit_A:
        return False
    x.stage_duty = buck_duty(p, x.pack_V, x.output_V, wanted_A)
    return bool(x.stage_duty <= p.duty_max)


@kernel
def drop_out(
    p: Record,
    x: Record,
    source_V: float,
    path_ohm: float,
    knee: float,
    wanted_A: float,
    leak_A: float,
    before_V: float,
) -> None:
    """Solve the loop with the stage at its largest duty, or at 1 when stuck full.

    Controller and idling draw their power at `before_V` [V], the pack's voltage a sub-step ago.
    """
    duty = p.duty_max
    most_A = wanted_A - leak_A
    if p.stage_stuck_full > 0.5:
        duty = 1.0
        most_A = source_V / path_ohm
    x.dropout = 1.0
    x.stage_duty = duty
    besides_W = x.standing_W + p.stage_idle_W
    besides_A = constant_power_A(source_V, p.pack_fast_ohm, besides_W)
    if before_V > 0.5 * source_V:
        besides_A = besides_W / before_V
    x.diode_A = dropout_A(p, source_V, duty, besides_A, leak_A, path_ohm, knee)
    if x.diode_A > most_A:
        x.diode_A = most_A if most_A > 0.0 else 0.0
    x.stage_A = x.diode_A + leak_A
    x.pack_A = duty * x.stage_A + besides_A
    limited = p.pack_kind != 0.0 and x.pack_A > p.bench_limit_A
    if limited:
        x.pack_A = p.bench_limit_A
        x.stage_A = (x.pack_A - besides_A) / duty if x.pack_A > besides_A else 0.0
        x.diode_A = x.stage_A - leak_A if x.stage_A > leak_A else 0.0
    x.pack_V = source_V - x.pack_A * p.pack_fast_ohm
    if x.diode_A > 0.0:
        x.diode_V = forward_V(p, knee, x.diode_A)
        x.output_V = x.diode_V + x.diode_A * path_ohm
        if limited:
            x.pack_V = (x.output_V + x.stage_A * drop_ohm(p, duty)) / duty
    else:
        x.output_V = duty * x.pack_V
        x.diode_V = x.output_V
        x.stage_A = x.output_V * p.bleeder_S
        x.pack_A = duty * x.stage_A + besides_A
    on_V = x.pack_V - x.output_V
    on_V -= x.stage_A * (p.high_side_ohm + p.inductor_ohm + p.own_shunt_ohm)
    x.ripple_A = buck_ripple_A(on_V, duty, p.ripple_A_V) if duty < 1.0 else 0.0
    own_W = x.stage_A * x.stage_A * drop_ohm(p, duty)
    x.stage_loss_W = own_W + x.pack_V * besides_A - x.standing_W
