"""Cut-off A opens the diode's loop: what its wiring does to A and to the diode.

Equations. A's drain rises at once to its breakdown BV and holds it until the wiring's current is
spent; with the supply VDD behind the wiring,

    E = L I^2 / 2 * BV / (BV - VDD),      t = L I / (BV - VDD)

Then the charge of A's output capacitance C rings back through the wiring, in reverse: the diode
blocks, and the diode across it (a tangent, knee and resistance) carries the reverse current. From
rest with BV on C and v0 at the output: ``L i' = v - v0 - knee - R i``, ``C v' = -i``; the reverse
voltage is knee + R_clamp i at its peak. Without that diode the blocking diode's own capacitance
C_d takes it: ``2 (BV - v0) C / (C + C_d)`` at the most.

Source. Energy: Toshiba, MOSFET avalanche ruggedness (frequently asked questions): 1 uH, 10 A,
40 V, 8.4 V give 63.3 uJ. The rest from circuit laws. SPICE on the same circuit:
`hardware_notes/netlists/turn_off.cir`.

Does not model: how A's capacitance falls with voltage (a constant one at its data-sheet value is
taken), a gate that opens slowly (it spends the energy in its linear mode instead of in avalanche,
at the same amount or less), wiring between the diode and the one across it (they must touch),
reverse recovery, forward recovery of the clamp.
"""

from dataclasses import dataclass

import numpy as np

from diodewright.edges.circuit import first_event

__all__ = ["Opening", "TurnOff", "avalanche_J", "turn_off"]

_SAMPLES = 512


@dataclass(frozen=True)
class Opening:
    """The loop that A opens.

    Attributes
    ----------
    loop_H, loop_ohm : wiring inductance and resistance of the loop [H], [ohm].
    opened_A : the current that A opens [A].
    breakdown_V : A's drain to source [V].
    supply_V : what drives the wiring while A avalanches [V]: output less the diode's voltage.
    output_V : the output that the loop rings against [V].
    drain_F : A's output capacitance [F].
    clamp_V, clamp_ohm : knee and resistance of the diode across the diode; an infinite knee: none.
    diode_F : capacitance of the blocking diode [F], counted where no diode is across it.
    """

    loop_H: float
    loop_ohm: float
    opened_A: float
    breakdown_V: float
    supply_V: float
    output_V: float
    drain_F: float
    clamp_V: float
    clamp_ohm: float
    diode_F: float


@dataclass(frozen=True)
class TurnOff:
    """What A and the diode have to stand.

    Attributes
    ----------
    avalanche_J, avalanche_s : energy in A [J], and for how long [s].
    reverse_A, reverse_V : highest reverse current of the ring, and voltage at the diode.
    """

    avalanche_J: float
    avalanche_s: float
    reverse_A: float
    reverse_V: float


def avalanche_J(of: Opening) -> float:
    """Return the energy [J] that A takes in avalanche.

    Raises
    ------
    ValueError
        The supply alone holds A at its breakdown: the current never ends.
    """
    if of.supply_V >= of.breakdown_V:
        raise ValueError(f"{of.supply_V:g} V behind a breakdown of {of.breakdown_V:g} V")
    stored_J = 0.5 * of.loop_H * of.opened_A * of.opened_A
    return stored_J * of.breakdown_V / (of.breakdown_V - of.supply_V)


def _ring(of: Opening) -> tuple[float, float]:
    """Return the ring's highest reverse current [A] and the reverse voltage [V] at the diode."""
    over_V = of.breakdown_V - of.output_V
    if over_V <= 0.0:
        return 0.0, 0.0
    held = of.clamp_V < float("inf")
    series_F = of.drain_F if held else of.drain_F * of.diode_F / (of.drain_F + of.diode_F)
    ohm = of.loop_ohm + (of.clamp_ohm if held else 0.0)
    push_V = over_V - of.clamp_V if held else over_V
    if push_V <= 0.0:
        return 0.0, over_V
    # i and u, what the capacitances have left to push the ring with
    rates = np.array([[-ohm / of.loop_H, 1.0 / of.loop_H], [-1.0 / series_F, 0.0]])
    span_s = 4.0 * np.sqrt(of.loop_H * series_F)
    start = np.array([0.0, push_V])
    back = [((-1.0, 0.0), 0.0)]
    rows = first_event(rates, np.zeros(2), start, span_s / _SAMPLES, _SAMPLES, back).seen
    reverse_A = float(rows[:, 0].max())
    if held:
        return reverse_A, of.clamp_V + of.clamp_ohm * reverse_A
    moved_C = (push_V - float(rows[:, 1].min())) * series_F
    return reverse_A, moved_C / of.diode_F


def turn_off(of: Opening) -> TurnOff:
    """Return what A and the diode stand when A opens; ValueError as of `avalanche_J`."""
    energy_J = avalanche_J(of)
    spent_s = of.loop_H * of.opened_A / (of.breakdown_V - of.supply_V)
    reverse_A, reverse_V = _ring(of)
    return TurnOff(energy_J, spent_s, reverse_A, reverse_V)
