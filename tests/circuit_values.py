"""A build as the netlists' parameters: the runs that `circuit_claims` makes of each."""

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from itertools import product

from diodewright.build import Build
from diodewright.derive import board, parts
from diodewright.derive.edges import (
    INPUT_F,
    LEADS_H,
    SHORTEST_BREAK_S,
    contact,
    gate,
    level_currents_A,
    lowest_tangent,
    opening,
    stuck,
    supply,
)
from diodewright.derive.electrics import full_on_A, highest_level_A, parameters
from diodewright.derive.enables import b_delay_ohm, bleed_ohm
from diodewright.derive.plant import output_clamp_V, pack_full_V
from diodewright.derive.reference import REFERENCE
from diodewright.edges.reconnect import Contact, opens_after_s
from diodewright.edges.supply import hold_up_s
from diodewright.edges.trip import trip
from diodewright.edges.turn_off import turn_off
from netlists import diode, given

Values = Mapping[str, float]
AT = REFERENCE
RAILS_V = (AT.rail_low_V, AT.rail_high_V)
SHORTED = (
    "source_V",
    "source_ohm",
    "input_F",
    "stage_ohm",
    "inductor_H",
    "output_F",
    "begin_A",
    "trip_A",
    "delay_s",
)


def shorted_clamp(build: Build) -> Iterator[Values]:
    """Yield the stage stuck full on, from the highest level, long enough to see all of it."""
    of = stuck(build, parameters(build))
    stop_s = trip(of).trip_s + of.delay_s + 2.2 * (of.inductor_H * of.input_F) ** 0.5
    begin_V = of.knee_V + of.diode_ohm * of.begin_A
    span = {"begin_V": begin_V, "stop_s": stop_s, "step_s": 5e-9}
    yield {**given(of, *SHORTED), **diode(build), **span}


def shorted(build: Build) -> Iterator[Values]:
    """Yield the same with the clamp across the output."""
    for values in shorted_clamp(build):
        yield {**values, "clamp_V": output_clamp_V(build)}


def path(build: Build) -> Iterator[Values]:
    """Yield the whole over-current path at both ends of the logic supply."""
    fields = ("source_V", "source_ohm", "stage_ohm", "inductor_H", "output_F", "begin_A")
    for values in shorted(build):
        for rail_V in RAILS_V:
            yield {
                **{name: values[name] for name in (*fields, "trip_A", "begin_V", "stop_s")},
                **{name: values[name] for name in ("clamp_V", "knee0_V", "log_V", "floor_A")},
                "series_ohm": values["series_ohm"] - build.sensors.monitor_shunt_mohm / 1000,
                "monitor_ohm": build.sensors.monitor_shunt_mohm / 1000,
                "rail_V": rail_V,
                "amplifier_s": AT.amplifier_s,
                "comparator_s": AT.comparator_s,
                "logic_s": AT.logic_s,
                "driver_ohm": AT.driver_ohm,
                "gate_ohm": AT.gate_ohm,
                "threshold_V": build.cutoffs.a_threshold_min_V,
                "gain_A_V2": 1000 / build.cutoffs.a_rds_mohm / 1.5,
            }


def _contact_values(build: Build, of: Contact, break_s: float) -> Values:
    lit_V = of.knee_V + of.loop_ohm * of.stage_A
    return {
        **given(of, "output_F", "loop_H", "stage_A", "trip_V", "delay_s", "ceiling_V"),
        **diode(build),
        "break_s": break_s,
        "begin_V": lit_V,
        "stop_s": break_s + 8 * (of.loop_H * of.output_F) ** 0.5,
        "step_s": 2e-9,
    }


def clear_trip(build: Build) -> Iterator[Values]:
    """Yield a contact that closes again half a microsecond after the over-voltage trip."""
    of = contact(build, parameters(build))
    yield _contact_values(build, of, opens_after_s(of) + 0.5e-6)


def hot_contacts(build: Build, output_F: float | None = None) -> Iterator[Values]:
    """Yield, of every current at which a plausible break escapes the trip, the worst break.

    The trip is held off from then on: it would cut the surge short. `output_F` [F] instead of the
    build's own capacitor.
    """
    of = contact(build, parameters(build))
    of = replace(of, output_F=output_F or of.output_F)
    time_s = SHORTEST_BREAK_S - of.delay_s + of.loop_ohm * of.output_F
    reach_A = 0.999 * (of.trip_V - of.knee_V) * of.output_F / time_s
    highest_A = max(level_currents_A(build))
    for stage_A in {*level_currents_A(build), min(reach_A, highest_A)}:
        at = replace(of, stage_A=stage_A)
        if opens_after_s(at) >= SHORTEST_BREAK_S:
            values = _contact_values(build, at, opens_after_s(at) - 0.3e-6)
            yield {**values, "delay_s": 1.0}


