"""What the netlists of `hardware_notes` prove of a build: one row a claim, and a break of each.

What a row's fields mean, and how it is run: `circuit_claim`.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from circuit_claim import Claim
from circuit_claims_enable import CONTACT_MS, ENABLES
from circuit_readings import (
    after_trip_mA,
    contact_ms,
    lasts_ms,
    peak_A,
    rail_when_on_V,
    ripple_mA,
    settled_ms,
    surge_A,
    trip_us,
    warmed_degC,
)
from circuit_values import (
    clear_trip,
    hot_contacts,
    leaking,
    opened,
    pass_starts,
    path,
    plugged,
    sagging,
    sense_corners,
    set_corners,
    shorted,
    shorted_clamp,
    soft_starts,
    supply_lost,
    turned_off,
    turned_round,
)
from diodewright.build import Build
from diodewright.derive import parts
from diodewright.derive.criteria import CHANNEL_MAX_DEGC, HOLD_UP_MIN_MS
from diodewright.derive.edges import threshold_V
from diodewright.derive.electrics import full_on_A, highest_level_A
from diodewright.derive.settings import COUNTS

__all__ = ["CLAIMS"]

Values = Mapping[str, float]
Columns = Sequence[Any]
#: A cut-off counts as open, a light as dark, below this share of the highest level.
DARK = 0.01
#: What the flash memory of a small controller is specified down to [V]; from memory.
CONTROLLER_MIN_V = 2.7
#: How far below ground an integrated stage's input may go [V]; typical of data sheets.
BELOW_GROUND_V = -0.3


def _dark_mA(build: Build) -> float:
    return 1000 * DARK * highest_level_A(build)


CLAIMS: tuple[Claim, ...] = (
    Claim(
        "trip-time",
        "over-current: from the highest trip to an open A, every part as slow as allowed, "
        "both ends of the logic supply",
        "trip_path",
        path,
        trip_us,
        True,
        lambda b: min(b.comparator.delay_us, 1e6 * parts.allowed_trip_s(b)),
        "us",
        ("A's gate empties through 10 kohm, no active pull-down", {"gate_ohm": 10e3}),
    ),
    Claim(
        "trip-peak",
        "stage stuck full on: the diode's peak, half the ripple on top",
        "comparator_trip",
        shorted,
        peak_A(2),
        True,
        lambda b: b.diode.absolute_A,
        "A",
        ("a path of 5 us", {"delay_s": 5e-6}),
    ),
    Claim(
        "latch",
        "the stage goes on being stuck, the current is below its trip: A stays open",
        "comparator_trip",
        shorted,
        after_trip_mA,
        True,
        _dark_mA,
        "mA",
        ("the comparator alone, no latch", {"holds_A": 1e-3}),
    ),
    Claim(
        "place-of-a",
        "stage stuck full on, A in the diode's loop: the diode's peak, half the ripple on top",
        "stage_stuck_full",
        lambda b: ({**values, "pack_side": 0.0} for values in shorted_clamp(b)),
        peak_A(1),
        True,
        lambda b: b.diode.absolute_A,
        "A",
        ("A at the pack", {"pack_side": 1.0}),
    ),
    Claim(
        "clamp",
        "A opens at the trip's peak: the output stays below A's rating",
        "comparator_trip",
        shorted,
        lambda c, _, __: float(c[3].max()),
        True,
        lambda b: b.cutoffs.a_vds_max_V,
        "V",
        ("no clamp", {"clamp_V": 200.0}),
    ),
    Claim(
        "open-load",
        "open load: the over-voltage trip leaves nothing to a contact that closes after it",
        "hot_reconnection",
        clear_trip,
        lambda c, v, b: 1000 * surge_A(c, v, b),
        True,
        _dark_mA,
        "mA",
        ("a dead over-voltage comparator", {"trip_V": 1e9}),
    ),
    Claim(
        "reconnection",
        "a contact closed again just before that trip: the surge into the diode",
        "hot_reconnection",
        hot_contacts,
        surge_A,
        True,
        lambda b: b.diode.absolute_A,
        "A",
        ("an output capacitor of 1 uF", lambda b: hot_contacts(b, 1e-6)),
    ),
    *ENABLES,
    Claim(
        "gate-leak",
        "the worst pin leaks into A's undriven gate: below its lowest threshold, warm",
        "gate_hold",
        leaking,
        lambda c, _, __: float(c[1][-1]),
        True,
        threshold_V,
        "V",
        ("a pull-down of 47 kohm", {"pulldown_ohm": 47e3}),
    ),
    Claim(
        "turn-on-area",
        "A closes onto a stage at full current and a full clamp: its channel",
        "soft_turn_on",
        soft_starts,
        warmed_degC,
        True,
        lambda _: CHANNEL_MAX_DEGC,
        "degC",
        (
            "a driver that rises in 0.1 s",
            {"drive_s": 0.1, "stop_s": 0.12, "step_s": 20e-6},
        ),
    ),
    Claim(
        "pass-area",
        "linear stage: the pass MOSFET's channel through soft-start and on, its sink hottest",
        "pass_soft_start",
        pass_starts,
        lambda c, _, b: b.limits.mount_hot_degC + float(c[3].max()),
        True,
        lambda _: CHANNEL_MAX_DEGC,
        "degC",
        ("four cells in series", {"source_V": 16.8}),
    ),
    Claim(
        "insertion",
        "the pack is plugged in: the stage's input rings",
        "pack_insertion",
        plugged,
        lambda c, _, __: float(c[2].max()),
        True,
        lambda b: b.stage.input_max_V,
        "V",
        ("three cells of 10 mohm in all", {"source_V": 12.6, "source_ohm": 0.01}),
    ),
    Claim(
        "reverse-pack",
        "the pack the wrong way round: the stage's input",
        "reverse_pack",
        turned_round,
        lambda c, _, __: float(c[2].min()),
        False,
        lambda _: BELOW_GROUND_V,
        "V",
        ("no reverse protection", {"fitted": 0.0}),
    ),
    Claim(
        "turn-off-ring",
        "A opens the wiring: the ring's reverse voltage at the diode",
        "turn_off",
        turned_off,
        lambda c, _, __: float(c[3].max()),
        True,
        lambda b: b.diode.reverse_max_V,
        "V",
        ("no diode across the diode", {"fitted": 0.0}),
    ),
    Claim(
        "sense-error",
        "monitor's sense chain at the highest level: worst corner of part spread, 60 K and supply",
        "sense_chain",
        sense_corners,
        lambda c, _, __: 100 * abs(float(c[2][-1] / c[1][-1]) - 1),
        True,
        lambda b: b.sensors.monitor_tolerance_pct,
        "%",
        ("four 0.1 % resistors around an op amp (78 dB)", {"rejection": 7.75e3}),
    ),
    Claim(
        "supervisor",
        "the logic supply collapses, A's pin stays high: lowest supply with A still closed",
        "supervisor",
        sagging,
        rail_when_on_V,
        False,
        lambda _: CONTROLLER_MIN_V,
        "V",
        ("a supervisor of 1 ms", {"react_s": 1e-3}),
    ),
    Claim(
        "interlock",
        "interlock opened, the firmware's pins stay on: A and B both off",
        "gating",
        opened("interlock"),
        contact_ms,
        True,
        lambda _: CONTACT_MS,
        "ms",
        ("the loop goes to the controller's input only", {"hardware": 0.0}),
    ),
    Claim(
        "key",
        "key turned off, the firmware's pins stay on: A and B both off",
        "gating",
        opened("key"),
        contact_ms,
        True,
        lambda _: CONTACT_MS,
        "ms",
        ("its second pole is not in the gating", {"hardware": 0.0}),
    ),
    Claim(
        "set-full",
        "full duty, highest rail, resistors at their ends: the current asked for",
        "set_path",
        lambda b: set_corners(b, {"duty": 1.0}),
        lambda c, _, __: float(c[1].max()),
        True,
        lambda b: min(full_on_A(b), b.diode.absolute_A),
        "A",
        ("no resistor to ground", {"ground_ohm": 1e6}),
    ),
    Claim(
        "set-open",
        "the wire to the set input breaks: the current asked for",
        "set_path",
        lambda b: set_corners(b, {"duty": 1.0, "cut": 1.0}),
        lambda c, _, __: 1000 * float(c[1].max()),
        True,
        _dark_mA,
        "mA",
        ("that resistor on the controller's side of the break", {"ground_ohm": 1e9}),
    ),
    Claim(
        "set-settles",
        "the set path settles to 1 %, from a twentieth to full duty",
        "set_path",
        lambda b: set_corners(b, {"duty": 1.0}),
        settled_ms,
        True,
        lambda _: COUNTS["follow"] / 10,
        "ms",
        ("ten times the second capacitor", {"second_F": 160e-9}),
    ),
    Claim(
        "set-ripple",
        "ripple of the current asked for, at half duty",
        "set_path",
        lambda b: set_corners(b, {"duty": 0.5}),
        ripple_mA,
        True,
        _dark_mA,
        "mA",
        ("one pole left out", {"second_F": 1e-12}),
    ),
    Claim(
        "supply-lost",
        "pack lost at its loaded minimum: the controller's supply lasts",
        "supply_dip",
        supply_lost,
        lasts_ms,
        False,
        lambda _: HOLD_UP_MIN_MS,
        "ms",
        ("a hold-up capacitor of 10 uF", {"hold_up_F": 10e-6}),
    ),
)
