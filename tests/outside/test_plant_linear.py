"""The linear stage against published examples, closed forms and a circuit simulator."""

import math
import shutil
import subprocess
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from scipy.linalg import expm

from diodewright.plant import comparator, factors, heat, record, step
from diodewright.plant.params import PARAM_RECORD, STATE

DT_s = 0.00025
#: A supply without resistance into a flat load whose power all leaves as light, none as heat.
PLAIN: dict[str, Any] = {
    "stage_kind": 1,
    "pack_kind": 1,
    "bench_limit_A": 20,
    "bench_ohm": 1e-4,
    "wiring_ohm": 0,
    "usb": 1,
    "cell_capacity_Ah": 1,
    "cell_R0_ohm": 0.01,
    "ocv_soc": [k / 12 for k in range(13)],
    "ocv_V": [3 + k / 12 for k in range(13)],
    "set_full_A": 2,
    "set_filter_s": 1e-5,
    "inductor_H": 1e-5,
    "inductor_ohm": 0,
    "own_shunt_ohm": 1e-4,
    "switching_Hz": 1e5,
    "stage_idle_W": 0,
    "bleeder_ohm": 1e7,
    "lead_ohm": 0,
    "monitor_ohm": 1e-4,
    "a_ohm": 1e-4,
    "trip_A": 50,
    "trip_V": 50,
    "diode_rs_ohm": 0,
    "slope_W_A": 20,
    "junction_mount_K_W": 1,
    "mount_J_K": 0.05,
    "mount_sink_K_W": 1,
    "sink_J_K": 0.05,
    "sink_air_K_W": 10,
}


def _lit(seconds: float, current_A: float, **changes: Any) -> tuple[Any, Any]:
    """Return parameters and state after `seconds` at `current_A`, uncompiled."""
    p = record.make(PARAM_RECORD, PLAIN | changes, compiled=False).record
    x = record.make(STATE, {"latch": 0, "enable_b": 1, "duty": current_A / 2}, compiled=False)
    factors.prepare(p, DT_s)
    step.settle(p, x.record)
    for _ in range(round(seconds / DT_s)):
        x.record.pulse_edge = 1.0
        step.advance(p, x.record, DT_s)
    return p, x.record


# Vin, Vout, load A, efficiency, dissipation W, K/W in all, air, channel; as published:
# 12 to 5 V at 1 A, 5 + 1 + 10 K/W: IP331, Linear Regulator Power Dissipation Calculator, example;
# 5 to 3.3 V at 150 mA, 205 K/W: 3roam, Voltage Regulator Temperature Calculator, example (which
# gives 256 mW, 1 mW of it the regulator's own current);
# 12 to 3.3 V at 0.5 A, 4.35 W and 1.65 W: VBAT, Linear Regulator Dissipation, example (no heat);
# 3.6 to 1.8 V at 0.1 A in 40 degC air, 600 mW allowed at 25 degC up to 150 degC: Toshiba, Basics
# of low-dropout (LDO) regulators, 4-2 (the figures read there; 77.5 degC by its equations).
EXAMPLES = [
    (12.0, 5.0, 1.0, 0.417, 7.0, 16.0, 25.0, 137.0),
    (5.0, 3.3, 0.15, 0.66, 0.255, 205.0, 25.0, 77.5),
    (12.0, 3.3, 0.5, 1.65 / 6.0, 4.35, None, 25.0, None),
    (3.6, 1.8, 0.1, 0.5, 0.18, 125 / 0.6, 40.0, 77.5),
]


@pytest.mark.parametrize("example", EXAMPLES)
def test_efficiency_dissipation_and_channel_are_the_published(example: tuple[Any, ...]) -> None:
    in_V, out_V, load_A, efficiency, lost_W, total_K_W, air_degC, channel_degC = example
    _, x = _lit(
        8.0,
        load_A,
        bench_V=in_V,
        diode_a_V=out_V,
        ambient_degC=air_degC,
        pass_sink_K_W=(total_K_W or 20) - 10,
    )
    assert x.heat_W == 0 and x.dropout == 0
    given_W, taken_W = x.output_V * x.diode_A, x.pack_V * x.pack_A
    assert given_W / taken_W == pytest.approx(efficiency, rel=1e-3)
    assert x.pass_loss_W == pytest.approx(lost_W, rel=1e-3)
    assert taken_W - given_W == pytest.approx(lost_W, rel=1e-3)
    if channel_degC is not None:
        assert x.pass_degC == pytest.approx(channel_degC, abs=0.3)
        assert x.sink_degC == pytest.approx(air_degC + 10 * lost_W, rel=2e-3)


