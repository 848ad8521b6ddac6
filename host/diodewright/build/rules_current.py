"""Contradictions about pack, currents and the hardware that cuts them off."""

from diodewright.build.rule import Rule, at_most, below, order

__all__ = ["CURRENT", "HARDWARE", "PACK"]

#: Cells recover by 0.1 to 0.4 V when the load goes (common practice, no source).
_RECOVERY_V = 0.4
#: The set path at full duty may ask for this times the highest level (common practice, no source).
_FULL_SCALE = 1.1
#: A larger capacitor empties itself into a laser diode that is connected again (an energy sum).
_LASER_CAP_uF = 1.0
#: A 3.3 V controller's pin is sure of 2.62 V (data sheet of the RP2040).
_PIN_V = 2.5

PACK: tuple[Rule, ...] = (
    order("cell_window", "pack.cell_min_V", "pack.cell_full_V", "an empty cell above a full one"),
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
        ("limits.pack_rearm_V", "limits.pack_lockout_V", "pack.series"),
        lambda rearm, lockout, series: at_most(lockout + _RECOVERY_V * series, rearm),
        "too near lockout ({1:g} V): resting cells recover, and the light would come and go",
        "write at least limits.pack_lockout_V + 0.4 V for each of {2} in series",
    ),
    order("rearm_full", "limits.pack_rearm_V", "pack.full_V", "it would never light again"),
    order("cutback_full", "limits.pack_cutback_V", "pack.full_V", "it would never light in full"),
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
        ("levels.highest_A", "diode.rated_A", "diode.exceed_rating"),
        lambda highest, rated, exceed: exceed or at_most(highest, rated),
        "{0:g} A exceeds diode.rated_A = {1:g}",
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
