"""Contradictions about pack, currents and the hardware that cuts them off."""

from diodewright.build.cells import CHEMISTRIES
from diodewright.build.rule import Rule, at_most, below, order

__all__ = ["CURRENT", "FOLLOW_A", "HARDWARE", "PACK"]

#: How far a healthy current may be from the drive [A], beside a sixteenth of the drive.
FOLLOW_A = 0.04

#: The board's words end at 20 V, and a pack is called wrong 3 % above a full one.
_HIGHEST_PACK_V = 19.4
#: The set path at full duty may ask for this times the highest level (common practice, no source).
_FULL_SCALE = 1.1
#: A larger capacitor empties itself into a laser diode that is connected again (an energy sum).
_LASER_CAP_uF = 1.0
#: A 3.3 V controller's pin is sure of 2.62 V (data sheet of the RP2040).
_PIN_V = 2.5


def _window(rule: str, key: str, ends: str) -> Rule:
    """Return the rule that a cell's voltage suits its chemistry; `ends` names the window."""
    windows = {word: getattr(each, ends) for word, each in CHEMISTRIES.items()}
    spans = "; ".join(f"{word} {low:g} to {high:g} V" for word, (low, high) in windows.items())
    return Rule(
        rule,
        (key, "pack.chemistry"),
        lambda volts, word: at_most(windows[word][0], volts) and at_most(volts, windows[word][1]),
        'not a voltage of a cell with pack.chemistry = "{1}"',
        f"allowed: {spans}",
    )


def _recovered_V(lockout_V: float, series: int, chemistry: str) -> float:
    return lockout_V + CHEMISTRIES[chemistry].recovery_V * series


_RECOVERIES = ", ".join(f"{word} {each.recovery_V:g}" for word, each in CHEMISTRIES.items())

PACK: tuple[Rule, ...] = (
    _window("cell_empty", "pack.cell_min_V", "empty_window_V"),
    _window("cell_full", "pack.cell_full_V", "full_window_V"),
    Rule(
        "pack_high",
        ("pack.series", "pack.full_V"),
        lambda _, full: at_most(full, _HIGHEST_PACK_V),
        "a full pack ({1:g} V) is beyond what the controller can tell (19.4 V)",
        "fewer cells in series",
    ),
    order(
        "resistance_min",
        "pack.resistance_min_mohm",
        "pack.cell_resistance_mohm",
        "the smallest plausible resistance is above the given one",
        equal=True,
    ),
    order(
        "cutback_band",
        "limits.pack_cutback_end_V",
        "limits.pack_cutback_V",
        "cutback must end below where it begins",
    ),
    order(
        "lockout_end",
        "limits.pack_lockout_V",
        "limits.pack_cutback_end_V",
        "lockout comes before cutback ends: the reserve level would never be reached",
        equal=True,
    ),
    order(
        "loaded_min",
        "limits.pack_loaded_min_V",
        "limits.pack_lockout_V",
        "the loaded minimum must lie below lockout",
    ),
    Rule(
        "rearm_recovery",
        ("limits.pack_rearm_V", "limits.pack_lockout_V", "pack.series", "pack.chemistry"),
        lambda rearm, *cut_off: at_most(_recovered_V(*cut_off), rearm),
        "too near lockout ({1:g} V): resting cells recover, and the light would come and go",
        "write at least limits.pack_lockout_V + the volts by which each of {2} in series recovers "
        f"({_RECOVERIES})",
    ),
    order("rearm_full", "limits.pack_rearm_V", "pack.rested_full_V", "it would never light again"),
    order(
        "cutback_full",
        "limits.pack_cutback_V",
        "pack.rested_full_V",
        "it would never light in full",
    ),
    order("rearm_supply", "limits.pack_rearm_V", "pack.supply_V", "it would never light again"),
    order("cutback_supply", "limits.pack_cutback_V", "pack.supply_V", "never lights in full"),
    Rule(
        "cells_empty",
        ("limits.pack_loaded_min_V", "pack.empty_V"),
        lambda loaded, empty: at_most(empty, loaded),
        "it would take the cells below their cut-off",
        "write at least series x cell_min_V ({1:g} V)",
    ),
    Rule(
        "warn_early",
        ("limits.pack_warn_V", "limits.pack_lockout_V"),
        lambda warn, lockout: below(lockout, warn),
        "lockout comes before the warning",
        "write more than limits.pack_lockout_V ({1:g} V)",
    ),
)

