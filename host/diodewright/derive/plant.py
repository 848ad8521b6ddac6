"""Build to plant parameters: what is modelled is what the build says, at its nominal values."""

from diodewright.build import CHEMISTRIES, Build, fit_forward, fit_light
from diodewright.derive.board import (
    CHECK_V,
    INDICATOR_A,
    INDICATOR_SENSE_OHM,
    INJECT_OVER_DELAY,
    INJECT_OVER_TRIP,
    RAIL_V,
    REGULATOR_MIN_V,
    TRICKLE_SHARE,
)
from diodewright.derive.calibrated import (
    current_V_A,
    ntc_constants,
    output_ratio,
    pack_ratio,
    zero_V,
)
from diodewright.derive.enables import a_closes_s, b_delay_s

__all__ = ["output_clamp_V", "pack_full_V", "plant_values"]

#: The plant's table asks for a frequency; a linear stage has none and does not use it.
NOT_SWITCHING_HZ = 1e5


def _pack(build: Build) -> dict[str, object]:
    pack = build.pack
    # a bench supply has no cells: the plant holds some curve and never reads it
    curve_V = CHEMISTRIES[pack.chemistry or "lithium_ion"].curve_V
    values: dict[str, object] = {
        "ocv_soc": [charge for charge, _ in curve_V],
        "ocv_V": [volts for _, volts in curve_V],
        "wiring_ohm": pack.wiring_mohm / 1000,
    }
    if pack.kind == "bench_supply":
        return values | {
            "pack_kind": 1,
            "bench_V": pack.supply_V,
            "bench_limit_A": pack.supply_limit_A,
            "cell_capacity_Ah": 1.0,
            "cell_R0_ohm": 0.05,
        }
    return values | {
        "cells_series": pack.series,
        "cells_parallel": pack.parallel,
        "cell_capacity_Ah": pack.capacity_Ah,
        "cell_R0_ohm": pack.cell_resistance_mohm / 1000,
        "cell_R1_ohm": pack.polarisation_mohm / 1000,
        "cell_tau_s": pack.polarisation_s,
    }


def pack_full_V(build: Build) -> float:
    """Return the highest voltage [V] that feeds the stage."""
    pack = build.pack
    return pack.supply_V if pack.kind == "bench_supply" else pack.cell_full_V * pack.series


def output_clamp_V(build: Build) -> float:
    """Return what the clamp across the output holds [V].

    Where the build does not say, one that stands the full pack and the over-voltage trip: a
    suppressor clamps at about one and a half times what it stands (common practice, no source).
    """
    given_V = build.stage.output_clamp_V
    if given_V is not None:
        return given_V
    return 1.5 * max(pack_full_V(build), build.comparator.over_voltage_V)


def _edges_s(build: Build) -> float:
    """Return the switch node's rise plus fall time [s] that gives the stated switching loss.

    P = V I t f / 2 at the full pack and full current (TI SLVAED3A, equation 3).
    """
    stage = build.stage
    full_A = stage.module_A if stage.kind == "gated" else stage.full_scale_A
    watts = pack_full_V(build) * full_A * stage.switching_kHz * 1000 / 2
    return stage.switching_loss_W / watts


def _switching(build: Build) -> dict[str, object]:
    stage = build.stage
    return {
        "inductor_ohm": stage.inductor_mohm / 1000,
        "switching_Hz": stage.switching_kHz * 1000,
        "high_side_ohm": stage.high_side_mohm / 1000,
        "low_side_ohm": stage.low_side_mohm / 1000,
        "switching_edges_s": _edges_s(build),
    }


def _set_input(build: Build) -> dict[str, object]:
    return {
        "set_full_A": build.stage.full_scale_A,
        "set_rail_V": RAIL_V,
        "set_filter_s": build.stage.set_filter_ms / 1000,
    }


def _own(build: Build) -> dict[str, object]:
    """Return what only this kind of stage has."""
    stage = build.stage
    if stage.kind == "linear":
        return _set_input(build) | {
            "stage_kind": 1,
            "pass_ohm": stage.pass_mohm / 1000,
            "pass_sink_K_W": stage.pass_sink_K_W,
            "pass_tau_s": stage.pass_thermal_s,
            "switching_Hz": NOT_SWITCHING_HZ,
        }
    if stage.kind == "gated":
        return _switching(build) | {
            "stage_kind": 2,
            "module_A": stage.module_A,
            "module_rise_s": stage.module_rise_ms / 1000,
            "set_full_A": stage.module_A,
        }
    return _switching(build) | _set_input(build)


