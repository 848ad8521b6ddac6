"""A gated stage: a fixed-current module that knows on and off, and inside it a buck.

Equations. Its set path has no effect. While enabled, and after `stage_startup_s`, it asks its own
buck for ``I = I_module * gain / own_shunt_gain * min(1, t / t_rise)``, t counted from the end of
the start-up and taken at the sub-step's end; gain is the tolerance of its current. Ripple,
losses, dropout and the loop's time constant are the buck's (`buck`, `dropout`, `stage`).

Source. Common practice, no source: makers state a module's current, its tolerance, and at best
the time of its soft start. An overshoot is stated, if at all, as part of the current.

Validity. Range as of `buck`. The turn-on overshoot is one peak, in the sub-step in which the
rise ends (a path closed again after that: at once). Left out: a rise that is not straight, a
current that changes with input voltage, temperature or load (change `set_gain`), hiccup and
thermal cutback of the module's own: a real one may go dark or blink where this one goes on.
"""

from diodewright.plant.kernel import Record, kernel


@kernel
def module_full_A(p: Record) -> float:
    """Return the true current [A] of the risen module, whose own shunt must not read zero."""
    return float(p.module_A * p.set_gain * p.shunt_gain_inverse)


@kernel
def module_goal_A(p: Record, x: Record) -> float:
    """Return the current [A] that the module asks for at this sub-step's end."""
    since_s = x.b_on_s + p.step_s - p.stage_startup_s
    if since_s >= p.module_rise_s:
        return module_full_A(p)
    if since_s <= 0.0:
        return 0.0
    return float(module_full_A(p) * since_s / p.module_rise_s)


@kernel
def module_arrives(p: Record, x: Record) -> bool:
    """Return whether the module reaches its current in this sub-step, its path being closed."""
    if x.b_on_s + p.step_s - p.stage_startup_s < p.module_rise_s:
        return False
    return bool(x.stage_live < 0.5 or x.b_on_s - p.stage_startup_s < p.module_rise_s)
