"""The size summary: closed-form figures of one build at its highest level.

Every physical equation is the plant's, called; this module only asks at which point. What the
figures leave out is stated beside them. They are typical values, not corners.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from diodewright.build import Build
from diodewright.derive import settings
from diodewright.derive.electrics import (
    STAGE_EFFICIENCY,
    cold_hold_A,
    full_on_A,
    highest_level_A,
    pack_load_A,
    parameters,
    settle_on_mount,
)
from diodewright.derive.plant import pack_full_V
from diodewright.derive.spectrum import led_bands
from diodewright.hazard.inputs import VISIBLE_NM
from diodewright.hazard.photometry import lumens, lumens_bands
from diodewright.plant.buck import buck_ripple_A
from diodewright.size.discharge import run_down

__all__ = ["Figure", "battery_minutes", "before_cutback_s", "size"]


@dataclass(frozen=True)
class Figure:
    """One printed number.

    Attributes
    ----------
    id : stable name, with its unit.
    value : in `unit`.
    unit : as printed.
    meaning : what it is and at which point.
    leaves_out : the limit of its model; "" where it is a plain sum.
    """

    id: str
    value: float
    unit: str
    meaning: str
    leaves_out: str = ""


def battery_minutes(build: Build, output_W: float) -> float | None:
    """Return minutes from a full pack to its cutback at the highest level; None on mains.

    Leaves out temperature, ageing and the cutback's gain.
    """
    pack = build.pack
    if pack.kind == "bench_supply":
        return None
    found = run_down(
        parameters(build),
        lambda source_V, ohm: pack_load_A(build, output_W, source_V, ohm),
        build.limits.pack_cutback_V,
        pack.start_charge_pct,
    )
    return found.light_s / 60


def _ripple_A(build: Build, full_V: float, output_V: float) -> float:
    """Return the ripple [A peak to peak] from a full pack; a linear stage has none."""
    if build.stage.kind == "linear":
        return 0.0
    p = parameters(build)
    return buck_ripple_A(full_V - output_V, output_V / full_V, 1 / (p.inductor_H * p.switching_Hz))


def _highest_mean_A(build: Build) -> float:
    """Return the highest mean current of a healthy light [A]: full trim, or the module's most."""
    if build.stage.kind == "gated":
        return full_on_A(build)
    return highest_level_A(build) * (1 + build.limits.authority_pct / 100)


def _electrical(build: Build) -> list[Figure]:
    level_A = highest_level_A(build)
    p = parameters(build)
    warm = settle_on_mount(p, level_A, build.heat.ambient_degC)
    full_V = pack_full_V(build)
    path_ohm = p.series_ohm + p.own_shunt_ohm + p.a_ohm
    output_V = warm.volts_V + level_A * path_ohm
    ripple_A = _ripple_A(build, full_V, output_V)
    output_W = level_A * output_V
    pack_ohm = p.pack_fast_ohm + p.pack_slow_ohm
    linear = build.stage.kind == "linear"
    rows = [
        Figure("set_current_A", level_A, "A", "highest level"),
        Figure(
            "peak_current_A",
            _highest_mean_A(build) + ripple_A / 2,
            "A",
            "highest level, full trim or tolerance and half the ripple, full pack",
            "stage accuracy",
        ),
        Figure("forward_V", warm.volts_V, "V", "diode, typical, mount at ambient"),
        Figure("electrical_W", warm.electrical_W, "W", "into the diode"),
        Figure(
            "pack_current_A",
            pack_load_A(build, output_W, full_V, pack_ohm),
            "A",
            "from a full pack",
            "" if linear else f"stage efficiency taken as {STAGE_EFFICIENCY:.2f}",
        ),
    ]
    if build.pack.kind == "cells":
        rows.append(
            Figure(
                "cold_hold_A",
                cold_hold_A(build),
                "A",
                "what a cold pack at its lockout still holds up, diode of highest voltage",
                "the charge that the cold takes",
            )
        )
    minutes = battery_minutes(build, output_W)
    if minutes is not None:
        rows.append(
            Figure(
                "battery_min",
                minutes,
                "min",
                "from full to pack cutback, if the heat path let it run so long",
                "cold, ageing; full level all the time",
            )
        )
    return rows


def _led_lumens(build: Build, light_W: float) -> Figure:
    """Return an LED's lumens, with what a single line at its peak would be off by."""
    seen_lm = lumens_bands(light_W, led_bands(build))
    line_lm = lumens(light_W, build.diode.wavelength_nm)
    off = f"a single line would be {100 * (line_lm / seen_lm - 1):+.0f} %" if seen_lm else ""
    model = (
        "phosphor modelled from the colour temperature, up to 10 % too high; "
        if build.diode.spectrum == "white"
        else "Gaussian spectrum; "
    )
    return Figure(
        "light_lm",
        seen_lm,
        "lm",
        f"the same as seen; {build.diode.spectrum} spectrum integrated",
        f"{model}{off}; says nothing about the hazard",
    )


