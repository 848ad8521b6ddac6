"""What is continued from the last evaluation is what would be evaluated anew."""

import math
import random
from collections.abc import Callable
from typing import Any

import pytest

from diodewright.plant import diode, near

Maker = Callable[..., Any]


@pytest.mark.parametrize("share", [-1, -0.5, -1e-6, 0, 1e-6, 0.5, 1])
def test_the_series_are_as_near_as_they_say(share: float) -> None:
    u = share * near.NEAR_SHARE
    assert near.is_near(u)
    assert near.exp_near(u) == pytest.approx(math.exp(u), rel=5e-16, abs=0)
    assert near.log_near(u) == pytest.approx(math.log1p(u), rel=0, abs=7e-15)


def test_beyond_that_they_are_not_used() -> None:
    assert not near.is_near(1.01 * near.NEAR_SHARE)
    assert not near.is_near(-1.01 * near.NEAR_SHARE)
    assert not near.is_near(math.nan)


def _walk(start: float, step: float, low: float, high: float) -> list[float]:
    """Return steps and jumps, seeded: most are near the one before, some are far."""
    pick, at, taken = random.Random(3), start, []
    for _ in range(3_000):
        at += pick.uniform(-step, step) * pick.choice([1, 1, 1, 300])
        at = min(max(at, low), high)
        taken.append(at)
    return taken


def test_voltage_threshold_and_slope_follow_any_walk_as_if_evaluated_each_time(rig: Maker) -> None:
    made = rig(diode_b_V=0.1, threshold_T0_K=60, slope_T1_K=-80)
    p, x = made.p, made.x
    evaluated = set()
    for current_A in _walk(1.0, 1e-3, 0.0, 3.0):
        exact_V = diode.forward_V(p, p.diode_knee_V, current_A)
        assert diode.lit_V(p, x, p.diode_knee_V, current_A) == pytest.approx(exact_V, rel=1e-14)
        evaluated.add(x.log_there)
    assert 100 < len(evaluated) < 2_900, "some were continued, some evaluated anew"
    for rise_K in _walk(30.0, 0.02, -80.0, 300.0):
        threshold_A = p.threshold_A * p.threshold_factor * math.exp(rise_K / 60)
        slope_W_A = p.slope_W_A * p.light_factor * math.exp(rise_K / 80)
        assert diode.threshold_now_A(p, x, rise_K) == pytest.approx(threshold_A, rel=2e-15)
        assert diode.slope_now_W_A(p, x, rise_K) == pytest.approx(slope_W_A, rel=2e-15)


def test_a_changed_diode_is_evaluated_anew(rig: Maker) -> None:
    made = rig(diode_b_V=0.1)
    diode.lit_V(made.p, made.x, made.p.diode_knee_V, 1.5)
    diode.threshold_now_A(made.p, made.x, 50.0)
    made.change(diode_floor_A=made.p.diode_floor_A * 3, threshold_T0_K=60)
    exact_V = diode.forward_V(made.p, made.p.diode_knee_V, 1.5)
    assert diode.lit_V(made.p, made.x, made.p.diode_knee_V, 1.5) == pytest.approx(
        exact_V, rel=1e-14
    )
    exact_A = made.p.threshold_A * math.exp(50 / 60)
    assert diode.threshold_now_A(made.p, made.x, 50.0) == pytest.approx(exact_A, rel=2e-15)
