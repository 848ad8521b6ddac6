"""Rows of the bill (see `bill`): pack, stage, output, diode."""

from bill_item import Rows, amount

from diodewright.build import Build
from diodewright.derive import board, parts
from diodewright.derive.edges import INPUT_F, edge_values, threshold_V
from diodewright.derive.electrics import full_on_A
from diodewright.derive.reference import REFERENCE

__all__ = ["output", "power"]

AT = REFERENCE


def power(build: Build) -> Rows:
    """Yield pack, protection, inductor and stage."""
    edge, peak_A = edge_values(build), parts.pack_peak_A(build)
    stage, plugged = build.stage, parts.insertion(build)
    yield (
        "F1",
        "fuse at the pack's terminal",
        amount(parts.fuse_A(build), "A"),
        "breaking capacity above the pack's short-circuit current; slow",
        f"next rating above {AT.fuse_over:g} x the highest current in use "
        "(loaded minimum, diode cold and of highest voltage)",
        "CF, CP",
    )
    yield (
        "F1",
        "its melting integral",
        f"> {amount(4 * parts.fuse_pulse_A2s(build), 'A2s')}",
        "survives every insertion of the pack",
        "4 x inrush C V2 / 2 R",
        "CF, CP",
    )
    yield (
        "Q1",
        "reverse protection, P-MOSFET",
        f"{amount(peak_A, 'A')}, {amount(2 * parts.clamp_rating_V(build), 'V')}",
        f"on-resistance given at {build.limits.pack_loaded_min_V:g} V gate; gate stands the "
        "insertion's peak",
        "2 x full pack; its 10 kohm from gate to ground",
        "`reverse_pack.cir`",
    )
    yield (
        "C1",
        "stage's input capacitor",
        amount(INPUT_F, "F"),
        f"ceramic at that voltage, {amount(parts.input_ripple_A(build), 'A')} rms",
        "rms sqrt(D ((1-D) I2 + ripple2/12)), largest over the pack's range",
        "CF, typical",
    )
    yield (
        "D1",
        "input suppressor",
        f"< {stage.input_max_V:g} V",
        f"stands the full pack; the ring without it is {edge['insertion_V']:.3g} V and "
        f"{plugged.peak_A:.3g} A",
        "leads 0.5 uH into C1, closed form of a series circuit",
        "`pack_insertion.cir`",
    )
    yield (
        "L1",
        "inductor; of a linear stage the choke in the diode's loop",
        f"{stage.inductor_uH:g} uH",
        f"saturates above {amount(parts.trip_peak_A(build), 'A')}, hot",
        "gives the comparator its time; saturation above the trip's peak",
        "build",
    )
    yield (
        "R1",
        "stage's own shunt",
        f"{stage.own_shunt_mohm:g} mohm",
        f"{amount(2 * stage.own_shunt_mohm / 1000 * parts.trip_peak_A(build) ** 2, 'W')}, 1 %, "
        "four leads or its own taps",
        "2 x I2 R at the trip's peak",
        "build, CP",
    )
    yield from _stage(build)


def _stage(build: Build) -> Rows:
    stage = build.stage
    if stage.kind == "linear":
        yield (
            "Q4",
            "pass MOSFET",
            f"{stage.pass_mohm:g} mohm",
            f"{stage.pass_sink_K_W:g} K/W to the diode's sink; safe area: the full pack's surplus",
            "pack less diode, times the level",
            "build, `pass_soft_start.cir`",
        )
        yield (
            "U1",
            "stage",
            f"linear, {amount(full_on_A(build), 'A')}",
            "error amplifier of Q4, rail to rail; its enable shorts the gate when open",
            "regulates on R1, never on R4",
            "build",
        )
    else:
        kind = "module" if stage.kind == "gated" else "buck"
        yield (
            "U1",
            "stage",
            f"{kind}, {amount(full_on_A(build), 'A')}, {stage.switching_kHz:g} kHz",
            f"input {stage.input_max_V:g} V; enable input low when open; limits each cycle",
            "regulates on R1, never on R4",
            "build",
        )
    yield (
        "R22",
        "from the stage's enable (B) to ground",
        "10 kohm",
        "5 %",
        "off while it floats",
        "CP",
    )


