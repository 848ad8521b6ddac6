"""Build to settings words: every rounding goes to the dark, cool or early side.

Each group has its function; `settings` joins them and asks the board's own table. Guard values that
no builder should have to know stand here.
"""

import math
from collections.abc import Mapping

from diodedriver import words
from diodewright.build import Build
from diodewright.build.rules_current import FOLLOW_A
from diodewright.derive.board import CHECK_V, INDICATOR_A
from diodewright.derive.calibrated import sensor_off_K
from diodewright.derive.counts import COUNTS
from diodewright.derive.electrics import (
    bisected,
    charge_for_volts,
    full_on_A,
    heat_per_diode_W,
    highest_level_A,
    operate,
    pack_load_A,
    parameters,
    settle_on_mount,
    stage_ohm,
    total_K_W,
    volts_V,
)
from diodewright.derive.levels import CAPPED_MA, level_words
from diodewright.derive.plant import pack_full_V
from diodewright.derive.read_words import ntc_words, reading_words
from diodewright.derive.rounding import given, whole_cK, whole_mA
from diodewright.derive.spread import (
    check_high_V,
    heat_model_min_K,
    output_high_V,
    pack_high_V,
)
from diodewright.derive.worst import worst_light
from diodewright.hazard.controls import required_controls
from diodewright.hazard.laser_class import classify
from diodewright.plant.pack import cell_ocv_V

__all__ = ["DerivedError", "settings"]

LEAD_SHIFT = 13
JUNCTION_GUARD_K = (20.0, 10.0, 5.0)  # below the diode's limit: cutback begins, ends, trip
BUDGET_GUARD_K = 5.0  # a blind budget may reach this far above the mount's trip
BUDGET_UNIT_J = 1.024e-3
REST_S = 5.0
WARN_AHEAD_S = 600.0
WARN_ABOVE_CUTBACK_V = 0.1  # of a bench supply, which runs down by nobody's clock
HEADROOM_GUARD_V = 0.1


class DerivedError(ValueError):
    """The build gives a word that the board would refuse; names word, value and range."""


def _shift_below(ticks: float, low: int, high: int) -> int:
    """Return the largest shift with 2**shift ticks not above `ticks`, within the table."""
    return min(max(int(math.log2(max(ticks, 1.0))), low), high)


def _heat(build: Build) -> dict[str, int]:
    heat, limits, sensors = build.heat, build.limits, build.sensors
    warm_K, hot_K, trip_K = JUNCTION_GUARD_K
    top = build.diode.junction_max_degC
    tolerance_K = sensor_off_K(build, "mount") + sensor_off_K(build, "sink")
    mount_sink_K_W = heat.mount_pad_K_W + heat.interface_K_W
    return {
        "warm_cK": whole_cK(limits.mount_warm_degC),
        "hot_cK": whole_cK(limits.mount_hot_degC),
        "trip_cK": whole_cK(limits.mount_trip_degC),
        "lead_x16": math.ceil(16 * sensors.ntc_lag_s * 1000 / 2**LEAD_SHIFT),
        "lead_shift": LEAD_SHIFT,
        "junction_cK_W": math.ceil(100 * heat.junction_mount_K_W),
        "junction_shift": _shift_below(heat.junction_ms, 0, 8),
        "junction_warm_cK": whole_cK(top - warm_K),
        "junction_hot_cK": whole_cK(top - hot_K),
        "junction_trip_cK": whole_cK(top - trip_K),
        "mount_cK_W": round(100 * mount_sink_K_W),
        "model_shift": _shift_below(
            1000 * (heat.mount_J_K * mount_sink_K_W + sensors.ntc_lag_s), 8, 16
        ),
        # Below this a healthy build at the ends of its tolerances can miss a third of the model.
        "model_min_cK": math.ceil(100 * heat_model_min_K(build)),
        "model_extra_cK": math.ceil(100 * (tolerance_K + 3.0)),
        "sensor_min_cK": whole_cK(heat.ambient_min_degC - 25.0),
        "sensor_max_cK": whole_cK(120.0),
        **_budget(build),
    }


