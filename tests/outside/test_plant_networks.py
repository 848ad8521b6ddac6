"""The heat path's lumps put together to published networks, against closed forms and ngspice.

Source of the networks and of the figures named A13: a maker's R-C thermal model parameters of a
dual P-MOSFET (Vishay 74273, Si5947DU, junction to ambient, K/W and J/K, read in a copy), as a
Foster chain and as a Cauer ladder. JESD51 terms. Foster's elements are independent lumps, so the
plant's one lump taken four times must give the published curve; the plant's junction, mount and
sink in a row are a ladder, which takes the last three stages of the published Cauer one.
"""

import math
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from diodewright.build import load
from diodewright.derive import plant_values
from diodewright.plant import heat
from spice import simulate

FOSTER = (
    (23.9495, 2.7487e-3),
    (7.4394, 153.7e-6),
    (20.5850, 48.1399e-3),
    (51.8046, 859.7477e-3),
)
CAUER = (
    (7.2873, 114.2154e-6),
    (25.4282, 2.1753e-3),
    (21.3216, 41.1592e-3),
    (49.7799, 841.2034e-3),
)
TOTAL_K_W = 103.78
LADDER = CAUER[1:]


class Path3:
    """The plant's heat path of three lumps, in air of 0 degC."""

    def __init__(self, stages: tuple[tuple[float, float], ...], dt_s: float) -> None:
        (junction_K_W, junction_J_K), (mount_K_W, mount_J_K), (sink_K_W, sink_J_K) = stages
        self.dt_s = dt_s
        self.p = SimpleNamespace(
            junction_mount_K_W=junction_K_W,
            junction_decay=math.exp(-dt_s / (junction_K_W * junction_J_K)),
            junction_J_K=junction_J_K,
            mount_sink_W_K=1 / mount_K_W,
            sink_air_W_K=1 / sink_K_W,
            mount_K_J=1 / mount_J_K,
            sink_K_J=1 / sink_J_K,
            ambient_degC=0.0,
            a_air_K_W=junction_K_W,
            a_decay=math.exp(-dt_s / (junction_K_W * junction_J_K)),
        )
        zero = ("junction_rise_K", "junction_degC", "mount_degC", "sink_degC", "a_degC", "air_J")
        self.x: Any = SimpleNamespace(**dict.fromkeys(zero, 0.0), heat_W=0.0, a_loss_W=0.0)

    def run(self, watts: float, seconds: float) -> None:
        """Let `watts` flow for `seconds`."""
        self.x.heat_W = self.x.a_loss_W = watts
        for _ in range(round(seconds / self.dt_s)):
            heat.warm_up(self.p, self.x, self.dt_s)


#: Mount and sink that never warm: only the junction's lump is left.
HELD = ((1.0, 1e12), (1.0, 1e12))


class Chain:
    """The plant's one lump, once for each element of the published Foster chain."""

    def __init__(self, dt_s: float) -> None:
        self.lumps = [Path3((element, *HELD), dt_s) for element in FOSTER]

    def run(self, watts: float, seconds: float) -> float:
        """Let `watts` flow for `seconds`; return the rise [K] at their end."""
        for lump in self.lumps:
            lump.run(watts, seconds)
        return sum(float(lump.x.junction_rise_K) for lump in self.lumps)


def _foster_K_W(seconds: float) -> float:
    return sum(R * (1 - math.exp(-seconds / (R * C))) for R, C in FOSTER)


def _repeated_K(watts: float, on_s: float, period_s: float) -> float:
    # Peak of each element after endlessly many pulses: P R (1 - e^(-on/tau))/(1 - e^(-T/tau)).
    return sum(
        watts * R * (1 - math.exp(-on_s / (R * C))) / (1 - math.exp(-period_s / (R * C)))
        for R, C in FOSTER
    )