@pytest.mark.parametrize("in_V", [4.0, 5.0, 8.4])
def test_its_own_current_costs_what_the_published_formula_says(in_V: float) -> None:
    # eta = Vout Iout / (Vin (Iout + Icc)): ROHM, How to determine efficiency and thermal design
    # for linear regulator ICs (2025); the same as Toshiba, Basics of LDO regulators, 4-1.
    own_A, load_A = 0.02, 0.5
    _, x = _lit(0.05, load_A, bench_V=in_V, diode_a_V=3.3, stage_idle_W=own_A * in_V)
    found = x.output_V * x.diode_A / (x.pack_V * x.pack_A)
    assert found == pytest.approx(3.3 * load_A / (in_V * (load_A + own_A)), rel=1e-3)


@pytest.mark.parametrize(("seconds", "rise_K"), [(0.5, 26.55), (1.0, 36.32), (5.0, 42.00)])
def test_a_step_of_dissipation_follows_the_one_lump(seconds: float, rise_K: float) -> None:
    # P R (1 - exp(-t/tau)) with JESD51 terms: 7 W, 6 K/W, tau 0.5 s, the sink held.
    p = SimpleNamespace(
        pass_sink_K_W=6.0, pass_decay=math.exp(-0.01 / 0.5), pass_J_K=0.5 / 6, sink_K_J=0.0
    )
    x = SimpleNamespace(
        pass_loss_W=7.0, pass_rise_K=0.0, pass_degC=25.0, sink_degC=25.0, pass_J=0.0
    )
    for _ in range(round(seconds / 0.01)):
        heat.warm_pass(p, x, 0.01)
    assert x.pass_rise_K == pytest.approx(rise_K, rel=5e-4)
    assert x.pass_degC == 25.0 + x.pass_rise_K
    assert x.pass_J == pytest.approx(7.0 * seconds, rel=1e-9)


def test_channel_and_sink_are_the_matrix_exponential_of_two_lumps() -> None:
    # Judge: scipy.linalg.expm of r' = (P R - r)/tau, Cs s' = r/R - s/Rs (r over the sink).
    _, x = _lit(
        2.0, 0.5, bench_V=8.0, diode_a_V=3.0, pass_sink_K_W=4, pass_tau_s=0.3, sink_J_K=0.5,
        mount_sink_K_W=1e6, ambient_degC=0, stage_startup_s=0,
    )  # fmt: skip
    lost_W = 5.0 * 0.5
    system = np.array([[-1 / 0.3, 0, 4 * lost_W / 0.3], [1 / 4 / 0.5, -1 / 10 / 0.5, 0], [0, 0, 0]])
    rise_K, sink_degC, _ = expm(system * 2.0) @ np.array([0.0, 0.0, 1.0])
    assert x.pass_rise_K == pytest.approx(rise_K, rel=2e-3)
    assert x.sink_degC == pytest.approx(sink_degC, rel=2e-3)


# A shorted pass, as the builder of a small laser light meets it.
SHORT: dict[str, Any] = {
    "bench_V": 8.4,
    "bench_ohm": 0.05,
    "wiring_ohm": 0.06,
    "inductor_ohm": 0.03,
    "own_shunt_ohm": 0.05,
    "pass_ohm": 0.04,
    "monitor_ohm": 0.05,
    "lead_ohm": 0.02,
    "a_ohm": 0.02,
    "a_tempco_1_K": 0,
    "diode_a_V": 3.85,
    "diode_rs_ohm": 0.55,
    "slope_W_A": 0.8,
    "trip_A": 1.75,
    "output_F": 1e-6,
}
OWN_ohm = 0.05 + 0.06 + 0.03 + 0.05 + 0.04
PATH_ohm = 0.05 + 0.02 + 0.02 + 0.55


def _shorted(**changes: Any) -> tuple[float, Any]:
    """Return the current [A] before, and the state one sub-step after the pass has shorted."""
    p, x = _lit(0.03, 1.2, **(SHORT | changes))
    before_A = x.stage_A
    p.stage_stuck_full = 1.0
    x.pulse_edge = 1.0
    step.advance(p, x, DT_s)
    return float(before_A), x


