"""Points to parameters: exact on exact points, as good as an independent solver on others."""

import math

import numpy as np
import pytest
from scipy import optimize, stats

from diodewright.build import PointsError, fit_forward, fit_light, load
from diodewright.build.points import slope_limit_W_A

THERMAL_V = 0.025693  # kT/q at 298.15 K, from the exact SI constants (any text on semiconductors)


def test_example_forward_curve_lies_within_10_mV_of_every_point() -> None:
    points = load("smoke_tunnel").diode.forward_points_A_V
    fit = fit_forward(points)
    for current_A, voltage_V in points:
        assert fit.voltage_V(current_A) == pytest.approx(voltage_V, abs=0.010)
    worst_V = max(abs(fit.voltage_V(i) - v) for i, v in points)
    assert fit.worst_V == pytest.approx(worst_V, abs=1e-12)


def test_example_light_curve_has_threshold_and_slope_of_the_diode_it_was_made_from() -> None:
    fit = fit_light(load("smoke_tunnel").diode.light_points_A_W)
    assert fit.threshold_A == pytest.approx(0.25, rel=1e-9)
    assert fit.slope_W_A == pytest.approx(0.85, rel=1e-9)
    assert fit.light_W(0.2) == 0
    assert fit.light_W(1.0) == pytest.approx(0.6375)


@pytest.mark.parametrize("ideality", [1.0, 1.5, 2.0, 3.5])
@pytest.mark.parametrize("rs_ohm", [0.0, 0.1, 1.2])
def test_points_of_a_known_diode_give_its_parameters_back(ideality: float, rs_ohm: float) -> None:
    # Shockley's diode with series resistance, solved for its own parameters
    saturation_A = 1e-20
    b_V = ideality * THERMAL_V
    points = [
        (i, b_V * math.log(i / saturation_A + 1) + i * rs_ohm) for i in (0.01, 0.1, 0.5, 1.0, 2.0)
    ]
    fit = fit_forward(points)
    assert fit.b_V == pytest.approx(b_V, rel=1e-4, abs=1e-6)
    assert fit.rs_ohm == pytest.approx(rs_ohm, rel=1e-4, abs=1e-5)
    assert fit.a_V == pytest.approx(-b_V * math.log(saturation_A), rel=1e-4)


@pytest.mark.parametrize("seed", range(25))
def test_forward_fit_is_as_good_as_an_independent_bounded_solver(seed: int) -> None:
    rng = np.random.default_rng(seed)
    current = np.sort(rng.uniform(0.05, 3.0, 8))
    voltage = 2.0 + 0.02 * np.arange(8) + rng.uniform(0, 1) * current + rng.normal(0, 0.004, 8)
    voltage = np.maximum.accumulate(voltage) + 1e-4 * np.arange(8)
    fit = fit_forward(list(zip(current.tolist(), voltage.tolist(), strict=True)))
    basis = np.column_stack([np.ones(8), np.log(current), current])
    # Stark and Parker's bounded-variable least squares, scipy.optimize.lsq_linear(method="bvls")
    judge = optimize.lsq_linear(
        basis, voltage, bounds=([-np.inf, THERMAL_V, 0], np.inf), method="bvls", tol=1e-14
    )
    ours = np.array([fit.a_V, fit.b_V, fit.rs_ohm])
    assert np.sum((basis @ ours - voltage) ** 2) <= 2 * judge.cost + 1e-8
    assert ours == pytest.approx(judge.x, rel=1e-3, abs=1e-4)


@pytest.mark.parametrize("seed", range(10))
def test_light_fit_is_the_regression_line_of_an_independent_library(seed: int) -> None:
    rng = np.random.default_rng(seed)
    current = np.linspace(0.6, 2.0, 9)
    light = 0.9 * (current - 0.3) + rng.normal(0, 0.01, 9)
    light = np.maximum.accumulate(light)
    fit = fit_light(list(zip(current.tolist(), light.tolist(), strict=True)))
    line = stats.linregress(current, light)
    assert fit.slope_W_A == pytest.approx(line.slope, rel=1e-9)
    assert fit.threshold_A == pytest.approx(-line.intercept / line.slope, rel=1e-9)


