"""A contact in the diode's leads that opens and closes again onto a charged output.

Equations. While the contact is open the stage's current I goes into the output capacitor,
``v = v0 + I t / C``, v0 what the diode left there. Past the over-voltage trip, and the
comparator's delay later, cut-off A is open; the output is then held by the clamp and what closes
again carries nothing. Closed before, the capacitor empties into the diode through the loop's
wiring L and all resistance R of the loop, the stage still giving I:

    C v' = I - i      L i' = v - knee - R i

For ``L = 0`` the peak is ``(v - knee) / R``, for I = 0 the charge is ``C (v - knee)`` and the time
constant R C. Without the trip the output rises to the clamp or to what the pack has.

Source. Circuit laws; series RLC in any text. Published sum for R alone: 3.6 V through 0.3 ohm is
12 A, 22 uF then empty in 6.6 us. SPICE on the same circuit:
`hardware_notes/netlists/hot_reconnection.cir`.

Does not model: an arc in the opening contact (it would go on feeding the diode), a break shorter
than the caller says is plausible (within the microseconds that the trip needs, the stage's own
current fills any capacitor with enough to harm), a trip during the surge (it cuts the surge short:
this errs high), how the stage winds up while the contact is open, the diode's curve beyond its
tangent, charge in a long cable.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from diodewright.edges.circuit import samples

__all__ = ["Contact", "opens_after_s", "reconnected_A", "worst_reconnected_A"]

_SAMPLES = 1024
#: A loop whose inductance is this small against R^2 C is taken as none.
_STIFF = 1e-4
_JUST_BELOW = 1.0 - 1e-9


@dataclass(frozen=True)
class Contact:
    """The output and the loop that a contact opens and closes.

    Attributes
    ----------
    output_F : output capacitor [F].
    loop_H, loop_ohm : wiring inductance and all resistance of the diode's loop [H], [ohm].
    knee_V : the diode's voltage at no current, its tangent's [V].
    stage_A : what the stage gives throughout [A].
    trip_V, delay_s : over-voltage comparator [V], [s to an open A]; infinite: none.
    ceiling_V : what the output can't pass: the clamp, or what the stage has [V].
    """

    output_F: float
    loop_H: float
    loop_ohm: float
    knee_V: float
    stage_A: float
    trip_V: float
    delay_s: float
    ceiling_V: float


def _lit_V(of: Contact) -> float:
    return min(of.knee_V + of.loop_ohm * of.stage_A, of.ceiling_V)


def opens_after_s(of: Contact) -> float:
    """Return when A is open after the contact opened [s]; infinite where nothing trips."""
    if of.trip_V >= of.ceiling_V or of.stage_A <= 0.0:
        return float("inf")
    rise_s = (of.trip_V - _lit_V(of)) * of.output_F / of.stage_A
    return max(rise_s, 0.0) + of.delay_s


def charged_V(of: Contact, break_s: float) -> float:
    """Return the output [V] after the contact was open for `break_s` [s]."""
    return min(_lit_V(of) + of.stage_A * break_s / of.output_F, of.ceiling_V)


def surge_A(of: Contact, from_V: float) -> float:
    """Return the diode's peak [A] when the contact closes with the output at `from_V` [V]."""
    over_V = from_V - of.knee_V
    if over_V <= 0.0:
        return of.stage_A
    if of.loop_H <= _STIFF * of.loop_ohm * of.loop_ohm * of.output_F:
        return max(over_V / of.loop_ohm, of.stage_A)
    rates = np.array([[0.0, -1.0 / of.output_F], [1.0 / of.loop_H, -of.loop_ohm / of.loop_H]])
    drive = np.array([of.stage_A / of.output_F, -of.knee_V / of.loop_H])
    span_s = 4.0 * np.sqrt(of.loop_H * of.output_F)
    rows = samples(rates, drive, np.array([from_V, 0.0]), span_s / _SAMPLES, _SAMPLES)
    return float(max(rows[:, 1].max(), of.stage_A))


def reconnected_A(of: Contact, break_s: float) -> float:
    """Return the diode's peak [A] after a break of `break_s` [s]; 0 where A is open by then."""
    if break_s >= opens_after_s(of):
        return 0.0
    return surge_A(of, charged_V(of, break_s))


def worst_reconnected_A(of: Contact, shortest_s: float, currents_A: Sequence[float]) -> float:
    """Return the highest peak [A] over all breaks from `shortest_s` [s] and `currents_A` [A].

    The output only rises, so that of each current the worst break is the one that ends just
    before A opens; a current whose charge trips sooner than the shortest break leaves none.
    Every current passes through all lower ones as it rises, so the largest current at which A is
    still closed after the shortest break (``C (trip - knee) / (shortest - delay + R C)``) is
    looked at beside those given.
    """
    time_s = max(shortest_s - of.delay_s, 0.0) + of.loop_ohm * of.output_F
    reach_A = _JUST_BELOW * (of.trip_V - of.knee_V) * of.output_F / time_s
    worst_A = 0.0
    for stage_A in (*currents_A, min(reach_A, max(currents_A, default=0.0))):
        at = replace(of, stage_A=stage_A)
        open_s = opens_after_s(at)
        if open_s < shortest_s or stage_A <= 0.0:
            continue
        over_V = of.ceiling_V if open_s == float("inf") else charged_V(at, open_s)
        worst_A = max(worst_A, surge_A(at, over_V))
    return worst_A
