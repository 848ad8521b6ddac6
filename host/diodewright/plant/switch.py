"""Cut-offs: what opens and closes A (low-side MOSFET) and B (the stage's enable) in hardware.

Equations. A conducts while nothing in hardware forbids it (latch, key, interlock loop, supply
supervisor), the last edge of the dynamic enable is younger than the hold time, and its edges have
come for the time that the pump takes to fill. B is on while nothing forbids it and its pin has been
high for its delay. A's resistance
is ``R(T) = R25 (1 + alpha (T - 25 degC))``; with self-heating over theta to air the channel
settles at ``T = (Ta + theta I^2 R25 (1 - 25 alpha)) / (1 - g)``, ``g = theta I^2 R25 alpha``;
from g = 1 on, that is from ``I = sqrt(1 / (theta R25 alpha))``, it runs away.

Source. Linear R(T): 0.5 %/K, Texas Instruments BQ24650 text; closed form: its fixed point.

Validity. A fully driven or fully off; -60 to +400 degC (the resistance is held at those ends, so
that a runaway stays finite; a real part has failed long before). Left out: the linear region
(slow or floating gates), safe operating area, avalanche and the wiring's inductance at turn-off,
contact bounce of key and interlock. A pump that has dropped A begins anew, whatever charge it kept.
"""

from diodewright.plant.kernel import Record, kernel

CHANNEL_REF_degC = 25.0
CHANNEL_MIN_degC = -60.0
CHANNEL_MAX_degC = 400.0


@kernel
def warm_ohm(cold_ohm: float, tempco_1_K: float, channel_degC: float) -> float:
    """Return the resistance [ohm] of a MOSFET at `channel_degC`, `cold_ohm` [ohm] at 25 degC.

    `tempco_1_K` [1/K] is its rise per kelvin, of the value at 25 degC.
    """
    if channel_degC > CHANNEL_MAX_degC:
        channel_degC = CHANNEL_MAX_degC
    if channel_degC < CHANNEL_MIN_degC:
        channel_degC = CHANNEL_MIN_degC
    return float(cold_ohm * (1.0 + tempco_1_K * (channel_degC - CHANNEL_REF_degC)))


@kernel
def a_now_ohm(p: Record, x: Record) -> float:
    """Return the resistance [ohm] of the closed cut-off A at its present temperature."""
    return warm_ohm(p.a_ohm, p.a_tempco_1_K, x.a_degC)


@kernel
def take_edges(p: Record, x: Record) -> None:
    """Take the one-shot inputs: dynamic enable edge, latch reset, injected trip.

    Each is consumed here; the caller sets it once. A reset and an injected trip in the same
    sub-step leave the latch set. The trip is injected at the over-current comparator's input: a
    dead one does not pass it on.
    """
    if x.pulse_edge > 0.5:
        x.pulse_age_s = 0.0
        x.pulse_edge = 0.0
    if x.latch_reset > 0.5:
        if p.reset_stuck < 0.5:
            x.latch = 0.0
        x.latch_reset = 0.0
    if x.trip_inject > 0.5:
        answers = p.trip_A * p.trip_A_factor <= p.inject_A and p.trip_delay_s <= p.inject_s
        if answers and p.over_current_dead < 0.5:
            set_latch(x, 3.0)
        x.trip_inject = 0.0


@kernel
def set_latch(x: Record, cause: float) -> None:
    """Set the comparator latch; the first `cause` [code] is kept until a reset."""
    if x.latch < 0.5:
        x.latch_cause = cause
    x.latch = 1.0


@kernel
def controls_closed(p: Record) -> bool:
    """Return whether key and interlock are closed, as their contacts are."""
    key = p.key > 0.5 or p.key_stuck > 0.5
    return bool(key and (p.interlock > 0.5 or p.interlock_stuck > 0.5))


@kernel
def gate_cutoffs(p: Record, x: Record) -> None:
    """Open or close A and B as the hardware does, from the law's outputs and the gates."""
    allowed = x.latch < 0.5 and (p.gates_dead > 0.5 or controls_closed(p))
    if x.rail_V < p.supervisor_V and p.supervisor_dead < 0.5:
        allowed = False
    alive = x.pulse_age_s < p.pulse_hold_s
    if not alive:
        x.pulse_run_s = 0.0
    driven = allowed and alive and x.pulse_run_s >= p.pulse_close_s
    closed = p.a_open < 0.5 and (driven or p.a_short > 0.5)
    x.a_closed = 1.0 if closed else 0.0
    asked = x.enable_b > 0.5 and x.b_asked_s >= p.b_delay_s
    enabled = (allowed and asked) or p.b_stuck_on > 0.5
    x.b_on = 1.0 if enabled else 0.0


@kernel
def age_cutoffs(x: Record, dt_s: float) -> None:
    """Let `dt_s` [s] pass for the dynamic enable, for B's delay and for the stage's start-up."""
    x.pulse_age_s += dt_s
    x.pulse_run_s += dt_s
    if x.enable_b > 0.5:
        x.b_asked_s += dt_s
    else:
        x.b_asked_s = 0.0
    if x.b_on > 0.5:
        x.b_on_s += dt_s
    else:
        x.b_on_s = 0.0
