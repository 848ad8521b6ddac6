"""From what a healthy board reads back to what must have been there: the reading chain undone.

A converter rounds, the law's scale counts 4096 codes to a full of 4095 and cuts whole mA and mV
off, and its table of the thermistor is straight between 33 points. All that is known and the same
on every board; what is a part's own (tolerance, offset) stays in. Made from the plant's sensors and
the build's settings, so that nothing is stated twice.
"""

from collections.abc import Callable

import numpy as np

from diodedriver.words import NTC_POINTS
from diodewright.bench.span import Values
from diodewright.build import Build
from diodewright.derive import plant_values, settings
from diodewright.derive.board import RAIL_V
from diodewright.plant import record
from diodewright.plant.params import PARAM_RECORD, STATE
from diodewright.plant.sensors import ADC_TOP, mount_pin_V

__all__ = ["between", "thermistor", "unscaled"]

_CODES = 4096
_CODES_A_POINT = 128
_GRID_degC = np.arange(-30.0, 130.0, 0.25)
_ZERO_degC = -273.15


def unscaled(reading: Values) -> Values:
    """Return amperes or volts [A or V] from a reading cut to thousandths."""
    return np.where(reading > 0, (reading + 0.0005) * (_CODES / ADC_TOP), 0.0)


def between(current_A: Values, *volts: Values) -> tuple[Values, ...]:
    """Return what flowed between each row and the next: the mean of both, by power for voltages.

    A row's own reading held until the next would come late by half of that time.
    """
    after = np.append(current_A[1:], current_A[-1])
    both = current_A + after
    safe = np.where(both > 0, both, 1.0)
    means = []
    for each in volts:
        following = np.append(each[1:], each[-1])
        weighted = (each * current_A + following * after) / safe
        means.append(np.where(both > 0, weighted, (each + following) / 2))
    return (both / 2, *means)


def thermistor(build: Build) -> Callable[[Values], Values]:
    """Return what gives the thermistor's true temperature [degC] for a reading [degC]."""
    p = record.make(PARAM_RECORD, plant_values(build), compiled=False).record
    x = record.make(STATE, {"rail_V": RAIL_V}, compiled=False).record
    words = settings(build)
    table_degC = [words[f"ntc_{i}_cK"] / 100 + _ZERO_degC for i in range(NTC_POINTS)]
    codes = []
    for degC in _GRID_degC:
        x.mount_ntc_degC = float(degC)
        codes.append(mount_pin_V(p, x) / build.sensors.reference_V * ADC_TOP)
    points = np.arange(NTC_POINTS) * float(_CODES_A_POINT)
    # the law cuts the hundredths, half of one on the mean
    read_degC = np.interp(codes, points, table_degC) - 0.005
    return lambda reading: np.interp(reading, read_degC, _GRID_degC)
