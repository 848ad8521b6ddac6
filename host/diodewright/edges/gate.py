"""The gate of cut-off A while nobody drives it: what leakage and its drain make of it.

Equations. A pin that leaks I into the pull-down R, and the gate's capacitance C: from any start
``v = v_end + (v0 - v_end) exp(-t / R C)``, ``v_end = I R``, never above the rail that the leakage
comes from. A drain that rises by dV within T couples through the feedback capacitance C_f:

    v = R C_f dV/T (1 - exp(-T / (R (C_f + C_i))))     at most   dV C_f / (C_f + C_i)

The gate is held while v stays below the lowest threshold.

Source. First-order circuit; facts of the pin: a stepping of a common controller (RP2350, erratum
E9 of its data sheet) sources about 120 uA into an undriven pin: 0.98 V on 8.2 kohm, 0.56 V on
4.7 kohm; 8.4 V through 30 pF into 600 pF is 0.40 V. SPICE on the same circuit:
`hardware_notes/netlists/gate_hold.cir`.

Does not model: how the feedback capacitance grows at low drain voltage, the gate driver or Schmitt
gate in front (it holds better than a bare pin), inductance of the gate's wiring, conduction below
the threshold (a data sheet's threshold is where some 250 uA flow).
"""

import math
from dataclasses import dataclass

__all__ = ["Gate", "coupled_V", "gate_V"]


@dataclass(frozen=True)
class Gate:
    """An undriven gate.

    Attributes
    ----------
    pulldown_ohm : from gate to source [ohm].
    leak_A : what the pin sources [A].
    rail_V : what the leakage can't pass [V].
    input_F, feedback_F : gate to source, gate to drain [F].
    """

    pulldown_ohm: float
    leak_A: float
    rail_V: float
    input_F: float
    feedback_F: float


def gate_V(of: Gate, start_V: float = 0.0, after_s: float = math.inf) -> float:
    """Return the gate [V] `after_s` [s] from `start_V` [V] on; settled where no time is given."""
    end_V = min(of.leak_A * of.pulldown_ohm, of.rail_V)
    time_s = of.pulldown_ohm * (of.input_F + of.feedback_F)
    return end_V + (start_V - end_V) * math.exp(-after_s / time_s)


def coupled_V(of: Gate, rise_V: float, rise_s: float) -> float:
    """Return what a drain that rises by `rise_V` [V] within `rise_s` [s] makes of the gate [V]."""
    time_s = of.pulldown_ohm * (of.input_F + of.feedback_F)
    if rise_s <= 0.0:
        return rise_V * of.feedback_F / (of.feedback_F + of.input_F)
    pushed_V = of.pulldown_ohm * of.feedback_F * rise_V / rise_s
    return -pushed_V * math.expm1(-rise_s / time_s)
