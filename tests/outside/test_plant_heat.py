"""The heat path against one-lump closed forms and the matrix exponential."""

import math
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from scipy.linalg import expm

from diodewright.plant import heat


def _path(dt_s: float, **values: float) -> tuple[Any, Any]:
    """Return parameters and state of a heat path at 0 degC."""
    given = {
        "junction_mount_K_W": 1.0,
        "junction_tau_s": 0.02,
        "mount_J_K": 1e5,
        "mount_sink_K_W": 1.0,
        "sink_J_K": 1e6,
        "sink_air_K_W": 1.0,
    } | values
    p = SimpleNamespace(
        junction_mount_K_W=given["junction_mount_K_W"],
        junction_decay=math.exp(-dt_s / given["junction_tau_s"]),
        junction_J_K=given["junction_tau_s"] / given["junction_mount_K_W"],
        mount_sink_W_K=1 / given["mount_sink_K_W"],
        sink_air_W_K=1 / given["sink_air_K_W"],
        mount_K_J=1 / given["mount_J_K"],
        sink_K_J=1 / given["sink_J_K"],
        ambient_degC=0.0,
        a_air_K_W=1.0,
        a_decay=0.5,
    )
    x = SimpleNamespace(
        junction_rise_K=0.0,
        junction_degC=0.0,
        mount_degC=0.0,
        sink_degC=0.0,
        a_degC=0.0,
        a_loss_W=0.0,
        air_J=0.0,
    )
    return p, x


def _run(p: Any, x: Any, heat_W: float, seconds: float, dt_s: float) -> None:
    x.heat_W = heat_W
    for _ in range(round(seconds / dt_s)):
        heat.warm_up(p, x, dt_s)


@pytest.mark.parametrize(("seconds", "rise_K"), [(1.0, 24.55), (2.0, 39.44)])
def test_a_junction_step_follows_its_one_lump(seconds: float, rise_K: float) -> None:
    # dT = P R (1 - exp(-t/tau)): 4.16 W, 15 K/W, tau 2 s (worked numbers of the closed form).
    p, x = _path(0.01, junction_mount_K_W=15, junction_tau_s=2)
    _run(p, x, 4.16, seconds, 0.01)
    assert x.junction_rise_K == pytest.approx(rise_K, rel=1e-3)


@pytest.mark.parametrize(
    ("power_W", "R_K_W", "tau_s", "seconds", "rise_K"),
    [(5.0, 8.0, 120.0, 300.0, 36.72), (4.0, 20.0, 60.0, 30.0, 31.48)],
)
def test_a_sink_step_follows_its_one_lump(
    power_W: float, R_K_W: float, tau_s: float, seconds: float, rise_K: float
) -> None:
    # The same closed form at a sink: the mount is made small and close to it.
    capacity_J_K = tau_s / R_K_W
    p, x = _path(
        0.005, mount_J_K=0.05, mount_sink_K_W=0.2, sink_J_K=capacity_J_K - 0.05, sink_air_K_W=R_K_W
    )
    _run(p, x, power_W, seconds, 0.005)
    assert x.sink_degC == pytest.approx(rise_K, rel=1e-2)


def test_the_time_to_a_limit_is_1_386_time_constants_for_60_of_80_K() -> None:
    # t = -tau ln(1 - 60/80) = 1.386 tau.
    p, x = _path(0.001, junction_mount_K_W=20, junction_tau_s=1)
    x.heat_W = 4.0
    steps = 0
    while x.junction_rise_K < 60:
        heat.warm_up(p, x, 0.001)
        steps += 1
    assert steps * 0.001 == pytest.approx(1.386, abs=0.002)


def test_a_duty_rating_of_60_s_on_needs_32_s_off() -> None:
    # Duty rating of one lump: P R 80 K, limit 60 K, tau 100 s, 60 s on, period 92.03 s: the peak
    # settles at the limit.
    p, x = _path(0.02, junction_mount_K_W=20, junction_tau_s=100)
    peak_K = 0.0
    for _ in range(12):
        _run(p, x, 4.0, 60.0, 0.02)
        peak_K = x.junction_rise_K
        _run(p, x, 0.0, 32.03, 0.02)
    assert peak_K == pytest.approx(60, rel=1e-3)


def test_the_whole_path_is_the_matrix_exponential_of_three_masses() -> None:
    # Judge: scipy.linalg.expm of junction, mount and sink as one linear network.
    dt_s, R_jm, tau_j = 0.00025, 7.0, 0.02
    p, x = _path(
        dt_s,
        junction_mount_K_W=R_jm,
        junction_tau_s=tau_j,
        mount_J_K=12,
        mount_sink_K_W=1.2,
        sink_J_K=60,
        sink_air_K_W=5,
    )
    C = np.array([tau_j / R_jm, 12.0, 60.0])
    G = np.array(
        [[1 / 7, -1 / 7, 0], [-1 / 7, 1 / 7 + 1 / 1.2, -1 / 1.2], [0, -1 / 1.2, 1.0333333333]]
    )
    A = -G / C[:, None]
    end = np.linalg.solve(G, np.array([5.95, 0, 0]))
    elapsed_s = 0.0
    for seconds in (0.05, 1.95, 18.0):
        _run(p, x, 5.95, seconds, dt_s)
        elapsed_s += seconds
        judged = end - expm(A * elapsed_s) @ end
        assert x.junction_degC == pytest.approx(judged[0], rel=2e-3)
        assert x.mount_degC == pytest.approx(judged[1], rel=5e-3)
        assert x.sink_degC == pytest.approx(judged[2], rel=1e-2, abs=1e-4)