def _budget(build: Build) -> dict[str, int]:
    """Return the heat budget: what the heat path holds between the hottest air and its limit.

    Filled at the electrical power P it settles at P tau; full is where mount and air differ by
    the limit. `sustain_mA` is the current whose power, at the highest forward voltage, keeps a
    full budget full. First-order model of sink and mount together: it ignores their gradient.
    A gated stage whose current is not sustained goes dark on a full budget.
    """
    heat = build.heat
    rise_K = build.limits.mount_trip_degC + BUDGET_GUARD_K - heat.ambient_max_degC
    tau_s = heat.sink_air_K_W * (heat.sink_J_K + heat.mount_J_K)
    leak_s = max(1, math.floor(tau_s / 1.024))
    watts = rise_K / total_K_W(build) / heat_per_diode_W(build)
    cap = min(math.floor(watts * tau_s / BUDGET_UNIT_J), 4_000_000)
    sustained_W = cap * BUDGET_UNIT_J / (leak_s * 1.024)
    p, spread_V = parameters(build), build.diode.forward_spread_V
    level_A = highest_level_A(build)
    low_A, _ = bisected(
        0.0, level_A, lambda at_A: operate(p, at_A, 25.0, spread_V).electrical_W < sustained_W
    )
    if build.stage.kind == "gated" and low_A < 0.999 * level_A:
        low_A = 0.0
    return {
        "budget_cap": cap,
        "budget_leak_s": leak_s,
        "sustain_mA": max(CAPPED_MA, math.floor(1000 * low_A)),
    }


def _pack(build: Build) -> dict[str, int]:
    pack, limits = build.pack, build.limits
    if pack.kind == "bench_supply":
        smallest_mohm = 0.0
    else:
        smallest_mohm = pack.resistance_min_mohm * pack.series / pack.parallel
    return {
        "headroom_mV": _headroom_mV(build),
        "sag_mohm": math.floor(smallest_mohm + 0.6 * pack.wiring_mohm),
        "pack_shift": 8,
        "cutback_mV": math.ceil(1000 * limits.pack_cutback_V),
        "cutback_end_mV": math.ceil(1000 * limits.pack_cutback_end_V),
        "lockout_mV": math.ceil(1000 * limits.pack_lockout_V),
        "loaded_min_mV": math.ceil(1000 * limits.pack_loaded_min_V),
        "rearm_mV": math.ceil(1000 * limits.pack_rearm_V),
        "rest_ticks": math.ceil(1000 * given(limits.pack_rest_s, REST_S)),
        "pack_max_mV": _early_mV(1.03 * pack_full_V(build), pack_high_V(build)),
        "warn_mV": math.ceil(1000 * given(limits.pack_warn_V, _warn_V(build))),
    }


def _warn_V(build: Build) -> float:
    """Return where to warn [V]: ten minutes of the highest level before cutback begins.

    On the open-circuit curve, which the law's estimate follows; it errs early, as cutback and
    lower levels stretch the time.
    """
    pack, cutback_V = build.pack, build.limits.pack_cutback_V
    if pack.kind == "bench_supply":
        return cutback_V + WARN_ABOVE_CUTBACK_V
    p = parameters(build)
    output_W = settle_on_mount(p, highest_level_A(build), build.heat.ambient_degC).electrical_W
    load_A = pack_load_A(build, output_W, cutback_V, 0.0)
    used = load_A * WARN_AHEAD_S / (3600 * pack.capacity_Ah * pack.parallel)
    left = min(1.0, charge_for_volts(build, cutback_V) + used)
    return pack.series * cell_ocv_V(p, left)


def _headroom_mV(build: Build) -> int:
    """Return what the stage needs above its output [mV] at the highest level, and a guard.

    0, hence off, for a gated stage: it can't step down.
    """
    if build.stage.kind == "gated":
        return 0
    return math.ceil(1000 * (highest_level_A(build) * stage_ohm(build) + HEADROOM_GUARD_V))


def _followmA(build: Build) -> int:
    """Return how far a healthy current may be from the drive [mA], beside a sixteenth of it."""
    if build.stage.kind != "gated":
        return math.floor(1000 * FOLLOW_A)
    off_A = build.stage.module_A * build.stage.module_tolerance_pct / 100
    return math.ceil(1000 * max(off_A, FOLLOW_A))


