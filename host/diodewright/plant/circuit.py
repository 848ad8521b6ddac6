"""The loop of pack, stage, output capacitor, diode and cut-off A, solved once a sub-step.

Four cases: lit (stage runs, path closed: `lit`), driven open (stage runs, no path), dark with a
path, dark without. Pack, duty and diode are algebraic: they settle in microseconds. The stage's
current and the output capacitor follow exact exponentials. A comparator that trips gates A and B
again at once, so that the sub-step ends dark and the peak is a closed form (see `comparator`).

Energy. What is drawn (terminal volts times amperes) is booked apart from what is spent (diode,
stage, cut-off A, shunt and leads, bleeder and capacitor, controller), so that the two can be
compared. With ``usb = 1`` controller, indicator and trickle are not the pack's (the trickle's
energy then shows in `output_loss_W` all the same). The inductor's and capacitor's energy at a
start (below 0.1 mJ) is not drawn from the pack; where the inductor charges the capacitor, that
is a gain in `output_loss_W`.

Source. Circuit laws; closed forms in `comparator`. Range and what is left out: see `pack`,
`stage`, `diode`, `switch` and `comparator`. After B goes off with the path closed, the inductor's
and capacitor's rest flows through the diode for some 10 us, never above the current that was
there: only its energy is booked.
"""

from diodewright.plant.comparator import (
    dumped_V,
    open_trip_V,
    reconnection_A,
    trip_peak_A,
    tripped_A,
    watch_current,
    watch_voltage,
)
from diodewright.plant.diode import diode_slope_ohm, forward_V, knee_V
from diodewright.plant.factors import faded
from diodewright.plant.kernel import Record, kernel
from diodewright.plant.linear import charge_linear, passed_A
from diodewright.plant.lit import solve_lit
from diodewright.plant.pack import draw, pack_source_V, standing_load_W
from diodewright.plant.stage import FULL_ON_A, stage_goal_A, stage_runs
from diodewright.plant.switch import a_now_ohm, gate_cutoffs


@kernel
def carry_current(p: Record, x: Record, dt_s: float) -> None:
    """Solve the loop for this sub-step of `dt_s` [s]; A and B are already gated."""
    source_V = pack_source_V(p, x)
    seen_V = source_V - x.pack_A * p.pack_fast_ohm
    path_ohm = p.series_ohm + a_now_ohm(p, x)
    knee = knee_V(p, x)
    begin_V = x.output_V
    x.dropout = 0.0
    x.output_peak_V = begin_V
    x.standing_W = standing_load_W(p, x, source_V)
    runs = stage_runs(p, x, source_V)
    path = path_is_closed(p, x)
    surge_A = surge_on_closing_A(p, x, knee, path_ohm) if path else 0.0
    peak_A = surge_A
    was_latched = x.latch
    held_A = x.stage_A
    charging_A = 0.0
    if runs and path:
        peak_A = larger(surge_A, solve_lit(p, x, source_V, path_ohm, knee))
    elif runs:
        charging_A = solve_open(p, x, dt_s, source_V)
    watch_current(p, x, peak_A)
    watch_voltage(p, x, x.output_V)
    if x.latch > was_latched:
        gate_cutoffs(p, x)
        runs_on = stage_runs(p, x, source_V)
        path_on = path_is_closed(p, x)
        if runs and path and not (runs_on and path_on):
            trip_A = tripped_A(p, x, knee, path_ohm, peak_A)
            if surge_A > p.trip_A * p.trip_A_factor and p.over_current_dead < 0.5:
                trip_A = held_A
            peak_A = larger(surge_A, cut_short_A(p, x, knee, path_ohm, seen_V, trip_A, peak_A))
            if runs_on:
                solve_open(p, x, dt_s, source_V)
        elif runs and not runs_on:
            x.stage_A = charging_A
            x.output_V = open_trip_V(p, charging_A, x.output_V)
        runs = runs_on
        path = path_on
    if not runs:
        solve_dark(p, x, dt_s, source_V, path_ohm, knee, begin_V)
    x.output_peak_V = larger(x.output_peak_V, x.output_V)
    x.diode_peak_A = larger(peak_A, x.diode_A)
    x.path_closed = 1.0 if path else 0.0
    x.stage_live = 1.0 if runs and path else 0.0
    x.path_loss_W = x.diode_A * x.diode_A * p.series_ohm
    x.a_loss_W = x.diode_A * x.diode_A * (path_ohm - p.series_ohm)


@kernel
def larger(a: float, b: float) -> float:
    """Return the larger of two numbers."""
    return a if a > b else b


@kernel
def surge_on_closing_A(p: Record, x: Record, knee: float, path_ohm: float) -> float:
    """Dump the output into a path that has just closed; return the surge [A], 0 for none."""
    if x.path_closed > 0.5 or x.output_V <= knee:
        return 0.0
    loop_ohm = path_ohm + diode_slope_ohm(p)
    surge_A = reconnection_A(x.output_V, knee, loop_ohm, p.surge_ohm)
    x.output_V = knee if knee > 0.0 else 0.0
    return float(surge_A)


