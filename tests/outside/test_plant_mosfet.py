"""Self-heating of the low-side MOSFET against its closed form, runaway included."""

import math
from types import SimpleNamespace
from typing import Any

import pytest

from diodewright.plant import heat, switch


def _heated(
    current_A: float,
    a_ohm: float,
    theta_K_W: float,
    ambient_degC: float,
    steps: int = 2000,
    steps_a_tau: int = 10,
) -> Any:
    """Return the state after `steps` (200 time constants) at a held current."""
    p = SimpleNamespace(
        a_ohm=a_ohm,
        a_tempco_1_K=0.005,
        a_air_K_W=theta_K_W,
        a_decay=math.exp(-1 / steps_a_tau),
        ambient_degC=ambient_degC,
        junction_mount_K_W=1.0,
        junction_decay=0.5,
        junction_J_K=0.01,
        mount_sink_W_K=1.0,
        sink_air_W_K=1.0,
        mount_K_J=0.1,
        sink_K_J=0.1,
    )
    x = SimpleNamespace(
        a_degC=ambient_degC,
        heat_W=0.0,
        junction_rise_K=0.0,
        mount_degC=ambient_degC,
        sink_degC=ambient_degC,
        air_J=0.0,
    )
    for _ in range(steps):
        x.a_loss_W = current_A * current_A * switch.a_now_ohm(p, x)
        heat.warm_up(p, x, 0.001)
    return x


@pytest.mark.parametrize(
    ("current_A", "a_ohm", "theta_K_W", "ambient_degC", "settled_degC"),
    [
        (3.0, 0.020, 62.0, 40.0, 52.71),
        (5.0, 0.030, 62.0, 40.0, 105.13),
        (3.0, 0.060, 125.0, 40.0, 149.53),
    ],
)
def test_the_channel_settles_where_the_fixed_point_is(
    current_A: float, a_ohm: float, theta_K_W: float, ambient_degC: float, settled_degC: float
) -> None:
    # Tj = [Ta + theta I^2 R25 (1 - 25 alpha)]/(1 - g), g = theta I^2 R25 alpha; alpha 0.5 %/K:
    # Texas Instruments BQ24650 text ("RDS(on) increases by 50 % with 100 degC rise").
    x = _heated(current_A, a_ohm, theta_K_W, ambient_degC)
    assert x.a_degC == pytest.approx(settled_degC, rel=5e-3)


def test_it_runs_away_above_10_37_A_and_not_below() -> None:
    # g = 1 at I = sqrt(1/(theta R25 alpha)) = 10.37 A for 30 mOhm, 62 K/W. Just above, the only
    # end is where the model's resistance is held (400 degC): far past any part's limit.
    run_A = math.sqrt(1 / (62 * 0.030 * 0.005))
    assert run_A == pytest.approx(10.37, rel=1e-3)
    assert _heated(1.02 * run_A, 0.030, 62.0, 40.0).a_degC > 400
    below = 0.70 * run_A
    gain = 62 * below**2 * 0.030 * 0.005
    settled_degC = (40 + 62 * below**2 * 0.030 * (1 - 25 * 0.005)) / (1 - gain)
    assert _heated(below, 0.030, 62.0, 40.0).a_degC == pytest.approx(settled_degC, rel=5e-3)
    assert settled_degC < 400


def test_the_gain_around_the_loop_is_the_published_2325_ten_thousandths() -> None:
    # One kelvin of air is 1/(1 - g) kelvin of channel: g = 0.2325 at 5 A, 30 mOhm, 62 K/W, 0.5 %/K.
    cool, warm = (_heated(5.0, 0.030, 62.0, ambient_degC).a_degC for ambient_degC in (40.0, 41.0))
    assert 1 - 1 / (warm - cool) == pytest.approx(0.2325, rel=5e-3)


@pytest.mark.parametrize("current_A", [5.0, 9.0, 10.37, 12.0])
def test_it_climbs_as_the_feedback_stretches_or_turns_its_time_constant(current_A: float) -> None:
    # tau T' = theta I^2 R25 (1 + alpha (T - 25)) - (T - Ta): with P the power when cold,
    # T = Ta + theta P (e^((g - 1) t/tau) - 1)/(g - 1): below g = 1 it settles, above it climbs
    # ever faster. After one time constant, all still within the model's range of 400 degC.
    power_W = current_A**2 * 0.030 * (1 + 0.005 * 15.0)
    over = 62 * current_A**2 * 0.030 * 0.005 - 1
    expected_K = 62 * power_W * math.expm1(over) / over
    found = _heated(current_A, 0.030, 62.0, 40.0, steps=1000, steps_a_tau=1000)
    assert found.a_degC - 40.0 == pytest.approx(expected_K, rel=2e-3)
    assert found.a_degC < 400
