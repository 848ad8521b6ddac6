"""The table of what spreads: each part's limits, from the build's keys or typical with its source.

How a row is drawn and what it does to the plant: `tolerances`.
"""

from collections.abc import Callable, Mapping

from diodewright.build import Build
from diodewright.build.keys import TYPICAL
from diodewright.derive.calibrated import current_off_pct, output_off_pct, pack_off_pct
from diodewright.derive.tolerance_row import (
    Row,
    air_K,
    between,
    cells,
    curve,
    even,
    offset_V,
    over_voltage,
    percent,
    thermistor_K,
    trip_band_A,
    zero_V,
)

__all__ = ["ONLY", "TABLE"]

_RDS_SHEET = "a guaranteed value is the highest; usual parts a third below; typical, no source"
_DIODE_SHEET = "a maker's data sheet of a 450 nm laser diode: 0.2 A typical, 0.3 A at most"

_SENSING: tuple[Row, ...] = (
    Row(
        "monitor-gain",
        "monitor shunt and amplifier",
        ("monitor_gain_V_V",),
        "share",
        percent(current_off_pct),
        "sensors.monitor_tolerance_pct",
        "normal",
    ),
    Row(
        "monitor-zero",
        "monitor amplifier's offset",
        ("current_read_offset_V",),
        "shift",
        zero_V,
        f"150 uV at its input; {TYPICAL}",
        unit="V",
    ),
    Row(
        "adc-reference",
        "converter's reference",
        ("ref_gain",),
        "share",
        even(0.005),
        f"0.5 % of a series reference, warm; {TYPICAL}",
    ),
    Row(
        "adc-offset",
        "converter's offset and uneven codes",
        tuple(
            f"{channel}_read_offset_V"
            for channel in ("current", "output", "pack", "check", "indicator", "mount", "sink")
        ),
        "shift",
        offset_V,
        "8 codes: a controller's data sheet, from memory",
        unit="V",
    ),
    Row(
        "rail",
        "controller's rail, below the highest",
        ("rail_nominal_V",),
        "share",
        between(-0.02, 0.0),
        f"2 % of a fixed regulator; {TYPICAL}",
    ),
    Row(
        "check-voltage",
        "known voltage that checks the reference",
        ("check_V",),
        "share",
        even(0.01),
        f"1 % of a shunt reference; {TYPICAL}",
    ),
    Row(
        "output-divider",
        "output divider",
        ("output_ratio",),
        "share",
        percent(output_off_pct),
        "sensors.voltage_tolerance_pct",
    ),
    Row(
        "pack-divider",
        "pack divider",
        ("pack_ratio",),
        "share",
        percent(pack_off_pct),
        "sensors.voltage_tolerance_pct",
    ),
    Row(
        "mount-sensor",
        "mount thermistor (R25) and its place",
        ("mount_read_gain",),
        "ntc_K",
        thermistor_K("mount"),
        "sensors.ntc_tolerance_degC",
        "normal",
        "K",
    ),
    Row(
        "sink-sensor",
        "sink thermistor (R25) and its place",
        ("sink_read_gain",),
        "ntc_K",
        thermistor_K("sink"),
        "sensors.ntc_tolerance_degC",
        "normal",
        "K",
    ),
    Row(
        "ntc-curve",
        "thermistors' Beta, both of one lot",
        ("ntc_beta_K", "ntc_sh_A", "ntc_sh_B", "ntc_sh_C"),
        "ntc_curve",
        curve(0.01),
        f"1 %; {TYPICAL}",
    ),
    Row(
        "ntc-resistor",
        "thermistors' resistor to the rail",
        ("ntc_pull_ohm",),
        "share",
        curve(0.01),
        f"1 % resistor; {TYPICAL}",
    ),
    Row(
        "indicator",
        "indicator's current",
        ("indicator_A",),
        "share",
        even(0.2),
        f"forward voltage of a small LED at a fixed resistor; {TYPICAL}",
    ),
)