def _stage(build: Build) -> dict[str, object]:
    stage = build.stage
    return {
        "stage_startup_s": stage.startup_ms / 1000,
        "stage_loop_s": stage.loop_ms / 1000,
        "inductor_H": stage.inductor_uH * 1e-6,
        "own_shunt_ohm": stage.own_shunt_mohm / 1000,
        "overshoot": stage.overshoot_pct / 100,
        "stage_idle_W": stage.quiescent_mA / 1000 * pack_full_V(build),
        "output_F": stage.output_cap_uF * 1e-6,
        "loop_H": build.cutoffs.loop_uH * 1e-6,
        "output_clamp_V": output_clamp_V(build),
        **_own(build),
    }


def _cutoffs(build: Build) -> dict[str, object]:
    cutoffs, comparator = build.cutoffs, build.comparator
    return {
        "a_ohm": cutoffs.a_rds_mohm / 1000,
        "a_tempco_1_K": cutoffs.a_tempco_pct_K / 100,
        "a_air_K_W": cutoffs.a_theta_K_W,
        "a_tau_s": cutoffs.a_thermal_s,
        "pulse_hold_s": cutoffs.pulse_hold_ms / 1000,
        "pulse_close_s": a_closes_s(build)[1],
        "b_delay_s": b_delay_s(build)[1],
        # The middle of the trip's band; its ends are corners of the margins.
        "trip_A": (comparator.trip_min_A + comparator.trip_max_A) / 2,
        "inject_A": INJECT_OVER_TRIP * comparator.trip_max_A,
        "inject_s": INJECT_OVER_DELAY * comparator.delay_us * 1e-6,
        "trip_V": comparator.over_voltage_V,
        "trickle_clamp_V": TRICKLE_SHARE * comparator.over_voltage_V,
        "trip_delay_s": comparator.delay_us * 1e-6,
    }


def _diode(build: Build) -> dict[str, object]:
    part = build.diode
    forward = fit_forward(part.forward_points_A_V)
    return {
        "diode_a_V": forward.a_V,
        "diode_b_V": forward.b_V,
        "diode_rs_ohm": forward.rs_ohm,
        "diode_tempco_V_K": part.forward_tempco_mV_K / 1000,
        "diode_ref_degC": 25.0,
        **_light(build),
    }


def _light(build: Build) -> dict[str, object]:
    """Return what the light needs: a dummy gives none, an LED has no threshold to move."""
    part = build.diode
    if part.kind == "dummy_string":
        return {"slope_W_A": 0.0}
    laser = part.kind == "laser_diode"
    light = fit_light(part.light_points_A_W, laser=laser)
    values: dict[str, object] = {
        "threshold_A": light.threshold_A,
        "slope_W_A": light.slope_W_A,
        "slope_T1_K": part.slope_T1_K,
    }
    return values | {"threshold_T0_K": part.threshold_T0_K} if laser else values


def _heat(build: Build) -> dict[str, object]:
    heat = build.heat
    return {
        "junction_mount_K_W": heat.junction_mount_K_W,
        "junction_tau_s": heat.junction_ms / 1000,
        "mount_J_K": heat.mount_J_K,
        "mount_sink_K_W": heat.mount_pad_K_W + heat.interface_K_W,
        "sink_J_K": heat.sink_J_K,
        "sink_air_K_W": heat.sink_air_K_W,
        "ambient_degC": heat.ambient_degC,
    }


def _sensors(build: Build) -> dict[str, object]:
    sensors = build.sensors
    monitor_ohm = sensors.monitor_shunt_mohm / 1000
    return {
        "monitor_ohm": monitor_ohm,
        "monitor_gain_V_V": current_V_A(build) / monitor_ohm,
        "monitor_zero_V": zero_V(build),
        "output_ratio": output_ratio(build),
        "pack_ratio": pack_ratio(build),
        "ntc_pull_ohm": sensors.ntc_series_ohm,
        "ntc_lag_s": sensors.ntc_lag_s,
        "check_V": CHECK_V,
        "rail_pack_min_V": REGULATOR_MIN_V,
        "indicator_open": int(not build.controls.indicator),
        "indicator_A": INDICATOR_A,
        "indicator_sense_ohm": INDICATOR_SENSE_OHM,
        "adc_ohm": 1000 * sensors.adc_input_kohm,
        "ref_gain": sensors.reference_V / RAIL_V,
        "adc_noise_lsb": sensors.adc_noise_codes,
        **ntc_constants(build),
    }


def plant_values(build: Build) -> dict[str, object]:
    """Return every plant parameter of `build` by name; the rest keeps the table's start."""
    return {
        **_pack(build),
        **_stage(build),
        **_cutoffs(build),
        **_diode(build),
        **_heat(build),
        **_sensors(build),
    }
