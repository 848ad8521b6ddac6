"""Build to edges: what each transient is asked with, at the worse end of all that the build says.

The pack is full, the diode's forward voltage the lowest of any part, its junction at the end of
its range that lowers it further, the comparator at the highest trip. The diode is its tangent at
the highest trip. Figures that no build file states stand below with their source.
"""

import math
from dataclasses import dataclass

from diodewright.build import Build
from diodewright.derive import board
from diodewright.derive.counts import COUNTS
from diodewright.derive.electrics import (
    STAGE_EFFICIENCY,
    full_on_A,
    highest_level_A,
    operate,
    parameters,
    stage_ohm,
)
from diodewright.derive.plant import output_clamp_V, pack_full_V
from diodewright.edges.gate import Gate, coupled_V, gate_V
from diodewright.edges.insertion import insert
from diodewright.edges.reconnect import Contact, worst_reconnected_A
from diodewright.edges.supply import Supply, hold_up_s, lowest_input_V
from diodewright.edges.trip import Stuck, trip
from diodewright.edges.turn_off import Opening, turn_off
from diodewright.edges.turn_on import Starting, turn_on
from diodewright.plant.buck import buck_duty, buck_ripple_A
from diodewright.plant.diode import forward_slope_ohm
from diodewright.plant.kernel import Record
from diodewright.plant.pack import collapses, constant_power_A

__all__ = [
    "GATE_FEEDBACK_F",
    "GATE_INPUT_F",
    "INPUT_F",
    "LEADS_H",
    "SHORTEST_BREAK_S",
    "Tangent",
    "contact",
    "edge_values",
    "gate",
    "level_currents_A",
    "lowest_tangent",
    "opening",
    "starting",
    "stuck",
    "supply",
    "threshold_V",
]

#: A loose contact stays open for longer than this [s]; common practice, no source.
SHORTEST_BREAK_S = 10e-6
#: From a stage's own threshold to its switch [s]; typical, no source.
REACT_S = 0.2e-6
#: The stage's input capacitor [F] and the pack's leads [H]; typical, no source.
INPUT_F = 10e-6
LEADS_H = 0.5e-6
#: A small logic-level MOSFET's capacitances [F]; typical, no source.
GATE_INPUT_F = 600e-12
GATE_FEEDBACK_F = 30e-12
DRAIN_F = 200e-12
#: How far a MOSFET's breakdown may lie above its rating; common practice, no source.
BREAKDOWN_OVER = 1.3
#: Its threshold per kelvin [V/K]; from memory of typical data sheets.
THRESHOLD_V_K = -2e-3
#: Share of a rectifier's voltage at 1 A that is its knee; typical, no source.
KNEE_SHARE = 0.7
#: Capacitance of a blocking light source [F]; typical, no source.
BLOCKING_F = 100e-12
#: How long the law may take to answer a sagging pack [s]: its count of low readings, 1 ms each.
SAG_S = COUNTS["pack_min"] / 1000


@dataclass(frozen=True)
class Tangent:
    """The diode near one current: ``V = knee + ohm I``, all in series with it included."""

    knee_V: float
    total_ohm: float


def lowest_tangent(build: Build, p: Record) -> Tangent:
    """Return the tangent at the highest trip of the diode of lowest voltage, path included."""
    part, at_A = build.diode, build.comparator.trip_max_A
    ends_degC = (build.heat.ambient_min_degC, part.junction_max_degC)
    low_V = min(operate(p, at_A, at, -part.forward_spread_V).volts_V for at in ends_degC)
    slope_ohm = forward_slope_ohm(p, at_A)
    return Tangent(max(low_V - slope_ohm * at_A, 0.0), slope_ohm + p.series_ohm + p.a_ohm)


def _ripple_A(build: Build, p: Record, tangent: Tangent) -> float:
    """Return the inductor's ripple [A peak to peak] at the highest current of the stage."""
    if build.stage.kind == "linear":
        return 0.0
    at_A, full_V = full_on_A(build), pack_full_V(build)
    out_V = tangent.knee_V + tangent.total_ohm * at_A
    on_V = full_V - out_V - at_A * (p.pack_fast_ohm + stage_ohm(build))
    duty = min(buck_duty(p, full_V - at_A * p.pack_fast_ohm, out_V, at_A), 1.0)
    return buck_ripple_A(on_V, duty, p.ripple_A_V)


