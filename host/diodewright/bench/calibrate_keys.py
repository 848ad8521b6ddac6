"""From a fitted line to keys of the build file, each word rounded to its safe side.

The current reads high where it is rounded (over-current comes sooner, the trim gives less), the
output high (hotter, open sooner), the pack low (cut back and locked out sooner), a thermistor hot.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from diodewright.bench.calibrate_line import COVER, Fitted
from diodewright.bench.calibrate_rows import Row
from diodewright.bench.problems import BenchError
from diodewright.build import Build
from diodewright.derive.calibrated import ntc_inverse_1_K, zero_V
from diodewright.derive.settings import settings

__all__ = ["Found", "as_line", "found"]

T25_K = 298.15
#: The law's own rounding down reads half a milliampere low: that is no zero to tell of.
_ROUNDING_A = 0.001
ZERO_K = 273.15


@dataclass(frozen=True)
class Found:
    """What a calibration found and what it would write.

    Attributes
    ----------
    keys : ``section.key`` -> value.
    gain, gain_95 : true over nominal reading, and half of its interval of 95 %; of a temperature
        the curve's steepness.
    zero, zero_95 : the reading where the truth is nothing (a temperature: how much too hot it
        reads at 25 degC), likewise [unit].
    off, off_before : how far a reading may be off now and before, % (K of a temperature).
    notes : what a reader must know of it.
    """

    keys: Mapping[str, float]
    gain: float
    gain_95: float
    zero: float
    zero_95: float
    off: float
    off_before: float
    notes: tuple[str, ...] = ()


def as_line(row: Row, value: float) -> float:
    """Return where a value lies on the axis on which its calibration is a straight line.

    A thermistor's errors are straight in 1/T: T25 (T - T25) / T, which is 0 at 25 degC and one
    kelvin a kelvin there.
    """
    if not row.is_temperature:
        return value
    kelvin = value + ZERO_K
    return T25_K * (kelvin - T25_K) / kelvin


def back(row: Row, value: float) -> float:
    """Return what `as_line` was given."""
    if not row.is_temperature:
        return value
    return T25_K * T25_K / (T25_K - value) - ZERO_K


def found(row: Row, build: Build, line: Fitted, accuracy: float) -> Found:
    """Return what the line means for `build`.

    Parameters
    ----------
    accuracy : of the meter, in % of its reading; of a thermometer in K.

    Raises
    ------
    BenchError
        A gain or zero that the parts can't have, or nothing is gained by this meter.
    """
    result = _MAKERS[row.name](row, build, line, accuracy)
    if result.off >= result.off_before:
        unit = "K" if row.is_temperature else "%"
        raise BenchError(
            f"{row.noun}: nothing is gained: within {result.off:.2g} {unit} after it, by its "
            f"parts alone within {result.off_before:.2g} {unit}: it takes a better meter"
        )
    return result


def _read_span(row: Row, line: Fitted, build: Build) -> tuple[float, float]:
    """Return the readings at the ends of what counts."""
    low, high = row.span(build)
    return line.read(as_line(row, low)), line.read(as_line(row, high))


def _off_pct(row: Row, line: Fitted, build: Build, accuracy: float) -> float:
    """Return how far the reading may be off [%]: meter's bounds, three of the fit's, drift."""
    ends = _read_span(row, line, build)
    fit = max(3.0 * line.u(end) / abs(line.true(end)) for end in ends)
    return accuracy + 100.0 * fit + row.drift


def _refuse_gain(row: Row, gain: float, limit_pct: float) -> None:
    off_pct = 100.0 * (gain - 1.0)
    if abs(off_pct) <= limit_pct:
        return
    raise BenchError(
        f"{row.noun}: the truth is {gain:.4g} times what nominal parts read, they allow "
        f"{1 - limit_pct / 100:.4g} to {1 + limit_pct / 100:.4g}: {_suspect(row, gain)}"
    )


def _near(gain: float, ratio: float) -> bool:
    return abs(gain / ratio - 1.0) < 0.1


def _suspect(row: Row, gain: float) -> str:
    """Return what most likely makes a gain impossible."""
    if gain < 0:
        return "the meter's leads are swapped"
    for ratio in (1000.0, 100.0, 10.0):
        if _near(gain, ratio) or _near(gain, 1.0 / ratio):
            return f"a meter's range or unit ({ratio:g} times), or {row.part}"
    for ratio, what in ((2.0, "half"), (0.5, "twice")):
        if _near(gain, ratio):
            return f"a resistor of {what} the value: {row.part}"
    return f"{row.part} is another one than the build file says, or is wired without its own taps"


def _limit_pct(row: Row, build: Build, line: Fitted, accuracy: float) -> float:
    return row.tolerance(build) + accuracy + 300.0 * line.slope_u / abs(line.slope)


def _gain_95(line: Fitted, accuracy: float) -> float:
    """Return half of the relative interval of 95 % of the slope."""
    meter = accuracy / 100.0 / math.sqrt(3.0)
    return COVER * math.hypot(line.slope_u / line.slope, meter)


def _gain_key(word: int, nominal: float) -> float:
    """Return the gain that derives exactly `word` from a nominal full scale."""
    for digits in (5, 6, 7, 8):
        gain = float(f"{word / nominal:.{digits}g}")
        if round(nominal * gain) == word and abs(nominal * gain - word) < 0.4:
            return gain
    return word / nominal


def _current(row: Row, build: Build, line: Fitted, accuracy: float) -> Found:
    words = settings(build)
    full_mA, zero_code = words["current_full_mA"], words["current_zero_code"]
    reference_V = build.sensors.reference_V
    nominal_mA = 1000 * reference_V / build.sensors.monitor_gain_V_A
    gain = line.slope * full_mA / nominal_mA
    _refuse_gain(row, gain, _limit_pct(row, build, line, accuracy))
    x0 = line.read(0.0)
    x0_u = line.u(x0) / abs(line.slope)
    zero_codes = zero_code + 1000 * x0 * 4096 / full_mA
    _refuse_zero(row, build, x0, x0_u)
    word_gain, notes = gain, tuple[str, ...]()
    code_V = reference_V / 4096
    # what the line leaves uncertain of its zero has a key of its own
    gain_off_pct = accuracy + 300 * line.slope_u / line.slope + row.drift
    zero_off_mV = 3000 * x0_u * build.sensors.monitor_gain_V_A + 1000 * code_V
    if zero_codes < 0:
        top = _read_span(row, line, build)[1]
        codes = zero_code + 1000 * top * 4096 / full_mA
        word_gain = 1000 * line.true(top) * 4096 / codes / nominal_mA
        zero_off_mV += -1000 * zero_codes * code_V
        if x0 < -_ROUNDING_A:
            notes = (
                f"its zero is {-1000 * x0:.1f} mA low, which no word can hold: right at the "
                "highest level, small currents read low by up to that",
            )
    word = math.ceil(round(word_gain * nominal_mA, 6))
    keys = {
        "calibration.current_gain": _gain_key(word, nominal_mA),
        "calibration.current_zero_mV": round(max(zero_codes, 0.0) * 1000 * code_V, 3),
        "calibration.current_gain_off_pct": _up(gain_off_pct, 2),
        "calibration.current_zero_off_mV": _up(zero_off_mV, 2),
    }
    return Found(
        keys,
        gain,
        gain * _gain_95(line, accuracy),
        x0,
        COVER * x0_u,
        keys["calibration.current_gain_off_pct"],
        build.sensors.monitor_tolerance_pct,
        notes,
    )


def _refuse_zero(row: Row, build: Build, x0: float, x0_u: float) -> None:
    """Refuse a zero that amplifier and converter can't have."""
    amplifier_A = 150e-6 / (build.sensors.monitor_shunt_mohm / 1000)
    usual_A = zero_V(build) / build.sensors.monitor_gain_V_A
    allowed_A = amplifier_A + row.uneven(build) + 4.0 * x0_u
    if abs(x0 - usual_A) > allowed_A + abs(usual_A):
        raise BenchError(
            f"{row.noun}: reads {1000 * x0:.3g} mA where nothing flows, its parts allow "
            f"{1000 * allowed_A:.2g} mA: something beside the meter carries current, or the "
            "meter's own zero"
        )


