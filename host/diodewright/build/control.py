"""Sections of the build file about sensing, handling, levels, limits and what is asked of it."""

import math
from dataclasses import dataclass

from diodewright.build.keys import (
    PRACTICE,
    TYPICAL,
    When,
    choice,
    flag,
    levels,
    number,
    part,
    whole,
)

__all__ = ["Controls", "Criteria", "Levels", "Limits", "Sensors"]

_BETA: When = ("sensors.ntc_curve", ("beta",))
_STEINHART: When = ("sensors.ntc_curve", ("steinhart_hart",))
_SET_INPUT: When = ("stage.kind", ("buck", "linear"))
_LIT: When = ("diode.kind", ("laser_diode", "led"))
_BOTH_NTC = ((False, "a build without it is not supported yet"),)


@dataclass(frozen=True, kw_only=True)
class Sensors:
    """What the law sees of the truth."""

    shunt: str = choice(
        ("own", "shared"),
        'own: the law watches another shunt than the stage; "shared" is a finding',
    )
    monitor_shunt_mohm: float = number(0.1, 10000, "shunt that the law watches")
    monitor_tolerance_pct: float = number(0, 20, "shunt and amplifier together")
    monitor_gain_V_A: float = number(
        0.01,
        1000,
        "monitor amplifier's output per ampere of diode current",
        default=1.5,
        source="2 A at a 3.0 V reference; typical, no source",
    )
    output_divider: float = number(
        0.001, 1, "pin voltage / output voltage", default=0.3, source="10 V at a 3.0 V reference"
    )
    pack_divider: float = number(
        0.001, 1, "pin voltage / pack voltage", default=0.3, source="10 V at a 3.0 V reference"
    )
    voltage_tolerance_pct: float = number(
        0, 20, "each divider", default=1.0, source="1 % resistors; typical, no source"
    )
    reference_V: float = number(
        1.8, 3.6, "reference of the analogue inputs", default=3.0, source=TYPICAL
    )
    adc_input_kohm: float = number(
        10,
        1000000,
        "input resistance of an analogue input",
        default=100.0,
        source="smallest value of an RP2040-class controller's data sheet",
    )
    adc_noise_codes: float = number(
        0, 50, "rms noise of one 12 bit reading", default=2.0, source=TYPICAL
    )
    ntc_part: str | None = part("thermistor of the catalogue that fills what is not given")
    ntc_lag_s: float = number(0.01, 300, "time constant of a thermistor where it is fitted")
    ntc_curve: str = choice(("steinhart_hart", "beta"), "which equation describes the thermistor")
    ntc_25_kohm: float = number(0.1, 10000, "thermistor at 25 degC", when=_BETA)
    ntc_beta_K: float = number(1000, 6000, "its Beta", when=_BETA)
    ntc_sh_a_1_K: float = number(0, 0.01, "Steinhart-Hart A (resistance in ohm)", when=_STEINHART)
    ntc_sh_b_1_K: float = number(0.000001, 0.01, "Steinhart-Hart B", when=_STEINHART)
    ntc_sh_c_1_K: float = number(1e-10, 0.00001, "Steinhart-Hart C", when=_STEINHART)
    ntc_series_ohm: float = number(
        10,
        10000000,
        "resistor from the controller's rail to the thermistor",
        default=10000.0,
        source=TYPICAL,
    )
    ntc_tolerance_degC: float = number(
        0, 20, "thermistor and its place together", default=1.0, source=TYPICAL
    )
    mount_ntc: bool = flag(
        "thermistor on the diode's mount",
        default=True,
        source="as the circuit needs it",
        refused=_BOTH_NTC,
    )
    sink_ntc: bool = flag(
        "thermistor on the sink", default=True, source="as the circuit needs it", refused=_BOTH_NTC
    )


@dataclass(frozen=True, kw_only=True)
class Controls:
    """What a person holds, sees and can pull."""

    trigger: str = choice(
        ("momentary", "latching"),
        "kind of trigger contact; a laser needs one that goes dark when nobody holds it",
    )
    key: bool = flag("a key that can be taken out in its off position")
    interlock: bool = flag("an interlock loop through every cover, and its remote connector")
    indicator: bool = flag("an emission indicator whose current is watched")
    auto_off_s: float = number(1, 86400, "longest light from one press")
    heartbeat_ms: float = number(
        20,
        1000,
        "oldest heartbeat of the main loop before it goes dark",
        default=200.0,
        source=TYPICAL,
    )


