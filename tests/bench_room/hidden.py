"""A board whose sensors are wrong in a hidden way, and a meter that is wrong in another.

The readings come through the plant's own sensors, the seam's codes with their noise, and the law's
own conversion under the nominal build's words.
"""

import math
import random
from collections.abc import Sequence
from statistics import fmean, stdev

import numpy as np

from diodedriver import words
from diodewright.bench.calibrate_line import Point
from diodewright.build import Build
from diodewright.derive import settings
from diodewright.derive.tolerances import drawn_values, placed, tolerances
from diodewright.plant.params import PARAMS, STATE, index_of
from diodewright.sim import compiled, new_tally, power_up

_STATE, _PARAM = index_of(STATE), index_of(PARAMS)
#: Quantity -> true state that its sensor sees, its channel of the multiplexer (-1: none).
SEEN = {
    "current": ("monitor_A", -1),
    "output": ("output_V", -1),
    "pack": ("pack_V", 0),
    "mount": ("mount_ntc_degC", 3),
    "sink": ("sink_ntc_degC", 4),
}
#: The tolerances that a calibration takes away.
ROWS = (
    "monitor-gain",
    "adc-reference",
    "monitor-zero",
    "adc-offset",
    "output-divider",
    "pack-divider",
    "mount-sensor",
    "sink-sensor",
    "ntc-curve",
    "ntc-resistor",
)
READINGS = 80


class HiddenBoard:
    """One true build under the words of the nominal one; `seed` draws its parts.

    Parameters
    ----------
    plant : parameters that are this, whatever is drawn.
    """

    def __init__(
        self,
        build: Build,
        seed: int,
        rows: Sequence[str] = ROWS,
        words_of: Build | None = None,
        plant: dict[str, float] | None = None,
    ) -> None:
        self.build, self.chance = build, random.Random(seed)
        drawn = {row.name: placed(row, self.chance.random()) for row in tolerances(build)}
        draws = {name: z for name, z in drawn.items() if name in rows}
        values = drawn_values(build, draws) | (plant or {})
        self.words = settings(words_of or build)
        self.machine = power_up(compiled(), values, self.words, {"soc": 1.0}, seed)
        self.machine.run(5, new_tally(compiled(), 0.01))  # its supply stands
        self._codes = np.zeros(4, dtype=np.int32)

    def parameter(self, name: str) -> float:
        return float(self.machine.p.flat[_PARAM[name]])

    def read(self, quantity: str, true: float) -> float:
        """Return one reading in the quantity's unit, as the law would make it."""
        state, channel = SEEN[quantity]
        machine = self.machine
        machine.x.flat[_STATE[state]] = true
        machine.engine.read_pins(machine.p.memory, machine.x.memory, max(channel, 0), self._codes)
        code = int(self._codes[0 if quantity == "current" else 1 if quantity == "output" else 2])
        return self.converted(quantity, code)

    def converted(self, quantity: str, code: int) -> float:
        if quantity == "current":
            code = max(code - self.words["current_zero_code"], 0)
            return (code * self.words["current_full_mA"] >> 12) / 1000
        if quantity in ("output", "pack"):
            return (code * self.words[f"{quantity}_full_mV"] >> 12) / 1000
        low = self.words[f"ntc_{code >> 7}_cK"]
        high = self.words[f"ntc_{min((code >> 7) + 1, words.NTC_POINTS - 1)}_cK"]
        return (low + ((high - low) * (code & 127) >> 7)) / 100 - 273.15

    def mean(self, quantity: str, true: float, count: int = READINGS) -> tuple[float, float]:
        """Return mean and its standard uncertainty of `count` readings."""
        reads = [self.read(quantity, true) for _ in range(count)]
        return fmean(reads), max(stdev(reads) / math.sqrt(count), 1e-5)

    def points(self, quantity: str, trues: Sequence[float], accuracy: float) -> list[Point]:
        """Return calibration points by a meter that is off by up to `accuracy`, % or K."""
        off = self.chance.uniform(-accuracy, accuracy)
        kelvin = quantity in ("mount", "sink")
        found = []
        for true in trues:
            read, read_u = self.mean(quantity, true)
            size = accuracy if kelvin else accuracy / 100 * true
            by_meter = true + off if kelvin else true * (1 + off / 100)
            scatter = 0.1 * size / math.sqrt(3)
            found.append(Point(read, read_u, by_meter + self.chance.gauss(0, scatter), scatter))
        return found

    def slope(self, quantity: str, trues: Sequence[float]) -> float:
        """Return truth per reading between two truths, noise averaged away to a hundredth."""
        low, high = (self.mean(quantity, true, 4000)[0] for true in trues)
        return (trues[1] - trues[0]) / (high - low)