@kernel
def cut_short_A(
    p: Record,
    x: Record,
    knee: float,
    path_ohm: float,
    seen_V: float,
    trip_A: float,
    heading_A: float,
) -> float:
    """End a lit sub-step by a trip at `trip_A` [A]; return the stage's peak [A] let through.

    Where a surge set the latch, `trip_A` is what the inductor carried when the path closed.
    """
    peak_A = trip_peak_A(p, trip_A, seen_V, forward_V(p, knee, trip_A), heading_A)
    x.stage_A = peak_A
    x.output_V = forward_V(p, knee, peak_A) + peak_A * path_ohm
    return peak_A


@kernel
def path_is_closed(p: Record, x: Record) -> bool:
    """Return whether current can flow through diode and cut-off A."""
    return bool(x.a_closed > 0.5 and p.diode_open < 0.5)


@kernel
def solve_open(p: Record, x: Record, dt_s: float, source_V: float) -> float:
    """Let the running stage charge the output with no path; return the charging current [A].

    The output heads for what the current makes of the bleeder, at most for what the stage can
    give from the pack; a higher output only bleeds down.
    """
    linear = p.stage_kind == 1.0
    goal_A = FULL_ON_A if p.stage_stuck_full > 0.5 else stage_goal_A(p, x)
    charging_A = goal_A + (x.stage_A - goal_A) * p.loop_decay
    if linear:
        charging_A = passed_A(p, x, source_V, charging_A)
    duty = 1.0 if p.stage_stuck_full > 0.5 or linear else p.duty_max
    ceiling_V = duty * (source_V - x.pack_A * p.pack_fast_ohm)
    begin_V = x.output_V
    end_V = charging_A * p.bleeder_ohm
    end_V += (begin_V - end_V) * p.bleeder_decay
    x.stage_A = charging_A
    if end_V > ceiling_V:
        bled_V = begin_V * p.bleeder_decay
        end_V = ceiling_V if ceiling_V > bled_V else bled_V
        x.stage_A = ceiling_V * p.bleeder_S
    stored_W = 0.5 * p.output_F * (end_V * end_V - begin_V * begin_V) / dt_s
    bled_W = 0.5 * (end_V * end_V + begin_V * begin_V) * p.bleeder_S
    given_W = stored_W + bled_W
    if given_W < 0.0:
        given_W = 0.0
    x.output_V = end_V
    x.output_loss_W = given_W - stored_W
    x.diode_A = 0.0
    x.diode_V = 0.0
    x.ripple_A = 0.0
    x.stage_duty = duty
    if linear:
        mean_V = 0.5 * (begin_V + end_V)
        charge_linear(p, x, source_V, given_W / mean_V if mean_V > 0.0 else 0.0, given_W)
    else:
        x.stage_loss_W = p.stage_idle_W
        draw(p, x, source_V, x.standing_W + p.stage_idle_W + given_W)
    return float(charging_A)


@kernel
def solve_dark(
    p: Record,
    x: Record,
    dt_s: float,
    source_V: float,
    path_ohm: float,
    knee: float,
    begin_V: float,
) -> None:
    """Let the output settle with the stage off: dump, knee, bleeder, self-test trickle.

    `begin_V` [V] is the output at the sub-step's start, for the energy.
    """
    path = path_is_closed(p, x)
    free_V = x.trickle * p.trickle_A * p.bleeder_ohm
    from_V = x.output_V
    x.diode_A = 0.0
    x.diode_V = 0.0
    if path:
        if from_V > knee:
            from_V = knee if knee > 0.0 else 0.0
        if free_V > knee and p.trickle_clamp_V > knee:
            x.diode_A = x.trickle * (p.trickle_A - knee * p.bleeder_S)
            x.diode_V = forward_V(p, knee, x.diode_A)
    elif x.stage_A > 0.0:
        from_V = dumped_V(p, from_V, x.stage_A)
        x.output_peak_V = from_V
    if x.diode_A > 0.0:
        x.output_V = x.diode_V + x.diode_A * path_ohm
    else:
        x.output_V = faded(free_V + (from_V - free_V) * p.bleeder_decay)
        if x.trickle > 0.5 and x.output_V > p.trickle_clamp_V:
            x.output_V = larger(p.trickle_clamp_V, from_V * p.bleeder_decay)
        if path:
            x.diode_V = x.output_V
    x.stage_A = 0.0
    x.ripple_A = 0.0
    x.stage_duty = 0.0
    x.pass_loss_W = 0.0
    x.stage_loss_W = p.stage_idle_W * x.b_on
    trickle_W = x.trickle * p.trickle_A * begin_V
    freed_W = 0.5 * p.output_F * (begin_V * begin_V - x.output_V * x.output_V) / dt_s
    x.output_loss_W = trickle_W + freed_W - x.output_V * x.diode_A
    if p.usb > 0.5:
        trickle_W = 0.0
    draw(p, x, source_V, x.standing_W + x.stage_loss_W + trickle_W)
