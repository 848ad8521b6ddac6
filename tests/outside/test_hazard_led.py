"""Blue-light risk groups against the published weighting and hand-worked chips."""

import itertools

import colour
import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from diodewright.hazard.led_risk import (
    assess_bands,
    assess_led,
    blue_weighting,
    lambert_radiance_W_m2_sr,
)
from diodewright.hazard.photometry import lumens_bands
from diodewright.hazard.spectrum import Band
from diodewright.hazard.white import white_bands

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


SHAPE = colour.SpectralShape(360, 830, 1)
AT_NM = SHAPE.wavelengths
#: B every nanometre from the published table, straight lines between.
B_AT = np.where(
    AT_NM < 500,
    np.interp(AT_NM, *zip(*sorted((B_BELOW | B).items()), strict=True)),
    np.maximum(10 ** ((450 - AT_NM) / 50), 0.001),
)


def _white(pump_nm: float, temperature_K: float) -> colour.SpectralDistribution:
    """Return the model's spectrum, made by the library from the bands."""
    total = sum(
        band.share * line.values / line.values.sum()
        for band in white_bands(pump_nm, temperature_K)
        for line in [colour.sd_gaussian(band.peak_nm, band.fwhm_nm, SHAPE, method="FWHM")]
    )
    return colour.SpectralDistribution(total, AT_NM)


def _temperature(spectrum: colour.SpectralDistribution) -> tuple[float, float]:
    xyz = spectrum.values @ colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].values
    kelvin, off_locus = colour.temperature.uv_to_CCT_Ohno2013(
        colour.UCS_to_uv(colour.XYZ_to_UCS(xyz))
    )
    return float(kelvin), float(off_locus)


@pytest.mark.parametrize("kelvin", [2500, 2600, 2850, 3250, 4250, 5350, 5700, 6100, 7000])
def test_white_has_its_colour_temperature_and_lies_on_planck_s_locus(kelvin: float) -> None:
    # Source: colour-science 0.4.7, CIE 1931 2 degree observer, Ohno 2013.
    found_K, off_locus = _temperature(_white(450, kelvin))
    assert found_K == pytest.approx(kelvin, rel=0.005)
    assert abs(off_locus) < 1e-3


@pytest.mark.parametrize("pump_nm", [440, 460])
@pytest.mark.parametrize("kelvin", [2700, 5700, 7000])
def test_white_keeps_its_colour_temperature_within_6_pct_at_other_pumps(
    pump_nm: float, kelvin: float
) -> None:
    # Source: as above.
    assert _temperature(_white(pump_nm, kelvin))[0] == pytest.approx(kelvin, rel=0.06)


# Source: CIE illuminants LED-B1 to LED-B5 (CIE 15:2018), phosphor-converted blue LEDs, as carried
# by colour-science 0.4.7; B as above. From memory: 300 to 350 lm/W is usual for white LEDs.
@pytest.mark.parametrize("name", ["LED-B1", "LED-B2", "LED-B3", "LED-B4", "LED-B5"])
def test_white_is_no_safer_than_the_cie_s_led_of_its_colour(name: str) -> None:
    table = colour.SDS_ILLUMINANTS[name].copy().interpolate(colour.SpectralShape(380, 780, 1))
    cie = colour.SpectralDistribution(
        np.interp(AT_NM, table.wavelengths, table.values, left=0, right=0), AT_NM
    )
    bands = white_bands(450, _temperature(cie)[0])
    blue = float(np.sum(cie.values * B_AT) / np.sum(cie.values))
    lm_W = float(colour.luminous_efficacy(cie))
    model = assess_bands(1.0, 1.0, bands).weighting
    assert blue < model < 1.08 * blue
    assert lm_W < lumens_bands(1.0, bands) < 1.10 * lm_W
    below_490 = float(np.sum(cie.values[AT_NM < 490]) / np.sum(cie.values))
    white = _white(450, _temperature(cie)[0]).values
    assert float(np.sum(white[AT_NM < 490])) == pytest.approx(below_490, rel=0.09)


@pytest.mark.parametrize(("pump_nm", "kelvin"), [(440, 7000), (450, 2700), (450, 5700)])
def test_lumens_of_white_agree_with_a_colour_library(pump_nm: float, kelvin: float) -> None:
    # Source: colour-science 0.4.7, luminous_efficacy; straight lines as with one band: 3e-4.
    lm_W = float(colour.luminous_efficacy(_white(pump_nm, kelvin)))
    assert lumens_bands(1.0, white_bands(pump_nm, kelvin)) == pytest.approx(lm_W, rel=5e-4)


# Source: retinal thermal limits 28 000/alpha and 71 000/alpha W/(m2 sr), R = 10 B or 1, from memory
# of IEC 62471:2006; worked by hand: alpha 0.1 rad where RG3 is the question, else 2 mm / 200 mm for
# 1 mm2 (at least 0.011 rad).
@pytest.mark.parametrize(
    ("power_W", "emitter_mm2", "peak_nm", "share"),
    [
        (1.0, 1.0, 450, 3.183e5 * 9.4 * 0.1 / 71_000),
        (1.0, 1.0, 660, 3.183e5 * 0.011 / 28_000),
        (200.0, 400.0, 660, 1.5915e5 * 0.1 / 28_000),
        (200.0, 400.0, 450, 1.5915e5 * 9.4 * 0.1 / 71_000),
    ],
)
def test_retinal_thermal_is_screened_against_the_limit_that_would_raise_the_group(
    power_W: float, emitter_mm2: float, peak_nm: float, share: float
) -> None:
    assert assess_led(power_W, emitter_mm2, peak_nm).thermal_share == pytest.approx(share, rel=2e-3)


def test_bands_are_counted_by_their_share_of_the_power() -> None:
    # Source: mean of a sum; 525 nm / 35 nm 507.5 lm/W, 660 nm / 20 nm 45.9 lm/W (CIE 1924).
    assert lumens_bands(2.0, (Band(0.25, 525, 35), Band(0.75, 660, 20))) == pytest.approx(
        2 * (0.25 * 507.5 + 0.75 * 45.9), rel=3e-3
    )