#: Corners of the dynamic enable: coupling and store capacitor, bleeder, logic supply. Which is the
#: worst of all sixteen was looked for once.
CORNERS = {
    "slow to rise": (-1, 1, 1, AT.rail_low_V),
    "slow to fall": (1, 1, 1, AT.rail_high_V),
    "quick to fall": (-1, -1, -1, AT.rail_low_V),
    "high crest": (1, -1, -1, AT.rail_high_V),
}


def enable(build: Build, corner: str, *ends: Values) -> Iterator[Values]:
    """Yield the dynamic enable at a corner, the pin ending so in either half of its period."""
    couple, store, bleed, rail_V = CORNERS[corner]
    for end, dies_s in product(ends, (40.2e-3, 41.2e-3)):
        yield {
            "rail_V": rail_V,
            "couple_F": (1 + couple * AT.cap_tolerance) * AT.couple_F,
            "store_F": (1 + store * AT.cap_tolerance) * AT.store_F,
            "bleed_ohm": (1 + bleed * AT.ohm_tolerance) * bleed_ohm(build),
            "rise_share": AT.rise_share,
            "fall_share": AT.fall_share,
            "series_ohm": AT.gate_ohm + AT.driver_ohm,
            "pulldown_ohm": 1000 * build.cutoffs.a_pulldown_kohm,
            "dies_s": dies_s,
            **end,
        }


def ordered(build: Build) -> Iterator[Values]:
    """Yield the start with A as late and B as early as their parts allow, at both supplies."""
    up, down = 1 + AT.cap_tolerance, 1 - AT.cap_tolerance
    for rail_V in RAILS_V:
        yield {
            "rail_V": rail_V,
            "couple_F": down * AT.couple_F,
            "store_F": up * AT.store_F,
            "bleed_ohm": (1 - AT.ohm_tolerance) * bleed_ohm(build),
            "delay_ohm": (1 - AT.ohm_tolerance) * b_delay_ohm(build),
            "delay_F": down * AT.delay_F,
            "share": 0.99,
            "rise_share": AT.rise_share,
            "fall_share": AT.fall_share,
        }


def slow_b(build: Build) -> Iterator[Values]:
    """Yield the start with B as late, and its fall as slow, as its parts allow."""
    for values in ordered(build):
        yield {
            **values,
            "delay_ohm": (1 + AT.ohm_tolerance) * b_delay_ohm(build),
            "delay_F": (1 + AT.cap_tolerance) * AT.delay_F,
            "share": 1.01,
        }


def soft_starts(build: Build) -> Iterator[Values]:
    """Yield cut-off A closing late, the stage at its full current into a full clamp."""
    tangent = lowest_tangent(build, parameters(build))
    for rail_V in RAILS_V:
        yield {
            "stage_A": full_on_A(build),
            "output_F": build.stage.output_cap_uF * 1e-6,
            "clamp_V": output_clamp_V(build),
            "knee_V": tangent.knee_V,
            "diode_ohm": tangent.total_ohm,
            "rail_V": rail_V,
            "gate_ohm": AT.gate_ohm + AT.driver_ohm,
            "threshold_V": build.cutoffs.a_threshold_min_V,
            "gain_A_V2": 1000 / build.cutoffs.a_rds_mohm / 1.5,
            "theta_K_W": build.cutoffs.a_theta_K_W,
        }


def pass_starts(build: Build) -> Iterator[Values]:
    """Yield a linear stage's soft-start from the full pack; nothing for other stages."""
    if build.stage.kind != "linear":
        return
    p = parameters(build)
    tangent = lowest_tangent(build, p)
    yield {
        "source_V": pack_full_V(build),
        "source_ohm": float(p.pack_fast_ohm),
        "begin_A": build.limits.start_level_A,
        "full_A": highest_level_A(build),
        "ramp_s": build.limits.soft_start_ms / 1000,
        "knee_V": tangent.knee_V,
        "diode_ohm": tangent.total_ohm,
        "channel_K_W": build.stage.pass_sink_K_W,
        "channel_s": build.stage.pass_thermal_s,
    }


