"""The stage as the loop sees it: what it is asked for, when it runs, what it heads for.

Three kinds, one seam: 0 a buck converter (`buck`), 1 a pass MOSFET (`linear`), 2 a gated module
(`gated`). Each regulates its current on its own shunt; what each then takes from the pack is its
own module's, what it gives when the pack is too low is in `dropout`.

Equations. Set path (kinds 0 and 1): duty times full scale (it follows the rail, as a filtered
PWM does), two equal poles, gain and offset errors. Own loop: first order towards
``I = (set * gain + offset) / own_shunt_gain``.

Source. Common practice, no source: a current loop with one dominant pole. The set filter is
checked against the matrix exponential of its two poles.

Validity. Loop faster than 1 ms. Left out: the loop's stability, its ringing (turn-on overshoot is
one peak, in the sub-step in which the current starts), its wind-up while it drops out.
"""

from diodewright.plant.gated import module_arrives, module_goal_A
from diodewright.plant.kernel import Record, kernel

FULL_ON_A = 1000.0


@kernel
def follow_set(p: Record, x: Record) -> None:
    """Move the set filter by a sub-step: `set_A` is what the stage's set input asks for."""
    asked_A = x.duty * x.rail_V * p.set_A_V
    if p.set_stuck_full > 0.5:
        asked_A = x.rail_V * p.set_A_V
    if p.set_open > 0.5:
        asked_A = 0.0
    if p.set_frozen > 0.5:
        asked_A = x.set_pole_A
    first_A = x.set_pole_A - asked_A
    x.set_A = asked_A + (x.set_A - asked_A) * p.set_decay + first_A * p.set_carry
    x.set_pole_A = asked_A + first_A * p.set_decay


@kernel
def stage_goal_A(p: Record, x: Record) -> float:
    """Return the current [A] that the stage's loop is heading for."""
    if p.shunt_gain_inverse <= 0.0:
        return FULL_ON_A
    if p.stage_kind == 2.0:
        return module_goal_A(p, x)
    meant_A = x.set_A * p.set_gain + p.set_offset_A
    if meant_A <= 0.0:
        return 0.0
    return float(meant_A * p.shunt_gain_inverse)


@kernel
def stage_runs(p: Record, x: Record, source_V: float) -> bool:
    """Return whether the stage gives current: enabled and started up, or stuck full on."""
    if source_V <= 0.0 or p.stage_stuck_off > 0.5:
        return False
    if p.stage_stuck_full > 0.5:
        return True
    return bool(x.b_on > 0.5 and x.b_on_s >= p.stage_startup_s)


@kernel
def stage_overshoots(p: Record, x: Record) -> bool:
    """Return whether the turn-on overshoot falls into this sub-step, its path being closed."""
    if p.stage_kind == 2.0:
        return module_arrives(p, x)
    return bool(x.stage_live < 0.5)