@dataclass(frozen=True, kw_only=True)
class Levels:
    """The named currents, one to four; ``reserve_A`` is one of them.

    Each is an attribute under its own key (``levels.full_A``). A gated stage has one level and
    names it itself (``stage.module_A``); its section stays empty.
    """

    reserve_A: float = number(0.001, 10, "what stays when the pack runs low", when=_SET_INPUT)
    others: tuple[tuple[str, float], ...] = levels(0.001, 10, "a level of that name, at most three")

    def __getattr__(self, name: str) -> float:
        """Return the level of that key; AttributeError where the build names none."""
        if not name.startswith("_") and name != "others":
            for key, level_A in self.others:
                if key == name:
                    return level_A
        raise AttributeError(f"no level {name}")

    @property
    def by_current(self) -> tuple[tuple[str, float], ...]:
        """All levels as (key, current [A]), the highest first."""
        own = () if math.isnan(self.reserve_A) else (("reserve_A", self.reserve_A),)
        every = (*self.others, *own)
        return tuple(sorted(every, key=lambda level: (-level[1], level[0])))


@dataclass(frozen=True, kw_only=True)
class Limits:
    """Where the ramp, the cutbacks and the cut-offs stand. None: derived from the build."""

    start_level_A: float = number(
        0.001, 10, "current at which the soft-start begins", when=_SET_INPUT
    )
    soft_start_ms: float = number(1, 60000, "length of the soft-start", when=_SET_INPUT)
    delay_s: float = number(0, 60, "indicator on before any light")
    authority_pct: float = number(0, 20, "how far the trim may shift the current", when=_SET_INPUT)
    mount_warm_degC: float = number(0, 200, "mount: thermal cutback begins")
    mount_hot_degC: float = number(0, 200, "mount: thermal cutback ends")
    mount_trip_degC: float = number(0, 200, "mount: trip")
    pack_cutback_V: float = number(0.5, 20, "pack, sag compensated: cutback begins")
    pack_cutback_end_V: float = number(
        0.5, 20, "pack, sag compensated: cutback ends at the reserve level"
    )
    pack_loaded_min_V: float = number(0.5, 20, "pack under load, as read: dark below it")
    pack_lockout_V: float = number(0.5, 20, "pack, sag compensated: low-battery lockout")
    pack_rearm_V: float = number(0.5, 20, "pack at rest: may light again")
    pack_warn_V: float | None = number(0.5, 20, "pack, sag compensated: warn", default=None)
    pack_rest_s: float | None = number(0, 600, "dark for so long before it re-arms", default=None)
    dim_A: float | None = number(
        0.001, 10, "what thermal cutback leaves at its end", default=None, when=_SET_INPUT
    )
    fall_ms: float | None = number(
        1, 1000, "from the highest level to nothing", default=None, when=_SET_INPUT
    )
    trim_gain: float | None = number(
        0.0001,
        0.25,
        "share of the error that the trim takes a millisecond",
        default=None,
        when=_SET_INPUT,
    )
    overcurrent_A: float | None = number(0.001, 10, "diode current: fault above it", default=None)
    overcurrent_count: int | None = whole(
        1, 10000, "milliseconds in a row until over-current latches", default=None
    )
    open_count: int | None = whole(
        1, 10000, "milliseconds in a row until an open diode latches", default=None
    )
    short_count: int | None = whole(
        1, 10000, "milliseconds in a row until a shorted diode latches", default=None
    )
    follow_count: int | None = whole(
        1, 10000, "milliseconds in a row until a current that does not follow latches", default=None
    )
    sensor_count: int | None = whole(
        1, 10000, "milliseconds in a row until an impossible reading latches", default=None
    )


@dataclass(frozen=True, kw_only=True)
class Criteria:
    """What is asked of the light. None: not asked."""

    dark_within_ms: float = number(
        1, 1000, "longest time from a fault to dark", default=50.0, source=PRACTICE
    )
    light_min_W: float | None = number(
        0, 50, "light at the first minute", default=None, source="not asked", when=_LIT
    )
    before_cutback_min_s: float | None = number(
        0, 86400, "full light before thermal cutback begins", default=None, source="not asked"
    )