def _early_mV(usual_V: float, healthy_V: float) -> int:
    """Return a threshold [mV] above a reading: the usual one, or what healthy parts need."""
    return max(math.floor(1000 * usual_V), math.floor(1000 * healthy_V) + 1)


def _open_mV(build: Build) -> int:
    """Return the output [mV] above which the diode is taken for open.

    A tenth of a volt below the comparator's trip, or where healthy parts need more, up to it.
    """
    trip_V = build.comparator.over_voltage_V
    return min(_early_mV(trip_V - 0.1, output_high_V(build)), math.floor(1000 * trip_V))


def _plausibility(build: Build, levels: Mapping[str, int]) -> dict[str, int]:
    top_mA, start_A = levels["top_mA"], levels["start_mA"] / 1000
    lowest_V = volts_V(build, start_A, build.diode.junction_max_degC)
    lowest_V -= build.diode.forward_spread_V
    trip_mA = math.floor(1000 * build.comparator.trip_min_A)
    highest_mA = top_mA if build.stage.kind != "gated" else math.ceil(1000 * full_on_A(build))
    middle_A = (highest_mA + trip_mA) // 2 / 1000
    return {
        "overcurrent_mA": whole_mA(given(build.limits.overcurrent_A, middle_A)),
        "dark_mA": max(20, top_mA // 50),
        "safe_mV": math.floor(500 * lowest_V),
        "short_mV": math.floor(600 * lowest_V),
        "open_mV": _open_mV(build),
        "follow_mA": _followmA(build),
        "reference_min_mV": math.ceil(960 * CHECK_V),
        "reference_max_mV": _early_mV(1.04 * CHECK_V, check_high_V(build)),
        "indicator_min_uA": math.ceil(0.5e6 * INDICATOR_A) if build.controls.indicator else 0,
        "indicator_max_uA": math.floor(1.6e6 * INDICATOR_A),
        "interlock_fitted": int(build.controls.interlock or build.controls.key),
        "age_ticks": 20,
        "late_ticks": 2,
        "beat_max_ticks": math.floor(build.controls.heartbeat_ms),
    }


def _counts(build: Build) -> dict[str, int]:
    limits = build.limits
    given = {
        "overcurrent": limits.overcurrent_count,
        "open": limits.open_count,
        "short": limits.short_count,
        "follow": limits.follow_count,
        "sensor": limits.sensor_count,
    }
    own = {row: count for row, count in given.items() if count is not None}
    return {f"count_{row}": count for row, count in {**COUNTS, **own}.items()}


def settings(build: Build) -> dict[str, int]:
    """Return every settings word of `build` by name.

    Raises
    ------
    DerivedError
        Where a word leaves its range or order: what the board would refuse is refused here. And
        where a laser's class asks for an interlock or a delay and the words know none.
    """
    levels = level_words(build)
    values = {
        **reading_words(build),
        **levels,
        **_heat(build),
        **_pack(build),
        **_plausibility(build, levels),
        **_counts(build),
        **ntc_words(build),
    }
    try:
        words.assemble(values)
    except ValueError as error:
        raise DerivedError(f"{build.name}: {error}") from error
    _refuse_unguarded(build, values)
    return values


#: What a laser's class may ask for -> the word that may not be 0 then, and its mend.
_ASKED = {
    "remote_interlock": ("interlock_fitted", "controls.interlock = true"),
    "emission_delay": ("delay_ticks", "limits.delay_s"),
}


def _refuse_unguarded(build: Build, values: Mapping[str, int]) -> None:
    """Refuse words under which a laser of class 3B or 4 lights without interlock or delay."""
    if build.diode.kind != "laser_diode" or all(values[word] for word, _ in _ASKED.values()):
        return
    watts = worst_light(build).light_W
    laser_class = classify(watts, build.diode.wavelength_nm, build.enclosure.source_mrad)
    for control in required_controls(laser_class):
        word, mend = _ASKED.get(control.id, ("", ""))
        if word and not values[word]:
            raise DerivedError(
                f"{build.name}: {word} = 0: laser class {laser_class} ({watts:.3g} W with one "
                f"fault) asks for it; mend: {mend}"
            )
