"""Build to criteria: what must hold in use and under every single fault, with its limit."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from diodewright.build import Build
from diodewright.derive.board import REGULATOR_MIN_V
from diodewright.derive.edges import threshold_V

__all__ = ["Criterion", "criteria"]

Sense = Literal["at_most", "at_least"]
Scope = Literal["use", "fault", "edge"]

#: A silicon MOSFET's channel, generic; from memory of typical data sheets.
CHANNEL_MAX_DEGC = 150.0
#: A small MOSFET's single avalanche; typical, no source: data sheets give some mJ, from memory.
AVALANCHE_MJ = 1.0
#: Two ticks of the law: one that reads, one that writes zero.
HOLD_UP_MIN_MS = 2.0


@dataclass(frozen=True)
class Criterion:
    """One limit on one tallied quantity.

    Attributes
    ----------
    id : stable name.
    column : the Tally's quantity, or the size summary's for a use.
    sense : the limit is a ceiling or a floor.
    limit : in `unit`.
    scopes : where it is judged: in healthy use, under faults, on edges (microseconds).
    meaning : in a builder's words.
    mend : what helps when it fails.
    """

    id: str
    column: str
    sense: Sense
    limit: float
    unit: str
    scopes: tuple[Scope, ...]
    meaning: str
    mend: str


def _shared_shunt(laser: bool) -> Criterion:
    """Return what a shared shunt is judged by.

    One bad resistor then raises the current and hides it: a laser fails for it. Elsewhere it is
    "not judged", because no fault of a shared shunt is modelled; its column is never tallied.
    """
    return Criterion(
        "own-shunt",
        "shared_shunts" if laser else "shared_shunt_faults",
        "at_most",
        0.0,
        "",
        ("use",),
        "the law watches another shunt than the stage regulates on",
        "give the monitor a shunt of its own",
    )


def _pass_channel(build: Build) -> tuple[Criterion, ...]:
    """Return what a linear stage's pass MOSFET is judged by; nothing for other stages."""
    if build.stage.kind != "linear":
        return ()
    return (
        Criterion(
            "pass-channel",
            "peak_pass_degC",
            "at_most",
            CHANNEL_MAX_DEGC,
            "degC",
            ("use", "fault"),
            "channel of the pass MOSFET stays below 150 degC",
            "fewer cells in series, a better way from pass MOSFET to sink or a lower level",
        ),
    )


def _absolute_A(build: Build) -> float:
    return build.diode.absolute_A


#: What the edges are judged by: id, column, sense, limit, unit, meaning, mend.
_EDGES: tuple[tuple[str, str, Sense, Callable[[Build], float], str, str, str], ...] = (
    (
        "edge-turn-on",
        "turn_on_peak_A",
        "at_most",
        _absolute_A,
        "A",
        "enabled into its full scale, the stage's first peak stays below the absolute maximum",
        "less overshoot, a larger inductor or a lower full scale",
    ),
    (
        "edge-trip",
        "trip_peak_A",
        "at_most",
        _absolute_A,
        "A",
        "stage stuck full on: trip, delay and ripple together stay below the absolute maximum",
        "a faster comparator, a larger inductor or a lower trip",
    ),
    (
        "edge-open-output",
        "open_output_V",
        "at_most",
        lambda build: build.cutoffs.a_vds_max_V,
        "V",
        "cut-off A, just opened, stands what the inductor makes of the output",
        "a clamp of lower voltage or a MOSFET of higher voltage",
    ),
    (
        "edge-reconnect",
        "reconnect_peak_A",
        "at_most",
        _absolute_A,
        "A",
        "a loose contact closed again onto the charged output stays below the absolute maximum",
        "a smaller output capacitor or a lower over-voltage trip",
    ),
    (
        "edge-avalanche",
        "avalanche_mJ",
        "at_most",
        lambda _: AVALANCHE_MJ,
        "mJ",
        "cut-off A stands the energy of the wiring that it opens",
        "shorter wiring of the diode's loop",
    ),
    (
        "edge-reverse",
        "reverse_V",
        "at_most",
        lambda build: build.diode.reverse_max_V,
        "V",
        "the ring behind cut-off A keeps within the diode's reverse voltage",
        "a reverse diode across the diode, at its very pins",
    ),
    (
        "edge-gate-leak",
        "gate_leak_V",
        "at_most",
        threshold_V,
        "V",
        "an undriven pin leaves cut-off A's gate below its lowest threshold",
        "a smaller pull-down or a MOSFET of higher threshold",
    ),
    (
        "edge-gate-kick",
        "gate_kick_V",
        "at_most",
        threshold_V,
        "V",
        "a rising output leaves cut-off A's undriven gate below its lowest threshold",
        "a smaller pull-down or a MOSFET of higher threshold",
    ),
    (
        "edge-insertion",
        "insertion_V",
        "at_most",
        lambda build: build.stage.input_max_V,
        "V",
        "the stage's input stands the ring as the pack is plugged in",
        "an electrolytic capacitor or a suppressor at the input, or parts of higher voltage",
    ),
    (
        "edge-supply-dip",
        "supply_low_V",
        "at_least",
        lambda _: REGULATOR_MIN_V,
        "V",
        "the controller keeps its supply while a cold, low pack sags",
        "a higher lockout, a pack of less resistance or a lower level",
    ),
    (
        "edge-hold-up",
        "hold_up_ms",
        "at_least",
        lambda _: HOLD_UP_MIN_MS,
        "ms",
        "with the pack lost, the controller's supply lasts for the ticks that make it dark",
        "a larger hold-up capacitor or a higher loaded minimum",
    ),
)