def _volts(
    word: str, nominal: Callable[[Build], float], key: str, high: bool
) -> Callable[[Row, Build, Fitted, float], Found]:
    """Return the maker for a divider, whose word is a full scale and whose reading has no zero."""

    def make(row: Row, build: Build, line: Fitted, accuracy: float) -> Found:
        nominal_mV = 1000 * build.sensors.reference_V / nominal(build)
        now_mV = settings(build)[word]
        _refuse_gain(row, line.slope * now_mV / nominal_mV, _limit_pct(row, build, line, accuracy))
        ratios = [line.true(end) / end for end in _read_span(row, line, build)]
        pick, turn = (max, math.ceil) if high else (min, math.floor)
        ratio = pick(ratios)
        full_mV = turn(round(ratio * now_mV, 6))
        gain = full_mV / nominal_mV
        uneven_pct = 100.0 * (max(ratios) - min(ratios)) / ratio
        off = _up(_off_pct(row, line, build, accuracy) + uneven_pct, 2)
        x0 = line.read(0.0)
        x0_u = line.u(x0) / abs(line.slope)
        return Found(
            {
                f"calibration.{key}_gain": _gain_key(full_mV, nominal_mV),
                f"calibration.{key}_off_pct": off,
            },
            line.slope * now_mV / nominal_mV,
            gain * _gain_95(line, accuracy),
            x0,
            COVER * x0_u,
            off,
            build.sensors.voltage_tolerance_pct,
        )

    return make