def starting(build: Build, p: Record) -> Starting:
    """Return a switching stage about to be enabled into its full scale, overshoot included."""
    tangent, stage = lowest_tangent(build, p), build.stage
    return Starting(
        source_V=pack_full_V(build),
        source_ohm=p.pack_fast_ohm,
        high_ohm=p.high_side_ohm,
        low_ohm=p.low_side_ohm,
        inductor_ohm=p.inductor_ohm + p.own_shunt_ohm,
        inductor_H=p.inductor_H,
        output_F=p.output_F,
        knee_V=tangent.knee_V,
        diode_ohm=tangent.total_ohm,
        set_A=full_on_A(build) * (1.0 + stage.overshoot_pct / 100),
        ripple_A=_ripple_A(build, p, tangent),
        react_s=REACT_S,
    )


def _turn_on_A(build: Build, p: Record) -> float:
    """Return the first peak [A]; a linear stage's is what its overshoot says."""
    if build.stage.kind == "linear":
        return full_on_A(build) * (1.0 + build.stage.overshoot_pct / 100)
    return turn_on(starting(build, p)).diode_peak_A


def stuck(build: Build, p: Record) -> Stuck:
    """Return the stage stuck full on at the highest level."""
    tangent = lowest_tangent(build, p)
    return Stuck(
        source_V=pack_full_V(build),
        source_ohm=p.pack_fast_ohm,
        input_F=INPUT_F,
        stage_ohm=stage_ohm(build),
        inductor_H=p.inductor_H,
        output_F=p.output_F,
        knee_V=tangent.knee_V,
        diode_ohm=tangent.total_ohm,
        begin_A=highest_level_A(build),
        trip_A=build.comparator.trip_max_A,
        delay_s=p.trip_delay_s,
        ripple_A=_ripple_A(build, p, tangent),
        clamp_V=output_clamp_V(build),
    )


def contact(build: Build, p: Record) -> Contact:
    """Return the diode's loop with a loose contact, the stage giving its highest level."""
    tangent = lowest_tangent(build, p)
    return Contact(
        output_F=p.output_F,
        loop_H=build.cutoffs.loop_uH * 1e-6,
        loop_ohm=tangent.total_ohm,
        knee_V=tangent.knee_V,
        stage_A=highest_level_A(build),
        trip_V=p.trip_V,
        delay_s=p.trip_delay_s,
        ceiling_V=output_clamp_V(build),
    )


def level_currents_A(build: Build) -> tuple[float, ...]:
    """Return every current that the stage holds [A], the start level among them."""
    named_A = tuple(level_A for _, level_A in build.levels.by_current)
    return named_A if build.stage.kind == "gated" else (*named_A, build.limits.start_level_A)


def opening(build: Build, p: Record, opened_A: float, breakdown_V: float) -> Opening:
    """Return the loop that A opens at `opened_A` [A], with a breakdown of `breakdown_V` [V]."""
    tangent, clamp_V = lowest_tangent(build, p), build.diode.reverse_clamp_V
    return Opening(
        loop_H=build.cutoffs.loop_uH * 1e-6,
        loop_ohm=p.series_ohm,
        opened_A=opened_A,
        breakdown_V=breakdown_V,
        supply_V=tangent.total_ohm * opened_A,
        output_V=tangent.knee_V,
        drain_F=DRAIN_F,
        clamp_V=KNEE_SHARE * clamp_V,
        clamp_ohm=(1.0 - KNEE_SHARE) * clamp_V,
        diode_F=BLOCKING_F,
    )


def _turned_off(build: Build, p: Record, opened_A: float) -> tuple[float, float]:
    """Return A's energy in avalanche [J] and the ring's reverse voltage [V].

    The energy is highest at the lowest breakdown, the ring at the highest. An A that breaks down
    below what drives the wiring has no end to its avalanche: not a number, hence not judged.
    """
    rated_V = build.cutoffs.a_vds_max_V
    highest = opening(build, p, opened_A, BREAKDOWN_OVER * rated_V)
    lowest = opening(build, p, opened_A, rated_V)
    if lowest.supply_V >= rated_V:
        return math.nan, math.nan
    return turn_off(lowest).avalanche_J, turn_off(highest).reverse_V


