"""The loop while the stage feeds the diode: pack, stage, diode and path solved together.

Either the stage holds its current (`buck`, `linear`; a gated module is a buck here); or this pack
can't give that (collapse, a duty beyond the largest, too little voltage across the pass MOSFET, a
bench supply at its limit) and the stage is a divider, fully on (`dropout`).

Source, range: see `stage` and the modules named.
"""

from diodewright.plant.buck import buck_peak_A, hold_buck
from diodewright.plant.diode import lit_V
from diodewright.plant.dropout import drop_out
from diodewright.plant.kernel import Record, kernel
from diodewright.plant.linear import hold_linear
from diodewright.plant.stage import stage_goal_A, stage_overshoots


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
        feed_diode(p, x, path_ohm, knee, wanted_A, leak_A)
        held = hold_linear(p, x, source_V) if p.stage_kind == 1.0 else hold_buck(p, x, source_V)
    if held:
        heading_A = goal_A if goal_A > wanted_A else wanted_A
        if stage_overshoots(p, x):
            heading_A += goal_A * p.overshoot
        heading_A -= leak_A
    else:
        drop_out(p, x, source_V, path_ohm, knee, wanted_A, leak_A, before_V)
        heading_A = x.diode_A
    x.output_loss_W = x.output_V * (x.stage_A - x.diode_A)
    heading_A += p.ripple_share * (buck_peak_A(x.stage_A, x.ripple_A) - x.stage_A)
    return heading_A if heading_A > 0.0 else 0.0


@kernel
def feed_diode(
    p: Record, x: Record, path_ohm: float, knee: float, wanted_A: float, leak_A: float
) -> None:
    """Let `wanted_A` [A] flow into output and diode: set their currents and voltages."""
    x.stage_A = wanted_A
    if wanted_A > leak_A:
        x.diode_A = wanted_A - leak_A
        x.diode_V = lit_V(p, x, knee, x.diode_A)
        x.output_V = x.diode_V + x.diode_A * path_ohm
    else:
        x.diode_A = 0.0
        x.output_V = wanted_A * p.bleeder_ohm
        x.diode_V = x.output_V
