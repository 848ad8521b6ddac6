"""Values of the reference circuit that no build file states, and the values that parts come in.

Preferred values: IEC 60063 (E24, E96); fuse ratings: the R10 series of IEC 60127, from memory.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

__all__ = [
    "E24",
    "E96",
    "FUSES_A",
    "REFERENCE",
    "TICK_S",
    "Reference",
    "near",
    "preferred",
    "preferred_above",
    "preferred_below",
]


def _row(text: str) -> tuple[float, ...]:
    return tuple(float(each) for each in text.split())


E24 = _row("10 11 12 13 15 16 18 20 22 24 27 30 33 36 39 43 47 51 56 62 68 75 82 91")
E96 = tuple(round(100 * 10 ** (n / 96)) for n in range(96))
FUSES_A = _row("0.1 0.125 0.16 0.2 0.25 0.315 0.4 0.5 0.63 0.8 1 1.25 1.6 2 2.5 3.15 4 5 6.3 8 10")
#: The law's tick [s].
TICK_S = 1e-3


@dataclass(frozen=True)
class Reference:
    """Values of the reference circuit that no build file states; typical, no source, but for marks.

    Attributes
    ----------
    rail_high_V, rail_low_V : ends of the logic supply: a regulator of 3 %, the supervisor's lowest.
    supervisor_high_V, supervisor_s : its highest threshold [V] and its reaction [s].
    rail_F : capacitance on the logic supply [F].
    amplifier_s, comparator_s, logic_s : parts of the over-current path, at the slowest [s]: one
        pole of the sense amplifier, comparator at its smallest overdrive, latch and gates.
    gate_ohm, driver_ohm : ahead of cut-off A's gate [ohm].
    bleeder_ohm : across the output, as the simulated plant has it [ohm].
    empty_V, empty_s : what the bleeder must reach, and within which time.
    couple_F, store_F, pump_drop_V : the dynamic enable's pump.
    delay_F : the capacitor that delays cut-off B [F].
    schmitt_top_ohm, schmitt_ground_ohm, schmitt_back_ohm : the resistors that set its thresholds.
    cap_tolerance, ohm_tolerance : of the parts of pump and delay, as shares.
    set_gain : the stage's own amplifier, set input over shunt voltage.
    first_ohm, second_ohm : series resistors of the set path's two poles [ohm].
    fuse_over : rating over the highest current in use; common practice, no source.
    """

    rail_high_V: float = 3.4
    rail_low_V: float = 2.9
    supervisor_high_V: float = 3.0
    supervisor_s: float = 100e-6
    rail_F: float = 47e-6
    amplifier_s: float = 0.15e-6
    comparator_s: float = 0.35e-6
    logic_s: float = 0.05e-6
    gate_ohm: float = 100.0
    driver_ohm: float = 30.0
    bleeder_ohm: float = 10e3
    empty_V: float = 0.1
    empty_s: float = 0.1
    couple_F: float = 10e-9
    store_F: float = 39e-9
    pump_drop_V: float = 0.11
    delay_F: float = 100e-9
    schmitt_top_ohm: float = 18e3
    schmitt_ground_ohm: float = 10e3
    schmitt_back_ohm: float = 33e3
    cap_tolerance: float = 0.05
    ohm_tolerance: float = 0.01
    set_gain: float = 20.0
    first_ohm: float = 2200.0
    second_ohm: float = 22e3
    fuse_over: float = 1.5

    @property
    def rise_share(self) -> float:
        """Upper threshold of the Schmitt gate, of the rail: its feedback pulls up."""
        top_S, back_S = 1 / self.schmitt_top_ohm, 1 / self.schmitt_back_ohm
        return (top_S + back_S) / (top_S + back_S + 1 / self.schmitt_ground_ohm)

    @property
    def fall_share(self) -> float:
        """Lower threshold of the Schmitt gate, of the rail: its feedback pulls down."""
        top_S, back_S = 1 / self.schmitt_top_ohm, 1 / self.schmitt_back_ohm
        return top_S / (top_S + back_S + 1 / self.schmitt_ground_ohm)


REFERENCE = Reference()


def near(series: Iterable[float], value: float) -> list[float]:
    """Return the preferred values of the decades around `value`."""
    steps = tuple(series)
    decade = 10.0 ** (math.floor(math.log10(value) - math.log10(steps[0]) - 1))
    return [round(step * decade * 10**n, 12) for n in (0, 1, 2) for step in steps]


def preferred(value: float, series: Iterable[float] = E96) -> float:
    """Return the preferred value nearest to `value`, as a ratio."""
    return min(near(series, value), key=lambda each: abs(math.log(each / value)))


def preferred_below(value: float, series: Iterable[float] = E24) -> float:
    """Return the largest preferred value that is not above `value`."""
    return max(each for each in near(series, value) if each <= value * (1 + 1e-9))


def preferred_above(value: float, series: Iterable[float] = E24) -> float:
    """Return the smallest preferred value that is not below `value`."""
    return min(each for each in near(series, value) if each >= value * (1 - 1e-9))
