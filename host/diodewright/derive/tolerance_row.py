"""What a row of the tolerance table says, and the limits that follow from a build."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from diodewright.build import Build
from diodewright.derive.calibrated import (
    adc_uneven_codes,
    current_V_A,
    ntc_calibrated,
    sensor_off_K,
)

__all__ = [
    "How",
    "Limits",
    "Row",
    "Shape",
    "air_K",
    "between",
    "cells",
    "curve",
    "even",
    "offset_V",
    "over_voltage",
    "percent",
    "thermistor_K",
    "trip_band_A",
    "zero_V",
]

How = Literal["share", "shift", "ntc_K", "ntc_curve"]
Shape = Literal["even", "normal"]
#: The lower and the upper limit of a row of one build, as a share or in the row's unit.
Limits = Callable[[Build], tuple[float, float]]

#: Resistors, references and what else of the reference board no build file states. Typical.
AMPLIFIER_OFFSET_V = 150e-6


@dataclass(frozen=True)
class Row:
    """One row of the table, for every build; see `Tolerance`."""

    name: str
    part: str
    moves: tuple[str, ...]
    how: How
    limits: Limits
    source: str
    shape: Shape = "even"
    unit: str = ""


def even(share: float) -> Limits:
    """Return equal limits of a share."""
    return lambda _: (-share, share)


def between(low: float, high: float) -> Limits:
    """Return limits that are the same for every build."""
    return lambda _: (low, high)


def percent(of: Callable[[Build], float]) -> Limits:
    """Return equal limits of a share from a key in per cent."""
    return lambda build: (-of(build) / 100, of(build) / 100)


def offset_V(build: Build) -> tuple[float, float]:
    """Return the converter's offset at a pin [V]."""
    volts = adc_uneven_codes(build) * build.sensors.reference_V / 4095
    return -volts, volts


def zero_V(build: Build) -> tuple[float, float]:
    """Return the monitor's output at no current [V]: the amplifier's input offset, amplified.

    Of a calibrated one what that left uncertain.
    """
    gain_V_V = current_V_A(build) / (build.sensors.monitor_shunt_mohm / 1000)
    volts = AMPLIFIER_OFFSET_V * gain_V_V
    if build.calibration.current_zero_off_mV is not None:
        volts = build.calibration.current_zero_off_mV / 1000
    return -volts, volts


def trip_band_A(build: Build) -> tuple[float, float]:
    """Return the over-current trip's declared band, from its middle [A]."""
    half_A = (build.comparator.trip_max_A - build.comparator.trip_min_A) / 2
    return -half_A, half_A


def air_K(build: Build) -> tuple[float, float]:
    """Return the coldest and the warmest air, from the stated one [K]."""
    heat = build.heat
    low_K = heat.ambient_min_degC - heat.ambient_degC
    return min(low_K, 0.0), max(heat.ambient_max_degC - heat.ambient_degC, 0.0)


def cells(build: Build) -> tuple[float, float]:
    """Return how far the cells' resistance may be off: smallest plausible to cold or aged."""
    pack = build.pack
    return pack.resistance_min_mohm / pack.cell_resistance_mohm - 1, pack.cold_factor - 1


def over_voltage(build: Build) -> tuple[float, float]:
    """Return the over-voltage trip's spread: its divider, and a reference of its own."""
    share = build.sensors.voltage_tolerance_pct / 100 + 0.01
    return -share, share


def thermistor_K(which: str) -> Limits:
    """Return how far a thermistor, on "mount" or "sink", and its place may be off [K]."""
    return lambda build: (-sensor_off_K(build, which), sensor_off_K(build, which))


def curve(share: float) -> Limits:
    """Return a share of what all thermistors have in common; none where that was calibrated."""
    return lambda build: (0.0, 0.0) if ntc_calibrated(build) else (-share, share)
