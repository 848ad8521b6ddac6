"""Blue-light risk groups against the published weighting and hand-worked chips."""

import itertools

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from diodewright.hazard.led_risk import (
    assess_led,
    blue_weighting,
    lambert_radiance_W_m2_sr,
)

# Source: blue-light weighting of IEC 62471:2006 as carried by luxpy 1.12.5 (photbiochem, BLH1).
B = {
    400: 0.1,
    405: 0.2,
    410: 0.4,
    415: 0.8,
    420: 0.9,
    425: 0.95,
    430: 0.98,
    435: 1.0,
    440: 1.0,
    445: 0.97,
    450: 0.94,
    455: 0.9,
    460: 0.8,
    465: 0.7,
    470: 0.62,
    475: 0.55,
    480: 0.45,
    485: 0.4,
    490: 0.22,
    495: 0.16,
    500: 0.1,
    525: 10**-1.5,
    550: 0.01,
    600: 0.001,
    650: 0.001,
    700: 0.001,
}

# Source: the same table, from 380 nm.
B_BELOW = {380: 0.01, 385: 0.013, 390: 0.025, 395: 0.05}


@pytest.mark.parametrize("wavelength_nm", B)
def test_weighting(wavelength_nm: int) -> None:
    assert blue_weighting(wavelength_nm) == pytest.approx(B[wavelength_nm], rel=1e-9)


def test_radiance_of_a_watt_from_a_square_millimetre() -> None:
    # Source: Lambert's law, 1 W / (pi 1 mm2).
    assert lambert_radiance_W_m2_sr(1.0, 1.0) == pytest.approx(3.183e5, rel=1e-3)


# Source: limits 100, 1e4, 4e6 W/(m2 sr) and 1e6/t (IEC 62471:2006, from memory), worked by hand.
@pytest.mark.parametrize(
    ("power_W", "peak_nm", "radiance", "group", "look_s"),
    [
        (1.0, 450, 2.99e5, "RG2", 3.34),
        (1.0, 525, 1.0066e4, "RG2", 99.3),
        (0.99, 525, 9.966e3, "RG1", 100.3),
        (14.0, 450, 4.189e6, "RG3", 0.2387),
    ],
)
def test_hand_worked_chips(
    power_W: float, peak_nm: float, radiance: float, group: str, look_s: float
) -> None:
    found = assess_led(power_W, 1.0, peak_nm)
    assert found.blue_radiance_W_m2_sr == pytest.approx(radiance, rel=2e-3)
    assert found.group == group
    assert found.longest_look_s == pytest.approx(look_s, rel=2e-3)


# Source: the groups rest on looks of 10 000, 100 and 0.25 s (IEC 62471:2006, from memory).
@pytest.mark.parametrize(
    ("look_s", "below", "above"),
    [(10_000, "exempt", "RG1"), (100, "RG1", "RG2"), (0.25, "RG2", "RG3")],
)
def test_each_group_ends_at_its_time(look_s: float, below: str, above: str) -> None:
    power_W = 1e6 / look_s * 3.141592653589793e-6
    assert assess_led(0.999 * power_W, 1.0, 440).group == below
    risen = assess_led(1.001 * power_W, 1.0, 440)
    assert risen.group == above
    assert risen.longest_look_s == pytest.approx(look_s, rel=2e-3)


def test_width_raises_the_weighting_of_green() -> None:
    # Source: mean of 10^((450 - nm)/50) over a Gaussian is exp((s ln 10 / 50)^2 / 2) of its peak.
    line, led = blue_weighting(550), blue_weighting(550, 20)
    assert led / line == pytest.approx(1.0795, rel=2e-3)


@pytest.mark.parametrize(("peak_nm", "fwhm_nm"), [(400, 10), (410, 15), (450, 20), (470, 25)])
def test_led_s_weighting_agrees_with_adaptive_integration(peak_nm: float, fwhm_nm: float) -> None:
    # Source: scipy.integrate.quad over the published table with straight lines, 380 to 500 nm.
    table = sorted((B_BELOW | {nm: b for nm, b in B.items() if nm <= 500}).items())
    at_nm, b = zip(*table, strict=True)
    line = norm(peak_nm, fwhm_nm / 2.354820045)

    def weighted(nm: float) -> float:
        return float(line.pdf(nm) * np.interp(nm, at_nm, b))

    parts = [quad(weighted, low, high)[0] for low, high in itertools.pairwise(at_nm)]
    assert blue_weighting(peak_nm, fwhm_nm) == pytest.approx(sum(parts), rel=1e-3)