def _optical(build: Build) -> list[Figure]:
    p = parameters(build)
    warm = settle_on_mount(p, highest_level_A(build), build.heat.ambient_degC)
    rows = [
        Figure("light_W", warm.light_W, "W", "mount at ambient", "kinks, ageing"),
    ]
    if build.diode.kind == "laser_diode" and build.diode.wavelength_nm <= VISIBLE_NM[1]:
        rows.append(
            Figure(
                "light_lm",
                lumens(warm.light_W, build.diode.wavelength_nm),
                "lm",
                "the same as seen; a single line",
                "says nothing about the hazard",
            )
        )
    if build.diode.kind == "led":
        rows.append(_led_lumens(build, warm.light_W))
    rows.append(
        Figure(
            "light_share_pct",
            100 * warm.light_W / warm.electrical_W,
            "%",
            "of the electrical power",
        )
    )
    return rows


def _before_cutback_s(
    build: Build, words: Mapping[str, int], heat_W: float, pass_W: float
) -> float:
    """Return the time [s] until thermal cutback takes light, at constant heat from cold.

    `heat_W` [W] goes into the mount, `pass_W` [W] (a pass MOSFET's) into the sink behind it.
    Sink and mount as one lump that leaks through the sink's resistance, T = P R (1 - e^(-t/tau)),
    the mount P R_pad above it and late by its own time constant. Cutback is felt where the cap,
    which begins at the highest level with full trim, meets the level.
    """
    heat, limits = build.heat, build.limits
    pad_K_W = heat.mount_pad_K_W + heat.interface_K_W
    level_mA = words["top_mA"] - words["authority_mA"]
    share = (words["top_mA"] - level_mA) / (words["top_mA"] - words["dim_mA"])
    if build.stage.kind == "gated":
        share = 1.0  # a gated light stays full until its cutback ends
    felt_degC = limits.mount_warm_degC + share * (limits.mount_hot_degC - limits.mount_warm_degC)
    rise_K = felt_degC - heat.ambient_degC - heat_W * pad_K_W
    final_K = (heat_W + pass_W) * heat.sink_air_K_W
    if rise_K >= final_K:
        return math.inf
    tau_s = heat.sink_air_K_W * (heat.sink_J_K + heat.mount_J_K)
    return heat.mount_J_K * pad_K_W - tau_s * math.log(1 - max(rise_K, 0.0) / final_K)


def _pass_W(build: Build) -> float:
    """Return what a linear stage's pass MOSFET burns [W] on a full pack; 0 for other stages."""
    if build.stage.kind != "linear":
        return 0.0
    p, level_A = parameters(build), highest_level_A(build)
    warm = settle_on_mount(p, level_A, build.heat.ambient_degC)
    drops_ohm = p.series_ohm + p.own_shunt_ohm + p.a_ohm + p.pack_fast_ohm
    spare_V = pack_full_V(build) - warm.volts_V - level_A * float(drops_ohm)
    return max(0.0, level_A * spare_V)


def before_cutback_s(build: Build, words: Mapping[str, int]) -> float:
    """Return the time [s] from cold until the mount's cutback takes light; infinite for never.

    `words` are the build's settings.
    """
    level_A, air_degC = highest_level_A(build), build.heat.ambient_degC
    heat_W = settle_on_mount(parameters(build), level_A, air_degC).heat_W
    return _before_cutback_s(build, words, heat_W, _pass_W(build))


def _thermal(build: Build) -> list[Figure]:
    level_A = highest_level_A(build)
    p = parameters(build)
    heat = build.heat
    warm = settle_on_mount(p, level_A, heat.ambient_degC)
    pad_K_W = heat.mount_pad_K_W + heat.interface_K_W
    pass_W = _pass_W(build)
    sink_degC = heat.ambient_degC + (warm.heat_W + pass_W) * heat.sink_air_K_W
    mount_degC = sink_degC + warm.heat_W * pad_K_W
    steady = settle_on_mount(p, level_A, mount_degC)
    before_s = _before_cutback_s(build, settings(build), warm.heat_W, pass_W)
    rows = [
        Figure("heat_W", warm.heat_W, "W", "into the mount, mount at ambient"),
        Figure("junction_degC", warm.junction_degC, "degC", "mount at ambient, at once"),
        Figure(
            "junction_steady_degC",
            steady.junction_degC,
            "degC",
            "if nothing cut back",
            "one air temperature, no sun, still air as given",
        ),
    ]
    if build.stage.kind == "linear":
        rows.append(Figure("pass_W", pass_W, "W", "pass MOSFET into the sink, full pack at once"))
    if math.isfinite(before_s):
        rows.append(
            Figure(
                "before_cutback_s",
                before_s,
                "s",
                "from cold until the mount's cutback takes light",
                "constant heat; two lumps taken one behind the other",
            )
        )
    return rows


def size(build: Build) -> tuple[Figure, ...]:
    """Return the size figures of `build` at its highest level, in the order they are printed."""
    return (*_electrical(build), *_optical(build), *_thermal(build))
