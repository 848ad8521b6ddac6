"""Checks of a circuit being built: what to do, what a good one reads, what a bad one means.

Every band is worked out from the build. Read by the bring-up page, the acceptance sheet and
`diodewright sheet`.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from diodewright.build import Build
from diodewright.build.units import amount
from diodewright.derive import board, parts
from diodewright.derive.calibrated import current_off_pct
from diodewright.derive.edges import supply, threshold_V
from diodewright.derive.electrics import highest_level_A, operate, parameters
from diodewright.derive.enables import b_delay_s, bleed_ohm, pump
from diodewright.derive.plant import pack_full_V
from diodewright.derive.reference import REFERENCE, TICK_S
from diodewright.derive.settings import settings
from diodewright.edges.pump import crest_V, hold_s
from diodewright.plant.pack import constant_power_A

__all__ = ["POINTS", "Check", "Level", "assembly", "band_of", "guards_seen", "levels"]

AT = REFERENCE

#: Jumpers and probe points of the reference circuit: point, where, what for.
POINTS = (
    ("J1", "in the anode's lead, behind R4", "open: all but the diode runs; closed with solder"),
    ("J2", "between stage and output", "open: guards and output from the bench"),
    ("J3", "ahead of U9", "logic alone from the bench"),
    ("TP1", "ground, at the one ground point", "every probe's clip; no second ground"),
    ("TP2", "output, ahead of R4", "over-voltage trip, bleeder"),
    ("TP3", "U2's output", "current, 1 MHz and more"),
    ("TP4", "A's gate, at the MOSFET", "never between: low, or above 2.5 V"),
    ("TP5", "C6", "the pump"),
    ("TP6", "the latch", "low: not tripped"),
)
#: The guards, each to be seen acting once: what to do, what it must show. Names in braces are
#: filled in from the build.
_SEEN = (
    ("Trigger released, from the highest level: dark", "within {dark_ms} ms; below {dark_mA} mA"),
    ("Controller held in reset, lit", "dark within {hold_ms} ms"),
    ("Output shorted by a clip, then opened, on the dummy", "latched dark; stays dark"),
    ("A lead of the dummy opened while lit", "latched dark; output falls below 0.1 V in 100 ms"),
    ("Mount thermistor pulled off its plug, lit", "dark within {dark_ms} ms, latched"),
    ("Mount warmed by hot air, lit at a low level", "dims, dark at {trip_degC} degC at the latest"),
    ("Power up with the trigger held", "stays dark until released and pressed"),
    ("USB plugged in, no pack", "no light, no current in the diode"),
    ("Auto-off", "dark after {auto_s} s"),
)


@dataclass(frozen=True)
class Check:
    """One check: `do` it, `read` where, the `band` of a good one, what a wrong one `means`."""

    do: str
    read: str
    band: str
    means: str


def band_of(middle: float, share: float, unit: str) -> str:
    """Return a value give or take a share of it, in words."""
    return f"{amount(middle * (1 - share), unit)} to {amount(middle * (1 + share), unit)}"


def _thermistor_V(build: Build, degC: float) -> float:
    """Return what a thermistor's input reads [V] at `degC` [degC], from the board's own table."""
    words, code_V = settings(build), build.sensors.reference_V / 4096
    points = [(words[f"ntc_{n}_cK"], 128 * n * code_V) for n in range(33) if f"ntc_{n}_cK" in words]
    at_cK = 100 * (degC + 273.15)
    for (warm_cK, low_V), (cold_cK, high_V) in pairwise(points):
        if cold_cK <= at_cK <= warm_cK:
            return low_V + (high_V - low_V) * (warm_cK - at_cK) / (warm_cK - cold_cK)
    raise ValueError(f"{degC:g} degC is outside of the thermistor's table")


def assembly(build: Build) -> Iterator[Check]:
    """Yield the checks of the assembly, in its order."""
    yield from _passive(build)
    yield from _logic(build)
    yield from _guards(build)
    yield from _analogue(build)


def _passive(build: Build) -> Iterator[Check]:
    full_V = pack_full_V(build)
    yield Check(
        "Board bare of U6 and U13: resistors to ground",
        "A's gate (R5), each output (R23), B's enable (R22)",
        f"{band_of(1000 * build.cutoffs.a_pulldown_kohm, 0.06, 'ohm')}; "
        f"{band_of(4700, 0.06, 'ohm')}; {band_of(10e3, 0.06, 'ohm')}",
        "higher: a cracked joint, the gate would float; lower: a bridge",
    )
    yield Check(
        f"Supply the wrong way round, {full_V:g} V, limit 50 mA",
        "supply current; stage's input",
        "below 1 mA; above -0.3 V",
        "current: Q1 is turned round or bridged. Nothing else goes on before this",
    )


def _logic(build: Build) -> Iterator[Check]:
    of, full_V = supply(build, parameters(build)), pack_full_V(build)
    yield Check(
        f"The right way round, {full_V:g} V, limit 100 mA",
        "logic supply; supply current with U13 running, indicator on",
        f"{band_of(board.RAIL_V, 0.03, 'V')}; below {amount(2 * of.load_W / full_V, 'A')}",
        "too much current: a short, a reversed C8, or the stage is enabled",
    )
    yield Check(
        "Logic supply from the bench, lowered slowly",
        "where U8's output falls",
        f"{AT.rail_low_V:.2f} to {AT.supervisor_high_V:.2f} V",
        "another part: a wrong version of U8; never: A and B outlive the controller",
    )
    if build.controls.interlock or build.controls.key:
        yield Check(
            "Enables held high through 1 kohm, pulse from a generator; open each contact",
            "A's gate and B's enable, within 10 ms",
            f"below {threshold_V(build) / 2:.1f} V",
            "stays high: the contact reaches the controller, not the gate that needs all",
        )
    filled = pump(board.RAIL_V, bleed_ohm(build))
    holds = [1000 * hold_s(filled, TICK_S, high=high) for high in (False, True)]
    yield Check(
        "500 Hz, 3.3 V into the pulse pin; then 250 Hz; then stop",
        "crest on C6; A's gate at 250 Hz; how long it holds",
        f"{band_of(crest_V(filled, TICK_S), 0.1, 'V')}; off; {0.85 * min(holds):.1f} to "
        f"{build.cutoffs.pulse_hold_ms:g} ms",
        "on at 250 Hz: C5, C6 or R10 swapped; never on: D4 turned round",
    )
    shortest_s, _, longest_s = b_delay_s(build)
    yield Check(
        "A square of 10 Hz, 3.3 V, into the enable_b pin; interlock closed, key on, latch reset",
        "from the pin's edge to B's enable: rise; fall",
        f"{1000 * shortest_s:.1f} to {1000 * longest_s:.1f} ms; below 0.1 ms",
        "quick rise: C10 open, B meets an open A; slow fall: D7 turned round",
    )


def _guards(build: Build) -> Iterator[Check]:
    comparator = build.comparator
    yield Check(
        "Stage not powered; a current source through R4 alone, raised slowly",
        "where the latch sets",
        f"{comparator.trip_min_A:g} to {comparator.trip_max_A:g} A",
        "outside: R4's taps, U2's gain or U3's reference; do not trim it with the diode fitted",
    )
    yield Check(
        "The same source stepped to 1.2 x the highest trip, two probes",
        "from the step to A's gate below its threshold",
        f"below {comparator.delay_us:g} us",
        "slower: a filter in the path, a weak pull-down in U6",
    )
    yield Check(
        "Output from the bench through 1 kohm, raised slowly",
        "where the latch sets",
        band_of(comparator.over_voltage_V, 0.03, "V"),
        "never: an open load fills C2 to the pack, a loose lead then kills the diode",
    )


def _analogue(build: Build) -> Iterator[Check]:
    sensors = build.sensors
    if build.stage.kind != "gated":
        of = parts.set_path(build)
        share = of.ground_ohm / (of.ground_ohm + of.first_ohm + of.second_ohm)
        yield Check(
            "Set pin at 3.3 V, at half duty, wire cut",
            "the stage's set input",
            f"{band_of(share * board.RAIL_V, 0.02, 'V')}; half of it; below 20 mV",
            "full voltage: R9 is missing, a stuck pin passes the absolute maximum",
        )
    yield Check(
        "3 V at the output, 3 V at the pack",
        "output pin; pack channel",
        f"{band_of(3 * sensors.output_divider, 0.02, 'V')}; "
        f"{band_of(3 * sensors.pack_divider, 0.02, 'V')}",
        "a divider's ends swapped, or a follower without its supply",
    )
    warm_V, cold_V = _thermistor_V(build, 28), _thermistor_V(build, 18)
    yield Check(
        "Both thermistors in a room of 18 to 28 degC, one then held in the fingers",
        "mount and sink channels",
        f"{warm_V:.2f} to {cold_V:.2f} V, falling in the fingers",
        "0 V: short; 3.3 V: open; the wrong one falls: mount and sink are swapped",
    )


@dataclass(frozen=True)
class Level:
    """What a build reads at one named level: current [A], output [V], supply [A], as bands."""

    name: str
    diode: str
    output: str
    source: str
    at_A: float
    diode_A: tuple[float, float]
    output_V: tuple[float, float]


def levels(build: Build) -> Iterator[Level]:
    """Yield what each named level reads, a healthy diode of any voltage within its spread."""
    p, part = parameters(build), build.diode
    path_ohm = p.series_ohm + p.a_ohm
    off = current_off_pct(build) / 100 + 0.01
    if build.stage.kind == "gated":
        off += build.stage.module_tolerance_pct / 100
    for name, at_A in build.levels.by_current or (("module_A", build.stage.module_A),):
        cold = operate(p, at_A, build.heat.ambient_degC, part.forward_spread_V)
        warm = operate(p, at_A, part.junction_max_degC - 20, -part.forward_spread_V)
        high_V, low_V = cold.volts_V + path_ohm * at_A, warm.volts_V + path_ohm * at_A
        yield Level(
            name,
            f"{at_A * (1 - off):.3g} to {at_A * (1 + off):.3g} A",
            f"{low_V:.2f} to {high_V:.2f} V",
            _supply_band(build, at_A, low_V, high_V),
            at_A,
            (at_A * (1 - off), at_A * (1 + off)),
            (low_V, high_V),
        )


def guards_seen(build: Build) -> Iterator[tuple[str, str]]:
    """Yield the guards to see acting once the light works: what to do, what it must show."""
    for do, band in _SEEN:
        yield (
            do,
            band.format(
                dark_ms=f"{build.criteria.dark_within_ms:g}",
                dark_mA=f"{10 * highest_level_A(build):.0f}",
                hold_ms=f"{build.cutoffs.pulse_hold_ms:g}",
                trip_degC=f"{build.limits.mount_trip_degC:g}",
                auto_s=f"{build.controls.auto_off_s:g}",
            ),
        )


def _supply_band(build: Build, at_A: float, low_V: float, high_V: float) -> str:
    """Return the supply's current at its full voltage: a linear stage draws the diode's own."""
    if build.stage.kind == "linear":
        return f"{at_A:.2g} A, as the diode"
    full_V = pack_full_V(build)
    ends_A = (
        constant_power_A(full_V, 0.0, at_A * low_V / 0.97),
        constant_power_A(full_V, 0.0, at_A * high_V / 0.85),
    )
    return f"{ends_A[0]:.2g} to {ends_A[1]:.2g} A"