def turned_off(build: Build) -> Iterator[Values]:
    """Yield the wiring that A opens at the trip's peak."""
    p = parameters(build)
    of = opening(build, p, trip(stuck(build, p)).judged_A, build.cutoffs.a_vds_max_V)
    fields = ("loop_H", "loop_ohm", "opened_A", "breakdown_V", "supply_V", "drain_F", "diode_F")
    ring_s = 2 * math.pi * (of.loop_H * of.drain_F) ** 0.5
    stop_s = 1.3 * turn_off(of).avalanche_s + ring_s
    yield {**given(of, *fields), "stop_s": stop_s, "step_s": stop_s / 20000}


def sense_corners(build: Build) -> Iterator[Values]:
    """Yield the sense chain with every error up, and with every error down."""
    of, sensors = lowest_tangent(build, parameters(build)), build.sensors
    at_A = highest_level_A(build)
    shunt_ohm = sensors.monitor_shunt_mohm / 1000
    for sign in (1.0, -1.0):
        yield {
            "full_A": at_A,
            "shunt_ohm": shunt_ohm,
            "gain": sensors.monitor_gain_V_A / shunt_ohm,
            "shunt_error": sign * 0.0025,
            "gain_error": sign * 0.001,
            "offset_V": sign * 50e-6,
            "warm_K": 60.0 * sign,
            "common_V": of.knee_V + of.total_ohm * at_A,
            "rejection": sign * 1e5,
            "rail_off_V": sign * 0.4,
            "adc_ohm": 1000 * sensors.adc_input_kohm,
        }


def set_corners(build: Build, ask: Values) -> Iterator[Values]:
    """Yield the set path at the highest rail with its divider at both ends; none if gated."""
    if build.stage.kind == "gated":
        return
    of = parts.set_path(build)
    for sign in (1, -1):
        off = sign * AT.ohm_tolerance
        yield {
            "rail_V": AT.rail_high_V,
            "first_ohm": of.first_ohm * (1 - off),
            "first_F": of.first_F,
            "second_ohm": of.second_ohm * (1 - off),
            "second_F": of.second_F,
            "ground_ohm": of.ground_ohm * (1 + off),
            "gain": AT.set_gain,
            "own_ohm": build.stage.own_shunt_mohm / 1000,
            **ask,
        }


def supply_lost(build: Build) -> Iterator[Values]:
    """Yield the controller's supply with the pack lost at its loaded minimum."""
    of = supply(build, parameters(build))
    before_V = build.limits.pack_loaded_min_V
    lasts_s = hold_up_s(of, before_V)
    span = {"lasts_s": 2 * lasts_s, "stop_s": 0.1e-3 + 1.2 * lasts_s, "step_s": lasts_s / 2000}
    yield {
        **given(of, "hold_up_F", "drop_V", "load_W"),
        **span,
        "before_V": before_V,
        "during_V": 0.0,
    }


def leaking(build: Build) -> Iterator[Values]:
    of = gate(build)
    fields = ("pulldown_ohm", "leak_A", "rail_V", "input_F", "feedback_F")
    quiet = {"rise_V": 0.0, "start_V": 3.3, "stop_s": 2e-3, "kick_s": 1.9e-3}
    yield {**given(of, *fields), **quiet}


def plugged(build: Build) -> Iterator[Values]:
    source_ohm = float(parameters(build).pack_fast_ohm)
    at = {"source_V": pack_full_V(build), "source_ohm": source_ohm}
    yield {**at, "leads_H": LEADS_H, "input_F": INPUT_F}


def turned_round(build: Build) -> Iterator[Values]:
    source_ohm = float(parameters(build).pack_fast_ohm)
    yield {"pack_V": -pack_full_V(build), "source_ohm": source_ohm, "input_F": INPUT_F}


def sagging(build: Build) -> Iterator[Values]:
    yield {
        "load_W": supply(build, parameters(build)).load_W * board.REGULATOR_EFFICIENCY,
        "rail_F": REFERENCE.rail_F,
        "react_s": REFERENCE.supervisor_s,
        "supervisor_V": REFERENCE.rail_low_V,
        "pulldown_ohm": 1000 * build.cutoffs.a_pulldown_kohm,
    }


def opened(contact: str) -> Callable[[Build], Iterator[Values]]:
    """Return the runs in which that contact opens, at both ends of the logic supply."""

    def runs(build: Build) -> Iterator[Values]:
        if not getattr(build.controls, contact):
            return
        for rail_V in (REFERENCE.rail_low_V, REFERENCE.rail_high_V):
            open_s = {"interlock_s": 1.0, "key_s": 1.0, f"{contact}_s": 5e-3}
            yield {"rail_V": rail_V, **open_s}

    return runs
