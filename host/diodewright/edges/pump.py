"""The dynamic enable: a pump that a toggling pin keeps charged, and the Schmitt gate behind it.

Equations. The pin toggles once a tick T. Each rising edge shares the coupling capacitor's charge
with the store, ``k = C_c / (C_c + C_s)``, pushed by ``V_f = rail - 2 drop``; while the pin is high
both capacitors empty into the bleeder R, while it is low the store alone:

    up = exp(-T / (R (C_c + C_s)))        down = exp(-T / (R C_s))
    crest = k V_f / (1 - (1 - k) up down)     trough = crest up down

From empty the n-th crest is ``crest (1 - ((1 - k) up down)^n)``. After the last edge the pump falls
to the Schmitt gate's lower threshold: from the crest through both capacitors where the pin stays
high, from ``crest up`` through the store where it stays low.

Source. Charge sharing and first-order decay, any text on charge pumps. SPICE on the same circuit:
`hardware_notes/netlists/dynamic_enable.cir`.

Does not model: the diodes' curve (a fixed drop), leakage of pump and gate, a tick that jitters.
"""

import math
from dataclasses import dataclass

__all__ = ["Pump", "crest_V", "hold_s", "pulses_to_on", "trough_V"]


@dataclass(frozen=True)
class Pump:
    """The pump and its gate.

    Attributes
    ----------
    rail_V : what the pin swings by [V].
    drop_V : of each of the two diodes at microamperes [V].
    couple_F, store_F : coupling and store capacitor [F].
    bleed_ohm : across the store [ohm].
    rise_V, fall_V : the Schmitt gate's thresholds [V].
    """

    rail_V: float
    drop_V: float
    couple_F: float
    store_F: float
    bleed_ohm: float
    rise_V: float
    fall_V: float


def _decays(of: Pump, tick_s: float) -> tuple[float, float]:
    up = math.exp(-tick_s / (of.bleed_ohm * (of.couple_F + of.store_F)))
    return up, math.exp(-tick_s / (of.bleed_ohm * of.store_F))


def _kept(of: Pump, tick_s: float) -> float:
    """Return the share of a crest that is left at the next one, the new charge aside."""
    up, down = _decays(of, tick_s)
    return up * down * of.store_F / (of.couple_F + of.store_F)


def crest_V(of: Pump, tick_s: float) -> float:
    """Return the settled pump [V] behind a rising edge, with a tick of `tick_s` [s]."""
    share = of.couple_F / (of.couple_F + of.store_F)
    return share * (of.rail_V - 2 * of.drop_V) / (1 - _kept(of, tick_s))


def trough_V(of: Pump, tick_s: float) -> float:
    """Return the settled pump [V] ahead of a rising edge, with a tick of `tick_s` [s]."""
    up, down = _decays(of, tick_s)
    return crest_V(of, tick_s) * up * down


def pulses_to_on(of: Pump, tick_s: float) -> int:
    """Return the rising edges from empty until the gate turns on; 0 where it never does."""
    top_V = crest_V(of, tick_s)
    if top_V <= of.rise_V:
        return 0
    return math.ceil(math.log(1 - of.rise_V / top_V) / math.log(_kept(of, tick_s)))


def hold_s(of: Pump, tick_s: float, *, high: bool) -> float:
    """Return how long [s] the gate stays on behind the last edge, the pin staying `high` or low."""
    top_V = crest_V(of, tick_s)
    if high:
        return of.bleed_ohm * (of.couple_F + of.store_F) * math.log(top_V / of.fall_V)
    return of.bleed_ohm * of.store_F * math.log(top_V * _decays(of, tick_s)[0] / of.fall_V)