@pytest.mark.parametrize("inductor_uH", [47, 150, 470])
@pytest.mark.parametrize("delay_us", [0.5, 1.0, 2.0])
def test_the_peak_after_a_short_is_the_rl_step_response(
    inductor_uH: float, delay_us: float
) -> None:
    # i(t) = I + (i0 - I) exp(-t R/L), I = (V - Vf)/R: the delay after it passes the trip. The
    # plant holds the slope that the pack's and the diode's voltage give and so errs high, by no
    # more than what all other resistances take off it.
    _, x = _shorted(inductor_H=inductor_uH * 1e-6, trip_delay_s=delay_us * 1e-6)
    ohm = OWN_ohm + PATH_ohm
    end_A = (8.4 - 3.85) / ohm
    fallen = math.exp(-delay_us / inductor_uH * ohm)
    judged_A = end_A + (1.75 - end_A) * fallen
    assert x.latch == 1
    assert judged_A <= x.diode_peak_A
    assert x.diode_peak_A <= judged_A + 1.75 * (ohm - 0.55) * delay_us / inductor_uH


def test_the_slope_after_a_short_is_voltage_over_inductance() -> None:
    # V = L di/dt, V what the pack's voltage leaves over the diode's at the moment of the trip.
    for inductor_H in (47e-6, 470e-6):
        peaks_A = [
            _shorted(inductor_H=inductor_H, trip_delay_s=delay_s)[1].diode_peak_A
            for delay_s in (1e-6, 2e-6)
        ]
        left_V = (8.4 - 1.2 * 0.11) - (3.85 + 0.55 * 1.75)
        assert (peaks_A[1] - peaks_A[0]) / 1e-6 == pytest.approx(left_V / inductor_H, rel=1e-3)


NETLIST = """A pass MOSFET shorts while it carries 1.2 A
V1 pack 0 8.4
R1 pack a {own_ohm}
L1 a out {inductor_H} ic={before_A}
C1 out 0 1u ic={output_V}
R2 out knee {path_ohm}
V2 knee 0 3.85
.tran 10n {end_s} 0 10n uic
.control
run
wrdata {data} i(L1) i(V2)
quit 0
.endc
.end
"""


def _simulate(folder: Path, end_s: float, inductor_H: float, before_A: float) -> Any:
    """Return time, inductor and diode current of the same case, simulated by ngspice."""
    program = shutil.which("ngspice")
    if program is None:
        pytest.skip("ngspice is not installed: the shorted pass is judged by the closed form only")
    data = folder / "short.data"
    text = NETLIST.format(
        own_ohm=OWN_ohm,
        path_ohm=PATH_ohm,
        inductor_H=inductor_H,
        before_A=before_A,
        output_V=3.85 + before_A * PATH_ohm,
        end_s=end_s,
        data=data,
    )
    netlist = folder / "short.cir"
    netlist.write_text(text)
    subprocess.run([program, "-b", str(netlist)], cwd=folder, capture_output=True, check=True)
    columns = np.loadtxt(data)
    return columns[:, 0], columns[:, 1], columns[:, 3]


def test_a_shorted_pass_ends_where_the_simulated_circuit_ends(tmp_path: Path) -> None:
    # Judge: ngspice, 2 ms after the short; comparators dead. Steady state within 0.1 %.
    before_A, x = _shorted(over_current_dead=1, over_voltage_dead=1, inductor_H=47e-6)
    _, inductor_A, diode_A = _simulate(tmp_path, 2e-3, 47e-6, before_A)
    assert x.diode_A == pytest.approx(diode_A[-1], rel=1e-3)
    assert x.stage_A == pytest.approx(inductor_A[-1], rel=1e-3)
    assert x.diode_A > 5


@pytest.mark.parametrize("inductor_H", [47e-6, 150e-6])
def test_a_shorted_pass_peaks_like_the_simulated_circuit(inductor_H: float, tmp_path: Path) -> None:
    # Judge: ngspice, the diode's current 1 us after it passes the trip, output capacitor and all.
    before_A, x = _shorted(inductor_H=inductor_H, trip_delay_s=1e-6)
    time_s, _, diode_A = _simulate(tmp_path, 2e-4, inductor_H, before_A)
    trip_s = np.interp(1.75, diode_A, time_s)
    judged_A = float(np.interp(trip_s + 1e-6, time_s, diode_A))
    assert judged_A <= x.diode_peak_A <= 1.01 * judged_A


def test_the_dump_is_that_of_the_loops_inductance() -> None:
    # Energy: L I^2/2 into C; leads of 1 uH and a choke of 47 uH at 1.5 A into 1 uF at 5 V.
    for inductor_H, peak_V in ((1e-6, math.sqrt(25 + 2.25)), (47e-6, math.sqrt(25 + 105.75))):
        p = SimpleNamespace(
            inductor_H=inductor_H, inductor_factor=1.0, output_F=1e-6, output_clamp_V=1000.0
        )
        assert comparator.dumped_V(p, 5.0, 1.5) == pytest.approx(peak_V, rel=1e-9)
