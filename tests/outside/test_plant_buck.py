"""The averaged buck against textbook examples and against a switched circuit in ngspice."""

import math
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from scipy.linalg import expm

from diodewright.plant import buck, stage
from spice import simulate

# Vin, Vout, mean A, L, f: D, ripple, peak, rms.
# Hart, Power Electronics, examples 6-1 and 6-2 (values from memory, recomputed); two more from the
# same equations (Erickson and Maksimovic).
EXAMPLES = [
    (50.0, 20.0, 1.0, 400e-6, 20e3, 0.4, 1.50, 1.75, 1.0897),
    (48.0, 18.0, 1.8, 97.5e-6, 40e3, 0.375, 2.885, 3.242, 1.983),
    (12.0, 5.0, 2.0, 10e-6, 500e3, 0.4167, 0.5833, 2.292, 2.0071),
    (8.4, 4.8, 1.2, 22e-6, 300e3, 0.5714, 0.3117, 1.356, 1.2034),
]
NO_DROPS = SimpleNamespace(inductor_ohm=0.0, own_shunt_ohm=0.0, low_side_ohm=0.0, high_side_ohm=0.0)


@pytest.mark.parametrize("example", EXAMPLES)
def test_duty_ripple_peak_and_rms_are_the_books(example: tuple[float, ...]) -> None:
    in_V, out_V, mean_A, inductor_H, switching_Hz, duty, ripple_A, peak_A, rms_A = example
    found = buck.buck_duty(NO_DROPS, in_V, out_V, mean_A)
    ripple = buck.buck_ripple_A(in_V - out_V, found, 1 / (inductor_H * switching_Hz))
    assert found == pytest.approx(duty, rel=5e-3)
    assert ripple == pytest.approx(ripple_A, rel=5e-3)
    assert buck.buck_peak_A(mean_A, ripple) == pytest.approx(peak_A, rel=5e-3)
    assert math.sqrt(buck.buck_square_A2(mean_A, ripple)) == pytest.approx(rms_A, rel=5e-3)


def test_peak_and_rms_are_those_of_the_drawn_triangle() -> None:
    # Judge: the inductor's current drawn period by period from its slopes, at a load where it
    # reaches zero (discontinuous) and at one where it does not.
    in_V, out_V, inductor_H, switching_Hz = 8.0, 4.0, 47e-6, 400e3
    ripple_A = buck.buck_ripple_A(in_V - out_V, 0.5, 1 / (inductor_H * switching_Hz))
    for mean_A in (0.02, 0.5):
        if ripple_A > 2 * mean_A:
            peak_A = buck.buck_peak_A(mean_A, ripple_A)
            up_s = peak_A * inductor_H / (in_V - out_V)
            down_s = peak_A * inductor_H / out_V
            assert peak_A / 2 * (up_s + down_s) * switching_Hz == pytest.approx(mean_A, rel=1e-9)
            square_A2 = peak_A**2 / 3 * (up_s + down_s) * switching_Hz
        else:
            low_A, high_A = mean_A - ripple_A / 2, mean_A + ripple_A / 2
            assert buck.buck_peak_A(mean_A, ripple_A) == pytest.approx(high_A)
            square_A2 = (low_A**2 + low_A * high_A + high_A**2) / 3
        assert buck.buck_square_A2(mean_A, ripple_A) == pytest.approx(square_A2, rel=1e-9)


def test_the_set_filter_is_the_matrix_exponential_of_two_poles() -> None:
    # Judge: scipy.linalg.expm of [[-1/tau, 0], [1/tau, -1/tau]].
    tau_s, dt_s, duty = 2e-4, 2.5e-4, 0.8
    e = math.exp(-dt_s / tau_s)
    p = SimpleNamespace(
        set_A_V=0.5,
        set_stuck_full=0.0,
        set_open=0.0,
        set_frozen=0.0,
        set_decay=e,
        set_carry=e * dt_s / tau_s,
    )
    x = SimpleNamespace(duty=duty, rail_V=3.3, set_A=0.0, set_pole_A=0.0)
    exact = expm([[-dt_s / tau_s, 0], [dt_s / tau_s, -dt_s / tau_s]])
    goal_A = 0.5 * 3.3 * duty
    first_A = second_A = -goal_A
    for _ in range(6):
        stage.follow_set(p, x)
        first_A, second_A = (
            exact[0][0] * first_A + exact[0][1] * second_A,
            exact[1][0] * first_A + exact[1][1] * second_A,
        )
        assert x.set_pole_A == pytest.approx(goal_A + first_A, rel=1e-12)
        assert x.set_A == pytest.approx(goal_A + second_A, rel=1e-12)


#: Hart's example 6-1 with a switch and a diode of next to no drop; starts near where it settles.
HART_6_1 = """
V1 in 0 50
Vg gate 0 pulse(0 5 0 1n 1n {on_s} 50u)
S1 in sw gate 0 sw
D1 0 sw part
L1 sw out 400u ic=0.25
C1 out 0 100u ic=20
R1 out 0 20
.model sw sw(ron=0.1m roff=1meg vt=2.5)
.model part d(is=1n n=0.02)
.options reltol=1e-4 method=gear
.tran 0.1u 12m 8m 0.1u uic
"""
#: A shipped laser light's buck, synchronous, into its diode: knee and straight resistance.
SYNCHRONOUS = """
V1 in 0 {in_V}
Vg gate 0 pulse(0 5 0 1n 1n {on_s} {period_s})
S1 in sw gate 0 high
S2 sw 0 0 gate low
L1 sw a 47u ic={begin_A}
R1 a out {own_ohm}
C1 out 0 1u ic={out_V}
R2 out knee {load_ohm}
V2 knee 0 {knee_V}
.model high sw(ron={high_ohm} roff=10meg vt=2.5)
.model low sw(ron={low_ohm} roff=10meg vt=-2.5)
.options reltol=1e-4 method=gear
.tran 2n 0.36m 0.16m 4n uic
"""
#: The same with a diode below, at a mean so low that the current ends within the period.
DISCONTINUOUS = """
V1 in 0 8
Vg gate 0 pulse(0 5 0 1n 1n {on_s} 2.5u)
S1 in sw gate 0 sw
D1 0 sw part
L1 sw out 47u ic=0
V2 out 0 4
.model sw sw(ron=1m roff=10meg vt=2.5)
.model part d(is=1n n=0.02)
.options reltol=1e-4 method=gear
.tran 2n 60u 50u 2n uic
"""


