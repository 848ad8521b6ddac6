"""One number of a netlist's columns: how each claim of `circuit_claims` is read."""

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np

from diodewright.build import Build
from diodewright.derive import board
from diodewright.derive.edges import stuck, threshold_V
from diodewright.derive.electrics import highest_level_A, parameters

Values = Mapping[str, float]
Columns = Sequence[Any]
#: When the pins of `enable_order.cir` begin and end [s].
_STARTS_S, _ENDS_S = 0.5e-3, 60e-3


def _last(time_s: Any, on: Any) -> float:
    """Return when `on` was true for the last time [s]; infinite where it still is at the end.

    Not a number where it never was: that keeps no limit.
    """
    places = np.flatnonzero(on)
    if not len(places):
        return math.nan
    return math.inf if on[-1] else float(time_s[places[-1]])


def _first(time_s: Any, on: Any) -> float:
    """Return when `on` is true for the first time [s]; not a number where it never is."""
    places = np.flatnonzero(on)
    return float(time_s[places[0]]) if len(places) else math.nan


def trip_us(columns: Columns, values: Values, _: Build) -> float:
    time_s, diode_A, *_rest = columns
    crossed = np.flatnonzero(diode_A > values["trip_A"])
    if not len(crossed):
        return math.nan
    return 1e6 * (_last(time_s, diode_A > 0.1 * values["trip_A"]) - float(time_s[crossed[0]]))


def peak_A(column: int) -> Callable[[Columns, Values, Build], float]:
    """Return the reader of a column's peak, half the ripple on top."""

    def read(columns: Columns, _: Values, build: Build) -> float:
        ripple_A = stuck(build, parameters(build)).ripple_A
        return float(columns[column].max()) + 0.5 * ripple_A

    return read


def after_trip_mA(columns: Columns, values: Values, _: Build) -> float:
    time_s, _, diode_A, _ = columns
    crossed = np.flatnonzero(diode_A > values["trip_A"])[0]
    opened = crossed + np.flatnonzero(diode_A[crossed:] < 0.1 * values["trip_A"])[0]
    return 1000 * float(abs(diode_A[time_s > time_s[opened] + 0.3e-6]).max())


def surge_A(columns: Columns, values: Values, _: Build) -> float:
    return float(columns[1][columns[0] >= values["break_s"]].max())


def pulses(columns: Columns, _: Values, __: Build) -> float:
    _, pin_V, _, gate_V = columns
    on = np.flatnonzero(gate_V > 0.5 * pin_V.max())
    if not len(on):
        return math.inf
    high = pin_V[: on[0] + 1] > 0.5 * pin_V.max()
    return float(np.count_nonzero(high[1:] & ~high[:-1]))


def held_ms(columns: Columns, values: Values, _: Build) -> float:
    """Return how long the gate stays on behind the pin's last edge."""
    time_s, pin_V, _, gate_V = columns
    high = pin_V > 0.5 * pin_V.max()
    edge_s = time_s[np.flatnonzero(high[1:] != high[:-1])[-1] + 1]
    return 1000 * (_last(time_s, gate_V > 0.5 * values["rail_V"]) - float(edge_s))


def ahead_ms(columns: Columns, _: Values, __: Build) -> float:
    """Return by how much A is closed ahead of B [ms]; below 0 where B comes first."""
    time_s, _, a_on, b_on = columns
    return 1000 * (_first(time_s, b_on > 0.5) - _first(time_s, a_on > 0.5))


def b_rise_ms(columns: Columns, _: Values, __: Build) -> float:
    return 1000 * (_first(columns[0], columns[3] > 0.5) - _STARTS_S)


def b_fall_ms(columns: Columns, _: Values, __: Build) -> float:
    return 1000 * (_last(columns[0], columns[3] > 0.5) - _ENDS_S)


def slowed_ms(columns: Columns, values: Values, _: Build) -> float:
    off_s = _last(columns[0], columns[3] > 0.5 * values["rail_V"])
    return 1000 * (off_s - values["dies_s"])


def half_on_us(columns: Columns, _: Values, build: Build) -> float:
    """Return the longest single stay between A's lowest threshold and its guaranteed voltage."""
    time_s, gate_V = columns[0], columns[3]
    low_V, high_V = threshold_V(build), build.cutoffs.a_vgs_guaranteed_V
    between = (gate_V > low_V) & (gate_V < high_V)
    longest_s = stay_s = 0.0
    for step_s, inside in zip(np.diff(time_s), between[1:], strict=True):
        stay_s = stay_s + step_s if inside else 0.0
        longest_s = max(longest_s, stay_s)
    return 1e6 * float(longest_s)


def rail_when_on_V(columns: Columns, _: Values, build: Build) -> float:
    return float(columns[1][columns[2] > threshold_V(build)].min())


def contact_ms(columns: Columns, values: Values, build: Build) -> float:
    time_s, gate_V, enable_V = columns
    off_s = max(_last(time_s, gate_V > threshold_V(build)), _last(time_s, enable_V > 0.5))
    return 1000 * (off_s - min(values["interlock_s"], values["key_s"]))


def warmed_degC(columns: Columns, values: Values, build: Build) -> float:
    warm_K = values["theta_K_W"] * highest_level_A(build) ** 2 * build.cutoffs.a_rds_mohm / 1000
    return build.heat.ambient_max_degC + warm_K + float(columns[4].max())


def settled_ms(columns: Columns, values: Values, _: Build) -> float:
    time_s, asked_A = columns
    off = abs(asked_A - asked_A[-1]) > 0.01 * asked_A[-1]
    return 1000 * (_last(time_s, off) - 0.2e-3)


def ripple_mA(columns: Columns, _: Values, __: Build) -> float:
    settled = columns[1][columns[0] > 0.8 * columns[0][-1]]
    return 1000 * float(np.ptp(settled))


def lasts_ms(columns: Columns, _: Values, build: Build) -> float:
    time_s, input_V = columns
    return 1000 * (_last(time_s, input_V > board.REGULATOR_MIN_V) - 0.1e-3)
