"""The mean of a tabulated weighting over the spectrum of an LED.

Equation. An LED's spectrum is taken as Gaussian in wavelength, of unit area::

    mean = integral of w(lambda) exp(-(lambda - peak)^2 / (2 s^2)) / (s sqrt(2 pi)),
    s = FWHM / (2 sqrt(2 ln 2))

Source. Definition of a weighted mean; the Gaussian shape is common practice, no source. Real
spectra lean towards the long side; give the maker's measured lumens or spectrum where there are
any.

Limits of validity. One peak a band; a white LED is made of two (`white`). Light outside the table
counts as weight 0. Trapezoids on a grid of 1/100 of the standard deviation over 6 of it each side.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diodewright.hazard.inputs import visible, within

__all__ = ["Band", "band_mean", "gaussian_mean"]

_REACH = np.linspace(-6.0, 6.0, 1201)
_DENSITY = np.exp(-0.5 * _REACH * _REACH) / math.sqrt(2 * math.pi)


@dataclass(frozen=True)
class Band:
    """One Gaussian band: its share of the power [1], peak and full width at half maximum [nm]."""

    share: float
    peak_nm: float
    fwhm_nm: float


def gaussian_mean(
    table_nm: NDArray[np.float64],
    weight: NDArray[np.float64],
    peak_nm: float,
    fwhm_nm: float,
) -> float:
    """Return the mean weight of a Gaussian spectrum.

    Parameters
    ----------
    table_nm, weight : the weighting, straight lines between its points; 0 outside them.
    peak_nm : peak of the spectrum [nm], 400 to 700.
    fwhm_nm : its full width at half maximum [nm], 0.1 to 200.

    Returns
    -------
    Mean of `weight`, in the unit of `weight`.

    Raises
    ------
    ValueError
        Where peak or width is outside its range.
    """
    visible("peak_nm", peak_nm)
    within("fwhm_nm", fwhm_nm, 0.1, 200.0, "nm")
    sigma_nm = fwhm_nm / (2 * math.sqrt(2 * math.log(2)))
    at_nm = peak_nm + sigma_nm * _REACH
    values = np.interp(at_nm, table_nm, weight, left=0.0, right=0.0) * _DENSITY
    return float(np.trapezoid(values, _REACH))


def band_mean(
    table_nm: NDArray[np.float64], weight: NDArray[np.float64], bands: Sequence[Band]
) -> float:
    """Return the mean weight over a spectrum of bands, each counted by its share of the power.

    Parameters
    ----------
    table_nm, weight : the weighting, straight lines between its points; 0 outside them.
    bands : of the spectrum; their shares sum to 1.

    Raises
    ------
    ValueError
        Where the shares do not sum to 1, or a peak or width is outside its range.
    """
    within("sum of the shares", sum(band.share for band in bands), 1 - 1e-9, 1 + 1e-9, "")
    return sum(
        band.share * gaussian_mean(table_nm, weight, band.peak_nm, band.fwhm_nm) for band in bands
    )
