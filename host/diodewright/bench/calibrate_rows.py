"""The table of what can be calibrated: how it is asked for, what it may be, what to mind."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from diodewright.build import Build
from diodewright.derive.calibrated import (
    adc_uneven_codes,
    current_V_A,
    output_ratio,
    pack_ratio,
)
from diodewright.derive.electrics import highest_level_A, volts_V
from diodewright.derive.plant import pack_full_V

__all__ = ["CAUTIONS", "ROWS", "Row"]

#: Said before anything else, by every calibration that lights or has the pack connected.
CAUTIONS = (
    "Dummy load before diode: calibrate into a string of rectifiers or a resistor on the sink.",
    "Where a real diode is fitted: eyewear made for its wavelength, cover closed and interlocked.",
    "Strap through 1 Mohm before a hand is near the diode; cells fused at the pack.",
    "Sinks, shunts and MOSFETs get hot. Never alone, never unwatched.",
)


@dataclass(frozen=True)
class Row:
    """One quantity that a straight line calibrates.

    Attributes
    ----------
    name, unit : as on the command line; of reading and truth.
    query : what the board is asked.
    noun : in messages.
    code : what one code of the converter is in the unit.
    least_span : how far apart the points must lie.
    span : from where to where the reading counts.
    tolerance : how far the nominal parts may be off, in % (K of a temperature).
    drift : what heat and age may do after the calibration, in % (K); typical, no source.
    part : what is wrong where the gain is impossible.
    setup : how to wire it, and what to do point by point.
    lit : whether the light must be on.
    """

    name: str
    unit: str
    query: str
    noun: str
    code: Callable[[Build], float]
    least_span: Callable[[Build], float]
    span: Callable[[Build], tuple[float, float]]
    tolerance: Callable[[Build], float]
    drift: float
    part: str
    setup: tuple[str, ...]
    lit: bool = False

    @property
    def is_temperature(self) -> bool:
        """Whether errors are in kelvin, not in per cent."""
        return self.unit == "degC"

    def uneven(self, build: Build) -> float:
        """Return what uneven codes may do to one reading [unit]."""
        return adc_uneven_codes(build) * self.code(build)


#: What the reference of the analogue inputs may be off: row "adc-reference" of the tolerances [%].
_REFERENCE_PCT = 0.5


def _current_span(build: Build) -> tuple[float, float]:
    named = [level_A for _, level_A in build.levels.by_current] or [build.stage.module_A]
    return min(named), highest_level_A(build)


def _output_span(build: Build) -> tuple[float, float]:
    low_V = volts_V(build, _current_span(build)[0], build.diode.junction_max_degC)
    return low_V - build.diode.forward_spread_V, build.comparator.over_voltage_V


def _pack_span(build: Build) -> tuple[float, float]:
    return build.limits.pack_loaded_min_V, pack_full_V(build)


def _warm_span(build: Build) -> tuple[float, float]:
    return build.heat.ambient_min_degC, build.limits.mount_trip_degC


def _thermistor_K(build: Build) -> float:
    """Return how far a thermistor may be off, its 1 % curve and 1 % resistor included [K].

    One per cent of resistance is 0.25 K near room temperature, one of Beta 0.01 of the distance
    from 25 degC.
    """
    away_K = max(abs(end - 25.0) for end in _warm_span(build))
    return build.sensors.ntc_tolerance_degC + 0.25 + 0.01 * away_K


_BATHS = (
    "Thermistor and thermometer in one place: a stirred ice bath (0 degC), the room, a warm bath "
    "or the mount itself near where cutback ends. Wait ten time constants at each.",
)


def _code_K(build: Build) -> float:
    """Return what a code is near 25 degC [K]: 4 % of resistance a kelvin, half the rail."""
    del build
    return 0.1


ROWS: Mapping[str, Row] = {
    row.name: row
    for row in (
        Row(
            "current",
            "A",
            "MEAS:CURR?",
            "current",
            lambda build: build.sensors.reference_V / 4095 / current_V_A(build),
            lambda build: 0.4 * highest_level_A(build),
            _current_span,
            lambda build: build.sensors.monitor_tolerance_pct + _REFERENCE_PCT,
            0.5,
            "sensors.monitor_shunt_mohm or its amplifier",
            ("Ammeter in the diode's loop behind the monitor shunt, leads as thick as its own.",),
            lit=True,
        ),
        Row(
            "output",
            "V",
            "MEAS:VOLT?",
            "output",
            lambda build: build.sensors.reference_V / 4095 / output_ratio(build),
            lambda build: 0.1 * build.comparator.over_voltage_V,
            _output_span,
            lambda build: build.sensors.voltage_tolerance_pct + _REFERENCE_PCT,
            0.2,
            "sensors.output_divider",
            (
                "Voltmeter from TP2 to TP1; a bench supply there through 1 kohm, J2 open, dark: "
                "one voltage after the other, below the over-voltage trip.",
            ),
        ),
        Row(
            "pack",
            "V",
            "MEAS:VOLT:PACK?",
            "pack",
            lambda build: build.sensors.reference_V / 4095 / pack_ratio(build),
            lambda build: 0.1 * pack_full_V(build),
            _pack_span,
            lambda build: build.sensors.voltage_tolerance_pct + _REFERENCE_PCT,
            0.2,
            "sensors.pack_divider",
            (
                "Voltmeter at the pack's terminals behind the fuse; a bench supply in its place, "
                "limit 0.1 A, dark: one voltage after the other.",
            ),
        ),
        Row(
            "mount",
            "degC",
            "MEAS:TEMP?",
            "mount",
            _code_K,
            lambda _: 15.0,
            _warm_span,
            _thermistor_K,
            0.2,
            "the mount's thermistor, its place, or sensors.ntc_series_ohm",
            _BATHS,
        ),
        Row(
            "sink",
            "degC",
            "MEAS:TEMP:SINK?",
            "sink",
            _code_K,
            lambda _: 15.0,
            _warm_span,
            _thermistor_K,
            0.2,
            "the sink's thermistor, its place, or sensors.ntc_series_ohm",
            _BATHS,
        ),
    )
}