@pytest.mark.parametrize(
    ("seconds", "K_W"),
    [(1e-4, 0.6615), (1e-3, 4.720), (0.01, 11.03), (0.1, 28.24), (1.0, 45.62), (10.0, 62.39)],
)
def test_four_lumps_step_as_the_published_chain(seconds: float, K_W: float) -> None:
    found = Chain(seconds / 500).run(1.0, seconds)
    assert found == pytest.approx(K_W, rel=5e-4)
    assert found == pytest.approx(_foster_K_W(seconds), rel=1e-9)


def test_four_lumps_settle_at_the_published_total() -> None:
    assert Chain(1.0).run(1.0, 600.0) == pytest.approx(TOTAL_K_W, rel=5e-4)


def test_a_single_pulse_of_1_5_W_reaches_82_36_degC() -> None:
    # A13: 1.5 W for 100 ms from 40 degC.
    chain = Chain(1e-3)
    assert 40 + chain.run(1.5, 0.1) == pytest.approx(82.36, abs=0.02)
    # and falls as the difference of two steps
    after_K = 1.5 * (_foster_K_W(0.4) - _foster_K_W(0.3))
    assert chain.run(0.0, 0.3) == pytest.approx(after_K, rel=1e-9)


def test_pulses_of_0_1_s_in_1_s_settle_at_91_73_degC_around_a_mean_of_55_57() -> None:
    # A13: 1.5 W, 40 degC; 400 periods are nine of the slowest time constant.
    chain = Chain(0.02)
    for _ in range(400):
        peak_K = chain.run(1.5, 0.1)
        chain.run(0.0, 0.9)
    assert 40 + peak_K == pytest.approx(91.73, abs=0.02)
    assert peak_K == pytest.approx(_repeated_K(1.5, 0.1, 1.0), rel=2e-4)
    mean_degC = 40 + 1.5 * 0.1 * TOTAL_K_W
    assert mean_degC == pytest.approx(55.57, abs=0.01)


def _chained(elements: tuple[tuple[float, float], ...]) -> str:
    """Return a Foster chain fed at n0, as ngspice reads it (1 V is 1 K, 1 A is 1 W)."""
    last = len(elements)
    return "\n".join(
        f"R{k} n{k} n{k + 1 if k + 1 < last else 'end'} {R}\n"
        f"C{k} n{k} n{k + 1 if k + 1 < last else 'end'} {C} ic=0"
        for k, (R, C) in enumerate(elements)
    ).replace("nend", "0")


def _laddered(stages: tuple[tuple[float, float], ...]) -> str:
    """Return a Cauer ladder fed at n0: each capacity to ground."""
    last = len(stages)
    return "\n".join(
        f"R{k} n{k} {f'n{k + 1}' if k + 1 < last else '0'} {R}\nC{k} n{k} 0 {C} ic=0"
        for k, (R, C) in enumerate(stages)
    )


def _spice_K(folder: Path, network: str, source: str, end_s: float, step_s: float) -> Any:
    deck = f"{network}\nI1 0 n0 {source}\n.options reltol=1e-5\n"
    return simulate(folder, f"{deck}.tran {step_s} {end_s} 0 {step_s} uic\n", "v(n0)")


def test_four_lumps_are_ngspices_chain_within_a_thousandth(tmp_path: Path) -> None:
    time_s, rise_K = _spice_K(tmp_path, _chained(FOSTER), "1", 2.0, 1e-3)
    for seconds in (0.01, 0.1, 1.0, 2.0):
        judged_K = float(np.interp(seconds, time_s, rise_K))
        assert Chain(1e-3).run(1.0, seconds) == pytest.approx(judged_K, rel=1e-3)


@pytest.mark.parametrize("seconds", [0.01, 0.1, 1.0, 10.0])
def test_four_lumps_are_the_published_ladder_within_4_per_cent(
    seconds: float, tmp_path: Path
) -> None:
    # The sheet's two forms of one part differ by that much themselves (A13).
    time_s, rise_K = _spice_K(tmp_path, _laddered(CAUER), "1", seconds, seconds / 2000)
    judged_K = float(np.interp(seconds, time_s, rise_K))
    assert Chain(seconds / 1000).run(1.0, seconds) == pytest.approx(judged_K, rel=0.04)


