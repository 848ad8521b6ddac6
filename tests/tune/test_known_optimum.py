"""Builds whose best settings follow from a formula: the search finds them within 1 %, by runs.

Each is `smoke_tunnel` with one thing that limits it and everything else out of the way. The
formula uses the build's values and the ends of its tolerances, never a run.
"""

import dataclasses
import math
from collections.abc import Mapping

import pytest

from diodewright.build import Build, load, with_values
from diodewright.derive.tolerances import tolerances
from diodewright.tune.choice import Dial, Problem, holds
from diodewright.tune.context import context_of
from diodewright.tune.dials import dials_of
from diodewright.tune.looks import Looks
from diodewright.tune.of_build import BuildWork
from diodewright.tune.search import Effort, Found, search
from diodewright.tune.wishes import aim_of

#: The climb does the work; a small population keeps these quick.
QUICK = Effort(crowd=5, generations=1, climbs=1, rounds=8)


def _dials(build: Build, ranges: Mapping[str, tuple[float, float]]) -> tuple[Dial, ...]:
    return tuple(
        dataclasses.replace(dial, low=ranges[dial.path][0], high=ranges[dial.path][1])
        for dial in dials_of(build)
        if dial.path in ranges
    )


def _looks(build: Build, wish: str, ranges: Mapping[str, tuple[float, float]]) -> Looks:
    problem = Problem(_dials(build, ranges), aim_of(wish))
    assert len(problem.dials) == len(ranges)
    return Looks(problem, BuildWork(problem, context_of(build)))


def _end(name: str, build: Build) -> float:
    """Return the upper end of a tolerance of `build`, as a share."""
    (row,) = [row for row in tolerances(build) if row.name == name]
    return row.high


def _found(looks: Looks) -> tuple[Found, dict[str, float]]:
    found = search(looks, looks.problem.aim, 1, QUICK)
    assert holds(found.look, looks.problem.aim)
    at = {dial.path: v for dial, v in zip(looks.problem.dials, found.at, strict=True)}
    return found, at


def test_a_pure_tolerance_limit_is_found_where_the_sum_of_tolerances_says() -> None:
    """Over-current half-way to the comparator: I (s + w + g + r) + c = (I_trip - I) / 2.

    s, w, g, r: set path, own shunt, monitor's gain, reference, as shares of the current; c is the
    monitor's zero, the converter's offset and three sigma of its noise, over volts an ampere. The
    threshold lies half-way between level and lowest trip. Worst case: the plain sum.
    """
    build = with_values(
        load("smoke_tunnel"),
        {
            "comparator.trip_min_A": 1.58,
            "comparator.trip_max_A": 1.70,
            "limits.authority_pct": 0.0,
            "levels.full_A": 1.46,
            "stage.full_scale_A": 1.6,
            "diode.forward_points_A_V": ((0.25, 3.988), (0.5, 4.125), (1.0, 4.4), (1.6, 4.73)),
        },
    )
    looks = _looks(build, "first_minute", {"levels.full_A": (1.455, 1.6)})
    found, at = _found(looks)
    names = ("set-path", "own-shunt", "monitor-gain", "adc-reference")
    shares = sum(_end(name, build) for name in names)
    noise_V = 3 * build.sensors.adc_noise_codes * build.sensors.reference_V / 4095
    volts_V = _end("monitor-zero", build) + _end("adc-offset", build) + noise_V
    c_A = volts_V / build.sensors.monitor_gain_V_A
    assert at["levels.full_A"] == pytest.approx((1.58 / 2 - c_A) / (0.5 + shares), rel=0.01)
    assert found.at != found.start


