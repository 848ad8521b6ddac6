"""What this unit's sensors give, calibrated: the nominal part times what was measured of it.

Plant and settings take the same numbers from here, so that a calibrated build reads its own truth.
What a calibration leaves uncertain stands in the place of the part's tolerance.
"""

import math

from diodewright.build import Build

__all__ = [
    "ADC_OFFSET_CODES",
    "adc_uneven_codes",
    "current_V_A",
    "current_off_pct",
    "ntc_calibrated",
    "ntc_constants",
    "ntc_inverse_1_K",
    "output_off_pct",
    "output_ratio",
    "pack_off_pct",
    "pack_ratio",
    "sensor_off_K",
    "zero_V",
]

#: What a converter may be off, its uneven codes included: a controller's data sheet, from memory.
ADC_OFFSET_CODES = 8.0
AT_25_1_K = 1.0 / 298.15


def _or(given: float | None, else_: float) -> float:
    return else_ if given is None else given


def current_V_A(build: Build) -> float:
    """Return the monitor's output per ampere [V/A]."""
    return build.sensors.monitor_gain_V_A / _or(build.calibration.current_gain, 1.0)


def zero_V(build: Build) -> float:
    """Return the monitor's output at no current [V]."""
    return _or(build.calibration.current_zero_mV, 0.0) / 1000


def output_ratio(build: Build) -> float:
    """Return pin voltage over output voltage."""
    return build.sensors.output_divider / _or(build.calibration.output_gain, 1.0)


def pack_ratio(build: Build) -> float:
    """Return pin voltage over pack voltage."""
    return build.sensors.pack_divider / _or(build.calibration.pack_gain, 1.0)


def current_off_pct(build: Build) -> float:
    """Return how far the monitor's gain may be off [%]."""
    return _or(build.calibration.current_gain_off_pct, build.sensors.monitor_tolerance_pct)


def output_off_pct(build: Build) -> float:
    """Return how far the output divider may be off [%]."""
    return _or(build.calibration.output_off_pct, build.sensors.voltage_tolerance_pct)


def pack_off_pct(build: Build) -> float:
    """Return how far the pack divider may be off [%]."""
    return _or(build.calibration.pack_off_pct, build.sensors.voltage_tolerance_pct)


def sensor_off_K(build: Build, which: str) -> float:
    """Return how far the thermistor on "mount" or "sink" may be off, its place included [K].

    One table of the law serves both. Where it was made from the mount's own thermistor, one on the
    sink that was not measured is off by its tolerance and by that shift besides.
    """
    said = build.calibration
    own = said.mount_off_K if which == "mount" else said.sink_off_K
    if own is not None:
        return own
    return build.sensors.ntc_tolerance_degC + abs(_or(said.ntc_shift_K, 0.0))


def adc_uneven_codes(build: Build) -> float:
    """Return how far the converter may be off [codes]."""
    return _or(build.calibration.adc_uneven_codes, ADC_OFFSET_CODES)


def ntc_calibrated(build: Build) -> bool:
    """Return whether the thermistors' curve was measured, its resistor to the rail with it."""
    return build.calibration.ntc_beta_gain is not None


def ntc_inverse_1_K(build: Build) -> tuple[float, float]:
    """Return steepness and shift [1/K] of the curve: 1/T = 1/T25 + (x - 1/T25) / gain + shift.

    `x` is what the nominal curve gives for a resistance [1/K], T25 25 degC. Steinhart-Hart's and
    Beta's equations keep their form under it: only their constants move.
    """
    hotter_K = _or(build.calibration.ntc_shift_K, 0.0)
    shift_1_K = 1.0 / (298.15 + hotter_K) - AT_25_1_K if hotter_K else 0.0
    return _or(build.calibration.ntc_beta_gain, 1.0), shift_1_K


def ntc_constants(build: Build) -> dict[str, object]:
    """Return the thermistors' constants as the plant's table names them."""
    sensors = build.sensors
    gain, shift_1_K = ntc_inverse_1_K(build)
    if sensors.ntc_curve == "steinhart_hart":
        return {
            "ntc_kind": 1,
            "ntc_sh_A": _moved(sensors.ntc_sh_a_1_K, gain, shift_1_K),
            "ntc_sh_B": sensors.ntc_sh_b_1_K / gain,
            "ntc_sh_C": sensors.ntc_sh_c_1_K / gain,
        }
    beta_K = sensors.ntc_beta_K * gain
    return {
        "ntc_25_ohm": 1000 * sensors.ntc_25_kohm * math.exp(-beta_K * shift_1_K),
        "ntc_beta_K": beta_K,
    }


def _moved(at_1_K: float, gain: float, shift_1_K: float) -> float:
    """Return Steinhart-Hart's A; as it was, to the last bit, where nothing was calibrated."""
    if gain == 1.0 and shift_1_K == 0.0:
        return at_1_K
    return AT_25_1_K + (at_1_K - AT_25_1_K) / gain + shift_1_K