def output(build: Build) -> Rows:
    """Yield output, diode and cut-off A."""
    edge, cutoffs, limit_uF = edge_values(build), build.cutoffs, parts.output_limit_uF(build)
    top_ohm, bottom_ohm = parts.divider_ohm(build.sensors.output_divider, AT.bleeder_ohm)
    most = "any" if limit_uF > 99 else amount(limit_uF * 1e-6, "F")
    rated_V = parts.clamp_rating_V(build)
    yield (
        "C2",
        "output capacitor",
        amount(build.stage.output_cap_uF * 1e-6, "F"),
        f"with its tolerance below {most}; film or C0G keeps its value",
        "a re-made contact stays below the absolute maximum",
        "`hot_reconnection.cir`",
    )
    yield (
        "R2 R3",
        "bleeder, the output's divider",
        f"{amount(top_ohm, 'ohm')} + {amount(bottom_ohm, 'ohm')}",
        f"below {amount(parts.bleeder_limit_ohm(build), 'ohm')} in all; 1 %",
        f"R = t / C ln(V / {AT.empty_V:g} V), t {AT.empty_s:g} s; ratio of the build",
        "CF",
    )
    yield (
        "D2",
        "clamp across the output",
        f"{rated_V:.3g} V to {parts.clamp_most_V(build):.3g} V",
        f"stands the first, holds the second at {amount(parts.trip_peak_A(build), 'A')}; "
        f"{amount(parts.clamp_J(build), 'J')} each time",
        "L I2 / 2; full pack and trip below, A's rating above",
        "CF, `comparator_trip.cir`",
    )
    yield (
        "R4",
        "monitor shunt",
        f"{build.sensors.monitor_shunt_mohm:g} mohm",
        f"{amount(2e-3 * build.sensors.monitor_shunt_mohm * parts.trip_peak_A(build) ** 2, 'W')}, "
        "0.25 %, 25 ppm/K, four leads",
        "2 x I2 R; never the shunt that the stage regulates on",
        "`sense_chain.cir`",
    )
    yield (
        "D3",
        "diode across the diode",
        f"{edge['reverse_V']:.2g} V of {build.diode.reverse_max_V:g} V",
        "Schottky or fast, at the diode's very pins",
        "reverse voltage of the ring behind A",
        "`turn_off.cir`",
    )
    yield (
        "Q2",
        "cut-off A, N-MOSFET",
        f"{cutoffs.a_rds_mohm:g} mohm at {cutoffs.a_vgs_guaranteed_V:g} V",
        f"on-resistance guaranteed at 2.5 V gate or less; {cutoffs.a_vds_max_V:g} V; avalanche "
        f"{amount(edge['avalanche_mJ'] / 1000, 'J')}; warm threshold {threshold_V(build):.2g} V",
        "a pin gives 2.62 V; drain stands the clamp; L I2 / 2 of the wiring",
        "DS, CF",
    )
    yield (
        "R5",
        "its gate's pull-down",
        f"{cutoffs.a_pulldown_kohm:g} kohm",
        f"{amount(parts.pull_down_limit_ohm(build), 'ohm')} at most; at the gate itself",
        "lowest warm threshold / 120 uA, next preferred value below",
        "`gate_hold.cir`",
    )
    yield (
        "R6",
        "ahead of its gate",
        amount(AT.gate_ohm, "ohm"),
        f"with the driver's {AT.driver_ohm:g} ohm: off in {amount(parts.gate_off_s(build), 's')}",
        "R C ln(rail / threshold), part of the over-current path",
        "CF",
    )
    yield (
        "Q3",
        "trickle source for the self-test",
        "2 mA",
        f"clamped at {board.TRICKLE_SHARE * build.comparator.over_voltage_V:.3g} V",
        f"{board.TRICKLE_SHARE:g} x over-voltage trip: above every knee, below the trip",
        "CP",
    )
