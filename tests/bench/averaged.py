"""The same lamp for ngspice: the averaged circuit, heat and pack, under a behavioural controller.

The controller is what the law does while nothing is wrong: start level, soft-start, full level,
cutback by the mount's temperature. It has no ticks, no sensors and no faults. Until the law's first
cap binds both model the same thing; from there on ngspice's cutback is only alike.
"""

import shutil
import subprocess
from pathlib import Path
from typing import Any

import story
from diodewright.derive import settings
from diodewright.sim import compiled

__all__ = ["program", "run"]

KELVIN_0 = 273.15
#: It holds no ripple here; with a smaller one ngspice loses its way at the knee.
LEAST_OUTPUT_F = 1e-6


def program() -> str | None:
    """Return where ngspice is, or None."""
    return shutil.which("ngspice")


def _controller(p: Any) -> list[str]:
    """Return the current asked for [A] as a node: levels in words of the law."""
    words = settings(story.BUILD)
    start_A, full_A = words["start_mA"] / 1000, words["level_0_mA"] / 1000
    begin_s, ramp_s = words["stage_ticks"] / 1000, words["ramp_ticks"] / 1000
    top_A, dim_A = words["top_mA"] / 1000, words["dim_mA"] / 1000
    warm, hot = (words[name] / 100 - KELVIN_0 for name in ("warm_cK", "hot_cK"))
    return [
        f"Bx place 0 V = min(max((time - {begin_s}) / {ramp_s}, 0), 1)",
        "Bshare share 0 V = v(place) * v(place) * (3 - 2 * v(place))",
        f"Bcap cap 0 V = {top_A} - {top_A - dim_A}"
        f" * min(max((v(mount) - {warm}) / {hot - warm}, 0), 1)",
        f"Bask ask 0 V = min({start_A} + {full_A - start_A} * v(share), v(cap))",
        "Rf1 ask f1 1k",
        f"Cf1 f1 0 {p.set_filter_s / 1e3} IC=0",
        "Ef1 f1b 0 f1 0 1",
        "Rf2 f1b f2 1k",
        f"Cf2 f2 0 {p.set_filter_s / 1e3} IC=0",
        f"Bgoal goal 0 V = max((v(f2) * {p.set_gain} + {p.set_offset_A})"
        f" * {p.shunt_gain_inverse}, 0)",
        "Rl goal amps 1k",
        f"Cl amps 0 {p.stage_loop_s / 1e3} IC=0",
    ]


def _circuit(p: Any, x: Any) -> list[str]:
    points = ", ".join(f"{s}, {v}" for s, v in zip(p.ocv_soc, p.ocv_V, strict=True))
    ways_ohm = p.inductor_ohm + p.own_shunt_ohm
    standing_W = p.controller_W + p.indicator_A * x.rail_V
    return [
        f"Bsoc 0 soc I = -i(Vpack) * {p.soc_per_C}",
        f"Csoc soc 0 1 IC={x.soc}",
        f"Bocv ocv 0 V = {p.cells_series} * pwl(v(soc), {points})",
        "Vpack ocv cells 0",
        f"Rslow cells behind {p.pack_slow_ohm}",
        f"Cslow cells behind {p.cell_tau_s / p.pack_slow_ohm} IC={x.pack_slow_V}",
        f"Rfast behind in {p.pack_fast_ohm}",
        "Bload in 0 I = v(load) / v(in)",
        f"Bduty duty 0 V = (v(out) + v(amps) * {ways_ohm + p.low_side_ohm})"
        f" / (v(in) - v(amps) * {p.high_side_ohm - p.low_side_ohm})",
        f"Bripple ripple 0 V = (v(in) - v(out) - v(amps) * {ways_ohm + p.high_side_ohm})"
        f" * v(duty) * {p.ripple_A_V}",
        f"Bload_W load 0 V = v(out) * v(amps) + {p.stage_idle_W + standing_W}"
        f" + (v(amps)^2 + v(ripple)^2 / 12) * ({ways_ohm} + v(duty) * {p.high_side_ohm}"
        f" + (1 - v(duty)) * {p.low_side_ohm})"
        f" + 0.5 * v(in) * v(amps) * {p.switching_edges_s * p.switching_Hz}",
        "Bstage 0 out I = v(amps)",
        f"Cout out 0 {max(p.output_F, LEAST_OUTPUT_F)} IC=0",
        f"Rbleed out 0 {p.bleeder_ohm}",
        f"Bdiode out low V = {p.diode_knee_V}"
        f" + {p.diode_tempco_V_K} * (v(junction) - {p.diode_ref_degC})"
        f" + i(Bdiode) * {p.diode_rs_ohm}"
        f" + {p.diode_b_V} * ln(1 + max(i(Bdiode), 0) / {p.diode_floor_A})",
        f"Rpath low 0 {p.series_ohm + p.a_ohm}",
    ]


def _heat(p: Any, x: Any) -> list[str]:
    rise = f"(v(junction) - {p.diode_ref_degC})"
    slope = f"{p.slope_W_A * p.light_factor} * exp(-{rise} * {p.slope_1_K})"
    threshold = f"{p.threshold_A * p.threshold_factor} * exp({rise} * {p.threshold_1_K})"
    stored = f"(v(heat) * {p.junction_mount_K_W} - v(rise)) / {p.junction_tau_s}"
    return [
        "Bjunction junction 0 V = v(mount) + v(rise)",
        f"Bheat heat 0 V = (v(out) - v(low)) * i(Bdiode)"
        f" - max({slope} * (i(Bdiode) - {threshold}), 0)",
        f"Brise 0 rise I = {stored}",
        "Crise rise 0 1 IC=0",
        f"Bmount 0 mount I = v(heat) - {p.junction_J_K} * {stored}"
        f" - (v(mount) - v(sink)) * {p.mount_sink_W_K}",
        f"Cmount mount 0 {p.mount_J_K} IC={x.mount_degC}",
        f"Bsink 0 sink I = (v(mount) - v(sink)) * {p.mount_sink_W_K}"
        f" - (v(sink) - {p.ambient_degC}) * {p.sink_air_W_K}",
        f"Csink sink 0 {p.sink_J_K} IC={x.sink_degC}",
        f"Bpeak peak 0 V = i(Bdiode) + 0.5 * {p.ripple_share} * v(ripple)",
    ]


def run(folder: Path, lit_s: float, compare_s: float) -> story.Ran:
    """Run `lit_s` [s] of light in `folder` and return the peaks of its first `compare_s` [s]."""
    machine = story.awake(compiled())
    p, x = machine.p.record, machine.x.record
    lines = [
        "* averaged circuit of one use",
        *_controller(p),
        *_circuit(p, x),
        *_heat(p, x),
        f".tran 5m {lit_s} 0 5m uic",
        f".meas tran amps MAX v(peak) FROM=0.05 TO={compare_s}",
        f".meas tran hottest MAX v(junction) FROM=0.05 TO={compare_s}",
        ".end",
        "",
    ]
    (folder / "use.cir").write_text("\n".join(lines))
    command = ["ngspice", "-b", "use.cir"]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    found = {
        words[0]: float(words[2])
        for line in done.stdout.splitlines()
        if (words := line.split()) and words[0] in ("amps", "hottest") and "=" in words
    }
    if len(found) != 2:
        raise RuntimeError(f"ngspice measured nothing: {done.stdout[-2000:]} {done.stderr[-2000:]}")
    return story.Ran(found["amps"], found["hottest"])
