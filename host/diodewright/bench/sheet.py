"""The expected readings of one build: what each probe point reads at each step of bring-up.

The steps are those of hardware_notes/bring_up.md, with the same checks (`checks`); what is added is
each probe point and each reading over serial, dark, lit at every level, and behind a trip. Bands
hold the parts' tolerances at their worst, calibrated ones as calibrated (`derive.spread`).
"""

from collections.abc import Iterator
from dataclasses import dataclass

from diodewright.bench.checks import (
    POINTS,
    Level,
    assembly,
    band_of,
    guards_seen,
    levels,
)
from diodewright.build import Build
from diodewright.build.units import amount
from diodewright.derive import board
from diodewright.derive.calibrated import current_off_pct, current_V_A, sensor_off_K, zero_V
from diodewright.derive.edges import threshold_V
from diodewright.derive.enables import bleed_ohm, pump
from diodewright.derive.plant import pack_full_V
from diodewright.derive.reference import TICK_S
from diodewright.derive.settings import settings
from diodewright.derive.spread import Spread, worst
from diodewright.edges.pump import crest_V

__all__ = ["Expected", "Sheet", "Step", "sheet_of"]

#: Supply and load -> which step of bring-up such a build is, and what it is called.
_STEPS = {
    ("bench_supply", "dummy_string"): (1, "bench supply, dummy string"),
    ("cells", "dummy_string"): (2, "cell pack, dummy string"),
    ("bench_supply", "real"): (3, "bench supply, real diode"),
    ("cells", "real"): (4, "cell pack, real diode"),
}


@dataclass(frozen=True)
class Expected:
    """One reading: at which `point`, what is `read` there, its `band`, what a wrong one `means`.

    `low` and `high` are the band's ends in `unit`, of a reading over serial from a meter's; None
    where it has but one, or is words.
    """

    point: str
    read: str
    band: str
    means: str
    low: float | None = None
    high: float | None = None
    unit: str = ""


@dataclass(frozen=True)
class Step:
    """One step of bring-up: its name, what to do, and what to read in it."""

    name: str
    do: str
    rows: tuple[Expected, ...]


@dataclass(frozen=True)
class Sheet:
    """A build's sheet; `place` is which of the four steps to first light it is."""

    build: str
    fingerprint: str
    place: int
    feed: str
    cautions: tuple[str, ...]
    points: tuple[tuple[str, str, str], ...]
    steps: tuple[Step, ...]


def sheet_of(build: Build) -> Sheet:
    """Return the expected readings of `build`."""
    load = "dummy_string" if build.diode.kind == "dummy_string" else "real"
    place, feed = _STEPS[build.pack.kind, load]
    steps = (
        *_assembled(build),
        Step(
            "powered, dark",
            f"{_fed(build)}; trigger released, self-test passed (*TST? gives 0).",
            tuple(_dark(build)),
        ),
        *(
            Step(
                f"lit, {level.name}",
                _asked(build, level),
                tuple(_lit(build, level)),
            )
            for level in levels(build)
        ),
        Step("guards", "Each seen to act once.", tuple(_guards(build))),
    )
    return Sheet(build.name, build.fingerprint, place, feed, tuple(_cautions(load)), POINTS, steps)


def _asked(build: Build, level: Level) -> str:
    """Return how a level is asked for over serial."""
    if build.stage.kind == "gated":
        return f"Press the trigger and hold it: the module gives {level.at_A:g} A."
    return f"CURR {level.at_A:g} over serial; press the trigger and hold it."


def _cautions(load: str) -> Iterator[str]:
    yield "The dummy comes before the diode; a reading outside of its band ends the step."
    if load == "real":
        yield "Cover closed and interlocked, eyewear made for the wavelength on; never alone."
        yield "Strap through 1 Mohm; the diode's leads shorted until it is joined."
    yield "Cells fused at the pack; sinks, shunts and MOSFETs get hot."


def _fed(build: Build) -> str:
    pack = build.pack
    if pack.kind == "bench_supply":
        return f"Bench supply at {pack.supply_V:g} V, limit {pack.supply_limit_A:g} A"
    return f"The pack, full: {pack_full_V(build):g} V"


def _assembled(build: Build) -> Iterator[Step]:
    """Yield the assembly's own checks as one step."""
    rows = tuple(
        Expected(check.read, check.do, check.band, check.means) for check in assembly(build)
    )
    yield Step("assembly", "Group by group, before the next is fitted; no diode.", rows)


def _span(point: str, read: str, low: float, high: float, unit: str, means: str) -> Expected:
    """Return a reading between two ends; one that begins at nothing is said as "below"."""
    if low <= 0:
        band = f"below {amount(high, unit)}" if unit != "degC" else f"{low:.1f} to {high:.1f} degC"
    elif unit in ("V", "A"):
        band = f"{low:.3g} to {high:.3g} {unit}" if high >= 1 else _small(low, high, unit)
    else:
        band = f"{low:.4g} to {high:.4g} {unit}"
    return Expected(point, read, band, means, low, high, unit)


def _beside(query: str, off: float, unit: str, meter: str, means: str) -> Expected:
    """Return a reading over serial, as its difference from a meter's."""
    return Expected(
        "serial", query, f"within {amount(off, unit)} of {meter}", means, -off, off, unit
    )