def test_a_pure_pack_limit_is_found_where_the_rules_of_the_pack_end() -> None:
    """Most minutes: dim as early as may be, and go dark where the cells and the reading end.

    The loaded minimum stays as far over the cells' own as the pack may read high:
    V (d + r + u) + c = V - V_empty, u the rail's fall; lockout lies just above it. Both ends of the
    cutback are at the top of what is searched: the reserve level lasts longest.
    """
    build = load("smoke_tunnel")
    ranges = {
        "limits.pack_loaded_min_V": (5.0, 6.5),
        "limits.pack_lockout_V": (5.0, 7.0),
        "limits.pack_cutback_end_V": (5.5, 7.0),
        "limits.pack_cutback_V": (5.6, 7.3),
    }
    looks = _looks(build, "minutes", ranges)
    found, _ = _found(looks)
    code_V = build.sensors.reference_V / 4095 / build.sensors.pack_divider
    offset_V = _end("adc-offset", build) / build.sensors.pack_divider
    offset_V += 3 * build.sensors.adc_noise_codes * code_V
    (rail,) = [row for row in tolerances(build) if row.name == "rail"]
    share = _end("pack-divider", build) + _end("adc-reference", build) - rail.low
    least_V = (build.pack.cell_min_V * build.pack.series + offset_V) / (1 - share)
    best = {
        "limits.pack_loaded_min_V": round(least_V + 0.005, 2),
        "limits.pack_lockout_V": round(least_V + 0.015, 2),
        "limits.pack_cutback_end_V": 7.0,
        "limits.pack_cutback_V": 7.3,
    }
    look = looks.one(tuple(best[dial.path] for dial in looks.problem.dials), "nominal")
    assert holds(look, looks.problem.aim, "nominal")
    assert found.look.figures["pack_min"] == pytest.approx(look.figures["pack_min"], rel=0.01)
    assert found.start_look.figures["pack_min"] < 0.8 * look.figures["pack_min"]


def _hottest_sink_degC(build: Build, level_A: float, seconds: float) -> float:
    """Return the sink [degC] of a light of `level_A`, all tolerances against it.

    One lump of sink and mount: T = T_air + R q (1 - exp(-t / (R C))), q = I V - light; the junction
    stands q (R_jm + R_ms) above it. Light: slope exp(-dT/T1) (I - threshold exp(dT/T0)).
    """
    heat, part = build.heat, build.diode
    current_A = level_A * (1 + _end("set-path", build)) * (1 + _end("own-shunt", build))
    volts_V = 3.85 + 0.55 * current_A + part.forward_spread_V
    air_K_W = heat.sink_air_K_W * (1 + _end("sink-air", build))
    tau_s = air_K_W * (heat.sink_J_K + heat.mount_J_K) * (1 - _end("heat-capacity", build))
    path_K_W = heat.junction_mount_K_W * (1 + _end("junction-path", build))
    path_K_W += heat.mount_pad_K_W * (1 - _end("pad", build)) + heat.interface_K_W
    slope_W_A = 0.85 * (1 - _end("slope", build))
    threshold_A = 0.25 * (1 + _end("threshold", build)) * (1 + _end("threshold-age", build))
    q_W = current_A * volts_V
    for _ in range(20):  # a contraction: the light's share of the heat is small
        sink_degC = heat.ambient_max_degC + air_K_W * q_W * (1 - math.exp(-seconds / tau_s))
        over_K = sink_degC + path_K_W * q_W - 25
        light_W = slope_W_A * math.exp(-over_K / part.slope_T1_K)
        light_W *= current_A - threshold_A * math.exp(over_K / part.threshold_T0_K)
        q_W = current_A * volts_V - max(light_W, 0.0)
    return sink_degC


def test_a_pure_thermal_limit_is_found_where_the_heat_balance_says() -> None:
    """The sink's touch temperature holds the level: the formula's own level is found again."""
    expected_A = 1.55
    build = with_values(
        load("smoke_tunnel"),
        {
            "levels.full_A": 1.5,
            "stage.full_scale_A": 1.65,
            "limits.authority_pct": 0.0,
            "diode.forward_points_A_V": ((0.25, 3.9875), (0.5, 4.125), (1.0, 4.4), (1.6, 4.73)),
            "diode.forward_tempco_mV_K": 0.0,
            "heat.sink_air_K_W": 2.0,
            "heat.sink_J_K": 30.0,
            "heat.junction_mount_K_W": 4.0,
            "limits.mount_warm_degC": 64.0,
            "limits.mount_hot_degC": 67.0,
            "limits.mount_trip_degC": 70.0,
        },
    )
    touch_degC = _hottest_sink_degC(build, expected_A, 600.0)
    build = with_values(build, {"heat.sink_touch_max_degC": touch_degC})
    looks = _looks(build, "sustained", {"levels.full_A": (1.5, 1.6)})
    found, at = _found(looks)
    assert at["levels.full_A"] == pytest.approx(expected_A, rel=0.01)
    (touch,) = [row for row in found.look.rows if row.id == "corner.touch"]
    assert 0 <= touch.room < 0.3
