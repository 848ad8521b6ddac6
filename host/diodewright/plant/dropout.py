"""Dropout: the stage fully on, a mere divider between pack and diode.

Equations. At duty D (`duty_max`; 1 for a pass MOSFET and for a stage stuck full on) the current is
the one at which ``D (Vs - R D I) = Vo(I) + I R_own`` (found by a bracketed Newton iteration), but
never more than the loop asks for. A bench supply at its limit folds down until the stage is
there: ``I = limit / D``.

Source. Circuit laws; an independent root finder in the tests.

Validity. Range as of `buck` and `linear`. Left out: how the loop winds up meanwhile, so that the
way out of dropout has no overshoot here; that a real loop, once its pack has collapsed, may stay
fully on where a smaller duty would do (here the light comes back at once); switching loss.
"""

from diodewright.plant.buck import buck_ohm, buck_ripple_A
from diodewright.plant.diode import forward_slope_ohm, forward_V
from diodewright.plant.kernel import Record, kernel
from diodewright.plant.linear import burn_linear, linear_ohm
from diodewright.plant.pack import constant_power_A

DROPOUT_ROUNDS = 60
DROPOUT_NEAR_A = 1e-12


@kernel
def dropout_A(
    p: Record,
    source_V: float,
    duty: float,
    own_ohm: float,
    fixed_A: float,
    leak_A: float,
    path_ohm: float,
    knee: float,
) -> float:
    """Return the diode current [A] at a fixed `duty`, the stage being a mere divider.

    `source_V` [V] is behind the pack's fast resistance; `own_ohm` [ohm] is the stage's;
    `fixed_A` [A] is drawn besides; `leak_A` [A] flows past the diode; `path_ohm` [ohm] is in
    series with it, `knee` [V] its voltage at no current. The balance falls strictly with the
    current, so that one root is bracketed; Newton's step is taken where it stays inside, else
    the bracket is halved.
    """
    series_ohm = own_ohm + duty * duty * p.pack_fast_ohm
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
    """Solve the loop with the stage fully on, at most at `wanted_A` [A] unless stuck full.

    Controller and idling draw their power at `before_V` [V], the pack's voltage a sub-step ago.
    """
    duty = p.duty_max
    most_A = wanted_A - leak_A
    if p.stage_stuck_full > 0.5:
        duty = 1.0
        most_A = source_V / path_ohm
    if p.stage_kind == 1.0:
        duty = 1.0
        own_ohm = linear_ohm(p, x)
    else:
        own_ohm = buck_ohm(p, duty)
    x.dropout = 1.0
    x.stage_duty = duty
    besides_W = x.standing_W + p.stage_idle_W
    besides_A = constant_power_A(source_V, p.pack_fast_ohm, besides_W)
    if before_V > 0.5 * source_V:
        besides_A = besides_W / before_V
    x.diode_A = dropout_A(p, source_V, duty, own_ohm, besides_A, leak_A, path_ohm, knee)
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
            x.pack_V = (x.output_V + x.stage_A * own_ohm) / duty
    else:
        x.output_V = duty * x.pack_V
        x.diode_V = x.output_V
        x.stage_A = x.output_V * p.bleeder_S
        x.pack_A = duty * x.stage_A + besides_A
    if p.stage_kind == 1.0:
        burn_linear(p, x, x.pack_V * besides_A - x.standing_W)
        x.ripple_A = 0.0
        return
    on_V = x.pack_V - x.output_V
    on_V -= x.stage_A * (p.high_side_ohm + p.inductor_ohm + p.own_shunt_ohm)
    x.ripple_A = buck_ripple_A(on_V, duty, p.ripple_A_V) if duty < 1.0 else 0.0
    own_W = x.stage_A * x.stage_A * own_ohm
    x.stage_loss_W = own_W + x.pack_V * besides_A - x.standing_W
