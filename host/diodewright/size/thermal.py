"""Temperatures at the highest level, how long it lasts from cold, and what rest it then needs."""

import math
from collections.abc import Mapping

from diodewright.build import Build
from diodewright.derive.electrics import highest_level_A, parameters, settle_on_mount
from diodewright.derive.plant import pack_full_V
from diodewright.plant.switch import CHANNEL_MAX_degC
from diodewright.size.figure import Figure
from diodewright.size.survey import Survey, hot_corner
from diodewright.size.warming import before_cut_s, duty_of, sustained_pct

__all__ = ["before_cutback_s", "thermal"]


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


def _settled(build: Build, found: Survey) -> list[Figure]:
    """Return temperatures as if nothing cut back, part by part."""
    steady, hot = found.steady, found.hot
    air = "one air temperature, no sun, still air as given"
    runs = "; it RUNS AWAY" if hot.a_degC >= CHANNEL_MAX_degC else ""
    rows = [
        Figure("junction_degC", found.cool.junction_degC, "degC", "mount at ambient, at once"),
        Figure("junction_steady_degC", steady.junction_degC, "degC", "if nothing cut back", air),
        Figure("mount_steady_degC", steady.mount_degC, "degC", "case and mount, the same", air),
        Figure("sink_steady_degC", steady.sink_degC, "degC", "the same", air),
        Figure("mount_hot_air_degC", hot.mount_degC, "degC", "the same in the warmest air", air),
        Figure(
            "cutoff_a_degC",
            hot.a_degC,
            "degC",
            f"its channel, warmest air, settled{runs}",
            "linear region and short bursts",
        ),
    ]
    if build.stage.kind == "linear":
        rows += [
            Figure("pass_W", _pass_W(build), "W", "pass MOSFET into the sink, full pack at once"),
            Figure(
                "pass_degC",
                hot.pass_degC,
                "degC",
                "its channel, warmest air, if nothing cut back",
                "hot spots in linear operation: see its safe operating area",
            ),
        ]
    return rows


def _lasting(build: Build, found: Survey) -> list[Figure]:
    """Return how long the full level lasts from cold, and how it may go on for ever."""
    words, hot = found.words, hot_corner(build)
    law = "the law's heat budget, the sensor's lag, the pack"
    rows = []
    closed_s = before_cutback_s(build, words)
    if math.isfinite(closed_s):
        rows.append(
            Figure(
                "before_cutback_s",
                closed_s,
                "s",
                "until the mount's cutback, closed form",
                "constant heat; two lumps taken one behind the other",
            )
        )
    for hotly, corner, where in (("", None, ""), ("_hot", hot, ", warmest air")):
        longest_s = before_cut_s(build, words, corner)
        if longest_s is not None:
            most_s = min(longest_s, build.controls.auto_off_s)
            ends = "heat takes some" if longest_s <= most_s else "auto-off"
            said = f"full light from cold until {ends}{where}"
            rows.append(Figure(f"full_light{hotly}_s", most_s, "s", said, law))
        share_pct = sustained_pct(build, words, corner)
        said = f"of all time, in short bursts{where}"
        rows.append(Figure(f"lit_share{hotly}_pct", share_pct, "%", said, law))
    kept = (
        ("kept_A", found.kept, ""),
        ("kept_hot_A", found.kept_hot, ", warmest air"),
    )
    for name, point, where in kept:
        if build.stage.kind != "gated":
            rows.append(
                Figure(name, point.diode_A, "A", f"what heat leaves of a long light{where}", law)
            )
    duty = duty_of(build, words, hot)
    if duty is not None:
        said = f"dark after each {duty.burst_s:.3g} s of light, warmest air"
        lumps = f"one lump; the plant's two peak {duty.over_K:+.1f} K from the cutback at that"
        rows.append(Figure("rest_hot_s", duty.rest_s, "s", said, lumps))
    return rows


def thermal(build: Build, found: Survey) -> list[Figure]:
    """Return heat, temperatures and times."""
    into = Figure("heat_W", found.cool.heat_W, "W", "into the mount, mount at ambient")
    return [into, *_settled(build, found), *_lasting(build, found)]
