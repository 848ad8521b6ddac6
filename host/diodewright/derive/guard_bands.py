"""The guard band that each threshold holds, against the one that the parts' tolerances need.

A threshold of the law compares a reading of parts that spread with a number that does not. What
lies between the healthy reading and the threshold is the band that is built in; what the table of
tolerances can move the reading by, all at its worst end, is the band that is needed. Beside it
stands what is likely (see `spread`). A band that does not hold the worst case is a false trip
waiting for its build.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from diodewright.build import Build
from diodewright.derive.board import CHECK_V, INDICATOR_A
from diodewright.derive.edges import stuck
from diodewright.derive.electrics import highest_level_A, parameters, volts_V
from diodewright.derive.plant import pack_full_V
from diodewright.derive.spread import (
    Spread,
    Term,
    heat_model_min_K,
    highest_output_V,
    likely,
    worst,
)

__all__ = ["GuardBand", "guard_bands"]


@dataclass(frozen=True)
class GuardBand:
    """One threshold of one build.

    Attributes
    ----------
    row, word : the fault row (or what acts), and the settings word or key that is its threshold.
    healthy, threshold : the nominal healthy reading nearest to the threshold, and the threshold.
    unit : of both.
    built_in, needed, likely : the bands; see the module.
    terms : what needs it, the largest first.
    mend : what helps where it does not fit.
    """

    row: str
    word: str
    healthy: float
    threshold: float
    unit: str
    built_in: float
    needed: float
    likely: float
    terms: tuple[Term, ...]
    mend: str

    @property
    def fits(self) -> bool:
        """Whether the band holds the worst case."""
        return self.built_in >= self.needed


def _band(
    row: str,
    word: str,
    healthy: float,
    threshold: float,
    unit: str,
    terms: Iterable[Term],
    mend: str,
) -> GuardBand:
    kept = tuple(sorted((term for term in terms if term.towards), key=lambda t: -t.towards))
    return GuardBand(
        row=row,
        word=word,
        healthy=healthy,
        threshold=threshold,
        unit=unit,
        built_in=abs(threshold - healthy),
        needed=worst(kept),
        likely=likely(kept),
        terms=kept,
        mend=mend,
    )


def _overcurrent(build: Build, of: Spread, words: Mapping[str, int]) -> GuardBand:
    level_A = highest_level_A(build)
    return _band(
        "overcurrent",
        "overcurrent_mA",
        level_A,
        words["overcurrent_mA"] / 1000,
        "A",
        (*of.made(level_A), *of.read(level_A)),
        "a monitor of less tolerance, or a higher comparator.trip_min_A (limits.overcurrent_A)",
    )


def _follow(build: Build, of: Spread, words: Mapping[str, int]) -> GuardBand:
    level_A = highest_level_A(build)
    asked_A = words["follow_mA"] / 1000 + level_A / 16
    return _band(
        "follow",
        "follow_mA",
        level_A,
        level_A + asked_A,
        "A",
        (*of.made(level_A), *of.read(level_A)),
        "a set path, a module or a monitor of less tolerance",
    )


def _latch(build: Build, of: Spread, _: Mapping[str, int]) -> GuardBand:
    """Return the comparator's band: true peak current below its lowest trip.

    The trim follows a monitor that reads low, up to its authority.
    """
    level_A, p = highest_level_A(build), parameters(build)
    least = min((of.rows["inductor"].low, 0.0))
    half_A = 0.5 * stuck(build, p).ripple_A
    ripple = Term("inductor", 0.0, half_A / (1.0 + least) - half_A)
    terms = of.made(level_A)
    if build.stage.kind != "gated":
        authority_A = level_A * build.limits.authority_pct / 100
        low = of.read(level_A)
        trimmed_A = min(worst(low), authority_A)
        terms = (*terms, *_shrunk(low, trimmed_A))
    over_A = level_A * build.stage.overshoot_pct / 100 if build.stage.kind == "gated" else 0.0
    return _band(
        "latch",
        "comparator.trip_min_A",
        level_A + half_A + over_A,
        build.comparator.trip_min_A,
        "A",
        (*terms, ripple),
        "a higher comparator.trip_min_A, a lower level, less limits.authority_pct",
    )


def _shrunk(terms: Iterable[Term], most: float) -> tuple[Term, ...]:
    """Return terms scaled so that their worst case is `most`."""
    rows = tuple(terms)
    factor = most / worst(rows) if worst(rows) else 0.0
    return tuple(Term(t.name, factor * t.away, factor * t.towards, t.even) for t in rows)


def _open(build: Build, of: Spread, words: Mapping[str, int]) -> GuardBand:
    output_V = highest_output_V(build)
    return _band(
        "open",
        "open_mV",
        output_V,
        words["open_mV"] / 1000,
        "V",
        of.output(output_V),
        "a higher comparator.over_voltage_V, or a divider of less tolerance",
    )


def _over_voltage(build: Build, of: Spread, _: Mapping[str, int]) -> GuardBand:
    """Return the other comparator's band: it sees the true output, with parts of its own."""
    trip_V = build.comparator.over_voltage_V
    return _band(
        "latch",
        "comparator.over_voltage_V",
        highest_output_V(build),
        trip_V,
        "V",
        of.of("over-voltage", trip_V, falls=True),
        "a higher comparator.over_voltage_V",
    )