CURRENT: tuple[Rule, ...] = (
    order(
        "start_level",
        "limits.start_level_A",
        "levels.lowest_A",
        "the soft-start must begin below every level",
    ),
    order(
        "reserve",
        "levels.reserve_A",
        "levels.lowest_A",
        "the reserve must be the smallest level",
        equal=True,
    ),
    Rule(
        "rating",
        ("levels.highest_A", "diode.rated_A", "diode.exceed_rating", "levels.over_pct"),
        lambda highest, rated, exceed, _: exceed or at_most(highest, rated),
        "{0:g} A is {3:.0f} % over diode.rated_A = {1:g}",
        "lower the level; diode.exceed_rating = true takes the shorter life on purpose",
    ),
    order(
        "absolute",
        "levels.highest_A",
        "diode.absolute_A",
        "{0:g} A reaches the diode's absolute maximum",
    ),
    order(
        "rated_absolute",
        "diode.rated_A",
        "diode.absolute_A",
        "rated above the absolute maximum",
        equal=True,
    ),
    Rule(
        "full_scale_low",
        ("stage.full_scale_A", "levels.highest_A"),
        lambda full, highest: at_most(highest, full),
        "full duty does not reach the highest level ({1:g} A)",
        "raise it by the set path's divider, or lower the level",
    ),
    Rule(
        "full_scale_high",
        ("stage.full_scale_A", "levels.highest_A"),
        lambda full, highest: at_most(full, _FULL_SCALE * highest),
        "more than 1.1 x the highest level ({1:g} A): full duty by mistake would give it",
        "lower it by the set path's divider",
    ),
    order(
        "full_scale_absolute",
        "stage.full_scale_A",
        "diode.absolute_A",
        "full duty by mistake would reach the diode's absolute maximum",
    ),
    Rule(
        "soft_start_follow",
        ("limits.soft_start_ms", "stage.ramp_lag_A"),
        lambda _, lag: at_most(lag, FOLLOW_A),
        "a soft-start of {0:g} ms is too short for the stage: its current would lag by {1:.2f} A, "
        "and the law would take the lag for a broken stage",
        f"lengthen it until the lag is at most {FOLLOW_A:g} A, or take a faster set filter",
    ),
    order("dim", "limits.dim_A", "levels.highest_A", "thermal cutback would not dim"),
    Rule(
        "overcurrent_low",
        ("limits.overcurrent_A", "levels.highest_A", "limits.authority_pct"),
        lambda over, highest, pct: below(highest * (1 + pct / 100), over),
        "within reach of the highest level ({1:g} A) and the trim's authority ({2:g} %)",
        "write more than the highest level x (1 + authority_pct / 100)",
    ),
    order(
        "overcurrent_high",
        "limits.overcurrent_A",
        "diode.absolute_A",
        "the diode would reach its absolute maximum first",
    ),
)