def test_points_in_the_bend_at_the_threshold_do_not_lean_on_the_line() -> None:
    straight = [(0.5, 0.2125), (1.0, 0.6375), (1.5, 1.0625)]
    bend = [(0.0, 0.0), (0.1, 0.001), (0.2, 0.003), (0.25, 0.012)]
    assert fit_light([*bend, *straight]).threshold_A == pytest.approx(0.25, rel=1e-9)


def test_two_points_are_enough_and_hold_the_logarithm_at_an_ideal_junction() -> None:
    fit = fit_forward([(0.5, 4.0), (1.5, 4.5)])
    assert fit.b_V == pytest.approx(THERMAL_V, rel=1e-4)
    assert fit.worst_V < 1e-9
    # flatter than any junction with resistance: what is left is the logarithm
    flat = fit_forward([(0.1, 3.0), (1.0, 3.05)])
    assert flat.rs_ohm == 0


def test_below_the_points_the_voltage_falls_as_a_junctions_does() -> None:
    fit = fit_forward(load("smoke_tunnel").diode.forward_points_A_V)
    # a decade less current is at least 59 mV less, the slope of an ideal junction at 25 degC
    assert fit.voltage_V(0.002) - fit.voltage_V(0.0002) >= 0.059


def test_an_led_has_threshold_0_and_its_droop_is_reported() -> None:
    fit = fit_light([(0.35, 0.35), (0.7, 0.67), (1.4, 1.25)], laser=False)
    assert fit.threshold_A == 0
    # through the origin: sum(I P) / sum(I^2)
    assert fit.slope_W_A == pytest.approx((0.1225 + 0.469 + 1.75) / (0.1225 + 0.49 + 1.96))
    assert fit.worst_W > 0.02


@pytest.mark.parametrize(
    ("points", "said"),
    [
        ([(1.0, 3.0)], "at least two points"),
        ([(1.0, 3.0), (1.0, 3.1)], "current must rise"),
        ([(1.0, 3.0), (2.0, 2.9)], "voltage must rise"),
        ([(1.0, 3.0), (2.0, 3.0)], "voltage must rise"),
        ([(0.0, 1.0), (1.0, 3.0)], "above 0"),
        ([(1.0, math.nan), (2.0, 3.0)], "finite"),
        ([(0.1, 2.0), (0.5, 2.01), (1.5, 4.0)], r"no diode's curve: at .* A it lies"),
    ],
)
def test_forward_points_of_no_diode_are_refused(
    points: list[tuple[float, float]], said: str
) -> None:
    with pytest.raises(PointsError, match=said):
        fit_forward(points)


@pytest.mark.parametrize(
    ("points", "said"),
    [
        ([(0.5, 0.2)], "at least two points"),
        ([(0.5, 0.2), (1.0, 0.1)], "light must rise"),
        ([(0.5, 0.0), (1.0, 0.0)], "light must rise"),
        ([(0.5, 0.0), (1.0, 0.5)], "two points well above"),
        ([(0.5, 0.5), (1.0, 0.5)], "no threshold"),
        ([(0.5, 0.5), (1.0, 0.8)], "no threshold"),
        ([(0.5, 0.2), (0.6, 1.0), (2.0, 1.1)], "no threshold|no straight line"),
        ([(0.3, 0.1), (0.6, 0.2), (1.0, 1.0)], "no straight line"),
    ],
)
def test_light_points_of_no_laser_are_refused(points: list[tuple[float, float]], said: str) -> None:
    with pytest.raises(PointsError, match=said):
        fit_light(points)


def test_slope_limit_is_one_photon_an_electron() -> None:
    # CODATA 2018: h c / e = 1239.841984 eV nm
    for wavelength_nm in (405, 450, 520, 638):
        assert slope_limit_W_A(wavelength_nm) == pytest.approx(
            1239.841984 / wavelength_nm, rel=1e-8
        )
    # a maker's data sheet of a 450 nm laser diode: 1.6 W/A is 58.1 % of it
    assert 1.6 / slope_limit_W_A(450) == pytest.approx(0.581, abs=0.0005)
