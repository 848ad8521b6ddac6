"""Rows of the bill (see `bill`): guards, set path, dynamic enable, supply, readings."""

from bill_item import Rows, amount

from diodedriver.pins import OUTPUTS
from diodewright.build import Build
from diodewright.derive import board, parts
from diodewright.derive.edges import edge_values, supply
from diodewright.derive.electrics import parameters
from diodewright.derive.enables import a_closes_s, b_delay_ohm, b_delay_s, bleed_ohm
from diodewright.derive.reference import E24, REFERENCE, preferred

__all__ = ["enable", "guards", "logic", "readings", "set_path"]

AT = REFERENCE


def guards(build: Build) -> Rows:
    """Yield the comparators, their latch, and the gate that needs all."""
    comparator, sensors = build.comparator, build.sensors
    gain = 1000 * sensors.monitor_gain_V_A / sensors.monitor_shunt_mohm
    offset_mV = parts.comparator_offset_mV(build)
    yield (
        "U2",
        "high-side sense amplifier",
        f"x {gain:.3g}",
        f"one pole faster than {amount(AT.amplifier_s, 's')}; 100 dB common mode, 50 uV, 0.1 %; "
        "stands the clamp",
        "gain of the build over R4; its lag is part of the path",
        "`trip_path.cir`, `sense_chain.cir`",
    )
    yield (
        "U3",
        "over-current comparator",
        f"{parts.comparator_mV(build):.3g} mV at R4",
        f"{amount(AT.comparator_s, 's')} at its smallest overdrive; with U2 within "
        f"{offset_mV:.2g} mV; reference 1 %, its own",
        "middle of the trip's band; half the band less 1.5 % for reference and shunt",
        "CF",
    )
    yield (
        "U2-Q2",
        "the whole path",
        f"{comparator.delay_us:g} us",
        f"below {amount(parts.allowed_trip_s(build), 's')}",
        "(I absolute - I trip - ripple/2) L / (V pack - V diode)",
        "CF, `trip_path.cir`",
    )
    yield (
        "U4",
        "over-voltage comparator",
        f"{comparator.over_voltage_V:g} V",
        "1 us; the same reference as U3's, not the controller's",
        "highest forward voltage + 0.4 V",
        "build, CP",
    )
    yield (
        "U5",
        "latch",
        amount(AT.logic_s, "s"),
        "powers up tripped; reset by an edge; drives A and B",
        "with its gates, part of the path",
        "CP",
    )
    yield (
        "U6",
        "gate that needs all, and A's driver",
        f"{AT.driver_ohm:g} ohm",
        "pulls down actively; undriven: R5",
        "part of the path",
        "CP",
    )


def set_path(build: Build) -> Rows:
    """Yield the set path; a gated stage has none."""
    if build.stage.kind == "gated":
        return
    of = parts.set_path(build)
    yield (
        "R7 C3",
        "first pole",
        f"{amount(of.first_ohm, 'ohm')}, {amount(of.first_F, 'F')}",
        "1 %, C0G or film",
        "time constant of the build / R",
        "CF",
    )
    yield (
        "R8 C4",
        "second pole",
        f"{amount(of.second_ohm, 'ohm')}, {amount(of.second_F, 'F')}",
        "1 %, C0G or film",
        "the same over R8 + R7 beside R9",
        "CF",
    )
    yield (
        "R9",
        "from the set input to ground, at the stage",
        amount(of.ground_ohm, "ohm"),
        "1 %; at the stage, so that a broken wire reads zero",
        f"full duty at {AT.rail_high_V:g} V asks for the full scale less its accuracy; "
        f"the stage's gain is {AT.set_gain:g}",
        "`set_path.cir`",
    )


def enable(build: Build) -> Rows:
    """Yield the dynamic enable."""
    yield (
        "C5 C6",
        "pump: coupling, store",
        f"{amount(AT.couple_F, 'F')}, {amount(AT.store_F, 'F')}",
        f"{100 * AT.cap_tolerance:g} %, C0G or film",
        "crest above the upper threshold at full rate, below it at half rate (edges/pump.py)",
        "`dynamic_enable.cir`",
    )
    yield (
        "D4",
        "pump: two small Schottky diodes",
        "0.1 V at 1 uA",
        "leak below 0.1 uA, warm",
        "",
        "CP",
    )
    yield (
        "R10",
        "pump: bleeder",
        amount(bleed_ohm(build), "ohm"),
        "1 %",
        f"largest that drops A in nine tenths of the build's {build.cutoffs.pulse_hold_ms:g} ms",
        "CF",
    )
    yield (
        "U7",
        "Schmitt gate: a comparator with feedback",
        f"{AT.fall_share:.2g} and {AT.rise_share:.2g} of the rail",
        "bias below 10 nA; drives A hard through U6",
        "thresholds are shares of the rail, as the pump is",
        "CF",
    )
    yield (
        "R11 R12 R13",
        "its thresholds: to rail, to ground, feedback",
        ", ".join(
            amount(ohm, "ohm")
            for ohm in (AT.schmitt_top_ohm, AT.schmitt_ground_ohm, AT.schmitt_back_ohm)
        ),
        "1 %",
        "(G11 + G13) / sum and G11 / sum",
        "CF",
    )
    longest_s = a_closes_s(build)[2]
    shortest_s, _, most_s = b_delay_s(build)
    yield (
        "R24 C10",
        "delay of enable B: from its pin, to ground",
        f"{amount(b_delay_ohm(build), 'ohm')}, {amount(AT.delay_F, 'F')}",
        f"1 %; {100 * AT.cap_tolerance:g} %, film or C0G",
        f"B rises {1000 * shortest_s:.1f} to {1000 * most_s:.1f} ms behind its pin; A may take "
        f"{1000 * longest_s:g} ms",
        "CF, `enable_order.cir`",
    )
    yield (
        "D7",
        "from C10 to the pin: a small Schottky diode",
        "0.3 V at 10 mA",
        "",
        "B falls with its pin",
        "`enable_order.cir`",
    )
    yield (
        "U14",
        "Schmitt gate of B's delay: as U7, with R25 R26 R27 as R11 R12 R13",
        f"{AT.fall_share:.2g} and {AT.rise_share:.2g} of the rail",
        "bias below 10 nA; the other half of U7's part",
        "thresholds are shares of the rail, as the pin is",
        "CF",
    )


