"""The comparators on the monitor path and at the output, and the edges that they decide.

Equations (closed forms of what happens within microseconds of a sub-step). Over-current: the
latch sets when the true peak passes `trip_A`; by the time A is open the inductor has added
``slope * delay`` with ``slope = (V_pack - V_diode) / L``, but no more than where the current was
heading. Over-voltage: with the load open the output rises at ``I / C`` past `trip_V` for the
delay. When the stage then stops, the inductor's energy goes into the output capacitor:
``V = sqrt(V0^2 + L I^2 / C)``, up to the clamp. A path re-made onto a charged capacitor draws
``(Vc - Vf) / R`` at once, Vf the knee and R all resistance in the loop.

Source. Inductor and capacitor relations from energy and charge (any text on power electronics);
reconnection checked against a circuit simulation of the same case (facts in the tests).

Validity. Delay much shorter than the sub-step; slope held at its highest (on time), so the trip
peak errs high. Left out: blanking, threshold noise, the loop's inductance (it lowers a
reconnection's peak), the fall of the current after A opens.
"""

import math

from diodewright.plant.diode import forward_V
from diodewright.plant.kernel import Record, kernel
from diodewright.plant.switch import set_latch

BISECTIONS = 40


@kernel
def tripped_A(p: Record, x: Record, knee: float, path_ohm: float, heading_A: float) -> float:
    """Return the current [A] at which a rising lit current set the latch.

    Over-current sets it at `trip_A`. Over-voltage sets it where forward voltage and path
    resistance add up to `trip_V`, found by bisection below `heading_A` [A], the peak that the
    current was heading for. The first of the two that is alive.
    """
    low_A = 0.0
    high_A = heading_A
    over_A = p.trip_A * p.trip_A_factor
    over_V = p.trip_V * p.trip_V_factor
    if x.latch_cause < 1.5 and over_A < heading_A:
        high_A = over_A
    if p.over_voltage_dead > 0.5 or forward_V(p, knee, high_A) + high_A * path_ohm <= over_V:
        return float(high_A)
    for _ in range(BISECTIONS):
        middle_A = 0.5 * (low_A + high_A)
        if forward_V(p, knee, middle_A) + middle_A * path_ohm < over_V:
            low_A = middle_A
        else:
            high_A = middle_A
    return float(high_A)


@kernel
def trip_peak_A(p: Record, trip_A: float, pack_V: float, diode_V: float, heading_A: float) -> float:
    """Return the peak [A] of a trip at `trip_A` [A]: trip + slope * delay, at most `heading_A`.

    `pack_V` and `diode_V` [V] give the slope; `heading_A` [A] is the peak it would have reached.
    """
    drive_V = pack_V - diode_V
    if drive_V < 0.0:
        drive_V = 0.0
    peak_A = trip_A + drive_V / (p.inductor_H * p.inductor_factor) * p.trip_delay_s
    return float(peak_A if peak_A < heading_A else heading_A)


@kernel
def watch_current(p: Record, x: Record, peak_A: float) -> None:
    """Set the latch if `peak_A` [A] passes the over-current trip."""
    if peak_A > p.trip_A * p.trip_A_factor and p.over_current_dead < 0.5:
        set_latch(x, 1.0)


@kernel
def watch_voltage(p: Record, x: Record, output_V: float) -> None:
    """Set the latch if `output_V` [V] passes the over-voltage trip."""
    if output_V > p.trip_V * p.trip_V_factor and p.over_voltage_dead < 0.5:
        set_latch(x, 2.0)


@kernel
def open_trip_V(p: Record, current_A: float, heading_V: float) -> float:
    """Return the open-load output [V] as the stage stops: trip + I/C * delay, at most heading_V."""
    peak_V = p.trip_V * p.trip_V_factor + current_A / p.output_F * p.trip_delay_s
    return float(peak_V if peak_V < heading_V else heading_V)


@kernel
def dumped_V(p: Record, output_V: float, current_A: float) -> float:
    """Return the output [V] after the inductor's energy at `current_A` [A] went into it."""
    stored_H = p.inductor_H * p.inductor_factor
    square = output_V * output_V + stored_H * current_A * current_A / p.output_F
    peak_V = math.sqrt(square)
    if peak_V > p.output_clamp_V:
        peak_V = p.output_clamp_V if p.output_clamp_V > output_V else output_V
    return float(peak_V)


@kernel
def reconnection_A(charged_V: float, knee: float, loop_ohm: float, surge_ohm: float) -> float:
    """Return a bound of the peak [A] when a capacitor at `charged_V` [V] meets a knee [V].

    `loop_ohm` is the loop's resistance, `surge_ohm` the impedance sqrt(L/C) of its wiring and the
    capacitor: a series RLC discharge exceeds neither V/R nor V sqrt(C/L).
    """
    if charged_V <= knee:
        return 0.0
    return (charged_V - knee) / (surge_ohm if surge_ohm > loop_ohm else loop_ohm)