_CURRENT: tuple[Row, ...] = (
    Row(
        "set-path",
        "stage's set path",
        ("set_gain",),
        "share",
        percent(lambda build: build.stage.set_accuracy_pct),
        "stage.set_accuracy_pct",
        "normal",
    ),
    Row(
        "module",
        "module's current",
        ("set_gain",),
        "share",
        percent(lambda build: build.stage.module_tolerance_pct),
        "stage.module_tolerance_pct",
        "normal",
    ),
    Row(
        "own-shunt",
        "stage's own shunt, drift beside its set accuracy",
        ("set_gain",),
        "share",
        even(0.005),
        f"0.5 % by heat and age of a metal shunt; {TYPICAL}",
    ),
    Row("stage-start", "stage's start-up time", ("stage_startup_s",), "share", even(0.3), TYPICAL),
    Row(
        "inductor",
        "inductor",
        ("inductor_H",),
        "share",
        even(0.2),
        "20 %, usual in data sheets of power inductors; typical, no source",
    ),
    Row(
        "output-cap",
        "output capacitor",
        ("output_F",),
        "share",
        between(-0.4, 0.2),
        f"ceramic, under voltage and cold; {TYPICAL}",
    ),
    Row(
        "comparator-trip",
        "over-current comparator",
        ("trip_A",),
        "shift",
        trip_band_A,
        "comparator.trip_min_A to trip_max_A",
        unit="A",
    ),
    Row("comparator-delay", "comparator's delay", ("trip_delay_s",), "share", even(0.3), TYPICAL),
    Row(
        "over-voltage",
        "over-voltage comparator",
        ("trip_V",),
        "share",
        over_voltage,
        "sensors.voltage_tolerance_pct and 1 % of its reference; typical, no source",
    ),
    Row(
        "cutoff-a",
        "cut-off A's on-resistance",
        ("a_ohm",),
        "share",
        between(-0.33, 0.0),
        _RDS_SHEET,
    ),
    Row(
        "pass",
        "pass MOSFET's on-resistance",
        ("pass_ohm",),
        "share",
        between(-0.33, 0.0),
        _RDS_SHEET,
    ),
    Row(
        "pulse-hold",
        "dynamic enable's hold",
        ("pulse_hold_s",),
        "share",
        even(0.25),
        f"resistor and capacitor, warm; {TYPICAL}",
    ),
    Row(
        "pulse-close",
        "dynamic enable's filling",
        ("pulse_close_s",),
        "share",
        even(0.25),
        "derive/enables.py: every corner of pump and supply",
    ),
    Row(
        "b-delay",
        "delay of cut-off B",
        ("b_delay_s",),
        "share",
        even(0.08),
        "derive/enables.py: every corner of its parts",
    ),
)

_PACK: tuple[Row, ...] = (
    Row(
        "cell-resistance",
        "cells' resistance, cold and age included",
        ("cell_R0_ohm", "cell_R1_ohm"),
        "share",
        cells,
        "pack.resistance_min_mohm to pack.cold_factor",
    ),
    Row(
        "cell-capacity",
        "cells' capacity",
        ("cell_capacity_Ah",),
        "share",
        between(-0.2, 0.03),
        "aged to four fifths; common practice, no source",
    ),
    Row("bench-voltage", "bench supply's voltage", ("bench_V",), "share", even(0.01), TYPICAL),
    Row("wiring", "wiring and contacts of the pack", ("wiring_ohm",), "share", even(0.3), TYPICAL),
)

_DIODE: tuple[Row, ...] = (
    Row(
        "forward-voltage",
        "diode's forward voltage",
        ("diode_spread_V",),
        "shift",
        lambda build: (-build.diode.forward_spread_V, build.diode.forward_spread_V),
        "diode.forward_spread_V",
        "normal",
        "V",
    ),
    Row(
        "threshold",
        "laser's threshold, part to part",
        ("threshold_A",),
        "share",
        between(-0.25, 0.5),
        _DIODE_SHEET,
        "normal",
    ),
    Row(
        "threshold-age",
        "laser's threshold, drift with age",
        ("threshold_factor",),
        "share",
        between(0.0, 0.2),
        "end of life at 20 % more current; common practice, no source",
    ),
    Row(
        "slope",
        "light per current, part to part",
        ("slope_W_A",),
        "share",
        even(0.15),
        TYPICAL,
        "normal",
    ),
    Row(
        "light-age",
        "LED's light, fading with age",
        ("light_factor",),
        "share",
        between(-0.3, 0.0),
        "seven tenths are an LED's usual end of life (IES TM-21's L70)",
    ),
)

_HEAT: tuple[Row, ...] = (
    Row(
        "junction-path",
        "junction to mount",
        ("junction_mount_K_W",),
        "share",
        even(0.15),
        TYPICAL,
        "normal",
    ),
    Row(
        "pad",
        "pad and interface, mount to sink",
        ("mount_sink_K_W",),
        "share",
        even(0.25),
        f"pressure and thickness of a pad; {TYPICAL}",
    ),
    Row(
        "sink-air",
        "sink to air",
        ("sink_air_K_W",),
        "share",
        even(0.2),
        f"position and draught; {TYPICAL}",
    ),
    Row(
        "heat-capacity",
        "heat capacity of mount and sink",
        ("mount_J_K", "sink_J_K"),
        "share",
        even(0.1),
        TYPICAL,
    ),
    Row(
        "ambient",
        "air",
        ("ambient_degC",),
        "shift",
        air_K,
        "heat.ambient_min_degC to ambient_max_degC",
        unit="K",
    ),
)

TABLE: tuple[Row, ...] = (*_SENSING, *_CURRENT, *_PACK, *_DIODE, *_HEAT)

#: Rows that only some builds have; the rest is asked of every build.
ONLY: Mapping[str, Callable[[Build], bool]] = {
    "set-path": lambda build: build.stage.kind != "gated",
    "own-shunt": lambda build: build.stage.kind != "gated",
    "module": lambda build: build.stage.kind == "gated",
    "pass": lambda build: build.stage.kind == "linear",
    "cell-resistance": lambda build: build.pack.kind == "cells",
    "cell-capacity": lambda build: build.pack.kind == "cells",
    "bench-voltage": lambda build: build.pack.kind == "bench_supply",
    "threshold": lambda build: build.diode.kind == "laser_diode",
    "threshold-age": lambda build: build.diode.kind == "laser_diode",
    "slope": lambda build: build.diode.kind != "dummy_string",
    "light-age": lambda build: build.diode.kind == "led",
    "indicator": lambda build: build.controls.indicator,
}
