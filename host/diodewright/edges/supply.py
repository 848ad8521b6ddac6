"""The controller's supply while the pack sags or its contact opens: the hold-up capacitor.

Equations. The pack feeds a hold-up capacitor C through a diode of its own (drop V_d), the
controller's regulator draws a constant power P from it. While the pack stands lower than the
capacitor, ``v = sqrt(v0^2 - 2 P t / C)``; the pack takes over again where its own voltage less
V_d is higher. With the pack gone, the time to the regulator's lowest input is
``t = C (v0^2 - v1^2) / 2 P``.

Source. Energy of a capacitor, any text. SPICE on the same circuit:
`hardware_notes/netlists/supply_dip.cir`.

Does not model: leakage and series resistance of the capacitor, the regulator's own output
capacitor (it adds to the time), how its efficiency changes, a supply from USB, what the
supervisor's own delay adds.
"""

import math
from dataclasses import dataclass

__all__ = ["Supply", "hold_up_s", "lowest_input_V"]


@dataclass(frozen=True)
class Supply:
    """The controller's supply.

    Attributes
    ----------
    hold_up_F : capacitor at the regulator's input [F].
    drop_V : of the diode in front of it [V].
    load_W : what the regulator draws there [W].
    least_V : the regulator's lowest input [V].
    """

    hold_up_F: float
    drop_V: float
    load_W: float
    least_V: float


def lowest_input_V(of: Supply, before_V: float, during_V: float, lasts_s: float) -> float:
    """Return the regulator's lowest input [V] in a dip from `before_V` to `during_V` [V]."""
    square = (before_V - of.drop_V) ** 2 - 2.0 * of.load_W * lasts_s / of.hold_up_F
    return max(math.sqrt(max(square, 0.0)), during_V - of.drop_V)


def hold_up_s(of: Supply, before_V: float) -> float:
    """Return how long [s] the regulator goes on once a pack of `before_V` [V] is lost."""
    start_V = before_V - of.drop_V
    if start_V <= of.least_V:
        return 0.0
    return of.hold_up_F * (start_V**2 - of.least_V**2) / (2.0 * of.load_W)
