"""The dynamic enable of cut-off A and the delay of cut-off B: which comes first, and by how much.

A closes some edges behind the first one, as the pump fills; B rises a fixed time behind its pin, so
that the stage never starts into an open A. Both fall at once by their own means.
"""

import math
from functools import cache

from diodewright.build import Build
from diodewright.derive import board
from diodewright.derive.reference import E24, REFERENCE, TICK_S, near, preferred_above
from diodewright.edges.pump import Pump, hold_s, pulses_to_on

__all__ = ["a_closes_s", "b_delay_ohm", "b_delay_s", "bleed_ohm", "pump", "start_ticks"]

#: B waits so much longer than A may take, at the worst corner of both [s].
_AHEAD_S = 2 * TICK_S


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
    return _bleed_ohm(build.cutoffs.pulse_hold_ms)


@cache  # of the one value that it depends on; a live page derives a build many times a move
def _bleed_ohm(hold_ms: float) -> float:
    up, more = 1 + REFERENCE.cap_tolerance, 1 + REFERENCE.ohm_tolerance
    longest_s = 0.9e-3 * hold_ms

    def held_s(ohm: float) -> float:
        return max(
            hold_s(pump(rail_V, ohm * more, up, up, 1 - 0.01), TICK_S, high=True)
            for rail_V in (REFERENCE.rail_low_V, REFERENCE.rail_high_V)
        )

    return max(ohm for ohm in near(E24, 1e5) if held_s(ohm) <= longest_s)


def a_closes_s(build: Build) -> tuple[float, float, float]:
    """Return the shortest, usual and longest time [s] from the first edge until A closes.

    Rising edges are two ticks apart, and the first edge rises (`law.put_out`).
    """
    return _closing_s(bleed_ohm(build))


@cache
def _closing_s(ohm: float) -> tuple[float, float, float]:
    low, high = 1 - REFERENCE.cap_tolerance, 1 + REFERENCE.cap_tolerance
    corners = [
        _closes_s(pump(rail_V, ohm, couple, store))
        for rail_V in (REFERENCE.rail_low_V, REFERENCE.rail_high_V)
        for couple in (low, high)
        for store in (low, high)
    ]
    return min(corners), _closes_s(pump(board.RAIL_V, ohm)), max(corners)


def _closes_s(of: Pump) -> float:
    return 2 * TICK_S * (pulses_to_on(of, TICK_S) - 1)


def b_delay_ohm(build: Build) -> float:
    """Return the resistor [ohm] of B's delay: the least at which A is always closed first."""
    least_s = a_closes_s(build)[2] + _AHEAD_S
    return preferred_above(least_s / (REFERENCE.delay_F * _share(-1)), E24)


def b_delay_s(build: Build) -> tuple[float, float, float]:
    """Return the shortest, usual and longest time [s] by which B's enable rises behind its pin."""
    usual_s = b_delay_ohm(build) * REFERENCE.delay_F
    return usual_s * _share(-1), usual_s * _share(0), usual_s * _share(1)


def _share(end: int) -> float:
    """Return the delay as a share of R C at one end of all tolerances, -1, 0 or 1.

    A capacitor charged from zero through R reaches the share s of its source at R C ln(1/(1-s)).
    """
    parts = (1 + end * REFERENCE.cap_tolerance) * (1 + end * REFERENCE.ohm_tolerance)
    upper = REFERENCE.rise_share * (1 + 0.01 * end)
    return parts * math.log(1 / (1 - upper))


def start_ticks(build: Build, rise_ms: float = 0.0) -> int:
    """Return how many ticks the stage may take from its pin to its current.

    Delay in hardware, half as much again as the stage's usual start-up, and a module's own rise.
    """
    delay_ms = 1000 * b_delay_s(build)[2]
    return math.ceil(delay_ms + 1.5 * build.stage.startup_ms + rise_ms) + 2