def logic(build: Build) -> Rows:
    """Yield supply, supervisor and controller."""
    of = supply(build, parameters(build))
    least_V, full_V = build.limits.pack_loaded_min_V, parts.clamp_rating_V(build)
    kind = "buck-boost" if least_V < board.RAIL_V + 0.5 else "buck or linear"
    yield (
        "F2",
        "the controller's own fuse",
        amount(parts.controller_fuse_A(build), "A"),
        "behind F1, ahead of D5",
        "next rating above 2 x its power at the loaded minimum",
        "CF, CP",
    )
    yield (
        "D5 C8",
        "diode and hold-up capacitor",
        f"{build.stage.hold_up_uF:g} uF, {2 * full_V:.3g} V",
        f"lasts {1000 * _lasts_s(build):.3g} ms from a lost pack",
        "C (v0^2 - v1^2) / 2 P",
        "`supply_dip.cir`",
    )
    yield (
        "U9 D6",
        "regulator; diode from USB",
        f"{board.RAIL_V:g} V, {kind}",
        f"{build.stage.input_max_V:g} V input, down to {board.REGULATOR_MIN_V:g} V; 3 %; "
        f"{amount(of.load_W / board.RAIL_V, 'A')}",
        "USB must neither light nor power the diode",
        "CP",
    )
    yield (
        "C7",
        "on the logic supply",
        amount(AT.rail_F, "F"),
        "ceramic or polymer",
        "gives the supervisor its time",
        "`supervisor.cir`",
    )
    yield (
        "U8",
        "supply supervisor",
        f"{AT.rail_low_V:g} to {AT.supervisor_high_V:g} V",
        f"{amount(AT.supervisor_s, 's')} to its output, hysteresis",
        "below it A and B are off, whatever the controller does",
        "`supervisor.cir`, DS",
    )
    yield (
        "R23",
        "from each output pin to ground",
        "4.7 kohm",
        "5 %",
        "a pin that floats is low, whatever it leaks",
        "DS",
        len(OUTPUTS) + 1,
    )
    yield (
        "U13",
        "controller board",
        f"{board.RAIL_V:g} V",
        "three analogue inputs",
        "",
        "CP",
    )


def _lasts_s(build: Build) -> float:
    return edge_values(build)["hold_up_ms"] / 1000


def readings(build: Build) -> Rows:
    """Yield sensors, indicator and contacts."""
    sensors, controls = build.sensors, build.controls
    top_ohm, bottom_ohm = parts.divider_ohm(sensors.pack_divider, 100e3)
    yield (
        "R16 R17",
        "pack's divider",
        f"{amount(top_ohm, 'ohm')} + {amount(bottom_ohm, 'ohm')}",
        "1 %",
        "ratio of the build; little current from a stored pack",
        "CF",
    )
    yield (
        "U10",
        "two followers: output and pack",
        "rail to rail",
        "stands a pin's voltage with the supply off",
        "the converter's input may be as low as 100 kohm",
        "DS",
    )
    yield (
        "RT1 RT2",
        "thermistors: mount, sink",
        sensors.ntc_part or f"{sensors.ntc_25_kohm:g} kohm",
        f"to ground; within {sensors.ntc_tolerance_degC:g} K, {sensors.ntc_lag_s:g} s as fitted",
        "curve of the build",
        "build",
        2,
    )
    yield (
        "R18 R19",
        "from the rail to each thermistor",
        amount(sensors.ntc_series_ohm, "ohm"),
        "0.1 %, 25 ppm/K",
        "room at both ends of the range for open and short",
        "build",
        2,
    )
    yield (
        "U11",
        "multiplexer, 8 to 1",
        "3.3 V",
        "settles within a tick",
        "pack, two thermistors, check, indicator",
        "CP",
    )
    yield (
        "U12",
        "check voltage",
        f"{board.CHECK_V:g} V",
        "1 %; another source than the converter's reference",
        "a sagging reference is seen",
        "CP",
    )
    if controls.indicator:
        whole_ohm = (board.RAIL_V - 2.0) / board.INDICATOR_A
        drop_ohm = preferred(whole_ohm - board.INDICATOR_SENSE_OHM, E24)
        yield (
            "H1 R20 R21",
            "indicator lamp, its resistor, its sense resistor",
            f"{amount(board.INDICATOR_A, 'A')}, {amount(drop_ohm, 'ohm')},"
            f" {board.INDICATOR_SENSE_OHM:g} ohm",
            "seen through the eyewear; 2 V lamp",
            "(rail - 2 V) / I, less the sense resistor",
            "CF",
        )
    yield (
        "S1",
        "trigger",
        amount(build.switch.rated_A, "A"),
        "logic current only",
        "",
        "build",
    )
    fitted = [word for word in ("key", "interlock") if getattr(controls, word)]
    if fitted:
        yield (
            "S2 S3",
            "key, interlock: each with R14, R15, C9",
            " and ".join(fitted) + ": 1 kohm, 10 kohm, 100 nF",
            "gold contacts, logic current; key: second pole",
            "loop to ground, filter of 1 ms, Schmitt input",
            "`gating.cir`",
            len(fitted),
        )
