"""Build to the parts of the reference circuit: what each value must be, worked out.

A builder's file says what the circuit must do; this says which parts do it. Every function takes
the build's worse end. What no build file states stands in `reference`, with its source.
"""

import math
from dataclasses import dataclass, replace

from diodewright.build import Build
from diodewright.derive import board
from diodewright.derive.edges import (
    GATE_FEEDBACK_F,
    GATE_INPUT_F,
    INPUT_F,
    LEADS_H,
    SHORTEST_BREAK_S,
    contact,
    level_currents_A,
    stuck,
    supply,
    threshold_V,
)
from diodewright.derive.electrics import (
    full_on_A,
    highest_level_A,
    operate,
    pack_load_A,
    parameters,
)
from diodewright.derive.plant import output_clamp_V, pack_full_V
from diodewright.derive.reference import E96, FUSES_A, REFERENCE, preferred, preferred_below
from diodewright.edges.insertion import Insertion, insert
from diodewright.edges.reconnect import worst_reconnected_A
from diodewright.edges.trip import trip

__all__ = [
    "SetPath",
    "allowed_trip_s",
    "bleeder_limit_ohm",
    "clamp_J",
    "clamp_most_V",
    "clamp_rating_V",
    "comparator_mV",
    "comparator_offset_mV",
    "controller_fuse_A",
    "divider_ohm",
    "fuse_A",
    "fuse_pulse_A2s",
    "gate_off_s",
    "input_ripple_A",
    "insertion",
    "output_limit_uF",
    "pack_peak_A",
    "pull_down_limit_ohm",
    "set_path",
    "trip_peak_A",
]


def pack_peak_A(build: Build) -> float:
    """Return the highest current in use from the pack [A]: loaded minimum, diode cold and high."""
    p, spread_V = parameters(build), build.diode.forward_spread_V
    cold = operate(p, highest_level_A(build), build.heat.ambient_min_degC, spread_V)
    return pack_load_A(build, cold.electrical_W, build.limits.pack_loaded_min_V, 0.0)


def fuse_A(build: Build) -> float:
    """Return the pack fuse's rating [A]: the next above the highest use and its margin."""
    least_A = REFERENCE.fuse_over * pack_peak_A(build)
    return next(rated_A for rated_A in FUSES_A if rated_A >= least_A)


def insertion(build: Build) -> Insertion:
    """Return what the pack's insertion does to the stage's input."""
    return insert(pack_full_V(build), parameters(build).pack_fast_ohm, LEADS_H, INPUT_F)


def fuse_pulse_A2s(build: Build) -> float:
    """Return the inrush's melting integral [A2 s]: the input capacitor's C V^2 / 2 over R."""
    return insertion(build).contact_J / float(parameters(build).pack_fast_ohm)


def input_ripple_A(build: Build) -> float:
    """Return the input capacitor's rms current [A]: sqrt(D ((1 - D) I^2 + ripple^2 / 12)).

    Largest over the duty between full pack and loaded minimum; 0 for a linear stage. Source:
    Erickson and Maksimovic, Hart.
    """
    if build.stage.kind == "linear":
        return 0.0
    of = stuck(build, parameters(build))
    at_A = highest_level_A(build)
    out_V = of.knee_V + of.diode_ohm * at_A
    ends = [out_V / source_V for source_V in (of.source_V, build.limits.pack_loaded_min_V)]
    duties = [min(duty, 1.0) for duty in ends]
    if min(duties) < 0.5 < max(duties):
        duties.append(0.5)
    return max(math.sqrt(duty * ((1 - duty) * at_A**2 + of.ripple_A**2 / 12)) for duty in duties)


def trip_peak_A(build: Build) -> float:
    """Return the highest current [A] that inductor, shunts and cut-off A ever see."""
    return trip(stuck(build, parameters(build))).judged_A


def allowed_trip_s(build: Build) -> float:
    """Return what the whole over-current path may take [s].

    (I_absolute - I_trip,max - ripple / 2) L / (V_pack,max - V_diode,min), from v = L di/dt.
    """
    of = stuck(build, parameters(build))
    over_A = build.diode.absolute_A - of.trip_A - 0.5 * of.ripple_A
    return over_A * of.inductor_H / (of.source_V - of.knee_V - of.diode_ohm * of.trip_A)


def gate_off_s(build: Build) -> float:
    """Return the time [s] that A's gate takes from the highest rail to its lowest threshold."""
    input_F = GATE_INPUT_F + GATE_FEEDBACK_F
    ohm = REFERENCE.gate_ohm + REFERENCE.driver_ohm
    return ohm * input_F * math.log(REFERENCE.rail_high_V / build.cutoffs.a_threshold_min_V)