def _short(build: Build, of: Spread, words: Mapping[str, int]) -> GuardBand:
    start_A = words["start_mA"] / 1000
    lowest_V = volts_V(build, start_A, build.diode.junction_max_degC)
    lowest_V -= build.diode.forward_spread_V
    return _band(
        "short",
        "short_mV",
        lowest_V,
        words["short_mV"] / 1000,
        "V",
        of.output(lowest_V, down=True),
        "a divider of less tolerance",
    )


def _reference(build: Build, of: Spread, words: Mapping[str, int]) -> Iterable[GuardBand]:
    mend = "a reference or a check voltage of less tolerance"
    for word, down in (("reference_max_mV", False), ("reference_min_mV", True)):
        yield _band(
            "sensor",
            word,
            CHECK_V,
            words[word] / 1000,
            "V",
            of.check(down),
            mend,
        )


def _pack_wrong(build: Build, of: Spread, words: Mapping[str, int]) -> GuardBand:
    full_V = pack_full_V(build)
    return _band(
        "pack_wrong",
        "pack_max_mV",
        full_V,
        words["pack_max_mV"] / 1000,
        "V",
        of.full_pack(),
        "a divider of less tolerance",
    )


def _empty(build: Build, of: Spread, words: Mapping[str, int]) -> Iterable[GuardBand]:
    """Return the band that keeps cells from their lowest voltage while the pack reads high."""
    if build.pack.kind != "cells":
        return
    loaded_V = words["loaded_min_mV"] / 1000
    yield _band(
        "pack_min",
        "loaded_min_mV",
        loaded_V,
        build.pack.cell_min_V * build.pack.series,
        "V",
        of.pack(loaded_V),
        "a higher limits.pack_loaded_min_V, or a divider of less tolerance",
    )


def _heat(build: Build, of: Spread, words: Mapping[str, int]) -> GuardBand:
    """Return the band of the row on mount over sink: the least model that it judges."""
    return _band(
        "heat",
        "model_min_cK",
        0.0,
        words["model_min_cK"] / 100,
        "K",
        (Term("mount-sensor, sink-sensor, pad, slope", 0.0, heat_model_min_K(build)),),
        "thermistors of less tolerance",
    )


def _stuck(build: Build, of: Spread, words: Mapping[str, int]) -> GuardBand:
    return _band(
        "stuck",
        "dark_mA",
        0.0,
        words["dark_mA"] / 1000,
        "A",
        of.read(0.0),
        "an amplifier of less offset, or a higher sensors.monitor_gain_V_A",
    )


def _indicator(build: Build, of: Spread, words: Mapping[str, int]) -> Iterable[GuardBand]:
    if not build.controls.indicator:
        return
    per_V = 1e3 * INDICATOR_A
    for word, down in (("indicator_max_uA", False), ("indicator_min_uA", True)):
        lit_mA = 1e3 * INDICATOR_A
        yield _band(
            "indicator",
            word,
            lit_mA,
            words[word] / 1000,
            "mA",
            (
                *of.of("indicator", lit_mA, falls=down),
                *of.reference(lit_mA, down=down),
                *of.offset(per_V),
            ),
            "an indicator of less spread",
        )


_ONE: tuple[Callable[[Build, Spread, Mapping[str, int]], GuardBand], ...] = (
    _latch,
    _overcurrent,
    _follow,
    _open,
    _over_voltage,
    _short,
    _pack_wrong,
    _heat,
    _stuck,
)
_SOME: tuple[Callable[[Build, Spread, Mapping[str, int]], Iterable[GuardBand]], ...] = (
    _reference,
    _empty,
    _indicator,
)


def guard_bands(build: Build, words: Mapping[str, int]) -> tuple[GuardBand, ...]:
    """Return the guard band of every threshold that a part's tolerance can reach in healthy use.

    `words` are the build's settings.
    """
    of = Spread(build)
    bands = [make(build, of, words) for make in _ONE]
    for some in _SOME:
        bands += some(build, of, words)
    return tuple(bands)
