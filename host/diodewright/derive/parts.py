"""Build to the parts of the reference circuit: what each value must be, worked out.

A builder's file says what the circuit must do; this says which parts do it. Every function takes
the build's worse end. What no build file states stands in `Reference`, with its source. Preferred
values: IEC 60063 (E24, E96); fuse ratings: the R10 series of IEC 60127, from memory.
"""

import math
from collections.abc import Iterable
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
from diodewright.edges.insertion import Insertion, insert
from diodewright.edges.pump import Pump, hold_s
from diodewright.edges.reconnect import worst_reconnected_A
from diodewright.edges.trip import trip

__all__ = [
    "REFERENCE",
    "Reference",
    "SetPath",
    "allowed_trip_s",
    "bleed_ohm",
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
    "preferred",
    "preferred_below",
    "pull_down_limit_ohm",
    "pump",
    "set_path",
    "trip_peak_A",
]


def _row(text: str) -> tuple[float, ...]:
    return tuple(float(each) for each in text.split())


E24 = _row("10 11 12 13 15 16 18 20 22 24 27 30 33 36 39 43 47 51 56 62 68 75 82 91")
E96 = tuple(round(100 * 10 ** (n / 96)) for n in range(96))
FUSES_A = _row("0.1 0.125 0.16 0.2 0.25 0.315 0.4 0.5 0.63 0.8 1 1.25 1.6 2 2.5 3.15 4 5 6.3 8 10")
#: The law's tick [s].
TICK_S = 1e-3


@dataclass(frozen=True)
class Reference:
    """Values of the reference circuit that no build file states; typical, no source, but for marks.

    Attributes
    ----------
    rail_high_V, rail_low_V : ends of the logic supply: a regulator of 3 %, the supervisor's lowest.
    supervisor_high_V, supervisor_s : its highest threshold [V] and its reaction [s].
    rail_F : capacitance on the logic supply [F].
    amplifier_s, comparator_s, logic_s : parts of the over-current path, at the slowest [s]: one
        pole of the sense amplifier, comparator at its smallest overdrive, latch and gates.
    gate_ohm, driver_ohm : ahead of cut-off A's gate [ohm].
    bleeder_ohm : across the output, as the simulated plant has it [ohm].
    empty_V, empty_s : what the bleeder must reach, and within which time.
    couple_F, store_F, pump_drop_V : the dynamic enable's pump.
    schmitt_top_ohm, schmitt_ground_ohm, schmitt_back_ohm : the resistors that set its thresholds.
    cap_tolerance, ohm_tolerance : of the pump's parts, as shares.
    set_gain : the stage's own amplifier, set input over shunt voltage.
    first_ohm, second_ohm : series resistors of the set path's two poles [ohm].
    fuse_over : rating over the highest current in use; common practice, no source.
    """

    rail_high_V: float = 3.4
    rail_low_V: float = 2.9
    supervisor_high_V: float = 3.0
    supervisor_s: float = 100e-6
    rail_F: float = 47e-6
    amplifier_s: float = 0.15e-6
    comparator_s: float = 0.35e-6
    logic_s: float = 0.05e-6
    gate_ohm: float = 100.0
    driver_ohm: float = 30.0
    bleeder_ohm: float = 10e3
    empty_V: float = 0.1
    empty_s: float = 0.1
    couple_F: float = 10e-9
    store_F: float = 39e-9
    pump_drop_V: float = 0.11
    schmitt_top_ohm: float = 18e3
    schmitt_ground_ohm: float = 10e3
    schmitt_back_ohm: float = 33e3
    cap_tolerance: float = 0.05
    ohm_tolerance: float = 0.01
    set_gain: float = 20.0
    first_ohm: float = 2200.0
    second_ohm: float = 22e3
    fuse_over: float = 1.5

    @property
    def rise_share(self) -> float:
        """Upper threshold of the Schmitt gate, of the rail: its feedback pulls up."""
        top_S, back_S = 1 / self.schmitt_top_ohm, 1 / self.schmitt_back_ohm
        return (top_S + back_S) / (top_S + back_S + 1 / self.schmitt_ground_ohm)

    @property
    def fall_share(self) -> float:
        """Lower threshold of the Schmitt gate, of the rail: its feedback pulls down."""
        top_S, back_S = 1 / self.schmitt_top_ohm, 1 / self.schmitt_back_ohm
        return top_S / (top_S + back_S + 1 / self.schmitt_ground_ohm)


REFERENCE = Reference()


def _values(series: Iterable[float], value: float) -> list[float]:
    """Return the preferred values of the decades around `value`."""
    steps = tuple(series)
    decade = 10.0 ** (math.floor(math.log10(value) - math.log10(steps[0]) - 1))
    return [round(step * decade * 10**n, 12) for n in (0, 1, 2) for step in steps]


def preferred(value: float, series: Iterable[float] = E96) -> float:
    """Return the preferred value nearest to `value`, as a ratio."""
    return min(_values(series, value), key=lambda each: abs(math.log(each / value)))


def preferred_below(value: float, series: Iterable[float] = E24) -> float:
    """Return the largest preferred value that is not above `value`."""
    return max(each for each in _values(series, value) if each <= value * (1 + 1e-9))


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


def pump(
    rail_V: float, bleed_ohm: float, couple: float = 1.0, store: float = 1.0, off: float = 1.0
) -> Pump:
    """Return the dynamic enable at `rail_V` [V] with a bleeder of `bleed_ohm` [ohm].

    `couple`, `store` and `off` multiply the two capacitors and the thresholds: its corners.
    """
    return Pump(
        rail_V=rail_V,
        drop_V=REFERENCE.pump_drop_V,
        couple_F=couple * REFERENCE.couple_F,
        store_F=store * REFERENCE.store_F,
        bleed_ohm=bleed_ohm,
        rise_V=off * REFERENCE.rise_share * rail_V,
        fall_V=off * REFERENCE.fall_share * rail_V,
    )


def bleed_ohm(build: Build) -> float:
    """Return the pump's bleeder [ohm]: the largest that drops A in nine tenths of the hold."""
    up, more = 1 + REFERENCE.cap_tolerance, 1 + REFERENCE.ohm_tolerance
    longest_s = 0.9e-3 * build.cutoffs.pulse_hold_ms

    def held_s(ohm: float) -> float:
        return max(
            hold_s(pump(rail_V, ohm * more, up, up, 1 - 0.01), TICK_S, high=True)
            for rail_V in (REFERENCE.rail_low_V, REFERENCE.rail_high_V)
        )

    return max(ohm for ohm in _values(E24, 1e5) if held_s(ohm) <= longest_s)


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