def gate(build: Build) -> Gate:
    """Return the undriven gate of cut-off A on the pin that leaks most."""
    return Gate(
        pulldown_ohm=1000 * build.cutoffs.a_pulldown_kohm,
        leak_A=board.PIN_LEAK_A,
        rail_V=board.RAIL_V,
        input_F=GATE_INPUT_F,
        feedback_F=GATE_FEEDBACK_F,
    )


def threshold_V(build: Build) -> float:
    """Return the lowest gate threshold [V] of a warm cut-off A: hottest air, highest level."""
    cutoffs = build.cutoffs
    warm_W = highest_level_A(build) ** 2 * cutoffs.a_rds_mohm / 1000
    channel_degC = build.heat.ambient_max_degC + cutoffs.a_theta_K_W * warm_W
    return cutoffs.a_threshold_min_V + THRESHOLD_V_K * max(channel_degC - 25.0, 0.0)


def _kick_V(build: Build, p: Record) -> float:
    """Return the gate [V] as A's drain rises with the output of a stage that is stuck full on.

    The pack is plugged in: inductor and output capacitor ring to at most twice the pack, at their
    steepest V / sqrt(L C); the whole rise is taken at that slope.
    """
    full_V = pack_full_V(build)
    rise_V = min(2.0 * full_V, output_clamp_V(build))
    rise_s = rise_V / full_V * (p.inductor_H * p.output_F) ** 0.5
    return coupled_V(gate(build), rise_V, rise_s)


def supply(build: Build, p: Record) -> Supply:
    """Return the controller's supply, its indicator lit."""
    load_W = p.controller_W + board.INDICATOR_A * board.RAIL_V
    return Supply(
        hold_up_F=build.stage.hold_up_uF * 1e-6,
        drop_V=board.SUPPLY_DROP_V,
        load_W=load_W / board.REGULATOR_EFFICIENCY,
        least_V=p.rail_pack_min_V,
    )


def _sagged_V(build: Build, p: Record) -> tuple[float, float]:
    """Return the pack before and in its deepest sag [V]: cold, at lockout, at the highest level."""
    pack, at_A = build.pack, highest_level_A(build)
    source_V, ohm = pack.supply_V, p.pack_fast_ohm
    if pack.kind == "cells":
        source_V = build.limits.pack_lockout_V
        ohm = (p.pack_fast_ohm - p.wiring_ohm) * pack.cold_factor + p.wiring_ohm
    if build.stage.kind == "linear":
        return source_V, max(source_V - ohm * at_A, 0.0)
    cold = operate(p, at_A, build.heat.ambient_min_degC, build.diode.forward_spread_V)
    load_W = cold.electrical_W / STAGE_EFFICIENCY
    if collapses(source_V, ohm, load_W):
        return source_V, 0.5 * source_V
    return source_V, source_V - ohm * constant_power_A(source_V, ohm, load_W)


def edge_values(build: Build) -> dict[str, float]:
    """Return every quantity that edge criteria judge, by its column."""
    p = parameters(build)
    tripped = trip(stuck(build, p))
    avalanche_J, reverse_V = _turned_off(build, p, tripped.judged_A)
    feed = supply(build, p)
    before_V, sagged_V = _sagged_V(build, p)
    plugged = insert(pack_full_V(build), p.pack_fast_ohm, LEADS_H, INPUT_F)
    return {
        "turn_on_peak_A": _turn_on_A(build, p),
        "trip_peak_A": tripped.judged_A,
        "open_output_V": tripped.output_V,
        "reconnect_peak_A": worst_reconnected_A(
            contact(build, p), SHORTEST_BREAK_S, level_currents_A(build)
        ),
        "avalanche_mJ": 1000 * avalanche_J,
        "reverse_V": reverse_V,
        "gate_leak_V": gate_V(gate(build)),
        "gate_kick_V": _kick_V(build, p),
        "insertion_V": plugged.peak_V,
        "supply_low_V": lowest_input_V(feed, before_V, sagged_V, SAG_S),
        "hold_up_ms": 1000 * hold_up_s(feed, build.limits.pack_loaded_min_V),
    }
