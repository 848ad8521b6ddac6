"""The averaged buck against textbook examples."""

import math
from types import SimpleNamespace

import pytest
from scipy.linalg import expm

from diodewright.plant import buck, stage

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
        set_A_V=0.5, set_stuck_full=0.0, set_open=0.0, set_decay=e, set_carry=e * dt_s / tau_s
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
