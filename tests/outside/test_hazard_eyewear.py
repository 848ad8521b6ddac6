"""Eyewear against EN 207's table and published examples."""

import math

import pytest

from diodewright.hazard.eyewear import choose_eyewear, optical_density, scale_number


# Source: OD = log10(H0 / limit), 7 mm pupil (IEC TR 60825-14, second-hand), worked out by hand.
@pytest.mark.parametrize(
    ("power_W", "limit_W_m2", "density"),
    [
        (1.0, 25.456, 3.01),
        (1.0, 10.0, 3.41),
        (1.6, 25.456, 3.213),
        (1.6, 10.0, 3.62),
        (1.6, 1.0, 4.62),
        (0.5, 25.456, 2.71),
        (5e-3, 25.456, 0.71),
    ],
)
def test_optical_density(power_W: float, limit_W_m2: float, density: float) -> None:
    assert optical_density(power_W, limit_W_m2, 2.0) == pytest.approx(density, abs=0.01)


# Source: EN 207:2017 (public copies of its table), mode D, above 315 to 1400 nm:
# LBn up to 10^(n+1) W/m2.
@pytest.mark.parametrize(
    ("power_W", "beam_mm", "number"),
    [(1.6, 1, 6), (0.5, 1, 5), (0.1, 1, 5), (5e-3, 1, 3), (1.6, 3, 5)],
)
def test_scale_number(power_W: float, beam_mm: float, number: int) -> None:
    assert scale_number(power_W, beam_mm) == number


@pytest.mark.parametrize("number", range(1, 11))
def test_each_scale_number_ends_at_its_power_density(number: int) -> None:
    # Source: EN 207:2017, the same row.
    ends_W = 10 ** (number + 1) * math.pi / 4 * 1e-6
    assert scale_number(0.999 * ends_W, 1.0) == number
    if number < 10:
        assert scale_number(1.001 * ends_W, 1.0) == number + 1


def test_fifty_watts_in_five_millimetres_as_published() -> None:
    # Source: UK laser-safety e-book, p. 114: 50 W, 5 mm, "2.55 million", between L5 and L6: L6.
    assert 50 / (math.pi / 4 * 5e-3**2) == pytest.approx(2.55e6, rel=2e-3)
    assert scale_number(50.0, 5.0) == 6


def test_a_blue_watt_and_a_half() -> None:
    # Source: the two rules above; 450 nm, 0.25 s and a working day.
    brief = choose_eyewear(1.6, 450, 1.0, 0.25)
    assert brief.optical_density == pytest.approx(3.213, abs=0.01)
    assert (brief.optical_density_at_least, brief.marking) == (4, "D 450 LB6")
    day = choose_eyewear(1.6, 450, 1.0, 30_000)
    assert (day.optical_density_at_least, day.marking) == (5, "D 450 LB6")


def test_eyewear_for_unseen_light() -> None:
    # Source: OD and EN 207 as above: 1 W at 808 nm, 10 s: log10(2.598e4 / 16.44) = 3.199; 1 mm:
    # 1.27e6 W/m2, LB6.
    need = choose_eyewear(1.0, 808, 1.0, 10)
    assert need.optical_density == pytest.approx(3.199, abs=0.01)
    assert need.marking == "D 808 LB6"