HARDWARE: tuple[Rule, ...] = (
    order(
        "trip_window",
        "comparator.trip_min_A",
        "comparator.trip_max_A",
        "the lowest trip must lie below the highest",
    ),
    order(
        "trip_absolute",
        "comparator.trip_max_A",
        "diode.absolute_A",
        "the diode would reach its absolute maximum first",
    ),
    Rule(
        "trip_clear",
        ("comparator.trip_min_A", "levels.highest_A", "limits.authority_pct"),
        lambda trip, highest, pct: below(highest * (1 + pct / 100), trip),
        "within reach of the highest level ({1:g} A) and the trim's authority ({2:g} %)",
        "raise the trip, or lower the level or limits.authority_pct",
    ),
    Rule(
        "module_clear",
        ("comparator.trip_min_A", "stage.module_most_A"),
        lambda trip, most: below(most, trip),
        "within reach of the module's highest current ({1:g} A)",
        "raise the trip, or take a module of less current or tolerance",
    ),
    order(
        "clamp_trip",
        "comparator.over_voltage_V",
        "stage.output_clamp_V",
        "the clamp would hold the output below the trip, which then never acts",
    ),
    order(
        "clamp_pack",
        "pack.full_V",
        "stage.output_clamp_V",
        "a stage stuck full on would burn the clamp: it must stand a full pack",
    ),
    order(
        "clamp_supply",
        "pack.supply_V",
        "stage.output_clamp_V",
        "a stage stuck full on would burn the clamp: it must stand the supply",
    ),
    order(
        "module_absolute",
        "stage.module_most_A",
        "diode.absolute_A",
        "the module's highest current ({0:g} A) reaches the diode's absolute maximum",
    ),
    Rule(
        "over_voltage",
        ("comparator.over_voltage_V", "diode.forward_highest_V"),
        lambda trip, forward: below(forward, trip),
        "below the highest forward voltage ({1:.3f} V, spread and cold included)",
        "write about 0.4 V more than that",
    ),
    Rule(
        "cathode_case",
        ("diode.case", "heat.mount_insulated"),
        lambda case, insulated: case != "cathode" or insulated,
        "a cathode case on a mount that is not insulated bypasses cut-off A",
        "insulate the mount, or use a diode whose case is isolated",
    ),
    Rule(
        "live_case",
        ("diode.case", "heat.mount_insulated", "diode.kind"),
        lambda case, insulated, kind: case != "anode" or insulated or kind != "laser_diode",
        "an anode case on a mount that is not insulated makes sink and enclosure live: one touch "
        "to ground goes past every cut-off",
        "insulate the mount, or use a diode whose case is isolated",
    ),
    Rule(
        "gate_drive",
        ("cutoffs.a_vgs_guaranteed_V",),
        lambda vgs: at_most(vgs, _PIN_V),
        "a controller's pin is sure of 2.62 V only, and a gate driver is not supported yet",
        "use a MOSFET whose on-resistance is guaranteed at 2.5 V or less",
    ),
    Rule(
        "laser_cap",
        ("stage.output_cap_uF", "diode.kind"),
        lambda cap, kind: kind != "laser_diode" or at_most(cap, _LASER_CAP_uF),
        "on a loose contact a laser diode would get its charge before anything can act",
        "at most 1 uF on a laser diode",
    ),
    Rule(
        "shared_shunt",
        ("sensors.monitor_shunt_mohm", "sensors.shunt", "stage.own_shunt_mohm"),
        lambda monitor, shunt, own: shunt == "own" or monitor == own,
        "a shared shunt is one shunt, but this is not stage.own_shunt_mohm = {2:g}",
        'write the same value, or shunt = "own"',
    ),
    Rule(
        "monitor_range",
        ("sensors.monitor_gain_V_A", "comparator.trip_max_A", "sensors.reference_V"),
        lambda gain, trip, reference: at_most(gain * trip, reference),
        "comparator.trip_max_A = {1:g} lies beyond the reference: over-current can't be seen",
        "write at most sensors.reference_V / comparator.trip_max_A",
    ),
    Rule(
        "output_range",
        ("sensors.output_divider", "comparator.over_voltage_V", "sensors.reference_V"),
        lambda ratio, trip, reference: at_most(ratio * trip, reference),
        "comparator.over_voltage_V = {1:g} lies beyond the reference",
        "write at most sensors.reference_V / comparator.over_voltage_V",
    ),
    Rule(
        "pack_range",
        ("sensors.pack_divider", "pack.full_V", "sensors.reference_V"),
        lambda ratio, full, reference: at_most(ratio * full, reference),
        "a full pack ({1:g} V) lies beyond the reference",
        "write at most sensors.reference_V / (series x cell_full_V)",
    ),
    Rule(
        "supply_range",
        ("sensors.pack_divider", "pack.supply_V", "sensors.reference_V"),
        lambda ratio, supply, reference: at_most(ratio * supply, reference),
        "pack.supply_V = {1:g} lies beyond the reference",
        "write at most sensors.reference_V / pack.supply_V",
    ),
)