def _small(low: float, high: float, unit: str) -> str:
    return f"{1000 * low:.3g} to {1000 * high:.3g} m{unit}"


def _dark(build: Build) -> Iterator[Expected]:
    words, of = settings(build), Spread(build)
    low_V, high_V = _pack_V(build)
    zero_A = worst(of.read(0.0))
    monitor_V = worst(of.of("monitor-zero", 1.0)) + zero_V(build)
    yield Expected(
        "logic supply",
        "voltmeter",
        band_of(board.RAIL_V, 0.03, "V"),
        "low: U9, or a load on it; high: a wrong divider at U9. Stop: all readings hang on it",
        0.97 * board.RAIL_V,
        1.03 * board.RAIL_V,
        "V",
    )
    yield _span("pack", "voltmeter", low_V, high_V, "V", "low: a flat cell, F1, a contact")
    yield _beside(
        "MEAS:VOLT:PACK?",
        worst(of.pack(high_V)),
        "V",
        "the voltmeter at the pack",
        "further off: a divider's resistor, or the multiplexer's wiring; calibrate pack",
    )
    yield _span(
        "TP2",
        "voltmeter",
        0.0,
        words["safe_mV"] / 1000,
        "V",
        "charged: the bleeder, or the stage runs while disabled",
    )
    yield _span(
        "TP3",
        "voltmeter",
        0.0,
        monitor_V,
        "V",
        "higher: U2's offset, or a current where none may be",
    )
    yield _span(
        "serial",
        "MEAS:CURR?",
        0.0,
        zero_A,
        "A",
        "higher: as TP3; at dark_mA it latches as stuck",
    )
    yield _span(
        "TP4", "oscilloscope", 0.0, threshold_V(build) / 2, "V", "higher: U6, or R5 missing"
    )
    yield Expected("TP6", "voltmeter", "high: tripped", "low: the latch came up reset: U5")
    off_K = max(sensor_off_K(build, which) for which in ("mount", "sink"))
    yield Expected(
        "serial",
        "MEAS:TEMP?; MEAS:TEMP:SINK?",
        f"within {off_K:.2g} K of a thermometer beside each, hours after light",
        "cold: open or detached; hot: shorted; both swapped: warm one by hand",
        -off_K,
        off_K,
        "K",
    )


def _pack_V(build: Build) -> tuple[float, float]:
    """Return what the pack may stand at before use [V]."""
    if build.pack.kind == "bench_supply":
        return 0.99 * build.pack.supply_V, 1.01 * build.pack.supply_V
    return build.limits.pack_rearm_V, pack_full_V(build)


def _lit(build: Build, level: Level) -> Iterator[Expected]:
    of = Spread(build)
    low_A, high_A = level.diode_A
    low_V, high_V = level.output_V
    yield Expected(
        "diode's loop",
        "ammeter",
        level.diode,
        "low: a cap binds (for minutes after power-up a budget does); high: stop, the set path",
        low_A,
        high_A,
        "A",
    )
    yield Expected(
        "TP2",
        "voltmeter",
        level.output,
        "low: a shorted die; high: a joint, or a diode turned round",
        low_V,
        high_V,
        "V",
    )
    yield Expected(
        "supply",
        "its ammeter",
        level.source,
        "far above: the stage, not the diode; far below: a cap binds",
    )
    gain_V_A, off = current_V_A(build), current_off_pct(build) / 100
    offset_V = worst(of.of("monitor-zero", 1.0))
    yield _span(
        "TP3",
        "voltmeter",
        low_A * gain_V_A * (1 - off) + zero_V(build) - offset_V,
        high_A * gain_V_A * (1 + off) + zero_V(build) + offset_V,
        "V",
        "not the ammeter's current: R4's taps, or U2's gain; calibrate current",
    )
    yield _beside(
        "MEAS:CURR?",
        worst(of.read(level.at_A)),
        "A",
        "the ammeter",
        "further off: the filter, the pin, or the reference where TP3 is right; calibrate current",
    )
    yield _beside(
        "MEAS:VOLT?",
        worst(of.output(high_V)),
        "V",
        "TP2",
        "further off: a divider's resistor; calibrate output",
    )
    yield Expected(
        "TP4",
        "oscilloscope",
        f"above {build.cutoffs.a_vgs_guaranteed_V:g} V, never between",
        "between: A sits in its linear range and burns",
        build.cutoffs.a_vgs_guaranteed_V,
        None,
        "V",
    )
    crest = crest_V(pump(board.RAIL_V, bleed_ohm(build)), TICK_S)
    yield Expected(
        "TP5",
        "oscilloscope",
        band_of(crest, 0.1, "V"),
        "low: ticks are lost, or C5, C6 swapped",
        0.9 * crest,
        1.1 * crest,
        "V",
    )
    yield Expected("TP6", "voltmeter", "low: not tripped", "high while lit: A's drive ignores it")


def _guards(build: Build) -> Iterator[Expected]:
    for do, band in guards_seen(build):
        yield Expected("light", do, band, "not so: the guard is dead. Nothing goes on before this")
