"""Build to criteria: what must hold in use and under every single fault, with its limit."""

from dataclasses import dataclass
from typing import Literal

from diodewright.build import Build

__all__ = ["Criterion", "criteria"]

Sense = Literal["at_most", "at_least"]
Scope = Literal["use", "fault"]

#: A silicon MOSFET's channel, generic; from memory of typical data sheets.
CHANNEL_MAX_DEGC = 150.0


@dataclass(frozen=True)
class Criterion:
    """One limit on one tallied quantity.

    Attributes
    ----------
    id : stable name.
    column : the Tally's quantity, or the size summary's for a use.
    sense : the limit is a ceiling or a floor.
    limit : in `unit`.
    scopes : where it is judged: in healthy use, under faults, or both.
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
    return tuple(rows)
