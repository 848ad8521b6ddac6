"""Photometry against CIE 1924 V(lambda) as other people carry it, and against the trade."""

import itertools
import math

import colour
import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from diodewright.hazard.photometry import (
    lumens,
    lumens_spectrum,
    luminous_efficacy_lm_W,
)
from diodewright.hazard.photopic import FIRST_NM, PHOTOPIC

# Source: CIE 1924 V(lambda), colour-science 0.4.7, SDS_LEFS_PHOTOPIC.
CIE_1924 = colour.colorimetry.SDS_LEFS_PHOTOPIC["CIE 1924 Photopic Standard Observer"]


def test_every_nanometre_of_v_is_the_cie_value() -> None:
    assert (FIRST_NM, len(PHOTOPIC)) == (360, 471)
    for offset, v in enumerate(PHOTOPIC):
        assert v == pytest.approx(float(CIE_1924[FIRST_NM + offset]), rel=1e-11), offset


def test_sum_of_v_is_that_of_the_cie_table() -> None:
    # Source: sum of CIE 1924 V(lambda) at 1 nm, 360 to 830 nm; also of CIE 1931 y.
    assert sum(PHOTOPIC) == pytest.approx(106.8569, abs=5e-5)


# Source: CIE 1924 V(lambda) times 683 lm/W.
@pytest.mark.parametrize(
    ("wavelength_nm", "lm_W"),
    [
        (405, 0.437),
        (445, 20.35),
        (450, 25.95),
        (465, 50.47),
        (488, 130.64),
        (505, 278.19),
        (520, 484.93),
        (525, 541.76),
        (532, 604.43),
        (555, 683.0),
        (590, 517.0),
        (625, 219.2),
        (635, 148.21),
        (638, 130.56),
        (650, 73.08),
        (660, 41.66),
    ],
)
def test_lumens_per_watt_of_a_line(wavelength_nm: float, lm_W: float) -> None:
    assert luminous_efficacy_lm_W(wavelength_nm) == pytest.approx(lm_W, rel=5e-4)


def test_two_colours_of_pointer_and_a_watt_of_green() -> None:
    # Source: CIE 1924 V(532) = 0.8849624, V(650) = 0.107, V(525) = 0.7932; 683 lm/W.
    assert lumens(0.005, 532) == pytest.approx(3.022, rel=5e-3)
    assert lumens(0.002, 650) == pytest.approx(0.1462, rel=5e-3)
    assert lumens(1.0, 525) == pytest.approx(541.8, rel=5e-3)


def test_facts_of_the_trade() -> None:
    # Common practice, no source: what people say of pointers and hand lamps.
    assert lumens(0.001, 650) < 0.1
    assert lumens(0.005, 532) == pytest.approx(3, rel=0.02)
    for wavelength_nm in (525, 532):
        assert lumens(1.4, wavelength_nm) == pytest.approx(800, rel=0.1)


# Source: CIE 1924 V(lambda) integrated over Gaussian spectra, worked out apart from this code.
@pytest.mark.parametrize(
    ("peak_nm", "fwhm_nm", "lm"),
    [(525, 35, 507.5), (450, 20, 27.6), (465, 25, 55.5), (660, 20, 45.9), (625, 18, 222.4)],
)
def test_an_led_is_not_a_line(peak_nm: float, fwhm_nm: float, lm: float) -> None:
    assert lumens_spectrum(1.0, peak_nm, fwhm_nm) == pytest.approx(lm, rel=3e-3)


LEDS = [(450, 20), (525, 35), (590, 15), (660, 20)]


@pytest.mark.parametrize(("peak_nm", "fwhm_nm"), LEDS)
def test_led_agrees_with_a_colour_library(peak_nm: float, fwhm_nm: float) -> None:
    # Source: colour-science 0.4.7, luminous_flux of sd_gaussian (FWHM), a sum at 1 nm. Straight
    # lines between the nanometres lie above a hollow curve by its second derivative / 12: up to
    # 2.5e-4 on the flanks of V. Hence the tolerance; the next test has none of that.
    shape = colour.SpectralShape(360, 830, 1)
    spectrum = colour.sd_gaussian(peak_nm, fwhm_nm, shape, method="FWHM")
    per_W = float(colour.luminous_flux(spectrum)) / float(spectrum.values.sum())
    assert lumens_spectrum(1.0, peak_nm, fwhm_nm) == pytest.approx(per_W, rel=3e-4)


@pytest.mark.parametrize(("peak_nm", "fwhm_nm"), [*LEDS, (555, 0.5), (405, 15), (700, 100)])
def test_led_agrees_with_adaptive_integration(peak_nm: float, fwhm_nm: float) -> None:
    # Source: scipy.integrate.quad over the library's V, nanometre by nanometre.
    v_nm = CIE_1924.wavelengths
    v = CIE_1924.values
    line = norm(peak_nm, fwhm_nm / 2.354820045)

    def lit(at_nm: float) -> float:
        return float(line.pdf(at_nm) * np.interp(at_nm, v_nm, v))

    reach_nm = 3 * fwhm_nm
    edges = np.arange(max(360, math.floor(peak_nm - reach_nm)), min(830, peak_nm + reach_nm) + 1)
    parts = [quad(lit, a, b)[0] for a, b in itertools.pairwise(edges)]
    assert lumens_spectrum(1.0, peak_nm, fwhm_nm) == pytest.approx(683 * sum(parts), rel=1e-5)