def output_limit_uF(build: Build) -> float:
    """Return the output capacitor [uF] from which a re-made contact passes the absolute maximum."""
    of = contact(build, parameters(build))
    currents_A = level_currents_A(build)
    low_uF, high_uF = 1e-3, 100.0
    for _ in range(40):
        middle_uF = math.sqrt(low_uF * high_uF)
        at = replace(of, output_F=middle_uF * 1e-6)
        if worst_reconnected_A(at, SHORTEST_BREAK_S, currents_A) < build.diode.absolute_A:
            low_uF = middle_uF
        else:
            high_uF = middle_uF
    return low_uF


def bleeder_limit_ohm(build: Build) -> float:
    """Return the largest bleeder [ohm] that empties the output in time: t / (C ln(V / V_empty))."""
    output_F = build.stage.output_cap_uF * 1e-6
    ratio = build.comparator.over_voltage_V / REFERENCE.empty_V
    return REFERENCE.empty_s / (output_F * math.log(ratio))


def clamp_J(build: Build) -> float:
    """Return what the clamp takes each time A opens [J]: the inductor's L I^2 / 2 at the most."""
    of = stuck(build, parameters(build))
    return 0.5 * of.inductor_H * trip_peak_A(build) ** 2


def comparator_mV(build: Build) -> float:
    """Return the monitor shunt's voltage [mV] in the middle of the trip's band."""
    middle_A = 0.5 * (build.comparator.trip_min_A + build.comparator.trip_max_A)
    return middle_A * build.sensors.monitor_shunt_mohm


def comparator_offset_mV(build: Build) -> float:
    """Return what amplifier and comparator may be off [mV at the shunt].

    Half of the trip's band, less 1.5 % for reference and shunt (1 % and 0.5 %).
    """
    comparator = build.comparator
    half_A = 0.5 * (comparator.trip_max_A - comparator.trip_min_A)
    return half_A * build.sensors.monitor_shunt_mohm - 0.015 * comparator_mV(build)


def pull_down_limit_ohm(build: Build) -> float:
    """Return the largest preferred pull-down [ohm] at which the worst leak leaves A off."""
    return preferred_below(threshold_V(build) / board.PIN_LEAK_A)


def divider_ohm(ratio: float, total_ohm: float) -> tuple[float, float]:
    """Return top and bottom resistor [ohm], E96, of a divider of about `total_ohm` [ohm]."""
    bottom_ohm = preferred(ratio * total_ohm)
    return preferred(bottom_ohm * (1 - ratio) / ratio), bottom_ohm


@dataclass(frozen=True)
class SetPath:
    """The set path's parts: two poles, and the resistor to ground that makes the divider."""

    first_ohm: float
    first_F: float
    second_ohm: float
    second_F: float
    ground_ohm: float


def set_path(build: Build) -> SetPath:
    """Return the set path; its full duty at the highest rail stays below the stage's full scale.

    The accuracy of the set path is taken off first. A gated stage has none: its parts are NaN.
    """
    if build.stage.kind == "gated":
        return SetPath(*(math.nan,) * 5)
    at = REFERENCE
    most_A = full_on_A(build) * (1 - build.stage.set_accuracy_pct / 100)
    share = most_A * at.set_gain * build.stage.own_shunt_mohm / 1000 / at.rail_high_V
    series_ohm = at.first_ohm + at.second_ohm
    ground_ohm = preferred_below(series_ohm * share / (1 - share), E96)
    pole_s = build.stage.set_filter_ms / 1000
    behind_ohm = 1 / (1 / series_ohm + 1 / ground_ohm)
    return SetPath(
        first_ohm=at.first_ohm,
        first_F=preferred_below(pole_s / at.first_ohm),
        second_ohm=at.second_ohm,
        second_F=preferred_below(pole_s / behind_ohm),
        ground_ohm=ground_ohm,
    )


def controller_fuse_A(build: Build) -> float:
    """Return the controller's own fuse [A]: twice what it draws from the lowest pack."""
    of = supply(build, parameters(build))
    least_A = 2 * of.load_W / build.limits.pack_loaded_min_V
    return next(rated_A for rated_A in FUSES_A if rated_A >= least_A)


def clamp_rating_V(build: Build) -> float:
    """Return what the clamp must stand without conducting [V]: full pack and over-voltage trip."""
    return max(pack_full_V(build), build.comparator.over_voltage_V)


def clamp_most_V(build: Build) -> float:
    """Return what the clamp may let the output reach [V]: below cut-off A's rating."""
    return min(output_clamp_V(build), build.cutoffs.a_vds_max_V)
