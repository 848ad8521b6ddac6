"""From where an LED's blue light is a lower group, against Lambert's law and the small limits."""

import math

import pytest
from scipy.integrate import quad

from diodewright.hazard.led_distance import falls_to_m, on_axis_W_sr
from diodewright.hazard.led_risk import GROUP_LIMITS_W_M2_SR, assess_led


@pytest.mark.parametrize("beam_deg", [10, 30, 60, 120, 140])
def test_intensity_over_the_half_sphere_is_the_power(beam_deg: float) -> None:
    # Source: scipy.integrate.quad over the half sphere; half the intensity at half the beam angle.
    on_axis = on_axis_W_sr(2.0, beam_deg)
    power = math.log(0.5) / math.log(math.cos(math.radians(beam_deg / 2)))
    total, _ = quad(
        lambda t: on_axis * math.cos(t) ** power * 2 * math.pi * math.sin(t), 0, math.pi / 2
    )
    assert total == pytest.approx(2.0, rel=1e-6)


def test_bare_chip_obeys_lambert() -> None:
    # Source: Lambert's law: P / pi.
    assert on_axis_W_sr(1.0, 120) == pytest.approx(1 / math.pi)


# Source: small-source limits 1.0 and 400 W/m2 (IEC 62471:2006, from memory), worked by hand: 1 W
# of 450 nm from 1 mm2: sqrt(0.94 / pi / 1.0) = 0.547 m.
@pytest.mark.parametrize(
    ("group", "power_W", "deg", "metres"),
    [
        ("exempt", 1, 120, 0.547),
        ("RG1", 1, 120, 0.547),
        ("RG2", 1, 120, 0.0),
        ("RG1", 4, 120, 1.094),
    ],
)
def test_hand_worked_distances(group: str, power_W: float, deg: float, metres: float) -> None:
    assert falls_to_m(group, power_W, 1.0, 0.94, deg) == pytest.approx(metres, abs=1e-3)


def test_small_source_limit_is_the_radiance_limit_over_its_field_of_view() -> None:
    # Source: IEC 62471's own derivation, from memory: 1e4 W/(m2 sr) over 11 mrad is 0.95 W/m2,
    # printed as 1.0; 4e6 over 11 mrad is 380, printed as 400.
    view_sr = math.pi / 4 * 0.011**2
    assert GROUP_LIMITS_W_M2_SR["RG1"] * view_sr == pytest.approx(1.0, rel=0.06)
    assert GROUP_LIMITS_W_M2_SR["RG2"] * view_sr == pytest.approx(400, rel=0.06)


def test_wide_source_must_shrink_to_11_mrad_first() -> None:
    # Source: the small-source limits hold below 11 mrad; the diagonal of 100 mm2 is 14.1 mm.
    assert falls_to_m("RG1", 5.0, 100.0, 0.94, 120) == pytest.approx(1.286, abs=1e-3)


@pytest.mark.parametrize(("power_W", "mm2"), [(1.0, 1.0), (0.03, 1.0), (1e-4, 1.0), (14.0, 1.0)])
def test_distance_is_nothing_just_where_the_group_says_so(power_W: float, mm2: float) -> None:
    # Source: the group's own limit at 200 mm, as `led_risk` judges it.
    risk = assess_led(power_W, mm2, 450)
    order = list(GROUP_LIMITS_W_M2_SR)
    for group in ("exempt", "RG1", "RG2"):
        inside = order.index(risk.group) <= order.index(group)
        assert (falls_to_m(group, power_W, mm2, risk.weighting, 120) == 0) is inside
