"""A stage that is stuck full on, until the over-current comparator has opened cut-off A.

Equations. Pack V behind R1 feeds the stage's input capacitor C1 (v1); from there the shorted
switch, the inductor and their resistance R2 lead to the output capacitor C2 (v2), which the diode
with its path (V = knee + R i) loads:

    C1 v1' = (V - v1) / R1 - i      L i' = v1 - R2 i - v2      C2 v2' = i - (v2 - knee) / R

The latch sets when the diode's current passes the trip, and stays; A is open one delay later. In
the diode's own return A ends the diode's current at once: what follows is the output's rise,
``C2 v2' = i``, up to the clamp. On the pack's side A only takes the pack away: C1 goes on feeding
the diode through the stuck stage.

The peak that is judged has half the ripple on top: a comparator whose path is as slow as a period
sees the mean. ``peak <= trip + delay * slope + ripple / 2``, slope (V - V_diode) / L at the most.

Source. Circuit laws. SPICE on the same circuit: `hardware_notes/netlists/comparator_trip.cir` and
`stage_stuck_full.cir`.

Does not model: the inductor's saturation (past it the slope grows), the pack's inductance (the
input capacitor stands before it), the time that A takes from off to open (it belongs to the
delay), the diode's curve beyond its tangent, noise of the comparator, a comparator that sees
every crest (its peak is half the ripple lower).
"""

from dataclasses import dataclass

import numpy as np

from diodewright.edges.circuit import Array, Event, first_event, samples

__all__ = ["Stuck", "Tripped", "trip"]

_SAMPLES = 1024
#: Longest rise that is looked at, in the time in which the full voltage would pass the trip.
_RISE = 40.0


@dataclass(frozen=True)
class Stuck:
    """The circuit around a stage that is stuck full on.

    Attributes
    ----------
    source_V, source_ohm : the pack [V] and all up to the stage's input [ohm].
    input_F : the stage's input capacitor [F].
    stage_ohm : switch, winding and own shunt [ohm].
    inductor_H : [H].
    output_F : output capacitor [F].
    knee_V, diode_ohm : the diode's tangent [V], [ohm], with all in series with it.
    begin_A : what flows when the stage sticks [A].
    trip_A, delay_s : over-current comparator [A], [s to an open A].
    ripple_A : of the inductor in regulation [A peak to peak].
    clamp_V : what the clamp across the output holds [V].
    pack_side : True where A stands at the pack.
    """

    source_V: float
    source_ohm: float
    input_F: float
    stage_ohm: float
    inductor_H: float
    output_F: float
    knee_V: float
    diode_ohm: float
    begin_A: float
    trip_A: float
    delay_s: float
    ripple_A: float
    clamp_V: float
    pack_side: bool = False


@dataclass(frozen=True)
class Tripped:
    """What became of it.

    Attributes
    ----------
    latched : whether the comparator tripped at all.
    trip_s : from the short to the crossing [s].
    opening_A : the diode's current when A opens, or what it settles at where nothing trips [A].
    peak_A : the highest in the diode [A], without ripple; with A on the pack's side later than
        the opening.
    judged_A : that with half the ripple [A].
    output_V : highest output after A opened [V]; 0 where A leaves the diode connected.
    """

    latched: bool
    trip_s: float
    opening_A: float
    peak_A: float
    judged_A: float
    output_V: float


def _lit(of: Stuck, fed: bool) -> tuple[Array, Array]:
    """Return A and b of (v1, i, v2) with the diode in the loop; `fed`: by the pack."""
    feed_S = 1.0 / of.source_ohm if fed else 0.0
    rates = np.array(
        [
            [-feed_S / of.input_F, -1.0 / of.input_F, 0.0],
            [1.0 / of.inductor_H, -of.stage_ohm / of.inductor_H, -1.0 / of.inductor_H],
            [0.0, 1.0 / of.output_F, -1.0 / (of.diode_ohm * of.output_F)],
        ]
    )
    drive = np.array(
        [
            feed_S * of.source_V / of.input_F,
            0.0,
            of.knee_V / (of.diode_ohm * of.output_F),
        ]
    )
    return rates, drive


def _dark(of: Stuck) -> tuple[Array, Array]:
    """Return A and b with the diode's return open."""
    rates, drive = _lit(of, fed=True)
    rates[2, 2], drive[2] = 0.0, 0.0
    return rates, drive


def _current_A(of: Stuck, rows: Array) -> Array:
    return (rows[:, 2] - of.knee_V) / of.diode_ohm


def _until_trip(of: Stuck, start: Array) -> Event:
    """Run from the short to the crossing, or to where the current has settled."""
    usual_s = of.inductor_H * of.trip_A / max(of.source_V - of.knee_V, 0.05 * of.source_V)
    span_s = _RISE * (usual_s + of.diode_ohm * of.output_F)
    trip = ((0.0, 0.0, 1.0), of.knee_V + of.diode_ohm * of.trip_A)
    return first_event(*_lit(of, fed=True), start, span_s / _SAMPLES, _SAMPLES, [trip])


def _fed_by_input_A(of: Stuck, opened: Array) -> float:
    """Return the highest current [A] that the input capacitor alone still drives."""
    both_F = of.input_F + of.output_F
    span_s = 4.0 * np.sqrt(of.inductor_H * both_F)
    rows = samples(*_lit(of, fed=False), opened, span_s / _SAMPLES, _SAMPLES)
    return float(_current_A(of, rows).max())


def _risen_V(of: Stuck, opened: Array) -> float:
    """Return how far the inductor lifts the output [V] once the diode's return is open."""
    span_s = 4.0 * np.sqrt(of.inductor_H * of.output_F)
    spent = ((0.0, -1.0, 0.0), 0.0)
    after = first_event(*_dark(of), opened, span_s / _SAMPLES, _SAMPLES, [spent])
    return float(min(after.seen[:, 2].max(), max(of.clamp_V, opened[2])))


def trip(of: Stuck) -> Tripped:
    """Let the stage stick full on at `begin_A` and return what the diode sees."""
    begin_V = of.knee_V + of.diode_ohm * of.begin_A
    start = np.array([of.source_V - of.source_ohm * of.begin_A, of.begin_A, begin_V])
    rise = _until_trip(of, start)
    if rise.which < 0:
        settled = _current_A(of, rise.seen)
        peak_A = float(settled.max())
        return Tripped(False, rise.after_s, float(settled[-1]), peak_A, peak_A, 0.0)
    late = samples(*_lit(of, fed=True), rise.state, of.delay_s / 64, 64)
    opened = late[-1]
    currents = _current_A(of, late)
    opening_A, peak_A = float(currents[-1]), float(currents.max())
    output_V = 0.0
    if of.pack_side:
        peak_A = max(peak_A, _fed_by_input_A(of, opened))
    else:
        output_V = _risen_V(of, opened)
    return Tripped(True, rise.after_s, opening_A, peak_A, peak_A + 0.5 * of.ripple_A, output_V)
