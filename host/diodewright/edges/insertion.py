"""The pack is plugged in: inrush into the stage's input capacitor, and how far it rings.

Equations. Series circuit of pack and leads (V, R, L) and the empty input capacitor C. With
``Z = sqrt(L / C)``, ``d = R / 2Z``, for ``d < 1``

    v_peak = V (1 + exp(-pi d / sqrt(1 - d^2)))
    i_peak = V / Z exp(-d acos(d) / sqrt(1 - d^2))

and for ``d >= 1`` no overshoot: ``v_peak = V``, and ``i_peak = V / Z exp(-d acosh(d) /
sqrt(d^2 - 1))``. The charge through the contact's resistance spends ``C V^2 / 2`` whatever R is.

Source. Series RLC, any text. SPICE on the same circuit:
`hardware_notes/netlists/pack_insertion.cir`.

Does not model: a ceramic capacitor that loses capacitance with voltage (it rings higher than this,
possibly past twice V), contact bounce (each bounce begins with less to charge, unless the
capacitor empties meanwhile), a damping electrolytic beside it, the fuse's pulse rating, reverse
protection that opens slowly.
"""

import math
from dataclasses import dataclass

__all__ = ["Insertion", "insert"]


@dataclass(frozen=True)
class Insertion:
    """What an insertion shows: highest current [A] and voltage [V], energy in the contact [J]."""

    peak_A: float
    peak_V: float
    contact_J: float


def insert(source_V: float, source_ohm: float, leads_H: float, input_F: float) -> Insertion:
    """Plug a pack of `source_V` [V] behind `source_ohm` and `leads_H` into `input_F` [F].

    Examples
    --------
    No damping rings to twice the voltage:

    >>> round(insert(8.4, 1e-9, 0.5e-6, 10e-6).peak_V, 3)
    16.8
    """
    impedance_ohm = math.sqrt(leads_H / input_F)
    damping = source_ohm / (2.0 * impedance_ohm)
    contact_J = 0.5 * input_F * source_V * source_V
    surge_A = source_V / impedance_ohm
    if damping < 1.0:
        root = math.sqrt(1.0 - damping * damping)
        peak_V = source_V * (1.0 + math.exp(-math.pi * damping / root))
        peak_A = surge_A * math.exp(-damping * math.acos(damping) / root)
        return Insertion(peak_A, peak_V, contact_J)
    if damping == 1.0:
        return Insertion(surge_A / math.e, source_V, contact_J)
    root = math.sqrt(damping * damping - 1.0)
    peak_A = surge_A * math.exp(-damping * math.acosh(damping) / root)
    return Insertion(peak_A, source_V, contact_J)
