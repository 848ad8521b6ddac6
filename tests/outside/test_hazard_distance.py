"""Hazard distances against published and hand-worked cases."""

import math

import pytest

from diodewright.hazard.distance import (
    diffuse_distance_m,
    nohd_m,
    width_from_1_e2,
    width_from_half_maximum,
)


def test_a_watt_at_a_milliradian_as_published() -> None:
    # Source: UK laser-safety e-book, p. 110: "1000 milliwatt ... 1 milliradian ... is 225 metres".
    assert nohd_m(1.0, 25.456, 1.0) == pytest.approx(225, rel=0.01)


# Source: r = (sqrt(4P/(pi E)) - a)/phi (IEC TR 60825-14, second-hand), worked out by hand.
@pytest.mark.parametrize(
    ("power_W", "mrad", "beam_mm", "limit_W_m2", "metres"),
    [
        (1.0, 1.0, 0.0, 25.456, 223.6),
        (1e-3, 1.0, 1.0, 25.456, 6.07),
        (5e-3, 1.0, 2.0, 25.456, 13.81),
        (0.1, 1.0, 1.0, 25.4, 69.8),
        (1.6, 2.0, 3.0, 25.456, 139.9),
        (1.6, 1.0, 4.0, 1.0, 1423),
        (1.6, 400.0, 0.0, 25.456, 0.707),
    ],
)
def test_hand_worked_beams(
    power_W: float, mrad: float, beam_mm: float, limit_W_m2: float, metres: float
) -> None:
    assert nohd_m(power_W, limit_W_m2, mrad, beam_mm) == pytest.approx(metres, rel=1e-3)


def test_a_spot_on_a_card_as_published() -> None:
    # Source: the web log Everyday Scientist (no. 185), after ANSI Z136.1: argon-ion laser, 11 W,
    # MPE 2.1e-3 W/cm2: hazard zone of a diffuse reflection 40 cm.
    assert diffuse_distance_m(11.0, 21.0) == pytest.approx(0.40, rel=0.03)


# Source: Lambert's law E = rho P cos(theta) / (pi r2), worked out by hand.
@pytest.mark.parametrize(
    ("power_W", "limit_W_m2", "reflectance", "deg", "metres"),
    [
        (1.0, 25.456, 1.0, 0, 0.1118),
        (1.0, 10.0, 0.9, 0, 0.1693),
        (1.0, 10.0, 0.9, 60, 0.1197),
    ],
)
def test_hand_worked_spots(
    power_W: float, limit_W_m2: float, reflectance: float, deg: float, metres: float
) -> None:
    found = diffuse_distance_m(power_W, limit_W_m2, reflectance, deg)
    assert found == pytest.approx(metres, rel=1e-3)


@pytest.mark.parametrize("at_1_e", [0.5, 3.0])
def test_widths_of_a_gaussian(at_1_e: float) -> None:
    # Source: the Gaussian itself: exp(-(w/d)^2) is 1/e2 at w = sqrt(2) d, 1/2 at w = sqrt(ln 2) d.
    def level(width: float) -> float:
        return math.exp(-((width / at_1_e) ** 2))

    assert level(at_1_e * math.sqrt(2)) == pytest.approx(math.exp(-2))
    assert width_from_1_e2(at_1_e * math.sqrt(2)) == pytest.approx(at_1_e)
    half = at_1_e * math.sqrt(math.log(2))
    assert level(half) == pytest.approx(0.5)
    assert width_from_half_maximum(half) == pytest.approx(at_1_e)


def test_share_of_the_power_within_1_e_is_63_per_cent() -> None:
    # Source: definition of d63; a Gaussian's power outside a circle equals its level at the rim.
    inside = 1 - math.exp(-((width_from_1_e2(math.sqrt(2)) / 1.0) ** 2))
    assert inside == pytest.approx(0.632, abs=5e-4)