#: What flows into the ladder: on [s], period [s], until [s].
FLOWS = {
    "step": (1e9, 2e9, 20.0),
    "single pulse": (0.1, 1e9, 1.0),
    "repeated pulses": (0.1, 1.0, 20.0),
}


@pytest.mark.parametrize("flow", FLOWS)
@pytest.mark.parametrize("lighter", [1.0, 10.0])
def test_junction_mount_and_sink_are_the_published_ladders_last_three_stages(
    flow: str, lighter: float, tmp_path: Path
) -> None:
    # The plant's junction stores its rise over the mount, the ladder's its whole temperature. So
    # it errs by no more than the junction's part of the mount's capacity, a 19th or a 190th of the
    # highest rise (`heat`, validity).
    on_s, period_s, until_s = FLOWS[flow]
    stages = ((LADDER[0][0], LADDER[0][1] / lighter), *LADDER[1:])
    path = Path3(stages, 1e-3)
    source = f"pulse(0 1 0 1u 1u {on_s} {period_s})"
    time_s, rise_K = _spice_K(tmp_path, _laddered(stages), source, until_s, 5e-4)
    worst_K = 0.0
    for k in range(round(until_s / 0.05)):
        path.run(1.0 if (k * 0.05) % period_s < on_s - 1e-9 else 0.0, 0.05)
        judged_K = float(np.interp((k + 1) * 0.05, time_s, rise_K))
        worst_K = max(worst_K, abs(path.x.junction_degC - judged_K))
    assert worst_K < stages[0][1] / stages[1][1] * float(rise_K.max())


def test_the_shipped_heat_path_is_ngspices_ladder_within_a_hundredth(tmp_path: Path) -> None:
    values: dict[str, Any] = plant_values(load("smoke_tunnel"))
    R = values["junction_mount_K_W"]
    stages = (
        (R, values["junction_tau_s"] / R),
        (values["mount_sink_K_W"], values["mount_J_K"]),
        (values["sink_air_K_W"], values["sink_J_K"]),
    )
    source = "pulse(0 5.95 0 1u 1u 60 90)"
    time_s, rise_K = _spice_K(tmp_path, _laddered(stages), source, 400.0, 0.02)
    path = Path3(stages, 5e-3)
    path.run(5.95, 0.5)
    for k in range(399):
        judged_K = float(np.interp(k + 0.5, time_s, rise_K))
        assert path.x.junction_degC == pytest.approx(judged_K, rel=1e-2, abs=0.01), k
        for half in (k + 0.5, k + 1.0):
            path.run(5.95 if half % 90 < 60 else 0.0, 0.5)


@pytest.mark.parametrize(("seconds", "times"), [(0.01, 18.4), (0.1, 4.84)])
def test_one_lump_for_the_whole_way_to_air_is_far_too_cool_in_a_short_pulse(
    seconds: float, times: float
) -> None:
    # Cut-off A's channel is one lump to air (`heat`, validity). Made to agree with the published
    # network after 1 s, 45.62 of 103.78 K/W, its time constant is 1.728 s: after 10 ms it has
    # risen 0.599 K/W where the network has 11.03, after 100 ms 5.83 where that has 28.24.
    path = Path3(((TOTAL_K_W, 1.728 / TOTAL_K_W), *HELD), seconds / 100)
    path.run(1.0, 1.0)
    assert path.x.a_degC == pytest.approx(45.62, rel=1e-3)
    path = Path3(((TOTAL_K_W, 1.728 / TOTAL_K_W), *HELD), seconds / 100)
    path.run(1.0, seconds)
    assert _foster_K_W(seconds) / path.x.a_degC == pytest.approx(times, rel=5e-3)