def _of(time_s: Any, values: Any) -> tuple[float, float, float, float]:
    """Return mean, rms, highest and lowest of a simulated current, by the time between points."""
    length_s = time_s[-1] - time_s[0]
    mean = float(np.trapezoid(values, time_s) / length_s)
    square = float(np.trapezoid(values**2, time_s) / length_s)
    return mean, math.sqrt(square), float(values.max()), float(values.min())


def test_harts_example_switches_as_the_average_says(tmp_path: Path) -> None:
    # Judge: ngspice, 80 whole periods at the plant's own duty; the plant within a half per cent.
    duty = buck.buck_duty(NO_DROPS, 50.0, 20.0, 1.0)
    time_s, inductor_A, out_V = simulate(
        tmp_path, HART_6_1.format(on_s=duty * 50e-6), "i(L1) v(out)"
    )
    mean_A, rms_A, highest_A, lowest_A = _of(time_s, inductor_A)
    ripple_A = buck.buck_ripple_A(30.0, duty, 1 / (400e-6 * 20e3))
    assert float(np.trapezoid(out_V, time_s) / (time_s[-1] - time_s[0])) == pytest.approx(
        20.0, rel=2e-3
    )
    assert mean_A == pytest.approx(1.0, rel=5e-3)
    assert highest_A - lowest_A == pytest.approx(ripple_A, rel=5e-3)
    assert highest_A == pytest.approx(buck.buck_peak_A(1.0, ripple_A), rel=5e-3)
    assert rms_A == pytest.approx(math.sqrt(buck.buck_square_A2(1.0, ripple_A)), rel=5e-3)


@pytest.mark.parametrize("in_V", [5.6, 7.4, 8.4])
def test_duty_ripple_and_loss_with_all_drops_are_the_switched_circuits(
    in_V: float, tmp_path: Path
) -> None:
    # Judge: ngspice, 80 periods of a synchronous buck at the duty that the plant finds for 1.5 A.
    # One thousandth of duty is some 10 mA here: duty and its drops are judged by the mean.
    mean_A, knee_V, load_ohm = 1.5, 3.7, 0.65
    p = SimpleNamespace(
        inductor_ohm=0.05, own_shunt_ohm=0.05, low_side_ohm=0.03, high_side_ohm=0.08
    )
    out_V = knee_V + mean_A * load_ohm
    duty = buck.buck_duty(p, in_V, out_V, mean_A)
    on_V = in_V - out_V - mean_A * (p.high_side_ohm + p.inductor_ohm + p.own_shunt_ohm)
    ripple_A = buck.buck_ripple_A(on_V, duty, 1 / (47e-6 * 400e3))
    deck = SYNCHRONOUS.format(
        in_V=in_V,
        on_s=duty * 2.5e-6 - 1e-9,
        period_s=2.5e-6,
        begin_A=mean_A - ripple_A / 2,
        own_ohm=p.inductor_ohm + p.own_shunt_ohm,
        out_V=out_V,
        load_ohm=load_ohm,
        knee_V=knee_V,
        high_ohm=p.high_side_ohm,
        low_ohm=p.low_side_ohm,
    )
    time_s, inductor_A, source_A = simulate(tmp_path, deck, "i(L1) i(V1)")
    found_A, rms_A, highest_A, lowest_A = _of(time_s, inductor_A)
    assert found_A == pytest.approx(mean_A, rel=5e-3)
    assert highest_A - lowest_A == pytest.approx(ripple_A, rel=1e-2)
    assert highest_A == pytest.approx(buck.buck_peak_A(mean_A, ripple_A), rel=5e-3)
    taken_W = -in_V * float(np.trapezoid(source_A, time_s) / (time_s[-1] - time_s[0]))
    lost_W = rms_A**2 * buck.buck_ohm(p, duty)
    spent_W = found_A * knee_V + found_A**2 * load_ohm + lost_W
    assert taken_W == pytest.approx(spent_W, rel=5e-3)


def test_a_discontinuous_current_peaks_as_the_switched_circuit_does(tmp_path: Path) -> None:
    # Judge: ngspice, four periods at 20 mA; its duty is peak times L f over the voltage across it.
    mean_A = 0.02
    ripple_A = buck.buck_ripple_A(4.0, 0.5, 1 / (47e-6 * 400e3))
    peak_A = buck.buck_peak_A(mean_A, ripple_A)
    on_s = peak_A * 47e-6 / 4.0
    time_s, inductor_A = simulate(tmp_path, DISCONTINUOUS.format(on_s=on_s - 1e-9), "i(L1)")
    found_A, rms_A, highest_A, lowest_A = _of(time_s, inductor_A)
    assert found_A == pytest.approx(mean_A, rel=1e-2)
    assert highest_A == pytest.approx(peak_A, rel=1e-2)
    assert lowest_A == pytest.approx(0.0, abs=1e-3)
    assert rms_A == pytest.approx(math.sqrt(buck.buck_square_A2(mean_A, ripple_A)), rel=1e-2)