def _thermistor_off(row: Row, line: Fitted, build: Build, accuracy: float) -> float:
    ends = _read_span(row, line, build)
    return accuracy + 3.0 * max(line.u(end) for end in ends) + row.drift


def _refuse_thermistor(row: Row, build: Build, line: Fitted, accuracy: float) -> float:
    """Return the largest error of the readings where they count [K]; refuse an impossible one."""
    ends = _read_span(row, line, build)
    errors = [back(row, end) - back(row, line.true(end)) for end in ends]
    worst = max(errors, key=abs)
    limit = row.tolerance(build) + accuracy + 3.0 * max(line.u(end) for end in ends)
    if abs(worst) > limit:
        raise BenchError(
            f"{row.noun}: reads {worst:+.2g} K off where it counts, its parts allow "
            f"{limit:.2g} K: {row.part} is another one than the build file says, or "
            "thermistor and thermometer were not at one temperature"
        )
    return worst


def _mount(row: Row, build: Build, line: Fitted, accuracy: float) -> Found:
    _refuse_thermistor(row, build, line, accuracy)
    gain, shift_1_K = ntc_inverse_1_K(build)
    offset = line.true(0.0)
    inverse_1_K = 1.0 / T25_K + shift_1_K * line.slope - offset / (T25_K * T25_K)
    hotter_K = _up(1.0 / inverse_1_K - T25_K, 2)
    off = _up(_thermistor_off(row, line, build, accuracy), 2)
    steep = gain / line.slope
    keys = {
        "calibration.ntc_shift_K": hotter_K,
        "calibration.ntc_beta_gain": math.floor(1e4 * steep) / 1e4,
        "calibration.mount_off_K": off,
    }
    return Found(
        keys,
        steep,
        steep * COVER * line.slope_u / line.slope,
        -offset,
        COVER * math.hypot(line.u(0.0), accuracy / math.sqrt(3.0)),
        off,
        build.sensors.ntc_tolerance_degC,
        ("the sink's thermistor reads by the same table: calibrate it after this one",),
    )


def _sink(row: Row, build: Build, line: Fitted, accuracy: float) -> Found:
    """Return what is left of the sink: it has no table of its own, so its error stays, known."""
    worst = _refuse_thermistor(row, build, line, accuracy)
    off = _up(abs(worst) + _thermistor_off(row, line, build, accuracy), 2)
    before = build.sensors.ntc_tolerance_degC + abs(build.calibration.ntc_shift_K or 0.0)
    return Found(
        {"calibration.sink_off_K": off},
        1.0 / line.slope,
        COVER * line.slope_u / line.slope,
        -line.true(0.0),
        COVER * math.hypot(line.u(0.0), accuracy / math.sqrt(3.0)),
        off,
        before,
        ("one table serves both thermistors: the sink's own error is known, not taken away",),
    )


def _up(value: float, digits: int) -> float:
    """Round up: what is left uncertain is never made smaller."""
    size: int = 10**digits
    return math.ceil(round(value * size, 6)) / size


_MAKERS: Mapping[str, Callable[[Row, Build, Fitted, float], Found]] = {
    "current": _current,
    "output": _volts("output_full_mV", lambda b: b.sensors.output_divider, "output", high=True),
    "pack": _volts("pack_full_mV", lambda b: b.sensors.pack_divider, "pack", high=False),
    "mount": _mount,
    "sink": _sink,
}
