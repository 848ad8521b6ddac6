"""Edges within microseconds against closed forms and an integrated circuit."""

import math
from types import SimpleNamespace
from typing import Any

import pytest
from scipy.integrate import solve_ivp

from diodewright.plant import comparator


@pytest.mark.parametrize(
    ("charged_V", "forward_V", "loop_ohm", "peak_A"),
    [(8.4, 4.8, 1.0, 3.60), (8.4, 4.8, 0.3, 12.0), (12.0, 3.2, 0.5, 17.6)],
)
def test_a_re_made_contact_draws_its_surge(
    charged_V: float, forward_V: float, loop_ohm: float, peak_A: float
) -> None:
    # I = (Vc - Vf)/R, charge C (Vc - Vf); a circuit simulation of the first (100 uF) gave 3.592 A.
    assert comparator.reconnection_A(charged_V, forward_V, loop_ohm, 0) == pytest.approx(peak_A)


@pytest.mark.parametrize("ohm", [0.05, 0.5, 2.0, 10.0])
def test_wiring_bounds_the_surge_and_the_bound_is_not_far(ohm: float) -> None:
    """Judge: SciPy on the series RLC, 0.3 uH and 0.1 uF, 1 V above the knee."""
    loop_H, output_F = 0.3e-6, 0.1e-6

    def slope(_: float, y: Any) -> list[float]:
        return [-y[1] / output_F, (y[0] - ohm * y[1]) / loop_H]

    run: Any = solve_ivp(slope, (0, 3e-6), [1.0, 0.0], rtol=1e-9, atol=1e-12, max_step=2e-9)
    judged_A = float(run.y[1].max())
    bound_A = comparator.reconnection_A(4.8, 3.8, ohm, math.sqrt(loop_H / output_F))
    assert judged_A <= bound_A <= 2.2 * judged_A


def test_an_uncharged_output_draws_none() -> None:
    assert comparator.reconnection_A(4.0, 4.8, 1.0, 0) == 0


def test_the_trip_peak_is_the_integrated_current_one_delay_after_the_trip() -> None:
    # Judge: SciPy on L di/dt = V - Vd - R i, from rest to 1 us past the trip; the closed form holds
    # the slope without R's drop within the delay and so errs high, by under 0.5 %.
    p = SimpleNamespace(trip_A=1.75, trip_delay_s=1e-6, inductor_H=47e-6, inductor_factor=1.0)
    pack_V, knee_V, rs_ohm = 8.2, 3.7, 0.55

    def slope(_: float, y: Any) -> list[float]:
        return [(pack_V - knee_V - rs_ohm * y[0]) / 47e-6]

    def crossing(_: float, y: Any) -> float:
        return float(y[0]) - 1.75

    run: Any = solve_ivp(slope, (0, 1e-4), [0.0], events=crossing, rtol=1e-10, dense_output=True)
    judged_A = float(run.sol(run.t_events[0][0] + 1e-6)[0])
    found_A = comparator.trip_peak_A(p, 1.75, pack_V, knee_V + rs_ohm * 1.75, 10.0)
    assert judged_A <= found_A <= 1.005 * judged_A


def test_the_inductor_leaves_its_energy_in_the_output_capacitor() -> None:
    # Judge: SciPy on L di/dt = -v, C dv/dt = i (free-wheeling) until the current is spent.
    p = SimpleNamespace(inductor_H=47e-6, inductor_factor=1.0, output_F=1e-6, output_clamp_V=1000.0)

    def slope(_: float, y: Any) -> list[float]:
        return [-y[1] / 47e-6, y[0] / 1e-6]

    def spent(_: float, y: Any) -> float:
        return float(y[0])

    spent.terminal = True  # type: ignore[attr-defined]
    run: Any = solve_ivp(slope, (0, 1e-4), [1.5, 5.5], events=spent, rtol=1e-10, atol=1e-12)
    assert comparator.dumped_V(p, 5.5, 1.5) == pytest.approx(float(run.y[1][-1]), rel=1e-6)
    assert math.isclose(comparator.dumped_V(p, 5.5, 0.0), 5.5)
    p.output_clamp_V = 8.0
    assert comparator.dumped_V(p, 5.5, 1.5) == 8.0
    assert comparator.dumped_V(p, 9.0, 1.5) == 9.0