def edge_criteria(build: Build) -> tuple[Criterion, ...]:
    """Return what the edges are judged by: peaks within microseconds, each at its own limit."""
    return tuple(
        Criterion(id, column, sense, limit(build), unit, ("edge",), meaning, mend)
        for id, column, sense, limit, unit, meaning, mend in _EDGES
    )


def criteria(build: Build) -> tuple[Criterion, ...]:
    """Return the criteria of `build`, the most final damage first."""
    both: tuple[Scope, ...] = ("use", "fault")
    use: tuple[Scope, ...] = ("use",)
    part, pack, want = build.diode, build.pack, build.criteria
    by_current = build.levels.by_current
    rows = [
        Criterion(
            "diode-current",
            "peak_current_A",
            "at_most",
            part.absolute_A,
            "A",
            both,
            "true peak diode current stays below the absolute maximum",
            "a faster comparator, a larger inductor or a lower set current",
        ),
        Criterion(
            "junction",
            "peak_junction_degC",
            "at_most",
            part.junction_max_degC,
            "degC",
            both,
            "junction stays below its limit",
            "a lower trip, a lower set current or a better heat path",
        ),
        Criterion(
            "cutoff-a-channel",
            "peak_a_degC",
            "at_most",
            CHANNEL_MAX_DEGC,
            "degC",
            both,
            "channel of cut-off A stays below 150 degC",
            "a MOSFET of lower on-resistance or more copper",
        ),
        *_pass_channel(build),
        Criterion(
            "emission-against-controls",
            "longest_against_s",
            "at_most",
            want.dark_within_ms / 1000,
            "s",
            both,
            "dark soon after key, interlock or trigger opens",
            "check cut-offs A and B and what drives them",
        ),
    ]
    if want.light_min_W is not None:
        rows.append(
            Criterion(
                "light",
                "light_first_minute_W",
                "at_least",
                want.light_min_W,
                "W",
                use,
                "light at the end of the first minute",
                "a higher level or a cooler mount",
            )
        )
    if want.before_cutback_min_s is not None:
        rows.append(
            Criterion(
                "before-cutback",
                "before_cutback_s",
                "at_least",
                want.before_cutback_min_s,
                "s",
                use,
                "full level before heat cuts back",
                "a larger sink, a better pad, a lower level",
            )
        )
    rows.append(
        Criterion(
            "touch",
            "peak_sink_degC",
            "at_most",
            build.heat.sink_touch_max_degC,
            "degC",
            use,
            "sink stays below touch temperature",
            "an earlier cutback or a larger sink",
        )
    )
    if build.sensors.shunt == "shared":
        rows.append(_shared_shunt(part.kind == "laser_diode"))
    if pack.kind == "cells":
        rows += [
            Criterion(
                "pack-current",
                "peak_pack_A",
                "at_most",
                pack.discharge_continuous_A * pack.parallel,
                "A",
                use,
                "pack current stays within the cell's continuous rating",
                "a cell of higher rating, more cells or a lower level",
            ),
            Criterion(
                "cold-hold",
                "cold_hold_A",
                "at_least",
                by_current[-1][1],
                "A",
                use,
                "a cold, low pack still holds up the lowest level on a diode of highest voltage",
                "more cells in series, a higher lockout or a diode of lower voltage",
            ),
            Criterion(
                "pack-voltage",
                "least_pack_V",
                "at_least",
                pack.cell_min_V * pack.series,
                "V",
                use,
                "pack stays above its lowest allowed voltage",
                "a higher loaded minimum or lockout",
            ),
        ]
    return (*rows, *edge_criteria(build))
